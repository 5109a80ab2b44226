"""A visit sheet as data: what to ask, what to shoot, what to photograph; its pages are set from this."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Question:
    """Something to ask on site.  ``answer``: what the site file says already, empty where it is open.

    ``choices``: boxes to tick, empty for a line to write on.  ``why``: what depends on it.
    """

    asked: str
    choices: tuple[str, ...]
    why: str
    answer: str


@dataclass(frozen=True, slots=True)
class QuestionGroup:
    """Questions under one heading."""

    title: str
    questions: tuple[Question, ...]


@dataclass(frozen=True, slots=True)
class PlaceToShoot:
    """A place to level on a first visit; ``name`` as it goes into the level book."""

    name: str
    place: str


@dataclass(frozen=True, slots=True)
class Shot:
    """One level to take again once there is a plan.

    ``along_m``: along the wall from the middle of the door, to the right looking out; ``out_m``: out
    from the wall.  ``below_m``: how far below the sill the ground is expected.  The plan holds while
    it is found between ``least_below_m`` and ``greatest_below_m``.  ``why``: what depends on it.
    """

    name: str
    place: str
    along_m: float
    out_m: float
    below_m: float
    least_below_m: float
    greatest_below_m: float
    why: str

    def is_go(self, found_below_m: float) -> bool:
        """Does the plan hold when the ground is found so far below the sill (limits count as met)."""
        return self.least_below_m - 1e-6 <= found_below_m <= self.greatest_below_m + 1e-6


@dataclass(frozen=True, slots=True)
class DrawnPiece:
    """A piece seen from above in the door's frame: corners (along, out) in metres."""

    kind: Literal["deck", "pad", "steps", "house"]
    name: str
    corners_m: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class VisitSheet:
    """A whole sheet.  ``shots`` and ``pieces`` are empty on a first visit, ``places`` after a plan.

    ``order``: what the order of the shots goes by.
    """

    title: str
    below: str
    warning: str
    unit: Literal["m", "ft"]
    groups: tuple[QuestionGroup, ...]
    places: tuple[PlaceToShoot, ...]
    photos: tuple[str, ...]
    shots: tuple[Shot, ...]
    pieces: tuple[DrawnPiece, ...]
    order: str = ""
