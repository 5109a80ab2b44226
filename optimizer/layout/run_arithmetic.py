"""How much a run drops and how long it is in plan; and the same by the trade's rule of thumb.

Sections have a fixed length *along the surface* ``S``.  At slope ``s`` (rise over plan
run) Pythagoras gives::

    plan length = S / sqrt(1 + s^2)        drop = S s / sqrt(1 + s^2)

The trade divides the length by the ratio instead (a 4 ft piece at 1:6 'goes down 8 in';
in fact 7.89 in).  That is a first estimate and has its own name here, ``estimate_...``;
finished geometry never uses it.
"""

from __future__ import annotations

import math


def measure_plan_length(surface_m: float, slope: float) -> float:
    """Plan length in metres of ``surface_m`` metres of deck at ``slope`` (rise over plan run)."""
    return surface_m / math.hypot(1.0, slope)


def measure_drop(surface_m: float, slope: float) -> float:
    """Drop in metres from end to end of ``surface_m`` metres of deck at ``slope``."""
    return surface_m * slope / math.hypot(1.0, slope)


def measure_surface_length(plan_length_m: float, slope: float) -> float:
    """Metres of deck that a run of ``plan_length_m`` needs at ``slope``: parts are ordered by this."""
    return plan_length_m * math.hypot(1.0, slope)


def estimate_drop(length_m: float, slope: float) -> float:
    """Drop in metres by the rule of thumb, length times slope (common practice, no source).

    Too large by ``sqrt(1 + s^2) - 1``: 0.35 % at 1:12, 1.4 % at 1:6.
    """
    return length_m * slope


def estimate_slope(rise_m: float, length_m: float) -> float:
    """Slope by the rule of thumb, rise over length of ramp (common practice, no source)."""
    return rise_m / length_m
