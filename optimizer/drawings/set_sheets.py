"""Set the drawing set as PDF: lines as lines, words as words, a millimetre a millimetre."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np

from optimizer.drawings.figure import Mark
from optimizer.drawings.layers import KEYED_LAYERS, LayerName, find_layer
from optimizer.drawings.scale_bar import build_scale_bar
from optimizer.drawings.sheet import BORDER_MM, STRIP_MM, Sheet, SheetFrame
from optimizer.drawings.tables import SheetTable
from optimizer.drawings.words_on_paper import CAP_SHARE
from optimizer.sheets.typeset import set_template
from optimizer.terrain.yard import Points
from optimizer.units import LengthSystem

_TEMPLATE: Final = Path(__file__).with_name("drawing_set.typ")
#: Places after the point of a millimetre on paper: a thousandth.
_PLACES: Final = 3
_SIGNS: Final[dict[Mark, str]] = {"level": "spot level", "foot": "leg", "low foot": "low support"}


@dataclass(frozen=True, slots=True)
class DrawingSet:
    """All that is set.  ``cautions`` stand on every sheet, the first of them on every page of tables too."""

    name: str
    below: str
    dated: str
    cautions: tuple[str, ...]
    system: LengthSystem
    sheets: tuple[Sheet, ...]
    tables: tuple[SheetTable, ...]


def set_drawings(drawings: DrawingSet, form: Literal["pdf", "png"]) -> tuple[bytes, ...]:
    """One PDF, or a PNG a page; raises ``DrawingError`` when fonts are missing."""
    return set_template(_TEMPLATE, json.dumps(_describe(drawings), ensure_ascii=False), form)


def _describe(drawings: DrawingSet) -> dict[str, object]:
    """What the template reads."""
    inches = drawings.system in ("ft-in", "in")
    return {
        "name": drawings.name,
        "below": drawings.below,
        "dated": drawings.dated,
        "cautions": drawings.cautions,
        "border": BORDER_MM,
        "strip": STRIP_MM,
        "inches": inches,
        "count": len(drawings.sheets),
        "table_paper": drawings.sheets[0].paper.table_paper,
        "sheets": [
            _describe_sheet(one, number, drawings.system) for number, one in enumerate(drawings.sheets, 1)
        ],
        "tables": [
            {
                "title": one.title,
                "heads": one.heads,
                "shares": one.shares,
                "rows": one.rows,
                "notes": one.notes,
            }
            for one in drawings.tables
        ],
    }


def _describe_sheet(sheet: Sheet, number: int, system: LengthSystem) -> dict[str, object]:
    bar = build_scale_bar(sheet.frames[0].drawing.scale, system)
    return {
        "title": sheet.title,
        "paper": sheet.paper.name,
        "width": sheet.paper.width_mm,
        "height": sheet.paper.height_mm,
        "scale": sheet.scale_words,
        "number": number,
        "inches": system in ("ft-in", "in"),
        "survey_y": _round(sheet.survey_y),
        "bar": {"parts": bar.parts, "part": bar.part_mm, "labels": bar.labels},
        "key": _describe_key(sheet),
        "frames": [_describe_frame(one) for one in sheet.frames],
    }


def _describe_key(sheet: Sheet) -> list[dict[str, object]]:
    """Of a plan, the lines that are on it and what they stand for; signs at the end."""
    if not sheet.survey_y.any():
        return []
    drawn = {line.layer for frame in sheet.frames for line in frame.drawing.lines}
    pens = [find_layer(one) for one in KEYED_LAYERS if one in drawn]
    lines: list[dict[str, object]] = [
        {"pen": one.pen_mm, "dash": one.dash_mm, "mark": "", "words": one.holds} for one in pens
    ]
    marks = {one.mark for frame in sheet.frames for one in frame.drawing.figure.symbols}
    return lines + [
        {"pen": 0.0, "dash": (), "mark": one, "words": words} for one, words in _SIGNS.items() if one in marks
    ]


def _describe_frame(frame: SheetFrame) -> dict[str, object]:
    drawing = frame.drawing
    lines = [_describe_line(frame, one.layer, one.points_mm) for one in (*drawing.lines, *drawing.leaders)]
    for placed in drawing.dimensions:
        lines += [_describe_line(frame, placed.dimension.layer, one) for one in placed.lines_mm]
    texts = [*(one.words for one in drawing.dimensions), *drawing.texts]
    places = [frame.to_sheet_mm(one.at_mm[None])[0] for one in texts]
    per_m = drawing.scale.to_paper_mm(1.0)
    signs = [
        (one.mark, frame.to_sheet_mm(np.asarray(one.at_m)[None] * per_m)[0]) for one in drawing.figure.symbols
    ]
    return {
        "head": frame.head,
        "x": float(frame.corner_mm[0]),
        "y": float(frame.corner_mm[1]),
        "lines": lines,
        "signs": [{"mark": mark, "x": _round(at)[0], "y": _round(at)[1]} for mark, at in signs],
        "texts": [
            {
                "text": one.text,
                "x": _round(at)[0],
                "y": _round(at)[1],
                "size": one.height_mm / CAP_SHARE,
                "turn": one.turn_deg,
            }
            for one, at in zip(texts, places, strict=True)
        ],
    }


def _describe_line(frame: SheetFrame, layer: LayerName, points_mm: Points) -> dict[str, object]:
    pen = find_layer(layer)
    points = [_round(one) for one in frame.to_sheet_mm(points_mm)]
    return {"points": points, "pen": pen.pen_mm, "dash": pen.dash_mm}


def _round(point: Points) -> list[float]:
    # Adding nothing makes zero of a minus zero.
    return [round(float(value), _PLACES) + 0.0 for value in point]
