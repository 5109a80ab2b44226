r"""Ramps of equal runs under slope-by-length laws, on evenly sloping ground; solved by algebra.

``n`` runs of plan length ``L`` each come down ``R = level + gain L``: ``level`` is the height above the
ground at the tip were the runs of no length, ``gain`` what the ground falls along the runs for each metre
of ``L``.  An allowance whose slope is ``s``, whose ``1/s`` is ``u + v L`` or whose ``s`` is ``u + v L`` has
room while ``R / n <= s L``, so the shortest ``L`` is a root of degree two at most, an end of an allowance or
where its greatest rise is reached.  Every such length is tried in turn: the first that all laws allow is it.

Equal runs are the shortest where the law gives longer runs flatter slopes; in a table of steps, runs of
unequal length may be shorter by a little.  Our own closed form.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from optimizer.rough.closed_forms import MOST_BETWEEN, SHORTEST_LEG_M, Climb, Corner, CornerGround
from optimizer.rulebook.run_law import Allowance, RunLaw
from optimizer.units import TOLERANCE_M

#: Where the slope itself is not allowed, a run is this much longer.
_LONGER_M: Final = 1e-4
_NOTHING: Final = 1e-12


@dataclass(frozen=True, slots=True)
class LawLane:
    """What one straight lane is made of: every law must allow every run; ``landing_m`` between runs."""

    laws: tuple[RunLaw, ...]
    landing_m: float


def find_shortest_run(level_m: float, gain: float, runs: int, laws: tuple[RunLaw, ...]) -> float | None:
    """The least plan length (metres) of each of ``runs`` equal runs, ``None`` when no length does."""
    lengths = {
        length_m
        for law in laws
        for one in law.allowances
        for length_m in _list_lengths(level_m, gain, runs, one)
        if math.isfinite(length_m) and length_m > 0.0
    }
    for length_m in sorted(lengths):
        rise_m = (level_m + gain * length_m) / runs
        if rise_m > 0.0 and all(law.allows(rise_m, length_m) for law in laws):
            return length_m
    return None


def _list_lengths(level_m: float, gain: float, runs: int, one: Allowance) -> Iterator[float]:
    """Where an allowance may begin to have room: its ends, its slope met, its greatest rise met."""
    for length_m in (one.above_m, one.longest_m, *_list_slope_met(level_m, gain, runs, one)):
        yield length_m
        if one.is_strict:
            yield length_m + _LONGER_M
    if abs(gain) > _NOTHING:
        yield (runs * one.greatest_rise_m - level_m) / gain


def _list_slope_met(level_m: float, gain: float, runs: int, one: Allowance) -> Iterator[float]:
    """Lengths at which the runs have exactly the slope allowed for them."""
    steep, flat, span_m = one.slope_at_above, one.slope_at_longest, one.longest_m - one.above_m
    if steep == flat or math.isinf(span_m):
        yield from _list_roots(0.0, runs * flat - gain, -level_m)
    elif one.between == "ratio":
        v = (flat - steep) / span_m
        yield from _list_roots(runs * v, runs * (steep - v * one.above_m) - gain, -level_m)
    else:
        v = (1.0 / flat - 1.0 / steep) / span_m
        u = 1.0 / steep - v * one.above_m
        yield from _list_roots(gain * v, level_m * v + gain * u - runs, level_m * u)


def _list_roots(a: float, b: float, c: float) -> Iterator[float]:
    """Real roots of ``a x^2 + b x + c = 0``."""
    if abs(a) < _NOTHING:
        if abs(b) > _NOTHING:
            yield -c / b
        return
    square = b * b - 4.0 * a * c
    if square >= 0.0:
        # The larger of the two sums, so that nothing cancels.
        half = -0.5 * (b + math.copysign(math.sqrt(square), b))
        yield half / a
        if half != 0.0:
            yield c / half


def find_straight_by_law(rise_m: float, fall: float, first_m: float, lane: LawLane) -> Climb | None:
    """The shortest ramp in one line down ``fall`` from a level stretch of ``first_m``.

    ``rise_m`` is the height of that stretch above the ground at its beginning.  ``None`` when none of at
    most ``MOST_BETWEEN + 1`` runs meets the ground.
    """
    found: Climb | None = None
    for between in range(MOST_BETWEEN + 1):
        runs = between + 1
        level_m = rise_m + fall * (first_m + between * lane.landing_m)
        length_m = find_shortest_run(level_m, fall * runs, runs, lane.laws)
        if length_m is None:
            continue
        climb = Climb(level_m + fall * runs * length_m, runs * length_m, between)
        if found is None or _length(climb, lane) < _length(found, lane) - TOLERANCE_M:
            found = climb
    return found


def _length(climb: Climb, lane: LawLane) -> float:
    return climb.run_plan_m + climb.between * lane.landing_m


def find_corner_by_law(rise_m: float, ground: CornerGround, lane: LawLane) -> Corner | None:
    """The shortest ramp of equal runs straight out, then round a quarter turn along the wall."""
    found: Corner | None = None
    for between_out in range(MOST_BETWEEN + 1):
        for between_along in range(MOST_BETWEEN + 1):
            corner = _solve_corner(rise_m, ground, lane, between_out, between_along)
            if corner is not None and (
                found is None or _corner_length(corner, lane) < _corner_length(found, lane) - TOLERANCE_M
            ):
                found = corner
    return found


def _corner_length(corner: Corner, lane: LawLane) -> float:
    return corner.out_m + corner.along_m + (corner.between_out + corner.between_along) * lane.landing_m


def _solve_corner(
    rise_m: float, ground: CornerGround, lane: LawLane, between_out: int, between_along: int
) -> Corner | None:
    out, along = between_out + 1, between_along + 1
    level_m = (
        rise_m
        + ground.fall_out * (ground.first_out_m + between_out * lane.landing_m)
        + ground.fall_along * (ground.first_along_m + between_along * lane.landing_m)
    )
    gain = ground.fall_out * out + ground.fall_along * along
    length_m = find_shortest_run(level_m, gain, out + along, lane.laws)
    if length_m is None or min(out, along) * length_m < SHORTEST_LEG_M:
        return None
    out_m, along_m = out * length_m, along * length_m
    if out_m + between_out * lane.landing_m > ground.reach_out_m + TOLERANCE_M:
        return None
    if along_m + between_along * lane.landing_m > ground.reach_along_m + TOLERANCE_M:
        return None
    return Corner(level_m + gain * length_m, out_m, along_m, between_out, between_along)


def find_folded_by_law(rise_m: float, lane: LawLane) -> Climb | None:
    """Out and back over the same ground in two equal lanes: the fall along them cancels.

    ``rise_m``: height of the start above the ground at the tip.  ``between`` counts the landings
    between runs in *one* lane.  ``None`` when there is nothing to come down.
    """
    if rise_m <= 0.0:
        return None
    found: Climb | None = None
    for between in range(MOST_BETWEEN + 1):
        runs = 2 * (between + 1)
        length_m = find_shortest_run(rise_m, 0.0, runs, lane.laws)
        if length_m is None:
            continue
        climb = Climb(rise_m, runs * length_m, between)
        if found is None or _folded_length(climb, lane) < _folded_length(found, lane) - TOLERANCE_M:
            found = climb
    return found


def _folded_length(climb: Climb, lane: LawLane) -> float:
    return climb.run_plan_m + 2 * climb.between * lane.landing_m
