"""Does the plate land: tip on the finished surface, bottom space free, pad where one is needed.

Clauses of our own: ``build.tip``, ``build.toe``, ``build.bottom_space``, ``build.pad``,
``build.arrival``.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from optimizer.plan import Candidate, Finding
from optimizer.standards.bottom import Bottom
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.check_room import LIP_M, find_clash, find_solids, list_obstacles
from optimizer.standards.findings import JOINT_M, PLACE_M, judge_build, judge_deviation, judge_fact, locate
from optimizer.standards.ground_measure import Facets, Vector
from optimizer.standards.placed import build_rectangle
from optimizer.standards.zone_words import name_zone
from optimizer.terrain.yard import DIG_BLOCKING, Yard
from optimizer.units import TOLERANCE_M

#: Bottom slope above which a pad is asked when no binding rule set states a landing slope.
DEFAULT_SLOPE: Final = 1.0 / 48.0
#: Two slopes measured on the same ground agree to this ratio.
SLOPE_TOLERANCE: Final = 1e-6


def check_toe(
    candidate: Candidate,
    chain: Chain,
    case: CheckCase,
    facets: Facets,
    bottom: Bottom,
    steepest_landing: float,
) -> Iterator[Finding]:
    """The plate's lower edge, what the plan states about it, and the space beyond.

    ``steepest_landing``: the landing slope of the binding rule sets, infinite when none states one.
    """
    plate, toe = chain.plate, candidate.toe
    tip = locate(plate.end_m)
    name = plate.piece.id
    surface = "pad" if chain.pad is not None else "ground"
    away = abs(float(plate.end_m[2] - bottom.tip_levels_m[1]))
    what = f"the middle of its tip is off the {surface} by"
    yield judge_deviation("build.tip", name, what, away, PLACE_M, tip)
    yield from _check_stated(candidate, chain, case, bottom)
    yield from _check_space(chain, case, facets, bottom)
    yield from _check_pad(candidate, chain, case, bottom, steepest_landing)
    yield from _check_arrival(toe.tip_m, case.yard)


def _check_stated(candidate: Candidate, chain: Chain, case: CheckCase, bottom: Bottom) -> Iterator[Finding]:
    """Every number of the toe record against what is measured."""
    plate, toe = chain.plate, candidate.toe
    tip = locate(plate.end_m)
    name = "toe"
    away = float(np.linalg.norm(np.array(toe.tip_m) - plate.end_m))
    yield judge_deviation("build.toe", name, "its tip is off the plate's lower edge by", away, JOINT_M, tip)
    away = abs(toe.ground_elevation_m - float(bottom.bare_tip_m[1]))
    yield judge_deviation(
        "build.toe", name, "its ground level differs from the survey by", away, PLACE_M, tip
    )
    slope = plate.rise_m / plate.plan_length_m
    yield judge_slope_number("build.toe", name, "plate slope", toe.plate_slope, slope)
    edge = np.array([plate.corners_m[3, 2], plate.corners_m[2, 2]])
    gap = float(np.max(np.abs(edge - bottom.tip_levels_m[[0, 2]])))
    away = abs(toe.tip_corner_gap_m - gap)
    yield judge_deviation("build.toe", name, "its corner gap differs by", away, PLACE_M, tip)
    yield judge_slope_number("build.toe", name, "bottom slope", toe.bottom_slope, bottom.slope)
    fault = None
    if (toe.to_destination_m is None) != (case.yard.destination_m is None):
        fault = "its way to the destination is stated without one, or not stated"
    yield judge_fact("build.toe", name, "it speaks of the destination the yard has", fault, tip)
    if toe.to_destination_m is not None and case.yard.destination_m is not None:
        distance = float(np.hypot(*(case.yard.destination_m[:2] - plate.end_m[:2])))
        what = "its way to the destination differs by"
        away = abs(toe.to_destination_m - distance)
        yield judge_deviation("build.toe", name, what, away, PLACE_M, tip)


def judge_slope_number(clause: str, subject: str, what: str, stated: float, measured: float) -> Finding:
    """A stated slope against the measured one."""
    what = f"its stated {what} of {stated:.6f} is off by"
    return judge_build(clause, subject, what, abs(stated - measured), "<=", SLOPE_TOLERANCE, "", None)


def _check_space(chain: Chain, case: CheckCase, facets: Facets, bottom: Bottom) -> Iterator[Finding]:
    """The bottom space is where and as large as asked, and free."""
    plate = chain.plate
    name, where = "bottom space", locate(bottom.middle_m)
    expected = np.array(
        [
            [*(plate.end_m[:2] + along * plate.heading + lateral * plate.right)]
            for along, lateral in (
                (0.0, -bottom.asked_width_m / 2.0),
                (0.0, bottom.asked_width_m / 2.0),
                (bottom.asked_length_m, bottom.asked_width_m / 2.0),
                (bottom.asked_length_m, -bottom.asked_width_m / 2.0),
            )
        ]
    )
    away = float(np.max(np.hypot(*(bottom.corners_m[:, :2] - expected).T)))
    what = "its corners are off the asked space beyond the tip by"
    yield judge_deviation("build.bottom_space", name, what, away, JOINT_M, where)
    away = _measure_off_surface(bottom.corners_m, chain, facets)
    what = "its corners are off the finished surface by"
    yield judge_deviation("build.bottom_space", name, what, away, PLACE_M, where)
    area = build_rectangle(
        plate.end_m, plate.heading, bottom.asked_length_m, bottom.asked_width_m, -TOLERANCE_M
    )
    yield judge_fact(
        "build.bottom_space", name, "it is free", _find_space_fault(area, chain, case, facets), where
    )


def _measure_off_surface(corners_m: Vector, chain: Chain, facets: Facets) -> float:
    """How far the stated corners leave the ground (or the pad); all at the tip's height also holds."""
    tip = float(chain.plate.end_m[2])
    level = float(np.max(np.abs(corners_m[:, 2] - tip)))
    if chain.pad is not None:
        return level
    ground = np.array([facets.elevation_at(corner[:2]) for corner in corners_m])
    off_ground = float(np.max(np.abs(corners_m[:, 2] - ground)))
    return min(level, off_ground) if np.isfinite(off_ground) else level


def _find_space_fault(area: shapely.Polygon, chain: Chain, case: CheckCase, facets: Facets) -> str | None:
    yard = case.yard
    if not shapely.Polygon(yard.lot_m).covers(area):
        return "it reaches outside the lot"
    if not facets.area.covers(area):
        return "it reaches beyond the surveyed ground"
    pieces = tuple((placed.piece.id, placed.rectangle(0.0)) for placed in chain.walked())
    return find_clash(area, (*find_solids(yard), *list_obstacles(yard), *pieces))


def _check_pad(
    candidate: Candidate, chain: Chain, case: CheckCase, bottom: Bottom, steepest_landing: float
) -> Iterator[Finding]:
    """A pad is placed where the ground asks for one, is large enough, and may be dug."""
    tip = locate(chain.plate.end_m)
    pad = chain.pad
    fault = None if candidate.toe.pad == (pad is not None) else "the toe and the pieces disagree on a pad"
    if pad is None:
        steepest = steepest_landing if np.isfinite(steepest_landing) else DEFAULT_SLOPE
        gap = float(np.max(np.abs(bottom.bare_tip_m - chain.plate.end_m[2])))
        if not np.isfinite(bottom.bare_slope) or not np.isfinite(gap):
            fault = "the ground beyond the tip is not surveyed"
        elif (
            bottom.bare_slope > steepest + SLOPE_TOLERANCE
            or max(gap, bottom.bare_unevenness_m) > LIP_M + TOLERANCE_M
        ):
            fault = (
                f"a pad is needed: the ground beyond the tip slopes {bottom.bare_slope:.4f}, leaves the "
                f"tip by {gap:.4f} m and its own plane by {bottom.bare_unevenness_m:.4f} m"
            )
        yield judge_fact("build.pad", "bottom space", "it needs no pad", fault, tip)
        return
    short_m = max(bottom.asked_length_m - pad.part.length_m, bottom.asked_width_m - pad.part.width_m)
    if short_m > TOLERANCE_M:
        fault = "the pad is smaller than the bottom space"
    yield judge_fact("build.pad", pad.piece.id, "it carries the bottom space", fault, tip)
    difference = float(np.max(np.abs(bottom.levels_m - chain.plate.end_m[2])))
    what = "the ground under it differs from the tip by"
    most = pad.part.greatest_level_difference_m
    yield judge_build("build.pad", pad.piece.id, what, difference, "<=", most, "m", tip)
    area = build_rectangle(
        chain.plate.end_m, chain.plate.heading, bottom.asked_length_m, bottom.asked_width_m, -TOLERANCE_M
    )
    zones = tuple(
        (name_zone(zone), shapely.Polygon(zone.outline_m))
        for zone in case.yard.zones
        if zone.kind in DIG_BLOCKING
    )
    dug = area.union(chain.plate.rectangle(-TOLERANCE_M))
    yield judge_fact("build.pad", pad.piece.id, "it may be dug there", find_clash(dug, zones), tip)


def _check_arrival(tip_m: tuple[float, float, float], yard: Yard) -> Iterator[Finding]:
    if not yard.arrivals_m:
        return
    point = shapely.Point(tip_m[0], tip_m[1])
    nearest = min(shapely.Polygon(outline).distance(point) for outline in yard.arrivals_m)
    what = "the middle of the tip is outside every arrival zone by"
    yield judge_build("build.arrival", "toe", what, nearest, "<=", 0.0, "m", tip_m)
