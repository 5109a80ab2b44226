"""The finished picture: heading, drawing, labels with leaders, and the line at the foot."""

from __future__ import annotations

import functools
import importlib.util
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from optimizer.errors import DrawingError
from viewer.labels import Box, Label, PlacedLabel, place_labels
from viewer.look import INK

HEADING_PX: Final = 108
FOOT_PX: Final = 42
_MARGIN_PX: Final = 30
_PAPER: Final = "#fffdf8"
_SOFT: Final = "#68707a"
_RULE: Final = "#d9d4c8"
_ALARM: Final = "#9a3412"


@dataclass(frozen=True, slots=True)
class Heading:
    """Words over a picture: title, line below it, figures as (caption, value), and a warning or ''."""

    title: str
    below: str
    figures: tuple[tuple[str, str], ...]
    warning: str


@dataclass(frozen=True, slots=True)
class Remark:
    """Words for one point of the drawing (pixels from the drawing's top left)."""

    lines: tuple[str, ...]
    anchor: tuple[float, float]


def measure_drawing(size: tuple[int, int]) -> tuple[int, int]:
    """Size of the drawing inside a picture of ``size`` pixels."""
    return size[0], size[1] - HEADING_PX - FOOT_PX


def build_sheet(
    drawing: Image.Image, heading: Heading, remarks: tuple[Remark, ...], ramp: NDArray[np.bool_], foot: str
) -> Image.Image:
    """The whole picture; ``ramp`` (h, w) marks the drawing's pixels that labels should not cover."""
    wide, tall = drawing.size
    sheet = Image.new("RGB", (wide, tall + HEADING_PX + FOOT_PX), _PAPER)
    sheet.paste(drawing, (0, HEADING_PX))
    draw = ImageDraw.Draw(sheet)
    labels = tuple(_build_label(draw, remark) for remark in remarks)
    area = Box(0.0, float(HEADING_PX), float(wide), float(HEADING_PX + tall))
    padded = np.pad(ramp, ((HEADING_PX, FOOT_PX), (0, 0)))
    placed = place_labels(labels, area, (), padded)
    _draw_leaders(sheet, placed)
    for one in placed:
        _draw_label(draw, one)
    _draw_heading(draw, heading, wide)
    bottom = HEADING_PX + tall
    draw.line([(0, bottom), (wide, bottom)], fill=_RULE)
    draw.text(
        (_MARGIN_PX, bottom + FOOT_PX / 2),
        foot,
        font=_read_font(15, "DejaVuSans.ttf"),
        fill=_SOFT,
        anchor="lm",
    )
    return sheet


def _build_label(draw: ImageDraw.ImageDraw, remark: Remark) -> Label:
    wide = max(draw.textlength(line, font=_label_font(k)) for k, line in enumerate(remark.lines))
    return Label(
        remark.lines,
        (remark.anchor[0], remark.anchor[1] + HEADING_PX),
        (wide + 22.0, 12.0 + 22.0 * len(remark.lines)),
    )


def _label_font(line: int) -> ImageFont.FreeTypeFont:
    """The first line of a label is bold."""
    return _read_font(16, "DejaVuSans-Bold.ttf" if line == 0 else "DejaVuSans.ttf")


def _draw_leaders(sheet: Image.Image, placed: tuple[PlacedLabel, ...]) -> None:
    """Leaders with a dot at the point, each drawn four times as large and scaled down to smooth it."""
    scale = 4
    for one in placed:
        (x, y), (end_x, end_y) = one.label.anchor, _find_leader_end(one)
        left, top = int(min(x, end_x)) - 12, int(min(y, end_y)) - 12
        size = int(max(x, end_x)) + 12 - left, int(max(y, end_y)) + 12 - top
        line = [((px - left) * scale, (py - top) * scale) for px, py in ((x, y), (end_x, end_y))]
        # First a pale rim, so that the leader is seen on dark things too, then the leader itself.
        for colour, more in ((_PAPER, 6), (INK, 0)):
            layer = Image.new("L", (size[0] * scale, size[1] * scale), 0)
            pen = ImageDraw.Draw(layer)
            pen.line(line, fill=255, width=6 + 2 * more)
            dot = 20 + more
            pen.ellipse([line[0][0] - dot, line[0][1] - dot, line[0][0] + dot, line[0][1] + dot], fill=255)
            sheet.paste(Image.new("RGB", size, colour), (left, top), layer.reduce(scale))


def _find_leader_end(placed: PlacedLabel) -> tuple[float, float]:
    """The point of the box nearest to what it speaks of."""
    x, y = placed.label.anchor
    box = placed.box
    middle_x, _ = box.middle
    if box.left <= x <= box.right:
        return x, box.bottom if y > box.bottom else box.top
    if y > box.bottom or y < box.top:
        near = box.left if x < box.left else box.right
        return (near + middle_x) / 2.0, box.bottom if y > box.bottom else box.top
    return box.left if x < box.left else box.right, (box.top + box.bottom) / 2.0


def _draw_label(draw: ImageDraw.ImageDraw, placed: PlacedLabel) -> None:
    box = placed.box
    draw.rounded_rectangle(
        [box.left, box.top, box.right, box.bottom], radius=7, fill=_PAPER, outline=INK, width=1
    )
    for k, line in enumerate(placed.label.lines):
        place = (box.left + 11.0, box.top + 17.0 + 22.0 * k)
        draw.text(place, line, font=_label_font(k), fill=INK if k == 0 else _SOFT, anchor="lm")


def _draw_heading(draw: ImageDraw.ImageDraw, heading: Heading, wide: int) -> None:
    draw.rectangle([0, 0, wide, HEADING_PX - 1], fill=_PAPER)
    draw.line([(0, HEADING_PX - 1), (wide, HEADING_PX - 1)], fill=_RULE)
    value_font, caption_font = _read_font(21, "DejaVuSans-Bold.ttf"), _read_font(14, "DejaVuSans.ttf")
    right = float(wide - _MARGIN_PX)
    for caption, value in reversed(heading.figures):
        column = max(draw.textlength(value, font=value_font), draw.textlength(caption, font=caption_font))
        left = right - column
        draw.text((left, 38), caption, font=caption_font, fill=_SOFT, anchor="lm")
        draw.text((left, 68), value, font=value_font, fill=INK, anchor="lm")
        right = left - 20.0
        draw.line([(right, 28), (right, 80)], fill=_RULE)
        right -= 20.0
    room = right - _MARGIN_PX
    title_font = _read_font(27, "DejaVuSans-Bold.ttf")
    draw.text(
        (_MARGIN_PX, 42),
        _shorten(draw, heading.title, title_font, room),
        font=title_font,
        fill=INK,
        anchor="lm",
    )
    below_font = _read_font(17, "DejaVuSans.ttf")
    below = _shorten(draw, heading.below, below_font, room)
    draw.text((_MARGIN_PX, 76), below, font=below_font, fill=_SOFT, anchor="lm")
    if heading.warning:
        start = _MARGIN_PX + draw.textlength(f"{below}   ", font=below_font)
        warning = _shorten(draw, heading.warning, below_font, right - start)
        draw.text((start, 76), warning, font=below_font, fill=_ALARM, anchor="lm")


def _shorten(draw: ImageDraw.ImageDraw, text: str, font: ImageFont.FreeTypeFont, room: float) -> str:
    """``text``, cut and ended by an ellipsis when it is wider than ``room`` pixels."""
    if draw.textlength(text, font=font) <= room:
        return text
    kept = text
    while kept and draw.textlength(f"{kept}…", font=font) > room:
        kept = kept[:-1]
    return f"{kept.rstrip()}…" if kept else ""


def find_font(name: str) -> Path:
    """A font file that comes with pyvista's own needs, so that every machine draws the same letters."""
    found = importlib.util.find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        raise DrawingError(
            "matplotlib, whose fonts the pictures use, is not installed. Install from requirements.lock."
        )
    return Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf" / name


@functools.cache
def _read_font(size_px: int, name: str) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(find_font(name)), size_px)
