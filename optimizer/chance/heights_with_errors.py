"""Heights printed with their plus-minus: no digit that the survey does not carry.

``31 5/8 in +/- 1/2 in``, ``803 mm +/- 12 mm``.  The plus-minus is rounded up, never down; the height to
the largest handy step that is at most a tenth of the plus-minus, and no finer than 1 mm or 1/8 in
(common practice on paper, no source).
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final, Literal

from optimizer.errors import Fault, InputError
from optimizer.units import TOLERANCE_M, format_length, round_half_up

_INCH_M: Final = Fraction(254, 10000)
#: Steps in metres, finest first.
_MILLIMETRE_STEPS: Final = tuple(Fraction(n, 1000) for n in (1, 5, 10, 50, 100))
_INCH_STEPS: Final = tuple(
    part * _INCH_M for part in (Fraction(1, 8), Fraction(1, 4), Fraction(1, 2), Fraction(1))
)


def format_with_error(height_m: float, plus_minus_m: float, system: Literal["in", "mm"]) -> str:
    """The height rounded to what its plus-minus carries, with the plus-minus.

    ``plus_minus_m``: usually two standard errors (about 95 %).  A height or plus-minus that is not known
    (NaN) prints as ``unknown``.  Raises ``InputError`` for a plus-minus below zero.
    """
    if plus_minus_m < 0.0:
        remedy = "Give zero or more."
        raise InputError(Fault("plus_minus_m", f"the plus-minus is {plus_minus_m} m.", remedy))
    if not (math.isfinite(height_m) and math.isfinite(plus_minus_m)):
        return "unknown"
    step = find_step(plus_minus_m, system)
    ups = _round_up(plus_minus_m, step)
    shown = format_length(round_to_step(height_m, step), system, float(step))
    return f"{shown} +/- {format_length(float(ups * step), system, float(step))}"


def find_step(plus_minus_m: float, system: Literal["in", "mm"]) -> Fraction:
    """The step, exactly in metres, to which a height with this plus-minus is rounded."""
    steps = _INCH_STEPS if system == "in" else _MILLIMETRE_STEPS
    fitting = [step for step in steps if 10 * step <= Fraction(plus_minus_m + TOLERANCE_M)]
    return fitting[-1] if fitting else steps[0]


def round_to_step(height_m: float, step: Fraction) -> float:
    """The nearest whole number of steps, half away from zero, in metres."""
    steps = round_half_up(abs(Fraction(repr(float(height_m)))) / step)
    return math.copysign(float(steps * step), height_m)


def _round_up(plus_minus_m: float, step: Fraction) -> int:
    """Whole steps that hold the plus-minus, one at least; a micrometre over is not one more."""
    return max(1, math.ceil((Fraction(plus_minus_m) - Fraction(TOLERANCE_M)) / step))
