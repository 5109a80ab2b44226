"""The files of ``evenfall survey-sheet``: the sheet to print and the level book to fill in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.check_again import read_plan_site
from optimizer.errors import Fault, InputError, OutputError
from optimizer.plan import Candidate
from optimizer.plan_file import read_plan
from optimizer.visit.book_csv import BOOK_NAME, format_book
from optimizer.visit.build_sheet import build_first_sheet, build_shot_sheet, choose_unit
from optimizer.visit.set_pages import SHEET_NAME, set_pdf
from optimizer.visit.sheet import VisitSheet
from optimizer.visit.shots import find_start
from optimizer.written_files import prepare_folder, write_whole, write_whole_bytes


@dataclass(frozen=True, slots=True)
class ChosenSheet:
    """A sheet, and the elevation of the sill it counts from in the survey's datum (``None``: not known)."""

    sheet: VisitSheet
    sill_m: float | None


def choose_sheet(
    site: Path | None, plan: Path | None, candidate: int, unit: Literal["m", "ft"]
) -> ChosenSheet:
    """A blank sheet in ``unit``, that of a site, or that of a candidate (from 1) of the site's plan.

    Raises ``InputError`` for a faulty site, and for a plan that is not the site's.
    """
    if site is None:
        if plan is not None:
            what = "a plan needs its site."
            raise InputError(Fault("--plan", what, "Name the site, and leave --blank out."))
        return ChosenSheet(build_first_sheet(None, unit), None)
    if plan is None:
        found = read_site(site)
        return ChosenSheet(
            build_first_sheet(found, choose_unit(found)), _find_sill(found, found.yard.starts[0].threshold_m)
        )
    made = read_plan(plan)
    found = read_plan_site(made, plan, site)
    if not 1 <= candidate <= len(made.candidates):
        remedy = f"The plan has 1 to {len(made.candidates)}." if made.candidates else "It has no layout."
        raise InputError(Fault("--candidate", f"{candidate} is not a candidate.", remedy))
    chosen: Candidate = made.candidates[candidate - 1]
    sill_m = _find_sill(found, find_start(found, chosen).threshold_m)
    return ChosenSheet(build_shot_sheet(found, chosen), sill_m)


def write_sheet(chosen: ChosenSheet, folder: Path) -> tuple[Path, Path]:
    """PDF and CSV, each whole or not at all; raises ``OutputError``, also when a book would be lost."""
    prepare_folder(folder)
    book = format_book(chosen.sheet, chosen.sill_m)
    _keep_filled_book(folder / BOOK_NAME, book)
    pdf = set_pdf(chosen.sheet)
    write_whole_bytes(folder / SHEET_NAME, pdf)
    write_whole(folder / BOOK_NAME, book)
    return folder / SHEET_NAME, folder / BOOK_NAME


def _keep_filled_book(path: Path, book: str) -> None:
    """Refuse to write over a book that is not the empty one: it may hold a day's readings."""
    if path.exists() and path.read_bytes() != book.encode("utf-8"):
        raise OutputError(
            f"{path}: another level book is there, which may hold readings. "
            "Rename it, or choose another folder with --out."
        )


def _find_sill(site: Site, threshold_m: float) -> float:
    return float(threshold_m + site.origin_shift_m[2])
