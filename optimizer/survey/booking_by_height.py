"""Levels by the height of the instrument (collimation): height = level + backsight, level = height - reading.

Textbook method, as in the National Programme on Technology Enhanced Learning's course notes on
reduction of levels (module 4, table 13.3).
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.errors import Fault
from optimizer.survey.booking_faults import BookedLine, is_one_of
from optimizer.survey.level_book import LevelBook


@dataclass(frozen=True, slots=True)
class HeightBooking:
    """``heights_m``: of the instrument, one a set-up.  ``elevations_m``: one a row, nothing spread."""

    heights_m: tuple[float, ...]
    elevations_m: tuple[float, ...]


def book_by_height(book: LevelBook) -> HeightBooking:
    """Elevations of all rows by the heights of the instrument."""
    elevations = [0.0] * len(book.rows)
    heights = []
    for setup in book.setups:
        elevations[setup.back] = start_elevation(book, setup.back, setup.start, elevations)
        height = elevations[setup.back] + book.backsight(setup)
        heights.append(height)
        for row in setup.levelled:
            elevations[row] = height - book.reads_from(setup, row)
    return HeightBooking(tuple(heights), tuple(elevations))


def start_elevation(book: LevelBook, back: int, start: int | None, elevations: list[float]) -> float:
    """Level on which a set-up stands: that of its mark, or of the row that levelled the point before."""
    if start is not None:
        return elevations[start]
    mark = book.find_mark(book.rows[back].name)
    if mark is None:
        msg = f"set-up on row {back} has neither mark nor start"
        raise ValueError(msg)
    return mark.elevation_m


def find_height_faults(book: LevelBook, right: HeightBooking) -> tuple[Fault, ...]:
    """Booked heights and levels that follow neither from the readings nor from what is booked before.

    A level worked out rightly from a wrong height or a wrong change point only inherits the fault
    and is not named.
    """
    line = BookedLine(book, right.elevations_m)
    for setup, right_height in zip(book.setups, right.heights_m, strict=True):
        line.begin(setup)
        backsight = book.backsight(setup)
        height = line.believed[setup.back] + backsight
        for row in (setup.back, *setup.between):
            booked = book.rows[row].booked.height_m
            if booked is None:
                continue
            if not is_one_of(booked, (right_height, height), book.rounding_m):
                line.blame(row, "the height of instrument", booked, right_height)
            height = booked
        for row in setup.levelled:
            line.check_elevation(row, (height - book.reads_from(setup, row),))
    return tuple(line.faults)
