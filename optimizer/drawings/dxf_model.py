"""The drawings' figures at full size in one DXF model: plans on each other, sections and details beside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from ezdxf.document import Drawing as DxfDocument
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts.layout import Modelspace

from optimizer.drawings.layers import LayerName
from optimizer.drawings.placed import Drawing, PaperLine, PaperText, PlacedDimension
from optimizer.drawings.sheet import Sheet, SheetFrame
from optimizer.drawings.words_on_paper import LINE_SHARE
from optimizer.terrain.yard import Points

#: Between drawings that have no place in the yard.
_APART_M: Final = 3.0
#: Half sizes of the signs on paper.
_SIGN_MM: Final = 0.8


@dataclass(frozen=True, slots=True)
class PlacedFrame:
    """A drawing of a sheet, and where its origin lies in the model, metres (2,)."""

    frame: SheetFrame
    origin_m: Points


def place_frames(sheets: tuple[Sheet, ...]) -> tuple[tuple[PlacedFrame, ...], ...]:
    """Plans at the door's own coordinates; the rest below them, one under the other; by sheet."""
    plans = [frame for sheet in sheets if sheet.survey_y.any() for frame in sheet.frames]
    floor = min(float(_find_window(one.drawing)[1]) for one in plans)
    placed = []
    for sheet in sheets:
        row = []
        for frame in sheet.frames:
            origin = np.zeros(2)
            if not sheet.survey_y.any():
                low, high = frame.drawing.figure.bounds_m()
                origin = np.array([-low[0], floor - _APART_M - high[1]])
                floor = float(origin[1] + low[1])
            row.append(PlacedFrame(frame, origin))
        placed.append(tuple(row))
    return tuple(placed)


def add_drawing(
    document: DxfDocument, placed: PlacedFrame, drawn: set[bytes], left_out: frozenset[LayerName]
) -> None:
    """A drawing into the model without the lines of layers ``left_out``.

    A line that is in ``drawn`` already is not drawn again.
    """
    space = document.modelspace()
    drawing, origin = placed.frame.drawing, placed.origin_m
    lines = [one for one in drawing.lines if one.layer not in left_out]
    for line in (*lines, *drawing.leaders):
        points = _to_model(drawing, line.points_mm, origin)
        key = line.layer.encode() + np.round(points, 6).tobytes()
        if key not in drawn:
            drawn.add(key)
            _add_line(space, line, points)
    for text in drawing.texts:
        _add_text(space, drawing, text, origin)
    _add_signs(space, drawing, origin)
    for one in drawing.dimensions:
        place = _to_model(drawing, one.words.at_mm[None], origin)[0]
        start, end, offset_mm = _turn_upright(one)
        made = space.add_aligned_dim(
            p1=tuple(start + origin),
            p2=tuple(end + origin),
            distance=drawing.scale.to_metres(offset_mm),
            text=one.dimension.text,
            dimstyle=name_style(drawing.scale.ratio),
            dxfattribs={"layer": one.dimension.layer},
        )
        made.set_location(tuple(place))
        made.render()


def name_style(ratio: float) -> str:
    """Dimensions have one style a scale, since their figures are sized in metres of the model."""
    return f"EVENFALL-{ratio:g}"


def _turn_upright(placed: PlacedDimension) -> tuple[Points, Points, float]:
    """Start, end and offset, the ends exchanged where the figures would stand on their heads."""
    one = placed.dimension
    start, end = np.asarray(one.start_m), np.asarray(one.end_m)
    turn = np.radians(placed.words.turn_deg)
    if (end - start) @ np.array([np.cos(turn), np.sin(turn)]) < 0.0:
        return end, start, -one.offset_mm
    return start, end, one.offset_mm


def _find_window(drawing: Drawing) -> Points:
    return np.asarray(drawing.window_mm / drawing.scale.to_paper_mm(1.0))


def _to_model(drawing: Drawing, points_mm: Points, origin_m: Points) -> Points:
    return np.asarray(points_mm) / drawing.scale.to_paper_mm(1.0) + origin_m


def _add_line(space: Modelspace, line: PaperLine, points: Points) -> None:
    closed = len(points) > 3 and bool(np.allclose(points[0], points[-1], atol=1e-9))
    kept = points[:-1] if closed else points
    space.add_lwpolyline(kept.tolist(), close=closed, dxfattribs={"layer": line.layer})


def _add_text(space: Modelspace, drawing: Drawing, text: PaperText, origin_m: Points) -> None:
    """One entity a line of words."""
    lines = text.text.split("\n")
    turn = np.radians(text.turn_deg)
    down = np.array([np.sin(turn), -np.cos(turn)]) * LINE_SHARE * text.height_mm
    for number, words in enumerate(lines):
        at_mm = text.at_mm + down * (number - (len(lines) - 1) / 2.0)
        entity = space.add_text(
            words,
            height=drawing.scale.to_metres(text.height_mm),
            rotation=text.turn_deg,
            dxfattribs={"layer": text.layer, "style": "EVENFALL"},
        )
        place = _to_model(drawing, at_mm[None], origin_m)[0]
        entity.set_placement(tuple(place), align=TextEntityAlignment.MIDDLE_CENTER)


def _add_signs(space: Modelspace, drawing: Drawing, origin_m: Points) -> None:
    half = drawing.scale.to_metres(_SIGN_MM)
    for one in drawing.figure.symbols:
        x, y = (float(value) for value in np.asarray(one.at_m) + origin_m)
        if one.mark == "level":
            space.add_point((x, y), dxfattribs={"layer": one.layer})
        else:
            corners = [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
            space.add_lwpolyline(corners, close=True, dxfattribs={"layer": one.layer})
