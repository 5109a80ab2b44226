"""The drawing set as a DXF file: our layers, metres, dimensions, the model and one layout a sheet."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

import ezdxf
import numpy as np
from ezdxf.document import Drawing as DxfDocument
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Paperspace

from optimizer.drawings.dxf_model import PlacedFrame, add_drawing, name_style, place_frames
from optimizer.drawings.layers import LAYERS, YARD_LAYERS, LayerName
from optimizer.drawings.set_dimensions import FIGURES_MM
from optimizer.drawings.set_sheets import DrawingSet
from optimizer.drawings.sheet import BORDER_MM, STRIP_MM, Sheet
from optimizer.errors import InternalError

#: AutoCAD release 2010, which is read by all that read DXF at all.
_RELEASE: Final = "R2010"
_METRES: Final = 6
#: Line widths that DXF knows, in hundredths of a millimetre.
_WIDTHS: Final = (13, 18, 25, 35, 50, 70)
#: The layout plan shows a part of the yard that the site plan has drawn whole.
_LEFT_OUT: Final[dict[str, frozenset[LayerName]]] = {"Layout plan": YARD_LAYERS}
#: What a sheet hides of the other plan.
_HIDDEN: Final[dict[str, tuple[LayerName, ...]]] = {
    "Site plan": ("text-layout", "rail", "leg", "turning-space", "dimension"),
    "Layout plan": ("text-site", "contour", "contour-index", "level", "dimension-site"),
}


def build_dxf(drawings: DrawingSet) -> bytes:
    """The file's bytes, the same for the same set.

    Model: metres; plans in the frame of the door (x to the right looking out, y out from the wall), long
    section and details below them.  Raises ``InternalError`` when the file would not pass its own audit.
    """
    with _fixed_stamps():
        document = new(_RELEASE, setup=False, units=_METRES)
        _add_tables(document, drawings)
        drawn: set[bytes] = set()
        for number, (sheet, row) in enumerate(
            zip(drawings.sheets, place_frames(drawings.sheets), strict=True), 1
        ):
            for placed in row:
                add_drawing(document, placed, drawn, _LEFT_OUT.get(sheet.title, frozenset()))
            _add_layout(document, drawings, sheet, row, number)
        document.layouts.delete("Layout1")
        faults = document.audit().errors
        if faults:
            raise InternalError(f"the DXF file is not sound: {faults[0].message}")
        buffer = io.StringIO()
        document.write(buffer)
    return buffer.getvalue().encode(document.output_encoding)


@contextmanager
def _fixed_stamps() -> Iterator[None]:
    """No clock and no random identity in the file."""
    options = ezdxf.options  # type: ignore[attr-defined] # handed on without being declared
    earlier = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = earlier


def _add_tables(document: DxfDocument, drawings: DrawingSet) -> None:
    """Layers, dashes, the typeface, and a style of dimensions for each scale."""
    document.header["$MEASUREMENT"] = 1
    # Dashes are metres of the model: the layouts show them as they are there.
    document.header["$PSLTSCALE"] = 0
    # These come from a set, whose order is not that of the next run.
    document.classes.add_required_classes(document.dxfversion)
    document.classes.classes = dict(sorted(document.classes.classes.items()))
    document.styles.add("EVENFALL", font="DejaVuSans.ttf")
    for layer in LAYERS:
        dashes = "CONTINUOUS"
        if layer.dash_mm:
            dashes = f"EVENFALL-{layer.name.upper()}"
            # Metres on paper, which the scale of all line types makes metres of the model.
            pattern = [one / 1000.0 * (1 if at % 2 == 0 else -1) for at, one in enumerate(layer.dash_mm)]
            document.linetypes.add(
                dashes, [sum(abs(one) for one in pattern), *pattern], description=layer.holds
            )
        made = document.layers.add(layer.name, color=7, linetype=dashes)
        made.dxf.lineweight = min(_WIDTHS, key=lambda one: abs(one - layer.pen_mm * 100.0))
        made.description = layer.holds
    document.header["$LTSCALE"] = _common_ratio(drawings)
    for ratio in sorted({frame.drawing.scale.ratio for sheet in drawings.sheets for frame in sheet.frames}):
        style = document.dimstyles.new(name_style(ratio))
        per_mm = ratio / 1000.0
        style.set_arrows(blk="ARCHTICK", blk1="ARCHTICK", blk2="ARCHTICK")
        style.dxf.dimtxsty = "EVENFALL"
        style.dxf.dimtxt = FIGURES_MM * per_mm
        style.dxf.dimasz = 1.4 * per_mm
        style.dxf.dimexo = 0.8 * per_mm
        style.dxf.dimexe = 1.2 * per_mm
        style.dxf.dimgap = 0.5 * per_mm
        style.dxf.dimtad = 1


def _common_ratio(drawings: DrawingSet) -> float:
    """Dashes have one scale: that of the layout plan."""
    return float(drawings.sheets[1].frames[0].drawing.scale.ratio)


def _add_layout(
    document: DxfDocument, drawings: DrawingSet, sheet: Sheet, row: tuple[PlacedFrame, ...], number: int
) -> None:
    layout = document.layouts.new(f"{number} {sheet.title}"[:60])
    width, height = sheet.paper.width_mm, sheet.paper.height_mm
    layout.page_setup(size=(width, height), margins=(0, 0, 0, 0), units="mm", name=sheet.paper.name)
    low, upper = BORDER_MM, BORDER_MM + STRIP_MM
    corners = [(low, low), (width - low, low), (width - low, height - low), (low, height - low)]
    layout.add_lwpolyline(corners, close=True)
    layout.add_line((low, upper), (width - low, upper))
    _write(layout, drawings, sheet, number)
    for placed in row:
        _add_viewport(layout, sheet, placed)


def _write(layout: Paperspace, drawings: DrawingSet, sheet: Sheet, number: int) -> None:
    """Title, cautions, and a bar of 100 mm."""
    base = BORDER_MM + STRIP_MM
    right = sheet.paper.width_mm - BORDER_MM - 104.0
    place = f"sheet {number} of {len(drawings.sheets)}"
    words = [
        (right, base - 8.0, 3.0, drawings.name),
        (right, base - 15.0, 2.2, drawings.below),
        (right, base - 22.0, 2.5, sheet.title),
        (right, base - 28.0, 2.2, f"{sheet.scale_words} on {sheet.paper.name}, {place}"),
        (right, base - 34.0, 1.8, drawings.dated),
        (BORDER_MM + 5.0, base - 14.0, 1.8, "100 mm"),
    ]
    words += [
        (BORDER_MM + 116.0, base - 6.0 - 4.0 * at, 1.6, one) for at, one in enumerate(drawings.cautions)
    ]
    for x, y, height, text in words:
        layout.add_text(text, height=height, dxfattribs={"style": "EVENFALL", "insert": (x, y)})
    left = BORDER_MM + 5.0
    layout.add_line((left, base - 8.0), (left + 100.0, base - 8.0))
    for x in (left, left + 100.0):
        layout.add_line((x, base - 9.5), (x, base - 6.5))


def _add_viewport(layout: Paperspace, sheet: Sheet, placed: PlacedFrame) -> None:
    """A window on the model at the drawing's scale, with the words of other drawings frozen."""
    drawing = placed.frame.drawing
    window = drawing.window_mm
    size = window[2:] - window[:2]
    middle_m = (window[:2] + window[2:]) / 2.0 / drawing.scale.to_paper_mm(1.0) + placed.origin_m
    x, y = placed.frame.corner_mm
    viewport = layout.add_viewport(
        center=(float(x + size[0] / 2.0), float(sheet.paper.height_mm - y - size[1] / 2.0)),
        size=(float(size[0]), float(size[1])),
        view_center_point=(float(middle_m[0]), float(middle_m[1])),
        view_height=float(size[1] * drawing.scale.ratio / 1000.0),
    )
    frozen = _HIDDEN.get(sheet.title, ())
    if frozen:
        viewport.frozen_layers = list(frozen)
    head = np.array([x + 3.0, sheet.paper.height_mm - y + 4.0])
    layout.add_text(
        placed.frame.head,
        height=2.5,
        dxfattribs={"style": "EVENFALL", "insert": (float(head[0]), float(head[1]))},
    )
