"""The arithmetic checks of a level book, for each marked page and for the whole.

``sum of backsights - sum of foresights = last level - first level = sum of rises - sum of falls``.
It checks the booker's arithmetic only and says nothing of the readings (US Navy, Engineering Aid,
NAVEDTRA 14071, p. 127).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from optimizer.survey.booking_by_rise import RiseBooking
from optimizer.survey.level_book import LevelBook, SetUp
from optimizer.units import TOLERANCE_M


@dataclass(frozen=True, slots=True)
class ArithmeticCheck:
    """Sums of one page or of the whole book, in metres.

    Rises, falls and levels are the booked ones where booked (``source`` ``booked`` when any is),
    else worked out from the readings.  A page that ends between a backsight and its foresight
    counts its last sight as a foresight and, on the next page, as a backsight.
    ``level_change_m`` is last less first level; where the book starts again on another mark, the
    sum over its lines.
    """

    title: str
    source: Literal["booked", "readings"]
    backsights_m: float
    foresights_m: float
    rises_m: float
    falls_m: float
    first_m: float
    last_m: float
    level_change_m: float
    rounding_m: float

    @property
    def sights_change_m(self) -> float:
        """Sum of backsights less sum of foresights."""
        return self.backsights_m - self.foresights_m

    @property
    def agrees(self) -> bool:
        """Do the three differences agree, to a micrometre or to what booked values were rounded by."""
        allowed = TOLERANCE_M + self.rounding_m
        return (
            abs(self.sights_change_m - self.level_change_m) <= allowed
            and abs(self.rises_m - self.falls_m - self.level_change_m) <= allowed
        )


@dataclass(frozen=True, slots=True)
class _Step:
    """From one sight to the next in one set-up, as rows."""

    setup: SetUp
    before: int
    row: int


def check_arithmetic(book: LevelBook, right: RiseBooking) -> tuple[ArithmeticCheck, ...]:
    """One check for each page that is marked, in order, then one for the book."""
    steps = [
        _Step(setup, before, row)
        for setup in book.setups
        for before, row in zip((setup.back, *setup.between), setup.levelled, strict=True)
    ]
    pages = [(page, list(group)) for page, group in groupby(steps, lambda step: book.rows[step.row].page)]
    checks = [_sum_up(book, right, f"page {page}", group) for page, group in pages if page]
    return (*checks, _sum_up(book, right, "book", steps))


def _sum_up(book: LevelBook, right: RiseBooking, title: str, steps: Sequence[_Step]) -> ArithmeticCheck:
    def level(row: int) -> float:
        booked = book.rows[row].booked.elevation_m
        return right.elevations_m[row] if booked is None else booked

    backsights = foresights = level_change = 0.0
    changes = []
    for index, step in enumerate(steps):
        if step.before == step.setup.back:
            backsights += book.backsight(step.setup)
        elif index == 0:
            backsights += book.reads_from(step.setup, step.before)
        is_last = index == len(steps) - 1
        if step.row == step.setup.fore or is_last:
            foresights += book.reads_from(step.setup, step.row)
        booked = book.rows[step.row].booked.change_m
        changes.append(right.rises_m[step.row] if booked is None else booked)
        # A line ends where the next set-up does not stand on this row's point and level.
        if index == 0 or _starts_line(steps[index - 1], step):
            level_change -= level(step.before)
        if is_last or _starts_line(step, steps[index + 1]):
            level_change += level(step.row)
    touched = {row for step in steps for row in (step.before, step.row)}
    booked_values = [book.rows[row].booked for row in touched]
    is_booked = any(one.elevation_m is not None or one.change_m is not None for one in booked_values)
    return ArithmeticCheck(
        title,
        "booked" if is_booked else "readings",
        backsights,
        foresights,
        sum(change for change in changes if change > 0),
        -sum(change for change in changes if change < 0),
        level(steps[0].before),
        level(steps[-1].row),
        level_change,
        book.rounding_m * (len(steps) + 2),
    )


def _starts_line(before: _Step, step: _Step) -> bool:
    if step.setup is before.setup:
        return False
    return step.setup.start != before.row
