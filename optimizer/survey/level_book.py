"""A level book as booked: its rows, and the set-ups of the instrument they make up."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from optimizer.survey.spots import Style

#: ``height``: a height of the instrument was booked; ``rise``: rises and falls; ``readings``: neither.
Booking = Literal["height", "rise", "readings"]


@dataclass(frozen=True, slots=True)
class BookedValues:
    """What the booker worked out and wrote down, metres; ``None`` where nothing is written."""

    rise_m: float | None
    fall_m: float | None
    height_m: float | None
    elevation_m: float | None

    @property
    def change_m(self) -> float | None:
        """The booked rise, positive, or fall, negative."""
        if self.rise_m is not None:
            return self.rise_m
        return None if self.fall_m is None else -self.fall_m


@dataclass(frozen=True, slots=True)
class Place:
    """Where a row's point or instrument is, as far as booked.

    ``x_m``, ``y_m`` in the frame of ``LevelBook.style``.  ``distance_m`` horizontal, by tape;
    ``upper_m``, ``lower_m`` the stadia hairs.  ``bearing_deg`` clockwise from +y; ``angle_deg``
    clockwise from the line to the back point.
    """

    x_m: float | None
    y_m: float | None
    instrument_x_m: float | None
    instrument_y_m: float | None
    distance_m: float | None
    upper_m: float | None
    lower_m: float | None
    bearing_deg: float | None
    angle_deg: float | None

    @property
    def has_sight(self) -> bool:
        """Does anything here belong to one sight rather than to the point."""
        own = (self.distance_m, self.upper_m, self.lower_m, self.bearing_deg, self.angle_deg)
        return any(value is not None for value in own)


@dataclass(frozen=True, slots=True)
class LevelRow:
    """One line of the book.  Staff readings in metres, negative with the staff upside down."""

    line: int
    name: str
    backsight_m: float | None
    intermediate_m: float | None
    foresight_m: float | None
    known_m: float | None
    booked: BookedValues
    place: Place
    page: str
    note: str

    @property
    def levelled_m(self) -> float | None:
        """The reading that gives the row's point its level: intermediate sight or foresight."""
        return self.intermediate_m if self.foresight_m is None else self.foresight_m


@dataclass(frozen=True, slots=True)
class SetUp:
    """One stand of the instrument, as indices of rows.

    ``start``: the row that levelled the back point before; the same as ``back`` at a change point
    on one line, ``None`` when the back point is a bench mark of known level.
    """

    back: int
    between: tuple[int, ...]
    fore: int
    start: int | None

    @property
    def levelled(self) -> tuple[int, ...]:
        """Rows that get their level from here, in the order of the sights."""
        return (*self.between, self.fore)


@dataclass(frozen=True, slots=True)
class Mark:
    """A bench mark: a point whose level is given, with the row that gives it."""

    name: str
    elevation_m: float
    line: int


@dataclass(frozen=True, slots=True)
class LevelBook:
    """A book whose rows make whole set-ups, each from a point of known level.

    ``unit`` is that of the staff, for printing.  ``reading_step_m`` and ``booked_step_m`` are the
    last digits written of readings and marks, and of booked values (infinite when none is booked).
    """

    path: Path
    unit: str
    style: Style | None
    booking: Booking
    rows: tuple[LevelRow, ...]
    setups: tuple[SetUp, ...]
    marks: tuple[Mark, ...]
    reading_step_m: float
    booked_step_m: float

    def where(self, row: int) -> str:
        """``file:line`` of a row, for messages."""
        return f"{self.path.name}:{self.rows[row].line}"

    def find_mark(self, name: str) -> Mark | None:
        """The bench mark of that name."""
        return next((mark for mark in self.marks if mark.name == name), None)

    def reads_from(self, setup: SetUp, row: int) -> float:
        """Staff reading of a levelled row of a set-up."""
        reading = self.rows[row].levelled_m if row != setup.fore else self.rows[row].foresight_m
        if reading is None:
            msg = f"row {row} has no reading"
            raise ValueError(msg)
        return reading

    def backsight(self, setup: SetUp) -> float:
        """Staff reading that opens a set-up."""
        reading = self.rows[setup.back].backsight_m
        if reading is None:
            msg = f"row {setup.back} has no backsight"
            raise ValueError(msg)
        return reading

    @property
    def rounding_m(self) -> float:
        """How far a booked value may stand off for having been rounded: nought when it has all digits."""
        return 0.0 if self.booked_step_m <= self.reading_step_m * 1.000001 else self.booked_step_m / 2
