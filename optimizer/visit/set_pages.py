"""Set a visit sheet as PDF, or its pages as PNG, with typst; the same bytes for the same sheet."""

from __future__ import annotations

import importlib.util
import json
from dataclasses import asdict
from pathlib import Path
from typing import Final, Literal

from optimizer.errors import DrawingError
from optimizer.units import LengthSystem, format_length
from optimizer.visit.sheet import Shot, VisitSheet

SHEET_NAME = "visit-sheet.pdf"
_TEMPLATE: Final = Path(__file__).with_name("visit_sheet.typ")
#: Every millimetre or eighth of an inch: what a staff is read to.
_STEPS: Final[dict[str, tuple[LengthSystem, float]]] = {"m": ("mm", 0.001), "ft": ("ft-in", 0.0254 / 8)}


def set_pdf(sheet: VisitSheet) -> bytes:
    """The sheet as one PDF, A4; raises DrawingError when fonts are missing."""
    return _set(sheet, "pdf")[0]


def set_pictures(sheet: VisitSheet) -> tuple[bytes, ...]:
    """One PNG a page, 80 dots an inch."""
    return _set(sheet, "png")


def _set(sheet: VisitSheet, form: Literal["pdf", "png"]) -> tuple[bytes, ...]:
    import typst

    # A list of pages for more than one picture, which its types do not say.
    made: bytes | list[bytes] = typst.compile(
        str(_TEMPLATE),
        format=form,
        ppi=80.0,
        font_paths=[str(_find_fonts())],
        ignore_system_fonts=True,
        sys_inputs={"sheet": json.dumps(_describe(sheet), ensure_ascii=False)},
    )
    return (made,) if isinstance(made, bytes) else tuple(made)


def show_level(sheet: VisitSheet, value_m: float) -> str:
    """A level difference in the sheet's units, such as ``437 mm`` or ``1' 5 1/4"``."""
    system, step_m = _STEPS[sheet.unit]
    return _keep_together(format_length(value_m, system, step_m).replace("-", "\u2212", 1))


def show_place(sheet: VisitSheet, shot: Shot) -> str:
    """``2.35 m right, 1.20 m out``."""
    side = "right" if shot.along_m >= 0.0 else "left"
    system: LengthSystem = "m" if sheet.unit == "m" else "ft-in"
    step_m = 0.01 if sheet.unit == "m" else 0.0254
    along, out = (format_length(abs(value), system, step_m) for value in (shot.along_m, shot.out_m))
    inward = "out" if shot.out_m > -0.005 else "in"
    return f"{_keep_together(f'{along} {side}')}, {_keep_together(f'{out} {inward}')}"


def _keep_together(words: str) -> str:
    """A number is not parted from its unit at the end of a line."""
    return words.replace(" ", "\u00a0")


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


def _find_fonts() -> Path:
    """Fonts that come with the pictures' own needs, so that every machine sets the same page."""
    found = importlib.util.find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        raise DrawingError(
            "matplotlib, whose fonts the sheets use, is not installed. Install from requirements.lock."
        )
    return Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"
