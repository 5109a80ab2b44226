"""Set a visit sheet as PDF, or its pages as PNG, with typst; the same bytes for the same sheet."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Final, Literal

from optimizer.sheets.lengths import FEET, METRIC, show_along_and_out, show_height
from optimizer.sheets.typeset import set_template
from optimizer.visit.sheet import Shot, VisitSheet

SHEET_NAME = "visit-sheet.pdf"
_TEMPLATE: Final = Path(__file__).with_name("visit_sheet.typ")
_LENGTHS: Final = {"m": METRIC, "ft": FEET}


def set_pdf(sheet: VisitSheet) -> bytes:
    """The sheet as one PDF, A4; raises DrawingError when fonts are missing."""
    return _set(sheet, "pdf")[0]


def set_pictures(sheet: VisitSheet) -> tuple[bytes, ...]:
    """One PNG a page, 80 dots an inch."""
    return _set(sheet, "png")


def _set(sheet: VisitSheet, form: Literal["pdf", "png"]) -> tuple[bytes, ...]:
    return set_template(_TEMPLATE, json.dumps(_describe(sheet), ensure_ascii=False), form)


def show_level(sheet: VisitSheet, value_m: float) -> str:
    """A level difference in the sheet's units, such as ``437 mm`` or ``1' 5 1/4"``."""
    return show_height(_LENGTHS[sheet.unit], value_m)


def show_place(sheet: VisitSheet, shot: Shot) -> str:
    """``2.35 m right, 1.20 m out``."""
    return show_along_and_out(_LENGTHS[sheet.unit], shot.along_m, shot.out_m)


def _describe(sheet: VisitSheet) -> dict[str, object]:
    """What the template reads: the sheet, with its numbers as text beside them."""
    described: dict[str, object] = asdict(sheet)
    described["shots"] = [
        {
            **asdict(shot),
            "where": show_place(sheet, shot),
            "below": show_level(sheet, shot.below_m),
            "least": show_level(sheet, shot.least_below_m),
            "greatest": show_level(sheet, shot.greatest_below_m),
        }
        for shot in sheet.shots
    ]
    return described
