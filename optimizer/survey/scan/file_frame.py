"""What a scan file says of its own coordinates: unit and upward axis, and where it says so."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal, get_args

from optimizer.units import METRES_PER_UNIT

ScanUnit = Literal["m", "cm", "mm", "ft", "us-ft", "in"]
UpAxis = Literal["x", "y", "z", "-x", "-y", "-z"]

SCAN_UNITS: Final[tuple[ScanUnit, ...]] = get_args(ScanUnit)
UP_AXES: Final[tuple[UpAxis, ...]] = get_args(UpAxis)

#: The US survey foot is 1200/3937 m exactly (Mendenhall Order of 1893); it is 2 parts in a million
#: longer than the foot of 0.3048 m, which is 3 m on a state plane grid.
US_SURVEY_FOOT_M: Final = Fraction(1200, 3937)

_METRES: Final = (*METRES_PER_UNIT, ("us-ft", US_SURVEY_FOOT_M))


@dataclass(frozen=True, slots=True)
class ToldFrame:
    """What a file, or the standard of its format, states; ``None`` where it states nothing.

    ``because`` tells in sentences where each statement stands, or that there is none.
    """

    unit: ScanUnit | None
    up: UpAxis | None
    because: tuple[str, ...]


def metres_in(unit: ScanUnit) -> float:
    """Metres in one unit of a scan file."""
    return float(dict(_METRES)[unit])


def unit_of_factor(metres: float) -> ScanUnit | None:
    """The unit that is so many metres long, to a part in a million (which tells the two feet apart)."""
    for unit in SCAN_UNITS:
        if abs(metres / metres_in(unit) - 1.0) < 1e-6:
            return unit
    return None
