"""The level book to fill in on the visit: as CSV, with the names and places that are known."""

from __future__ import annotations

import csv
import io
from typing import Literal

from optimizer.units import METRES_PER_UNIT
from optimizer.visit.sheet import VisitSheet

BOOK_NAME = "level-book.csv"


def format_book(sheet: VisitSheet, sill_m: float | None) -> str:
    """Header and one row a point; ``sill_m``: elevation of the sill in the survey's datum, if known.

    The first row is the backsight on the sill, the last one closes on it.  Readings stay empty.
    """
    unit = sheet.unit
    columns = ("bs", "is", "fs", "known_elevation", "along_wall", "out_from_wall")
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(["name", *(f"{column}_{unit}" for column in columns), "note"])
    known = "" if sill_m is None else _show(sill_m, unit)
    writer.writerow(["sill left", "", "", "", known, "", "", "backsight; known: level of the sill"])
    for place in sheet.places:
        if place.name != "sill left":
            writer.writerow([place.name, "", "", "", "", "", "", place.place])
    for shot in sheet.shots:
        if shot.name != "sill left":
            writer.writerow(
                [shot.name, "", "", "", "", _show(shot.along_m, unit), _show(shot.out_m, unit), shot.place]
            )
    writer.writerow(["sill left", "", "", "", "", "", "", "close here: fs"])
    return buffer.getvalue()


def _show(value_m: float, unit: Literal["m", "ft"]) -> str:
    return f"{value_m / float(dict(METRES_PER_UNIT)[unit]) + 0.0:.3f}"
