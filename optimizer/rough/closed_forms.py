r"""Ramps on evenly sloping ground, solved by algebra: no search, no pieces, plan lengths.

The rise is taken at the *tip*, which moves as the ramp grows.  Straight down a fall ``g``
with slope ``1:n``, door landing ``Lt`` and ``k`` landings ``Li`` between runs::

    R = h0 + g (Lt + n R + k Li)      so      R(k) = (h0 + g (Lt + k Li)) / (1 - n g)

and ``k`` is the least with ``R(k) <= m (k + 1)``, ``m`` the rise that one run may take.
With ``R(k) = alpha + beta k`` that is ``alpha - m <= (m - beta) k``: there is none when
``n g >= 1``, and none either when ``beta >= m`` and one run does not reach (each further
landing then loses more rise than its run gains: from 1:14 on for 1:12, 30 in and 60 in).
Nothing is iterated, so nothing can fail to end.

Our own closed form.  It speaks of one shape on one plane: never conclude 'no ramp' from
it.  Not in it: threshold and transition plates, the sizes that pieces come in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from optimizer.units import TOLERANCE_M

#: The least plan length of one leg of an L, about the shortest section (common practice, no source).
SHORTEST_LEG_M: Final = 0.6
#: Landings between runs tried in each leg of an L.
MOST_BETWEEN: Final = 12


@dataclass(frozen=True, slots=True)
class Climb:
    """How high and how long: rise at the tip, plan length of all runs, landings between runs in line."""

    rise_m: float
    run_plan_m: float
    between: int


@dataclass(frozen=True, slots=True)
class Lane:
    """What one straight lane is made of.

    ``slope`` rise over plan run, ``rise_per_run_m`` (may be infinite), ``landing_m`` the
    length of a landing between runs.
    """

    slope: float
    rise_per_run_m: float
    landing_m: float


def find_straight_climb(rise_m: float, fall: float, first_m: float, lane: Lane) -> Climb | None:
    """The ramp in one line down ``fall`` from a level stretch of ``first_m``.

    ``rise_m`` is the height of that stretch above the ground at its beginning.  ``None``
    when no such ramp meets the ground.
    """
    gain = 1.0 - fall / lane.slope
    if gain <= 1e-12:
        return None
    alpha_m = (rise_m + fall * first_m) / gain
    beta_m = fall * lane.landing_m / gain
    between = _count_between(alpha_m, beta_m, lane.rise_per_run_m)
    if between is None:
        return None
    climb_m = alpha_m + beta_m * between
    if climb_m <= 0.0:
        return None
    return Climb(climb_m, climb_m / lane.slope, between)


def _count_between(alpha_m: float, beta_m: float, rise_per_run_m: float) -> int | None:
    """Least whole ``k >= 0`` with ``alpha + beta k <= m (k + 1)``; a limit met counts."""
    short_m = alpha_m - rise_per_run_m - TOLERANCE_M
    if short_m <= 0.0:
        return 0
    won_m = rise_per_run_m - beta_m
    if won_m <= 1e-9 * rise_per_run_m:
        return None  # a landing loses what its run gains, to rounding: no length ends it
    return math.ceil(short_m / won_m)


@dataclass(frozen=True, slots=True)
class Corner:
    """An L: ``out_m`` and ``along_m`` plan lengths of its runs, landings between runs in either leg."""

    rise_m: float
    out_m: float
    along_m: float
    between_out: int
    between_along: int


@dataclass(frozen=True, slots=True)
class CornerGround:
    """Where an L may go: falls out and along, and the longest either leg may reach.

    ``first_out_m``: level length out to the middle of the second leg; ``first_along_m``:
    level length along to the start of the second leg; landings between runs are apart
    from both.  ``reach_out_m``/``reach_along_m``: plan length left for runs and landings
    between them (may be infinite).
    """

    fall_out: float
    fall_along: float
    first_out_m: float
    first_along_m: float
    reach_out_m: float
    reach_along_m: float


def find_corner(rise_m: float, ground: CornerGround, lane: Lane) -> Corner | None:
    """The shortest ramp straight out, then round a quarter turn along the wall.

    With ``x`` the plan length of runs out and ``y`` along, ``x + y = R / s`` and
    ``R = h0 + g (out + x) + a (along + y)``; so ``R`` and ``y`` are linear in ``x``, every
    limit is an interval of ``x``, and the shortest is at one end of what is left.  The
    numbers of landings in either leg are tried in turn.  ``None`` when nothing is left.
    """
    found: Corner | None = None
    for between_out in range(MOST_BETWEEN + 1):
        for between_along in range(MOST_BETWEEN + 1):
            corner = _solve_corner(rise_m, ground, lane, between_out, between_along)
            if corner is None:
                continue
            # On ties the fewer landings, tried first, stay.
            if found is None or _length(corner, lane) < _length(found, lane) - TOLERANCE_M:
                found = corner
    return found


def _length(corner: Corner, lane: Lane) -> float:
    return corner.out_m + corner.along_m + (corner.between_out + corner.between_along) * lane.landing_m


def _solve_corner(
    rise_m: float, ground: CornerGround, lane: Lane, between_out: int, between_along: int
) -> Corner | None:
    gain = 1.0 - ground.fall_along / lane.slope
    if gain <= 1e-12:
        return None
    level_m = (
        rise_m
        + ground.fall_out * (ground.first_out_m + between_out * lane.landing_m)
        + ground.fall_along * (ground.first_along_m + between_along * lane.landing_m)
    )
    rise_0, rise_1 = level_m / gain, (ground.fall_out - ground.fall_along) / gain  # R = rise_0 + rise_1 x
    along_0, along_1 = rise_0 / lane.slope, rise_1 / lane.slope - 1.0  # y = along_0 + along_1 x
    most_m = lane.rise_per_run_m / lane.slope
    low_m = SHORTEST_LEG_M
    high_m = min((between_out + 1) * most_m, ground.reach_out_m - between_out * lane.landing_m)
    high_along_m = min((between_along + 1) * most_m, ground.reach_along_m - between_along * lane.landing_m)
    for factor, offset in ((along_1, along_0 - SHORTEST_LEG_M), (-along_1, high_along_m - along_0)):
        # Each says: x times factor plus offset is not negative.
        if math.isinf(offset):
            continue
        if abs(factor) < 1e-12:
            if offset < -TOLERANCE_M:
                return None
        elif factor > 0.0:
            low_m = max(low_m, -offset / factor)
        else:
            high_m = min(high_m, -offset / factor)
    if low_m > high_m + TOLERANCE_M or math.isinf(low_m):
        return None
    out_m = high_m if rise_1 < 0.0 and math.isfinite(high_m) else low_m
    climb_m = rise_0 + rise_1 * out_m
    if climb_m <= 0.0:
        return None
    return Corner(climb_m, out_m, along_0 + along_1 * out_m, between_out, between_along)


def find_folded_climb(rise_m: float, lane: Lane) -> Climb | None:
    """Out and back over the same ground in two equal lanes: the fall along them cancels.

    ``rise_m``: height of the start above the ground at the tip.  ``between`` counts the
    landings between runs in *one* lane.  ``None`` when there is nothing to come down.
    """
    if rise_m <= 0.0:
        return None
    runs = max(1, math.ceil((rise_m / 2.0 - TOLERANCE_M) / lane.rise_per_run_m))
    return Climb(rise_m, rise_m / lane.slope, runs - 1)
