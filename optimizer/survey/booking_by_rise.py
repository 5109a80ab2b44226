"""Levels by rise and fall: each level from the one before by the difference of the two readings.

Textbook method, as in the National Programme on Technology Enhanced Learning's course notes on
reduction of levels (module 4, table 13.3).
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.errors import Fault
from optimizer.survey.booking_by_height import start_elevation
from optimizer.survey.booking_faults import BookedLine, is_one_of
from optimizer.survey.level_book import LevelBook


@dataclass(frozen=True, slots=True)
class RiseBooking:
    """One a row: ``rises_m``, a fall negative, nought where only a backsight stands; ``elevations_m``."""

    rises_m: tuple[float, ...]
    elevations_m: tuple[float, ...]


def book_by_rise(book: LevelBook) -> RiseBooking:
    """Elevations of all rows by rises and falls."""
    rises = [0.0] * len(book.rows)
    elevations = [0.0] * len(book.rows)
    for setup in book.setups:
        elevation = start_elevation(book, setup.back, setup.start, elevations)
        elevations[setup.back] = elevation
        before = book.backsight(setup)
        for row in setup.levelled:
            reading = book.reads_from(setup, row)
            rise = before - reading
            elevation += rise
            rises[row], elevations[row] = rise, elevation
            before = reading
    return RiseBooking(tuple(rises), tuple(elevations))


def find_rise_faults(book: LevelBook, right: RiseBooking) -> tuple[Fault, ...]:
    """Booked rises, falls and levels that follow neither from the readings nor from what is booked before.

    A level worked out rightly from a wrong rise or a wrong level only inherits the fault and is not
    named.
    """
    line = BookedLine(book, right.elevations_m)
    for setup in book.setups:
        line.begin(setup)
        before = setup.back
        for row in setup.levelled:
            change = right.rises_m[row]
            booked = book.rows[row].booked.change_m
            if booked is not None and not is_one_of(booked, (change,), book.rounding_m):
                line.blame_change(row, booked, change)
            start = line.believed[before]
            line.check_elevation(row, (start + (change if booked is None else booked), start + change))
            before = row
    return tuple(line.faults)
