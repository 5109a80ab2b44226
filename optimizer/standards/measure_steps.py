"""What is in the way of a flight of steps, measured from its four corners alone.

The corners are the landing's edge at the deck and the nosing of the lowest tread, one riser above
the ground; so risers and treads follow from them.  The same measures judge a flight that is
placed and one that is only tried on a free edge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from optimizer.catalogue.parts import Landing, Part, StepFlight
from optimizer.plan import Rail
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.check_room import find_clash, find_solids, list_obstacles, measure_free_area
from optimizer.standards.ground_measure import Facets, Vector
from optimizer.standards.placed import Placed, build_rectangle
from optimizer.standards.zone_words import name_zone
from optimizer.terrain.yard import DIG_BLOCKING, FOOT_BLOCKING, OVERHEAD, Yard, ZoneKind
from optimizer.units import TOLERANCE_M, is_at_least, is_at_most

#: Free length beyond the foot, and on the landing before the top (36 in; IRC R311.7.6, from memory).
CLEAR_M: Final = 0.9144
#: The ground in the space beyond the foot may leave the foot's level by so much (3 in): our own choice.
SPACE_FALL_M: Final = 0.0762
#: From this much out of level across the foot its bed is dug in (1/4 in).
DUG_FROM_M: Final = 0.00635
#: A rail in the landing's edge lies within this of it.
EDGE_M: Final = 1e-3

Solids = tuple[tuple[str, shapely.Polygon], ...]


@dataclass(frozen=True, slots=True)
class Look:
    """One thing looked at: what is said when it is in order, and the fault when it is not."""

    clause: str
    says: str
    fault: str | None


def measure_riser(flight: Placed[StepFlight]) -> float:
    """Height of the risers between its corners: all but the lowest."""
    return flight.rise_m / (flight.part.risers - 1)


def measure_lowest_riser(flight: Placed[StepFlight], facets: Facets) -> float:
    """From the ground at the middle of its foot to the lowest tread; NaN where it is not surveyed."""
    return float(flight.end_m[2]) - facets.elevation_at(flight.end_m[:2])


def measure_across(flight: Placed[StepFlight], facets: Facets) -> float:
    """How far the ground at the two ends of its foot leaves that at its middle."""
    middle = facets.elevation_at(flight.end_m[:2])
    return float(np.max([abs(facets.elevation_at(corner[:2]) - middle) for corner in flight.corners_m[2:]]))


def build_space(flight: Placed[StepFlight]) -> shapely.Polygon:
    """The free space beyond its foot, as wide as it is."""
    return build_rectangle(flight.end_m, flight.heading, CLEAR_M, flight.width_m, -TOLERANCE_M)


def list_looks(
    flight: Placed[StepFlight],
    landing: Placed[Landing] | None,
    chain: Chain,
    rails: tuple[Rail, ...],
    case: CheckCase,
    facets: Facets,
) -> Iterator[Look]:
    """Rise, room and ground of one flight that leaves ``landing``."""
    yield _look_at_rise(flight, case.survey_error_m, facets)
    area, space = flight.rectangle(-TOLERANCE_M), build_space(flight)
    yield from _look_at_place(area, space, chain, case.yard, facets)
    solids = (*find_solids(case.yard), *list_obstacles(case.yard))
    feet = (*solids, *_name_zones(case.yard, FOOT_BLOCKING))
    yield Look("build.clear_of", "it is clear of what blocks steps", find_clash(area, feet))
    fault = find_clash(space, solids)
    yield Look("build.steps_space", "nothing stands beyond its foot", fault and f"beyond its foot {fault}")
    yield from _look_at_pieces(area, space, landing, chain, case)
    yield _look_at_top(flight, rails)
    yield _look_at_treads(flight, case.catalogue.low_clearance_m, facets)
    yield from _look_at_foot(flight, space, case.yard, facets)
    yield from _look_at_headroom(flight, area, case.yard)


def _name_zones(yard: Yard, kinds: frozenset[ZoneKind]) -> Solids:
    return tuple(
        (name_zone(zone), shapely.Polygon(zone.outline_m)) for zone in yard.zones if zone.kind in kinds
    )


def _look_at_rise(flight: Placed[StepFlight], doubt_m: float, facets: Facets) -> Look:
    """The whole rise, deck to ground, lies in the part's range by the survey's error."""
    part = flight.part
    rise = float(flight.start_m[2]) - facets.elevation_at(flight.end_m[:2])
    low, high = part.rise_min_m + doubt_m, part.rise_max_m - doubt_m
    text = f"{part.id} serves {low:.3f} to {high:.3f} m"
    fits = is_at_least(rise, low) and is_at_most(rise, high)
    return Look(
        "build.steps_rise",
        f"the deck lies {rise:.3f} m above its foot; {text}",
        None if fits else f"the deck lies {rise:.3f} m above its foot, but {text}",
    )


def _look_at_place(
    area: shapely.Polygon, space: shapely.Polygon, chain: Chain, yard: Yard, facets: Facets
) -> Iterator[Look]:
    """In the lot less its setback; in a strip with relief only when the ramp needs that relief anyway."""
    free = measure_free_area(yard)
    lot = shapely.Polygon(yard.lot_m)
    has_relief = yard.setback_kind == "needs_relief" and not all(
        free.covers(placed.rectangle(-TOLERANCE_M)) for placed in chain.walked()
    )
    fault = (
        None if (lot if has_relief else free).covers(area) else "it leaves the lot or stands in its setback"
    )
    yield Look("build.inside_lot", "it lies inside the lot less its setback", fault)
    fault = None if lot.covers(space) else "the space beyond its foot leaves the lot"
    yield Look("build.steps_space", "the space beyond its foot lies inside the lot", fault)
    fault = (
        None if facets.area.covers(area.union(space)) else "it or the space beyond its foot is not surveyed"
    )
    yield Look("build.surveyed", "it lies over surveyed ground", fault)


def _look_at_pieces(
    area: shapely.Polygon,
    space: shapely.Polygon,
    landing: Placed[Landing] | None,
    chain: Chain,
    case: CheckCase,
) -> Iterator[Look]:
    gap = case.catalogue.piece_gap_m
    others: list[Placed[Part]] = [chain.threshold, *chain.walked()]
    if chain.pad is not None:
        others.append(chain.pad)
    for other in others:
        name = other.piece.id
        if landing is not None and name == landing.piece.id:
            fault = f"it overlaps {name}" if other.rectangle(0.0).intersects(area) else None
            says = f"it touches {name}, which it leaves"
        else:
            near = other.rectangle(gap).intersects(area)
            fault = f"it is nearer to {name} than {gap:.3f} m" if near else None
            says = f"it keeps apart from {name}"
        if fault is None and other.rectangle(0.0).intersects(space):
            fault = f"the space beyond its foot overlaps {name}"
        yield Look("build.apart", says, fault)


def _look_at_top(flight: Placed[StepFlight], rails: tuple[Rail, ...]) -> Look:
    """No level rail end of a run reaches before its top."""
    before = build_rectangle(
        flight.start_m - CLEAR_M * np.array([*flight.heading, 0.0]),
        flight.heading,
        CLEAR_M + EDGE_M,
        flight.width_m,
        -TOLERANCE_M,
    )
    crossing = [
        rail.id
        for rail in rails
        if rail.kind == "end" and shapely.LineString([end[:2] for end in rail.line_m]).intersects(before)
    ]
    fault = f"the rail end {crossing[0]} reaches before its upper end" if crossing else None
    return Look("build.steps_top", "no rail end reaches before its upper end", fault)


def _look_at_treads(flight: Placed[StepFlight], clearance_m: float, facets: Facets) -> Look:
    """The underside of every tread keeps its clearance over the ground."""
    part, riser = flight.part, measure_riser(flight)
    going = flight.plan_length_m / (part.risers - 1)
    worst = np.inf
    for number in range(part.risers - 1):
        start = flight.start_m + number * going * np.array([*flight.heading, 0.0])
        tread = build_rectangle(start, flight.heading, going, flight.width_m, -TOLERANCE_M)
        underside = float(flight.start_m[2]) - (number + 1) * riser - part.frame_depth_m
        above, _ = facets.rise_above(tread, (0.0, 0.0, underside))
        worst = min(worst, -above) if np.isfinite(above) else worst
    fault = f"its treads clear the ground by {worst:.3f} m, {clearance_m:.3f} m asked"
    return Look(
        "build.clearance",
        f"its treads clear the ground by at least {clearance_m:.3f} m",
        None if is_at_least(worst, clearance_m) else fault,
    )


def _look_at_foot(
    flight: Placed[StepFlight], space: shapely.Polygon, yard: Yard, facets: Facets
) -> Iterator[Look]:
    """The ground across the foot is level enough for its bed, and level enough beyond it."""
    across, most = measure_across(flight, facets), flight.part.foot_level_difference_m
    text = f"the ground across its foot is out of level by {across:.3f} m"
    fault = None if is_at_most(across, most) else f"{text}, its bed evens out {most:.3f} m"
    yield Look("build.steps_foot", f"{text}; its bed evens out {most:.3f} m", fault)
    foot = facets.elevation_at(flight.end_m[:2])
    above, _ = facets.rise_above(space, (0.0, 0.0, foot))
    off = max(above, foot - facets.lowest_in(space))
    text = f"the ground beyond its foot leaves the foot's level by {off:.3f} m"
    fault = None if is_at_most(off, SPACE_FALL_M) else f"{text}, {SPACE_FALL_M:.3f} m at most"
    yield Look("build.steps_foot", text, fault)
    dug = find_clash(space, _name_zones(yard, DIG_BLOCKING)) if not is_at_most(across, DUG_FROM_M) else None
    yield Look("build.steps_foot", "its bed may be made", dug and f"its bed must be dug and {dug}")


def _look_at_headroom(flight: Placed[StepFlight], area: shapely.Polygon, yard: Yard) -> Iterator[Look]:
    a, b, c = flight.surface_plane()
    for zone in yard.zones:
        if zone.kind not in OVERHEAD or zone.underside_m is None or zone.headroom_m is None:
            continue
        points: Vector = shapely.get_coordinates(area.intersection(shapely.Polygon(zone.outline_m)))
        free = zone.underside_m - max((a * x + b * y + c for x, y in points), default=-np.inf)
        text = f"headroom under {name_zone(zone)}"
        fault = None if is_at_least(free, zone.headroom_m) else f"{text} is {free:.3f} m, too little"
        yield Look("build.headroom", f"{text} is enough", fault)
