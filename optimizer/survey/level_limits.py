"""How far a line of levels may miss the mark it closes on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Protocol


class AllowedMisclosure(Protocol):
    """A rule that gives the largest misclosure accepted."""

    def limit_m(self, setups: int, length_m: float | None) -> float | None:
        """Metres, for a line of so many set-ups (or board lengths) and plan length.

        ``None`` when the rule needs a length and none is known.
        """

    def describe(self, unit: str) -> str:
        """The rule in words, for a report, in the book's unit."""


@dataclass(frozen=True, slots=True)
class ConstantLimit:
    """The same for every line."""

    constant_m: float

    def limit_m(self, setups: int, length_m: float | None) -> float | None:  # noqa: ARG002  the rule's signature
        """The constant."""
        return self.constant_m

    def describe(self, unit: str) -> str:
        """``3 mm``."""
        return _show(self.constant_m, unit)


@dataclass(frozen=True, slots=True)
class LimitBySetups:
    """So much a square root of set-ups: each adds an error of its own.

    'Error of a series', E sqrt(n): J. Mahun, Elevations, ch. E, eq. E-2 (open textbook).
    """

    per_root_setup_m: float

    def limit_m(self, setups: int, length_m: float | None) -> float | None:  # noqa: ARG002  the rule's signature
        """``per_root_setup_m * sqrt(n)``."""
        return self.per_root_setup_m * math.sqrt(setups)

    def describe(self, unit: str) -> str:
        """``5 mm x sqrt(set-ups)``."""
        return f"{_show(self.per_root_setup_m, unit)} x sqrt(set-ups)"


@dataclass(frozen=True, slots=True)
class LimitByLength:
    """So much a square root of kilometres of line.

    For example 12 mm sqrt(K), third order (Standards and Specifications for Geodetic Control
    Networks, FGCC 1984, 3.5, as tabled in J. Mahun, Elevations, ch. E).  ``length_m``: of the
    line as stated, else the sum of its sights where every one is booked.
    """

    per_root_km_m: float
    length_m: float | None = None

    def limit_m(self, setups: int, length_m: float | None) -> float | None:  # noqa: ARG002  the rule's signature
        """``per_root_km_m * sqrt(K)``."""
        length = length_m if self.length_m is None else self.length_m
        return None if length is None else self.per_root_km_m * math.sqrt(length / 1000.0)

    def describe(self, unit: str) -> str:
        """``12 mm x sqrt(km)``."""
        return f"{_show(self.per_root_km_m, unit)} x sqrt(km)"


@dataclass(frozen=True, slots=True)
class LargerLimit:
    """The larger of two rules."""

    first: AllowedMisclosure
    second: AllowedMisclosure

    def limit_m(self, setups: int, length_m: float | None) -> float | None:
        """The larger limit."""
        both = (self.first.limit_m(setups, length_m), self.second.limit_m(setups, length_m))
        return None if both[0] is None or both[1] is None else max(both[0], both[1])

    def describe(self, unit: str) -> str:
        """``3 mm or 5 mm x sqrt(set-ups), whichever is larger``."""
        return f"{self.first.describe(unit)} or {self.second.describe(unit)}, whichever is larger"


def _show(length_m: float, unit: str) -> str:
    if unit in ("ft", "in"):
        return f"{length_m / 0.0254:.4g} in"
    return f"{length_m * 1000:g} mm"


#: A rule by length is below what a staff can be read to in a yard: 12 mm sqrt(0.05 km) is 2.7 mm.
#: 5 mm sqrt(n set-ups) stands in course notes on construction levelling; 3 mm is common practice, no source.
DEFAULT_LIMIT: Final = LargerLimit(ConstantLimit(0.003), LimitBySetups(0.005))
