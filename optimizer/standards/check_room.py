"""Is there room: over the ground, in the lot, off what stands there, and piece against piece.

Clauses of our own: ``build.clearance``, ``build.plate_above_ground``, ``build.clear_of``,
``build.inside_lot``, ``build.surveyed``, ``build.headroom``, ``build.apart``.
Touching is allowed: a rectangle is shrunk by the tolerance before it is laid over anything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
import shapely

from optimizer.catalogue.parts import Landing, Part, Section
from optimizer.plan import Finding
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.findings import JOINT_M, judge_build, judge_fact, locate, tell_undecided
from optimizer.standards.ground_measure import Facets
from optimizer.standards.placed import Placed, mark
from optimizer.standards.zone_words import name_zone
from optimizer.terrain.yard import OVERHEAD, PIECE_BLOCKING, Yard
from optimizer.units import TOLERANCE_M

#: The plate may dip this far under the ground beside its middle line (1/4 in).
LIP_M: Final = 0.00635
#: Room for the long mitres of a sharp corner when the lot is offset inward.
_MITRE_LIMIT: Final = 100.0

Plane = tuple[float, float, float]


def check_room(chain: Chain, case: CheckCase, facets: Facets) -> Iterator[Finding]:
    """Everything about room for the walked pieces."""
    solids = find_solids(case.yard)
    lot = shapely.Polygon(case.yard.lot_m)
    free = measure_free_area(case.yard)
    for placed in chain.walked():
        area = placed.rectangle(-TOLERANCE_M)
        name, where = placed.piece.id, mark(placed)
        yield _judge_inside_lot(placed, area, lot, free, case.yard)
        fault = None if facets.area.covers(area) else "it reaches beyond the surveyed ground"
        yield judge_fact("build.surveyed", name, "it lies over surveyed ground", fault, where)
        yield judge_fact(
            "build.clear_of", name, "it is clear of what blocks a piece", find_clash(area, solids), where
        )
        yield from _check_headroom(placed, area, case.yard)
    yield from _check_clearance(chain, case, facets)
    yield from _check_plate(chain, case.yard, facets)
    yield from _check_apart(chain, case.catalogue.piece_gap_m)


def measure_free_area(yard: Yard) -> shapely.Geometry:
    """The lot less its setback, with square corners."""
    return shapely.Polygon(yard.lot_m).buffer(-yard.setback_m, join_style="mitre", mitre_limit=_MITRE_LIMIT)


def _judge_inside_lot(
    placed: Placed[Part], area: shapely.Polygon, lot: shapely.Polygon, free: shapely.Geometry, yard: Yard
) -> Finding:
    """In the free area, or in a strip where relief may be asked; a hard strip is as good as outside."""
    name, where = placed.piece.id, mark(placed)
    if not free.covers(area) and lot.covers(area) and yard.setback_kind == "needs_relief":
        inside = area.difference(free).area
        why = (
            f"{inside:.4f} m2 of it lie in the setback of {yard.setback_m:.2f} m: relief must be asked of "
            "the authority having jurisdiction, which decides"
        )
        return tell_undecided("build.inside_lot", name, why, where)
    fault = None if free.covers(area) else _say_outside(area, free, yard.setback_m)
    return judge_fact("build.inside_lot", name, "it lies inside the lot less its setback", fault, where)


def find_solids(yard: Yard) -> tuple[tuple[str, shapely.Polygon], ...]:
    """Everything no piece may stand in or pass over, by name."""
    return (
        *(("the house", shapely.Polygon(outline)) for outline in yard.house_m),
        *(
            (f'the obstacle "{obstacle.name}"', shapely.Polygon(obstacle.outline_m))
            for obstacle in yard.obstacles
            if obstacle.top_m is None
        ),
        *(
            (name_zone(zone), shapely.Polygon(zone.outline_m))
            for zone in yard.zones
            if zone.kind in PIECE_BLOCKING
        ),
    )


def list_obstacles(yard: Yard) -> tuple[tuple[str, shapely.Polygon], ...]:
    """Every obstacle, with a top or without, by name."""
    return tuple(
        (f'the obstacle "{obstacle.name}"', shapely.Polygon(obstacle.outline_m))
        for obstacle in yard.obstacles
    )


def find_clash(area: shapely.Polygon, solids: tuple[tuple[str, shapely.Polygon], ...]) -> str | None:
    """The first solid that the area overlaps, in words, or ``None``."""
    for name, outline in solids:
        if area.intersects(outline):
            return f"it overlaps {name} by {area.intersection(outline).area:.4f} m2"
    return None


def _say_outside(area: shapely.Polygon, inner: shapely.Polygon, setback_m: float) -> str:
    outside = area.difference(inner).area
    return f"{outside:.4f} m2 of it lie outside the lot less its setback of {setback_m:.2f} m"


def _check_headroom(placed: Placed[Part], area: shapely.Polygon, yard: Yard) -> Iterator[Finding]:
    a, b, c = placed.surface_plane()
    for zone in yard.zones:
        if zone.kind not in OVERHEAD or zone.underside_m is None or zone.headroom_m is None:
            continue
        overlap = area.intersection(shapely.Polygon(zone.outline_m))
        if overlap.is_empty:
            continue
        deck = max(a * x + b * y + c for x, y in shapely.get_coordinates(overlap))
        free = zone.underside_m - deck
        what = f"headroom under {name_zone(zone)}"
        yield judge_build(
            "build.headroom", placed.piece.id, what, free, ">=", zone.headroom_m, "m", mark(placed)
        )


def _check_clearance(chain: Chain, case: CheckCase, facets: Facets) -> Iterator[Finding]:
    last = chain.runs[-1].sections[-1]
    decks: tuple[Placed[Landing] | Placed[Section], ...] = (*chain.all_landings, *chain.sections())
    for placed in decks:
        asked = case.catalogue.low_clearance_m if placed is last else case.catalogue.clearance_m
        a, b, c = placed.surface_plane()
        underside = (a, b, c - placed.part.frame_depth_m)
        area = placed.rectangle(-TOLERANCE_M)
        above, where = facets.rise_above(area, underside)
        clearance, over = -above, "the ground"
        for obstacle in case.yard.obstacles:
            if obstacle.top_m is None:
                continue
            room = _measure_over(area, shapely.Polygon(obstacle.outline_m), underside, obstacle.top_m)
            if not room >= clearance:
                clearance, over, where = room, f'"{obstacle.name}"', placed.start_m
        place = locate(where) if np.all(np.isfinite(where)) else mark(placed)
        what = f"clearance of its frame over {over}"
        yield judge_build("build.clearance", placed.piece.id, what, clearance, ">=", asked, "m", place)


def _measure_over(area: shapely.Polygon, outline: shapely.Polygon, underside: Plane, top_m: float) -> float:
    """Least height of the underside over an obstacle's top; infinite where they do not overlap."""
    overlap = area.intersection(outline)
    a, b, c = underside
    return min((a * x + b * y + c - top_m for x, y in shapely.get_coordinates(overlap)), default=np.inf)


def _check_plate(chain: Chain, yard: Yard, facets: Facets) -> Iterator[Finding]:
    plate = chain.plate
    area = plate.rectangle(-TOLERANCE_M)
    above, where = facets.rise_above(area, plate.surface_plane())
    place = locate(where) if np.all(np.isfinite(where)) else mark(plate)
    what = "the ground stands above its surface by at most"
    # With a pad the ground beside the plate is cut as deep as under the pad.
    most = LIP_M if chain.pad is None else max(LIP_M, chain.pad.part.greatest_level_difference_m)
    yield judge_build("build.plate_above_ground", plate.piece.id, what, above, "<=", most, "m", place)
    fault = find_clash(area, list_obstacles(yard))
    yield judge_fact("build.clear_of", plate.piece.id, "no obstacle lies under it", fault, mark(plate))


@dataclass(frozen=True, slots=True)
class Unit:
    """What is kept apart as a whole: a landing, a run's sections together, or the plate."""

    name: str
    index: int
    rectangle: Callable[[float], shapely.Polygon]


def list_units(chain: Chain) -> tuple[Unit, ...]:
    """Landings, runs and the plate in order down the ramp."""
    units: list[Unit] = []
    if chain.door is not None:
        units.append(Unit(chain.door.piece.id, 0, chain.door.rectangle))
    for number, run in enumerate(chain.runs):
        units.append(Unit(run.name, 2 * number + 1, run.rectangle))
        if number < len(chain.landings):
            landing = chain.landings[number]
            units.append(Unit(landing.piece.id, 2 * number + 2, landing.rectangle))
    units.append(Unit(chain.plate.piece.id, 2 * len(chain.runs), chain.plate.rectangle))
    return tuple(units)


def _check_apart(chain: Chain, gap_m: float) -> Iterator[Finding]:
    """Pieces that are bolted together touch; all others keep the catalogue's gap.

    The plate goes with its run, so it may also be near the landing that run left.
    """
    units = list_units(chain)
    plate = units[-1]
    for earlier, later in combinations(units, 2):
        reach = 2 if later is plate else 1
        joined = later.index - earlier.index <= reach
        if joined:
            clash = earlier.rectangle(0.0).intersects(later.rectangle(-JOINT_M))
            fault = f"it overlaps {earlier.name}" if clash else None
        else:
            clash = earlier.rectangle(gap_m).intersects(later.rectangle(-TOLERANCE_M))
            distance = earlier.rectangle(0.0).distance(later.rectangle(0.0))
            fault = f"it is {distance:.3f} m from {earlier.name}; {gap_m:.3f} m asked" if clash else None
        yield judge_fact("build.apart", later.name, f"it keeps apart from {earlier.name}", fault, None)
