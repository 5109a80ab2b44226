"""Where the points of a level book lie: coordinates as booked, or distance and direction from the level.

Plan positions in the frame of the book's columns (x and y, or along the wall and out from it).  A
distance is taped horizontally or 100 x (upper - lower) stadia hair: the line of sight of a level is
horizontal.  A bearing is clockwise from +y, an angle clockwise from the line to the back point.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.survey.level_book import LevelBook, Place, SetUp
from optimizer.survey.level_columns import format_signed_in

#: Multiplying constant of stadia hairs; the additive one is nought with internal focusing.
STADIA: Final = 100.0

#: Middle reading against the mean of the hairs: 3 mm.  Common practice, no source.
STADIA_DISAGREEMENT_M: Final = 0.003

#: Positions of one point may differ by so much: a tape in a yard.  Common practice, no source.
PLACE_DISAGREEMENT_M: Final = 0.10

_PLACE_REMEDY = (
    "Give the instrument's place in the row of its backsight, or the backsight's distance and bearing "
    "to a point whose position is known."
)


@dataclass(frozen=True, slots=True)
class NamedPlace:
    """A point's plan position, the mean of all that were booked, and the rows they stand in."""

    name: str
    x_m: float
    y_m: float
    rows: tuple[int, ...]


def find_sight_length(place: Place) -> float | None:
    """Horizontal distance from instrument to staff in metres, as taped or by stadia."""
    if place.distance_m is not None:
        return place.distance_m
    if place.upper_m is None or place.lower_m is None:
        return None
    return STADIA * (place.upper_m - place.lower_m)


def find_hair_doubts(book: LevelBook) -> tuple[Fault, ...]:
    """Rows whose middle reading is not midway between the stadia hairs: one of the three was misread."""
    doubts = []
    for index, row in enumerate(book.rows):
        middle = row.backsight_m if row.levelled_m is None else row.levelled_m
        upper, lower = row.place.upper_m, row.place.lower_m
        if middle is None or upper is None or lower is None:
            continue
        off_m = (upper + lower) / 2 - middle
        if abs(off_m) > STADIA_DISAGREEMENT_M + 1e-6:
            off = format_signed_in(off_m, book.unit)
            what = f'the stadia hairs of "{row.name}" put the middle reading off by {off}.'
            doubts.append(Fault(book.where(index), what, "One of the three was misread; read them again."))
    return tuple(doubts)


class _Places:
    """Positions found so far, and what is wrong with the rest."""

    def __init__(self, book: LevelBook) -> None:
        self.book = book
        self.found: dict[str, list[tuple[float, float, int]]] = {}
        self.faults: list[Fault] = []

    def refuse(self, row: int, what: str, remedy: str) -> None:
        self.faults.append(Fault(self.book.where(row), what, remedy))

    def add(self, row: int, x_m: float, y_m: float) -> None:
        self.found.setdefault(self.book.rows[row].name, []).append((x_m, y_m, row))

    def mean(self, name: str) -> tuple[float, float] | None:
        shots = self.found.get(name)
        if shots is None:
            return None
        return sum(shot[0] for shot in shots) / len(shots), sum(shot[1] for shot in shots) / len(shots)

    def check_row(self, row: int) -> None:
        """Take a row's coordinates, and refuse what is half booked."""
        place, name = self.book.rows[row].place, self.book.rows[row].name
        for title, first, second in (
            ("position", place.x_m, place.y_m),
            ("instrument's place", place.instrument_x_m, place.instrument_y_m),
            ("pair of stadia hairs", place.upper_m, place.lower_m),
        ):
            if (first is None) != (second is None):
                self.refuse(row, f'the {title} of "{name}" is half booked.', "Give both values or none.")
        if place.x_m is not None and place.y_m is not None:
            self.add(row, place.x_m, place.y_m)
        length = find_sight_length(place)
        if place.bearing_deg is not None and place.angle_deg is not None:
            self.refuse(row, f'"{name}" has a bearing and an angle.', "Give one of the two.")
        if length is not None and length <= 0.0:
            what = f'the distance to "{name}" is {length:.3f} m.'
            self.refuse(row, what, "Give the upper hair's reading under upper, a tape's as it is.")
        if length is None and (place.bearing_deg is not None or place.angle_deg is not None):
            what = f'"{name}" has a direction but no distance.'
            self.refuse(row, what, "Add distance_m, or upper_m and lower_m.")

    def stand(self, setup: SetUp) -> tuple[float, float] | None:
        """Where the instrument of a set-up stands, when the book tells."""
        place = self.book.rows[setup.back].place
        if place.instrument_x_m is not None and place.instrument_y_m is not None:
            return place.instrument_x_m, place.instrument_y_m
        back = self.mean(self.book.rows[setup.back].name)
        length = find_sight_length(place)
        if back is None or length is None or place.bearing_deg is None:
            return None
        along = math.radians(place.bearing_deg)
        return back[0] - length * math.sin(along), back[1] - length * math.cos(along)

    def sight(self, setup: SetUp, stand: tuple[float, float] | None, row: int) -> None:
        """Place a levelled row's point by its distance and direction."""
        place, name = self.book.rows[row].place, self.book.rows[row].name
        length = find_sight_length(place)
        direction = place.angle_deg if place.bearing_deg is None else place.bearing_deg
        if length is None or direction is None:
            return
        if stand is None:
            self.refuse(
                row, f'"{name}" is sighted from an instrument whose place is not known.', _PLACE_REMEDY
            )
            return
        along = math.radians(direction)
        if place.bearing_deg is None:
            back = self.mean(self.book.rows[setup.back].name)
            if back is None or math.dist(back, stand) < 1e-6:
                what = f'"{name}" has an angle from a back point whose position is not known.'
                self.refuse(row, what, "Give the back point's position, or bearings instead of angles.")
                return
            along += math.atan2(back[0] - stand[0], back[1] - stand[1])
        self.add(row, stand[0] + length * math.sin(along), stand[1] + length * math.cos(along))


def find_places(book: LevelBook) -> tuple[NamedPlace, ...]:
    """Positions of all points that have one, in order of their names' first position.

    Raises ``InputError`` with every row whose direction or distance leads nowhere, and every point
    whose positions differ by more than ``PLACE_DISAGREEMENT_M``.
    """
    places = _Places(book)
    for row in range(len(book.rows)):
        places.check_row(row)
    if not places.faults:
        for setup in book.setups:
            stand = places.stand(setup)
            for row in setup.levelled:
                places.sight(setup, stand, row)
    named = []
    for name, shots in places.found.items():
        x_m = sum(shot[0] for shot in shots) / len(shots)
        y_m = sum(shot[1] for shot in shots) / len(shots)
        apart = max(math.dist(shots[0][:2], shot[:2]) for shot in shots)
        if apart > PLACE_DISAGREEMENT_M + 1e-6:
            what = f'the positions of "{name}" are {apart:.2f} m apart.'
            places.refuse(shots[-1][2], what, "Give two points two names, or correct the position.")
        named.append(NamedPlace(name, x_m, y_m, tuple(shot[2] for shot in shots)))
    if places.faults:
        raise InputError(*places.faults)
    return tuple(named)
