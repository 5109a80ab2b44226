"""The shapes a rough answer tries, each as one closed form on the plane of the question.

Frame: out from the wall and along it, both from the middle of the door.  The door landing
is square, centred on the door.  Needed depth and width include the level space beyond
the tip.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from optimizer.layout.run_arithmetic import measure_surface_length
from optimizer.rough.closed_forms import (
    Climb,
    Corner,
    CornerGround,
    Lane,
    find_corner,
    find_folded_climb,
    find_straight_climb,
)
from optimizer.rough.law_forms import (
    LawLane,
    find_corner_by_law,
    find_folded_by_law,
    find_straight_by_law,
)
from optimizer.rough.question import INCH_M, Estimate, RoughLimits, RoughQuestion
from optimizer.units import Slope, is_at_most

#: Gap between two lanes side by side (common practice, no source).
LANE_GAP_M: Final = 6 * INCH_M

ShapeName = Literal["straight out", "along the wall", "L", "switchback out", "switchback along"]
Fit = Literal["fits", "does not fit", "not asked"]


@dataclass(frozen=True, slots=True)
class RoughShape:
    """One shape: numbers of runs and landings, plan lengths, the ground it takes.

    ``landings`` counts those between runs (a turn is one of them), ``landing_plan_m`` the
    level plan length between the runs.  ``total_plan_m`` is what a tape along the way
    measures: door landing, runs, landings, level space beyond the tip.  ``fit`` is 'not
    asked' when a depth or width that it needs is not given.
    """

    name: ShapeName
    rise_m: float
    runs: int
    landings: int
    run_plan_m: float
    run_surface_m: float
    total_plan_m: float
    tip_out_m: float
    depth_needed_m: float
    width_needed_m: float
    fit: Fit


@dataclass(frozen=True, slots=True)
class RoughMiss:
    """A shape that this algebra has no answer for, and why; never a proof that none exists."""

    name: ShapeName
    reason: str


def find_shapes(question: RoughQuestion, limits: RoughLimits) -> tuple[RoughShape | RoughMiss, ...]:
    """Every shape in turn."""
    finders: tuple[Callable[[RoughQuestion, RoughLimits], RoughShape | RoughMiss], ...] = (
        _find_straight_out,
        _find_along_the_wall,
        _find_l,
        _find_switchback_out,
        _find_switchback_along,
    )
    return tuple(finder(question, limits) for finder in finders)


def _start_m(question: RoughQuestion) -> float:
    return question.rise_m.value - question.drop_m


def _lane(limits: RoughLimits) -> Lane:
    return Lane(limits.slope, limits.rise_per_run_m, limits.landing_m)


def _climb_straight(rise_m: float, fall: float, first_m: float, limits: RoughLimits) -> Climb | None:
    if limits.laws:
        return find_straight_by_law(rise_m, fall, first_m, LawLane(limits.laws, limits.landing_m))
    return find_straight_climb(rise_m, fall, first_m, _lane(limits))


def _climb_folded(rise_m: float, limits: RoughLimits) -> Climb | None:
    if limits.laws:
        return find_folded_by_law(rise_m, LawLane(limits.laws, limits.landing_m))
    return find_folded_climb(rise_m, _lane(limits))


def _turn_corner(rise_m: float, ground: CornerGround, limits: RoughLimits) -> Corner | None:
    if limits.laws:
        return find_corner_by_law(rise_m, ground, LawLane(limits.laws, limits.landing_m))
    return find_corner(rise_m, ground, _lane(limits))


def _find_straight_out(question: RoughQuestion, limits: RoughLimits) -> RoughShape | RoughMiss:
    climb = _climb_straight(_start_m(question), question.fall_out.value, limits.door_m, limits)
    if climb is None:
        return _miss("straight out", limits)
    tip_m = limits.door_m + climb.run_plan_m + climb.between * limits.landing_m
    return _shape(
        "straight out",
        question,
        limits,
        climb,
        landings=climb.between,
        level_m=climb.between * limits.landing_m,
        tip_out_m=tip_m,
        depth_m=tip_m + limits.bottom_m,
        width_m=max(limits.door_m, limits.lane_m) / 2.0,
    )


def _find_along_the_wall(question: RoughQuestion, limits: RoughLimits) -> RoughShape | RoughMiss:
    # The lane leaves the door landing's side in the middle: there the fall out has acted already.
    out_m = limits.door_m / 2.0
    start_m = _start_m(question) + question.fall_out.value * out_m
    climb = _climb_straight(start_m, question.fall_along.value, limits.door_m / 2.0, limits)
    if climb is None:
        return _miss("along the wall", limits)
    level_m = climb.between * limits.landing_m
    return _shape(
        "along the wall",
        question,
        limits,
        climb,
        landings=climb.between,
        level_m=level_m,
        tip_out_m=out_m,
        depth_m=max(limits.door_m, out_m + limits.lane_m / 2.0),
        width_m=limits.door_m / 2.0 + climb.run_plan_m + level_m + limits.bottom_m,
    )


def _find_l(question: RoughQuestion, limits: RoughLimits) -> RoughShape | RoughMiss:
    turn_m = limits.turn_m
    falls = question.fall_out.value, question.fall_along.value
    first_out_m, first_along_m = limits.door_m + turn_m / 2.0, turn_m / 2.0
    open_ground = CornerGround(*falls, first_out_m, first_along_m, math.inf, math.inf)
    bounded = CornerGround(
        *falls,
        first_out_m,
        first_along_m,
        _room_m(question.depth_m) - limits.door_m - turn_m,
        _room_m(question.width_m) - first_along_m - limits.bottom_m,
    )
    start_m = _start_m(question)
    corner = _turn_corner(start_m, bounded, limits) or _turn_corner(start_m, open_ground, limits)
    if corner is None:
        return _miss("L", limits)
    return _corner_shape(corner, question, limits)


def _corner_shape(corner: Corner, question: RoughQuestion, limits: RoughLimits) -> RoughShape:
    between = corner.between_out + corner.between_along
    leg_out_m = corner.out_m + corner.between_out * limits.landing_m
    leg_along_m = corner.along_m + corner.between_along * limits.landing_m
    corner_m = limits.door_m + leg_out_m + limits.turn_m
    return _shape(
        "L",
        question,
        limits,
        Climb(corner.rise_m, corner.out_m + corner.along_m, between + 1),
        landings=between + 1,
        level_m=between * limits.landing_m + limits.turn_m,
        tip_out_m=corner_m - limits.turn_m / 2.0,
        depth_m=corner_m,
        width_m=limits.turn_m / 2.0 + leg_along_m + limits.bottom_m,
    )


def _find_switchback_out(question: RoughQuestion, limits: RoughLimits) -> RoughShape | RoughMiss:
    # The second lane ends beside the door landing; the level space fits there, before the wall.
    across_m = limits.lane_m + LANE_GAP_M
    out, along = question.fall_out.value, question.fall_along.value
    rise_m = _start_m(question) + out * limits.door_m + along * across_m
    climb = _climb_folded(rise_m, limits)
    if climb is None:
        return _miss("switchback out", limits)
    return _shape(
        "switchback out",
        question,
        limits,
        climb,
        landings=2 * climb.between + 1,
        level_m=2 * climb.between * limits.landing_m + limits.turn_m,
        tip_out_m=limits.door_m,
        depth_m=limits.door_m + climb.run_plan_m / 2.0 + climb.between * limits.landing_m + limits.turn_m,
        width_m=max(limits.door_m / 2.0, across_m + limits.lane_m / 2.0, limits.turn_m - limits.lane_m / 2.0),
    )


def _find_switchback_along(question: RoughQuestion, limits: RoughLimits) -> RoughShape | RoughMiss:
    # The first lane is flush with the door landing's outer edge, the second lies beyond it.
    tip_out_m = limits.door_m + LANE_GAP_M + limits.lane_m / 2.0
    along_m = limits.door_m / 2.0
    rise_m = _start_m(question) + question.fall_out.value * tip_out_m + question.fall_along.value * along_m
    climb = _climb_folded(rise_m, limits)
    if climb is None:
        return _miss("switchback along", limits)
    return _shape(
        "switchback along",
        question,
        limits,
        climb,
        landings=2 * climb.between + 1,
        level_m=2 * climb.between * limits.landing_m + limits.turn_m,
        tip_out_m=tip_out_m,
        depth_m=limits.door_m + max(LANE_GAP_M + limits.lane_m, limits.turn_m - limits.lane_m),
        width_m=along_m + climb.run_plan_m / 2.0 + climb.between * limits.landing_m + limits.turn_m,
    )


def _shape(
    name: ShapeName,
    question: RoughQuestion,
    limits: RoughLimits,
    climb: Climb,
    *,
    landings: int,
    level_m: float,
    tip_out_m: float,
    depth_m: float,
    width_m: float,
) -> RoughShape:
    return RoughShape(
        name=name,
        rise_m=climb.rise_m,
        runs=landings + 1,
        landings=landings,
        run_plan_m=climb.run_plan_m,
        run_surface_m=measure_surface_length(climb.run_plan_m, climb.rise_m / climb.run_plan_m),
        total_plan_m=limits.door_m + climb.run_plan_m + level_m + limits.bottom_m,
        tip_out_m=tip_out_m,
        depth_needed_m=depth_m,
        width_needed_m=width_m,
        fit=_judge_fit(depth_m, width_m, question),
    )


def _judge_fit(depth_needed_m: float, width_needed_m: float, question: RoughQuestion) -> Fit:
    pairs = ((depth_needed_m, question.depth_m), (width_needed_m, question.width_m))
    if any(room is not None and not is_at_most(needed_m, room.value) for needed_m, room in pairs):
        return "does not fit"
    return "not asked" if any(room is None for _, room in pairs) else "fits"


def _room_m(room: Estimate | None) -> float:
    return math.inf if room is None else room.value


def _miss(name: ShapeName, limits: RoughLimits) -> RoughMiss:
    if name.startswith("switchback"):
        return RoughMiss(name, "the ground rises to the level of the door landing; survey it.")
    return RoughMiss(
        name,
        f"on this plane no such ramp at {Slope.from_ratio(limits.slope)} meets the ground: it falls away "
        "too fast, or rises to the door landing. Turn along the contour, and survey.",
    )
