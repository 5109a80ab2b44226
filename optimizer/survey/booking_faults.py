"""Which booked value of a level book is the first that does not follow, and which only inherit it."""

from __future__ import annotations

from optimizer.errors import Fault
from optimizer.survey.level_book import LevelBook, SetUp
from optimizer.survey.level_columns import format_in
from optimizer.units import TOLERANCE_M

_REMEDY = "Correct what is booked, or the reading if that was copied wrongly."


def is_one_of(booked_m: float, right_m: tuple[float, ...], rounding_m: float) -> bool:
    """Is a booked value one of the right ones, to its last digit."""
    return any(abs(booked_m - value) <= rounding_m + TOLERANCE_M for value in right_m)


class BookedLine:
    """What the booker believed, row by row, and the values that do not follow from it.

    ``believed`` holds a row's booked level where there is one, else the level that follows from
    what is booked before it: the next row is measured from there as the booker did.
    """

    def __init__(self, book: LevelBook, right_m: tuple[float, ...]) -> None:
        self._book = book
        self._right_m = right_m
        self.believed = list(right_m)
        self.faults: list[Fault] = []

    def begin(self, setup: SetUp) -> None:
        """Start a set-up; at a change point in one row its level was looked at with the foresight."""
        if setup.start == setup.back:
            return
        start = () if setup.start is None else (self.believed[setup.start],)
        self.check_elevation(setup.back, start)

    def check_elevation(self, row: int, follows_m: tuple[float, ...]) -> None:
        """Look at a booked level.  ``follows_m``: what it may be from what is booked before."""
        booked = self._book.rows[row].booked.elevation_m
        if booked is None:
            self.believed[row] = follows_m[0] if follows_m else self._right_m[row]
            return
        mark = self._book.find_mark(self._book.rows[row].name)
        known = () if mark is None else (mark.elevation_m,)
        # The right level counts too: a slip of the pen need not be carried on.
        if not is_one_of(booked, (*follows_m, self._right_m[row], *known), self._book.rounding_m):
            self.blame(row, "the level", booked, self._right_m[row])
        self.believed[row] = booked

    def blame(self, row: int, title: str, booked_m: float, right_m: float) -> None:
        """Name a booked height or level that does not follow."""
        unit = self._book.unit
        what = (
            f'{title} of "{self._book.rows[row].name}" is booked as {format_in(booked_m, unit)}; '
            f"the readings give {format_in(right_m, unit)}."
        )
        self.faults.append(Fault(self._book.where(row), what, _REMEDY))

    def blame_change(self, row: int, booked_m: float, right_m: float) -> None:
        """Name a booked rise or fall that is not the difference of its two readings."""
        what = (
            f'"{self._book.rows[row].name}" is booked with a {self._change(booked_m)}; the readings give '
            f"a {self._change(right_m)}, level {format_in(self._right_m[row], self._book.unit)}."
        )
        self.faults.append(Fault(self._book.where(row), what, _REMEDY))

    def _change(self, change_m: float) -> str:
        kind = "fall" if change_m < 0 else "rise"
        return f"{kind} of {format_in(abs(change_m), self._book.unit)}"
