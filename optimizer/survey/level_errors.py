"""Standard errors of levelled elevations, from the errors of the single readings.

Every reading has the same independent error ``r``; a set-up's difference of two readings has
``s = r sqrt(2)``.  A level is a sum of readings, so its variance is ``r^2`` times the sum of squares of
its coefficients; after the misclosure is spread, the coefficients of the spread are in it.  For change
points this is, after ``k`` of ``n`` set-ups, ``s sqrt(k)`` on an open line ('error of a series', J. Mahun,
Elevations, ch. E, eq. E-2) and ``s sqrt(k (n - k) / n)`` on a closed one (the mean of the level carried
from both ends, weighted by the inverse of the set-ups).

``s`` is what the misclosures show, ``sqrt(mean(w_i^2 / n_i))`` over closed sections, but never below
``DEFAULT_SETUP_ERROR_M``: one closure is one draw and may be small by luck.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.level_book import LevelBook
from optimizer.survey.level_closure import Closure

#: Of one set-up, 2 mm: two readings of 1.4 mm each.  Common practice in a yard, no source.
DEFAULT_SETUP_ERROR_M: Final = 0.002


class LevelSum:
    """A level as a number and as what it is made of: its error's coefficients, one a reading."""

    __slots__ = ("coefficients", "elevation_m")

    def __init__(self, elevation_m: float, coefficients: NDArray[np.float64]) -> None:
        self.elevation_m = elevation_m
        self.coefficients = coefficients

    def plus(self, reading_m: float, index: int, sign: int) -> LevelSum:
        """With a reading added (a backsight, sign 1) or taken off (sign -1)."""
        coefficients = self.coefficients.copy()
        coefficients[index] += sign
        return LevelSum(self.elevation_m + sign * reading_m, coefficients)

    def less(self, other: LevelSum, share: float) -> LevelSum:
        """Less a share of another sum."""
        return LevelSum(
            self.elevation_m - share * other.elevation_m,
            self.coefficients - share * other.coefficients,
        )


def known_level(elevation_m: float, readings: int) -> LevelSum:
    """A level that rests on no reading."""
    return LevelSum(elevation_m, np.zeros(readings))


def count_readings(book: LevelBook) -> int:
    """Backsights and the sights of all set-ups."""
    return sum(1 + len(setup.levelled) for setup in book.setups)


def estimate_setup_error(closures: Sequence[Closure], least_m: float) -> float:
    """Standard error of one set-up in metres: what the closed sections show, at least ``least_m``."""
    shown = [
        closure.misclosure_m**2 / closure.setups
        for closure in closures
        if closure.misclosure_m is not None and closure.verdict == "closes"
    ]
    return max(least_m, math.sqrt(sum(shown) / len(shown))) if shown else least_m


def reading_error(setup_error_m: float) -> float:
    """Standard error of one reading from that of a set-up, which is a difference of two."""
    return setup_error_m / math.sqrt(2.0)
