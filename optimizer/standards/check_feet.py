"""Where a support's foot may stand: on one level, clear of the yard's things and of the ramp's end.

Clauses of our own: what ``build.foot`` looks at, and ``build.foot_off_pad``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from optimizer.plan import XYZ, Finding
from optimizer.standards.bottom import Bottom
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.findings import judge_build
from optimizer.standards.ground_measure import Facets, Vector
from optimizer.standards.placed import build_rectangle
from optimizer.standards.zone_words import name_zone
from optimizer.terrain.yard import FOOT_BLOCKING, PIECE_BLOCKING, Yard
from optimizer.units import TOLERANCE_M


@dataclass(frozen=True, slots=True)
class FreeGround:
    """Ground at the ramp's end on which no foot may stand: its name and its outline in plan."""

    name: str
    area: shapely.Polygon


def find_free_ground(chain: Chain, bottom: Bottom) -> FreeGround:
    """The bottom pad, or without one the space beyond the tip: dug away, or in the way people take.

    Common practice, no source.
    """
    if chain.pad is not None:
        return FreeGround("the bottom pad", chain.pad.rectangle(0.0))
    plate = chain.plate
    area = build_rectangle(plate.end_m, plate.heading, bottom.asked_length_m, bottom.asked_width_m, 0.0)
    return FreeGround("the bottom space", area)


def judge_off_pad(subject: str, point: Vector, reach_m: float, free: FreeGround, where_m: XYZ) -> Finding:
    """The foot's disc of radius ``reach_m`` around ``point`` (2,) touches that ground at most."""
    away = float(free.area.distance(shapely.Point(point)))
    what = f"its foot's middle lies off {free.name} by"
    return judge_build("build.foot_off_pad", subject, what, away, ">=", reach_m, "m", where_m)


def build_stands(case: CheckCase) -> tuple[tuple[shapely.Polygon, float], ...]:
    """Obstacle tops on which feet may stand."""
    return tuple(
        (shapely.Polygon(obstacle.outline_m), obstacle.top_m)
        for obstacle in case.yard.obstacles
        if obstacle.may_stand and obstacle.top_m is not None
    )


def measure_stand(
    point: Vector, reach_m: float, facets: Facets, stands: tuple[tuple[shapely.Polygon, float], ...]
) -> float:
    """Level of what the foot stands on: an obstacle's top that carries all of it, else the ground."""
    for outline, top in stands:
        if _has_whole_disc(outline, point, reach_m):
            return top
    return facets.elevation_at(point)


def _has_whole_disc(outline: shapely.Polygon, point: Vector, reach_m: float) -> bool:
    """Does the outline contain the whole disc, to within the tolerance."""
    place = shapely.Point(point)
    return bool(outline.covers(place)) and outline.exterior.distance(place) >= reach_m - TOLERANCE_M


def find_foot_fault(point: Vector, reach_m: float, case: CheckCase, facets: Facets) -> str | None:
    """What is wrong with a foot that needs ``reach_m`` free around ``point`` (2,), or ``None``."""
    yard = case.yard
    place = shapely.Point(point)
    lot = shapely.Polygon(yard.lot_m)
    if not lot.covers(place):
        return "it stands outside the lot"
    if not np.isfinite(facets.elevation_at(point)):
        return "it stands off the surveyed ground"
    free = reach_m - TOLERANCE_M
    if lot.exterior.distance(place) < free:
        return _say_near("the lot line", lot.exterior.distance(place), reach_m)
    for line in case.ground.break_lines:
        distance = shapely.LineString(line.xy_m).distance(place)
        if distance < free:
            return _say_near(f'the break line "{line.name}"', distance, reach_m)
    return _find_yard_fault(place, reach_m, yard)


def _find_yard_fault(place: shapely.Point, reach_m: float, yard: Yard) -> str | None:
    free = reach_m - TOLERANCE_M
    things = [("the house", shapely.Polygon(outline)) for outline in yard.house_m]
    things += [
        (name_zone(zone), shapely.Polygon(zone.outline_m))
        for zone in yard.zones
        if zone.kind in FOOT_BLOCKING | PIECE_BLOCKING
    ]
    for obstacle in yard.obstacles:
        outline = shapely.Polygon(obstacle.outline_m)
        carries = obstacle.may_stand and _has_whole_disc(outline, np.array(place.coords[0]), reach_m)
        if not carries:
            things.append((f'the obstacle "{obstacle.name}"', outline))
    for name, outline in things:
        distance = outline.distance(place)
        if distance < free:
            return _say_near(name, distance, reach_m)
    return None


def _say_near(name: str, distance_m: float, reach_m: float) -> str:
    return f"it stands {distance_m:.3f} m from {name}; its foot needs {reach_m:.3f} m"
