"""From a site to the flat arrays the search kernel reads, once per start."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from optimizer.brief.site import Site
from optimizer.catalogue.rates import part_cost_cents
from optimizer.layout.landing_edges import find_departure, list_attach_positions, list_landing_rails
from optimizer.layout.spec import TurnKind, TurnSpec
from optimizer.search.geometry_kernel import HIGH, KEEP_CLEAR, KEEP_OFF, MAY_STAND, STAND_INSIDE
from optimizer.search.search_kernel import COUNT_OF_NUMBERS, NEVER, STRAIGHT, Tables
from optimizer.search import search_kernel as place
from optimizer.search.usable_parts import UsableParts, limit_value, serves, steepest_slope
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.yard import DIG_BLOCKING, FOOT_BLOCKING, OVERHEAD, PIECE_BLOCKING, Start

Floats = NDArray[np.float64]
#: 'No limit' for lengths and heights, metres.
NO_LIMIT_M = 1.0e6
TURN_CODES: dict[TurnKind, int] = {
    "straight": place.STRAIGHT,
    "left": place.LEFT,
    "right": place.RIGHT,
    "half_left": place.HALF_LEFT,
    "half_right": place.HALF_RIGHT,
}


class PreparedStart(NamedTuple):
    """One start, ready to be searched."""

    start: Start
    frame: DoorFrame
    parts: UsableParts
    tables: Tables
    turns: tuple[TurnSpec, ...]
    pitches: tuple[float, ...]


class RunSums(NamedTuple):
    """Surface lengths that sections can add up to, and how."""

    lengths: Floats
    before: NDArray[np.int64]
    least_cost: NDArray[np.int64]


def build_run_sums(
    pitches: tuple[float, ...],
    costs: tuple[tuple[int, ...], tuple[int, ...]],
    least_pair: int,
    longest_m: float,
) -> RunSums:
    """Every sum of section pitches up to ``longest_m`` (to a nanometre), ascending, with predecessors.

    ``costs``: per section without and with rails; ``least_pair``: the cheapest pair of supports,
    which every inner joint needs at least.
    """
    steps = [round(pitch * 1e9) for pitch in pitches]
    limit = round((longest_m + 1e-6) * 1e9)
    reached = {0}
    frontier = [0]
    while frontier:
        found = {total + step for total in frontier for step in steps if total + step <= limit}
        frontier = sorted(found - reached)
        reached |= found
    totals = sorted(reached)
    index = {total: i for i, total in enumerate(totals)}
    before = np.full((len(totals), len(steps)), -1, dtype=np.int64)
    least = np.full((2, len(totals)), NEVER, dtype=np.int64)
    least[:, 0] = 0
    for i, total in enumerate(totals):
        for s, step in enumerate(steps):
            j = index.get(total - step, -1)
            before[i, s] = j
            for railed in (0, 1):
                if j >= 0:
                    joint = least_pair if j > 0 else 0
                    least[railed, i] = min(least[railed, i], least[railed, j] + costs[railed][s] + joint)
    return RunSums(np.array(totals, dtype=np.float64) / 1e9, before, least)


def triangles_of(shape: BaseGeometry, height: float) -> list[Floats]:
    """Triangles (3, 3) of u, v, ``height`` that fill a polygon; slivers without area are dropped."""
    if shape.is_empty:
        return []
    pieces = shapely.constrained_delaunay_triangles(shape)
    found = []
    for piece in pieces.geoms:
        if piece.area > 1e-12:
            corners = np.asarray(piece.exterior.coords)[:3]
            found.append(np.column_stack([corners, np.full(3, height)]))
    return found


def stack(triangles: Iterable[Floats]) -> Floats:
    """Stack triangles to (n, 3, 3)."""
    rows = list(triangles)
    return np.array(rows, dtype=np.float64).reshape(len(rows), 3, 3)


class Surroundings(NamedTuple):
    """The yard as shapes in the door frame."""

    ground: Floats
    lot: Polygon
    buildable: BaseGeometry
    surveyed: BaseGeometry
    house: BaseGeometry
    obstacles: BaseGeometry
    walls: BaseGeometry  # obstacles that may not be passed over
    blocked: BaseGeometry  # piece-blocking zones
    dig: BaseGeometry


def build_surroundings(site: Site, frame: DoorFrame) -> Surroundings:
    """Turn every outline of the yard into the door frame."""

    def polygon(outline: Floats) -> BaseGeometry:
        shape = Polygon(frame.to_door(outline))
        return shape if shape.is_valid else shapely.make_valid(shape)

    yard = site.yard
    flat = frame.to_door(site.ground.triangles_xy.reshape(-1, 2)).reshape(-1, 3, 2)
    ground = np.concatenate([flat, site.ground.triangles_z[:, :, None]], axis=2)
    lot = Polygon(frame.to_door(yard.lot_m))
    rings = [Polygon(frame.to_door(ring)) for ring in site.ground.outline_m]
    surveyed = unary_union(rings[:1]).difference(unary_union(rings[1:]))
    zones = [zone for zone in yard.zones if zone.kind in PIECE_BLOCKING]
    return Surroundings(
        ground=ground,
        lot=lot,
        buildable=lot.buffer(-yard.setback_m, join_style="mitre") if yard.setback_m > 0 else lot,
        surveyed=surveyed,
        house=unary_union([polygon(ring) for ring in yard.house_m]),
        obstacles=unary_union([polygon(o.outline_m) for o in yard.obstacles]),
        walls=unary_union([polygon(o.outline_m) for o in yard.obstacles if o.top_m is None]),
        blocked=unary_union([polygon(zone.outline_m) for zone in zones]),
        dig=unary_union([polygon(z.outline_m) for z in yard.zones if z.kind in DIG_BLOCKING]),
    )


class FootRings(NamedTuple):
    """What feet keep off, as flat segments."""

    segments: Floats
    start: NDArray[np.int64]
    kind: NDArray[np.int64]
    top: Floats
    box: Floats


def build_foot_rings(site: Site, frame: DoorFrame) -> FootRings:
    """Rings (lot, house, obstacles, zones) and break lines that bind a foot."""
    segments: list[Floats] = []
    start, kind, top = [0], [], []

    def add(outline: Floats, closed: bool, code: int, level: float) -> None:
        points = frame.to_door(outline)
        after = np.roll(points, -1, axis=0) if closed else points[1:]
        before = points if closed else points[:-1]
        segments.append(np.column_stack([before, after]))
        start.append(start[-1] + len(before))
        kind.append(code)
        top.append(level)

    yard = site.yard
    add(yard.lot_m, True, STAND_INSIDE, 0.0)
    for ring in yard.house_m:
        add(ring, True, KEEP_OFF, 0.0)
    for obstacle in yard.obstacles:
        if obstacle.may_stand and obstacle.top_m is not None:
            add(obstacle.outline_m, True, MAY_STAND, obstacle.top_m)
        else:
            add(obstacle.outline_m, True, KEEP_OFF, 0.0)
    for zone in yard.zones:
        if zone.kind in FOOT_BLOCKING:
            add(zone.outline_m, True, KEEP_OFF, 0.0)
    for line in site.ground.break_lines:
        add(line.xy_m, False, KEEP_CLEAR, 0.0)
    boxes = [
        [ring[:, 0::2].min(), ring[:, 0::2].max(), ring[:, 1::2].min(), ring[:, 1::2].max()]
        for ring in segments
    ]
    return FootRings(
        np.concatenate(segments),
        np.array(start),
        np.array(kind, dtype=np.int64),
        np.array(top),
        np.array(boxes),
    )


class Buckets(NamedTuple):
    """Which ground triangles may cover each cell of a square grid."""

    start: NDArray[np.int64]
    items: NDArray[np.int64]
    grid: Floats


def build_buckets(ground: Floats) -> Buckets:
    """Sort ground triangles into cells of about the mean triangle's size."""
    low = ground[:, :, :2].min(axis=(0, 1)) - 0.01
    high = ground[:, :, :2].max(axis=(0, 1)) + 0.01
    size = max(float(np.sqrt(np.prod(high - low) / max(1, len(ground)))) / 2.0, 0.05)
    columns, rows = (int(n) + 1 for n in (high - low) / size)
    cells: list[list[int]] = [[] for _ in range(columns * rows)]
    for n, triangle in enumerate(ground):
        c0, r0 = ((triangle[:, :2].min(axis=0) - 1e-6 - low) / size).astype(int)
        c1, r1 = ((triangle[:, :2].max(axis=0) + 1e-6 - low) / size).astype(int)
        for row in range(r0, r1 + 1):
            for column in range(c0, c1 + 1):
                cells[row * columns + column].append(n)
    start = np.concatenate([[0], np.cumsum([len(cell) for cell in cells])]).astype(np.int64)
    items = np.array([n for cell in cells for n in cell], dtype=np.int64)
    return Buckets(start, items, np.array([low[0], low[1], size, columns, rows], dtype=np.float64))


def highest_tip(around: Surroundings, arrivals: list[Polygon]) -> float:
    """Highest ground on which a tip could land; bounds the drop that is needed."""
    region = around.lot.intersection(around.surveyed)
    if arrivals:
        region = region.intersection(unary_union(arrivals))
    best = -HIGH
    for triangle in around.ground:
        part = Polygon(triangle[:, :2]).intersection(region)
        if part.is_empty:
            continue
        plane = np.linalg.solve(np.column_stack([triangle[:, :2], np.ones(3)]), triangle[:, 2])
        corners = shapely.get_coordinates(part)
        best = max(best, float((corners @ plane[:2] + plane[2]).max()))
    return best


def ground_spread(site: Site, ground: Floats, distance_m: float) -> float:
    """How much the level a foot stands on can differ from the ground ``distance_m`` away.

    Without break lines and obstacle tops that is the steepest triangle's fall; with them no
    bound is known.
    """
    if site.ground.break_lines or any(o.may_stand for o in site.yard.obstacles):
        return NO_LIMIT_M
    first = ground[:, 1] - ground[:, 0]
    second = ground[:, 2] - ground[:, 0]
    normal = np.cross(first, second)
    steepest = np.hypot(normal[:, 0], normal[:, 1]) / np.abs(normal[:, 2])
    return float(steepest.max()) * distance_m + 1e-6


def list_turns(parts: UsableParts, site: Site, width_m: float) -> tuple[TurnSpec, ...]:
    """Every way to set a landing between two runs, attach positions that coincide once."""
    clear = max(limit_value(site, "clear_width", 0.0), site.wishes.clear_width_m or 0.0)
    found = []
    for landing in parts.landings:
        arriving = list_attach_positions(landing, landing.width_m, width_m)
        if serves(landing, "straight", site, width_m, clear):
            for arrive in arriving:
                found += [TurnSpec("straight", landing.id, arrive, leave) for leave in arriving]
        if serves(landing, "quarter", site, width_m, clear):
            leaving = list_attach_positions(landing, landing.length_m, width_m)
            for arrive in arriving:
                for leave in leaving:
                    found.append(TurnSpec("left", landing.id, arrive, leave))
                    found.append(TurnSpec("right", landing.id, arrive, leave))
        if serves(landing, "half", site, width_m, clear):
            found.append(TurnSpec("half_left", landing.id, "right", "left"))
            found.append(TurnSpec("half_right", landing.id, "left", "right"))
    return tuple(found)


def build_slopes(site: Site) -> Floats:
    """The slope levels of the page, steepest first."""
    levels = site.search.slope_levels
    steepest = steepest_slope(site)
    if levels == 1:
        return np.array([steepest])
    share = np.arange(levels) / (levels - 1)
    return steepest * (1.0 - (1.0 - site.search.flattest_share) * share)


def build_tables(site: Site, start: Start, frame: DoorFrame, parts: UsableParts) -> PreparedStart:
    """Everything the kernel needs for one start; ``parts.missing`` must be empty."""
    around = build_surroundings(site, frame)
    rings = build_foot_rings(site, frame)
    buckets = build_buckets(around.ground)
    yard = site.yard
    width = parts.width_m
    catalogue, rates = site.catalogue, site.rates
    feet = {foot.id: foot for foot in catalogue.feet}
    braces = {brace.id: brace for brace in catalogue.braces}

    def cost(part_id: str) -> int:
        return part_cost_cents(catalogue.part(part_id), rates)

    everything = unary_union([around.lot, around.surveyed, around.house, around.obstacles]).bounds
    world = box(everything[0] - 100, everything[1] - 100, everything[2] + 100, everything[3] + 100)
    off_site = world.difference(around.buildable.intersection(around.surveyed))
    solid = unary_union([off_site, around.house, around.walls, around.blocked])
    ground_rows = list(around.ground)
    tops = [
        triangle
        for obstacle in yard.obstacles
        if obstacle.top_m is not None
        for triangle in triangles_of(Polygon(frame.to_door(obstacle.outline_m)), obstacle.top_m)
    ]
    not_lot = world.difference(around.lot.intersection(around.surveyed))
    kept_free = unary_union([not_lot, around.house, around.obstacles, around.blocked])
    overhead = [
        triangle
        for zone in yard.zones
        if zone.kind in OVERHEAD and zone.underside_m is not None and zone.headroom_m is not None
        for triangle in triangles_of(
            Polygon(frame.to_door(zone.outline_m)), zone.underside_m - zone.headroom_m
        )
    ]
    arrivals = [Polygon(frame.to_door(outline)) for outline in yard.arrivals_m]
    arrival_rings = [np.asarray(a.exterior.coords) for a in arrivals]
    supports = (*parts.legs, *parts.low_supports)
    count = len(supports)
    sections = parts.sections
    section_cost = tuple(part_cost_cents(s, rates) for s in sections)
    post = part_cost_cents(parts.post, rates)
    section_rail = [2 * cost(s.rail_panel) + 2 * post for s in sections]
    turns = list_turns(parts, site, width)
    by_id = {landing.id: n for n, landing in enumerate(parts.landings)}
    departures = [find_departure(parts.landings[by_id[t.landing]], t.kind, t.arrive, t.leave, width) for t in turns]
    turn_rail = [
        sum(cost(rail.part) for rail in list_landing_rails(parts.landings[by_id[t.landing]], t.kind, width))
        for t in turns
    ]
    slopes = build_slopes(site)
    steepest = float(slopes[0])
    support_cost = np.array([part_cost_cents(s, rates) + cost(s.foot) for s in supports], dtype=np.int64)
    sums = build_run_sums(
        tuple(s.pitch_m for s in sections),
        (section_cost, tuple(c + r for c, r in zip(section_cost, section_rail, strict=True))),
        2 * int(support_cost.min()),
        site.search.longest_run_m,
    )
    numbers = np.zeros(COUNT_OF_NUMBERS)
    landing_costs = [part_cost_cents(landing, rates) for landing in parts.landings]
    numbers[place.WIDTH] = width
    numbers[place.DEPTH] = parts.depth_m
    numbers[place.CLEARANCE] = catalogue.clearance_m
    numbers[place.LOW_CLEARANCE] = catalogue.low_clearance_m
    numbers[place.GAP] = catalogue.piece_gap_m
    numbers[place.BEDDING] = site.bedding_m
    numbers[place.STEEPEST] = steepest
    numbers[place.RISE_LIMIT] = limit_value(site, "rise_per_run", NO_LIMIT_M)
    numbers[place.LENGTH_LIMIT] = limit_value(site, "length_per_run", NO_LIMIT_M)
    numbers[place.HANDRAIL_RISE] = limit_value(site, "handrail_rise", NO_LIMIT_M)
    numbers[place.GUARD_ABOVE] = site.wishes.guard_above_m
    numbers[place.LANDING_RAIL_ABOVE] = site.wishes.rail_landings_above_m
    numbers[place.BOTTOM_LENGTH] = parts.bottom_length_m
    numbers[place.BOTTOM_WIDTH] = parts.bottom_width_m
    numbers[place.LEVEL_LIMIT] = limit_value(site, "landing_slope", 1.0 / 48.0)
    numbers[place.PAD_COST] = NEVER if parts.pad is None else part_cost_cents(parts.pad, rates)
    numbers[place.PAD_DIFFERENCE] = 0.0 if parts.pad is None else parts.pad.greatest_level_difference_m
    numbers[place.POST_COST] = post
    numbers[place.END_COST] = 0 if parts.end is None else part_cost_cents(parts.end, rates)
    numbers[place.MOST_RUNS] = site.search.most_runs
    numbers[place.HIGHEST_TIP] = highest_tip(around, arrivals)
    leg_costs = support_cost[: len(parts.legs)]
    numbers[place.LEAST_LANDING] = min(landing_costs, default=0) + 4 * int(leg_costs.min(initial=NEVER))
    numbers[place.LEAST_LOW_PAIR] = 2 * int(support_cost[len(parts.legs) :].min())
    numbers[place.RATE_BARE] = min(c / s.pitch_m for c, s in zip(section_cost, sections, strict=True))
    numbers[place.RATE_RAILED] = min(
        (c + r) / s.pitch_m for c, r, s in zip(section_cost, section_rail, sections, strict=True)
    )
    numbers[place.LEAST_SECTION] = min(section_cost)
    numbers[place.LOW_MIN] = min(low.min_m for low in parts.low_supports)
    numbers[place.LOW_MAX] = max(low.max_m for low in parts.low_supports)
    reach_out = max(abs(width / 2.0 + low.lateral_offset_m) for low in parts.low_supports)
    numbers[place.GROUND_SPREAD] = ground_spread(site, around.ground, reach_out)
    numbers[place.STRAIGHT_SHIFT] = max(
        (abs(d.right_m) for d, t in zip(departures, turns, strict=True) if t.kind == "straight"), default=0.0
    )
    extent = around.buildable.intersection(around.surveyed).bounds
    for number, bound in zip((place.U_LOW, place.V_LOW, place.U_HIGH, place.V_HIGH), extent, strict=True):
        numbers[number] = bound
    tables = Tables(
        cover=stack([*ground_rows, *tops, *triangles_of(solid, HIGH)]),
        plate_cover=stack(
            [*ground_rows, *triangles_of(unary_union([solid, around.obstacles]), HIGH)]
        ),
        bottom_cover=stack(triangles_of(kept_free, HIGH)),
        solid=stack(triangles_of(solid, HIGH)),
        dig_cover=stack(triangles_of(around.dig, HIGH)),
        overhead=stack(overhead),
        ground=stack(ground_rows),
        cell_start=buckets.start,
        cell_items=buckets.items,
        grid=buckets.grid,
        segments=rings.segments,
        ring_start=rings.start,
        ring_kind=rings.kind,
        ring_top=rings.top,
        ring_box=rings.box,
        arrival_segments=np.concatenate(
            [np.column_stack([ring[:-1], ring[1:]]) for ring in arrival_rings] or [np.empty((0, 4))]
        ),
        arrival_start=np.cumsum([0, *(len(ring) - 1 for ring in arrival_rings)]).astype(np.int64),
        support_min=np.array(
            [*(leg.min_m + leg.reserve_m for leg in parts.legs), *(low.min_m for low in parts.low_supports)]
        ),
        support_max=np.array(
            [*(leg.max_m - leg.reserve_m for leg in parts.legs), *(low.max_m for low in parts.low_supports)]
        ),
        support_lateral=np.array([s.lateral_offset_m for s in supports]),
        support_reach=np.array(
            [feet[s.foot].plate_m / 2.0**0.5 + feet[s.foot].edge_distance_m for s in supports]
        ),
        support_cost=support_cost,
        brace_above=np.array(
            [*(leg.brace_above_m for leg in parts.legs), *(NO_LIMIT_M for _ in parts.low_supports)]
        ),
        brace_cost=np.array(
            [*(part_cost_cents(braces[leg.brace], rates) for leg in parts.legs), *(0 for _ in parts.low_supports)],
            dtype=np.int64,
        ),
        section_cost=np.array(section_cost, dtype=np.int64),
        section_rail=np.array(section_rail, dtype=np.int64),
        section_supports=np.array(
            [[s.id in section.legs or s.id in section.low_supports for s in supports] for section in sections]
        ).reshape(len(sections), count),
        section_low=np.array(
            [[s.id in section.low_supports for s in supports] for section in sections]
        ).reshape(len(sections), count),
        mid_start=np.cumsum([0, *(len(s.mid_supports_m) for s in sections)]).astype(np.int64),
        mid_at=np.array([m for s in sections for m in s.mid_supports_m], dtype=np.float64),
        sums=sums.lengths,
        before=sums.before,
        least_cost=sums.least_cost,
        landing_cost=np.array(landing_costs, dtype=np.int64),
        landing_length=np.array([landing.length_m for landing in parts.landings]),
        landing_width=np.array([landing.width_m for landing in parts.landings]),
        landing_depth=np.array([landing.frame_depth_m for landing in parts.landings]),
        landing_inset=np.array([landing.leg_inset_m for landing in parts.landings]),
        landing_legs=np.array(
            [[s.id in landing.legs for s in supports] for landing in parts.landings]
        ).reshape(len(parts.landings), count),
        turn_landing=np.array([by_id[t.landing] for t in turns], dtype=np.int64),
        turn_kind=np.array([TURN_CODES[t.kind] for t in turns], dtype=np.int64),
        turn_shift=np.array([d.shift_m for d in departures], dtype=np.float64),
        turn_leave=np.array([[d.along_m, d.right_m] for d in departures], dtype=np.float64).reshape(-1, 2),
        turn_heading=np.array([d.heading for d in departures], dtype=np.float64).reshape(-1, 2),
        turn_rail=np.array(turn_rail, dtype=np.int64),
        turn_walk=np.array([abs(d.along_m) + abs(d.right_m) for d in departures], dtype=np.float64),
        plate_length=np.array([p.length_m for p in parts.plates]),
        plate_cost=np.array([part_cost_cents(p, rates) for p in parts.plates], dtype=np.int64),
        plate_rail=np.array([2 * cost(p.rail_panel) for p in parts.plates], dtype=np.int64),
        slopes=slopes,
        numbers=numbers,
    )
    return PreparedStart(start, frame, parts, tables, turns, tuple(s.pitch_m for s in sections))


def kept_polygons(shape: BaseGeometry) -> tuple[Polygon, ...]:
    """The polygons of a shape, for reporting."""
    if isinstance(shape, Polygon):
        return (shape,)
    if isinstance(shape, MultiPolygon):
        return tuple(shape.geoms)
    return ()


__all__ = ["PreparedStart", "build_tables", "STRAIGHT"]
