"""From a site to the flat arrays the search kernel reads, once per start."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Leg, LowSupport
from optimizer.catalogue.rates import part_cost_cents
from optimizer.layout.landing_edges import (
    Departure,
    find_departure,
    list_attach_positions,
    list_landing_rails,
)
from optimizer.layout.spec import TurnKind, TurnSpec
from optimizer.search import kernel_tables as codes
from optimizer.search.footing_tables import build_buckets, build_foot_rings
from optimizer.search.geometry_kernel import HIGH
from optimizer.search.kernel_tables import NEVER, Floats, Numbers, Tables
from optimizer.search.run_sums import build_run_sums
from optimizer.search.surroundings import (
    NO_LIMIT_M,
    Surroundings,
    build_surroundings,
    ground_spread,
    highest_tip,
    stack,
    triangles_of,
)
from optimizer.search.usable_parts import UsableParts, limit_value, serves, steepest_slope
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.yard import OVERHEAD, Start

TURN_CODES: dict[TurnKind, int] = {
    "straight": codes.STRAIGHT,
    "left": codes.LEFT,
    "right": codes.RIGHT,
    "half_left": codes.HALF_LEFT,
    "half_right": codes.HALF_RIGHT,
}
#: Free ground beyond everything known that counts as outside, metres.
BEYOND_M = 100.0


class PreparedStart(NamedTuple):
    """One start, ready to be searched."""

    start: Start
    frame: DoorFrame
    parts: UsableParts
    tables: Tables
    turns: tuple[TurnSpec, ...]


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


class _PartCosts(NamedTuple):
    """Whole-cent costs that several tables need."""

    section: tuple[int, ...]
    section_rail: tuple[int, ...]
    support: NDArray[np.int64]  # with foot
    landing: tuple[int, ...]
    post: int


class _Covers(NamedTuple):
    """Triangle stacks of the kernel."""

    cover: Floats
    plate: Floats
    bottom: Floats
    solid: Floats
    dig: Floats
    overhead: Floats


def _cost(site: Site, part_id: str) -> int:
    return part_cost_cents(site.catalogue.part(part_id), site.rates)


def _build_costs(site: Site, parts: UsableParts) -> _PartCosts:
    post = part_cost_cents(parts.post, site.rates)
    supports: tuple[Leg | LowSupport, ...] = (*parts.legs, *parts.low_supports)
    return _PartCosts(
        section=tuple(part_cost_cents(s, site.rates) for s in parts.sections),
        section_rail=tuple(2 * _cost(site, s.rail_panel) + 2 * post for s in parts.sections),
        support=np.array(
            [part_cost_cents(s, site.rates) + _cost(site, s.foot) for s in supports], dtype=np.int64
        ),
        landing=tuple(part_cost_cents(landing, site.rates) for landing in parts.landings),
        post=post,
    )


def _build_covers(site: Site, frame: DoorFrame, around: Surroundings) -> _Covers:
    """What frames, plates and the bottom space must keep clear of, as triangles with a height."""
    bounds = unary_union([around.lot, around.surveyed, around.house, around.obstacles]).bounds
    low_u, low_v, high_u, high_v = bounds
    world = box(low_u - BEYOND_M, low_v - BEYOND_M, high_u + BEYOND_M, high_v + BEYOND_M)
    off_site = world.difference(around.buildable.intersection(around.surveyed))
    solid = unary_union([off_site, around.house, around.walls, around.blocked])
    off_lot = world.difference(around.lot.intersection(around.surveyed))
    kept_free = unary_union([off_lot, around.house, around.obstacles, around.blocked])
    tops = [
        triangle
        for obstacle in site.yard.obstacles
        if obstacle.top_m is not None
        for triangle in triangles_of(Polygon(frame.to_door(obstacle.outline_m)), obstacle.top_m)
    ]
    overhead = [
        triangle
        for zone in site.yard.zones
        if zone.kind in OVERHEAD and zone.underside_m is not None and zone.headroom_m is not None
        for triangle in triangles_of(
            Polygon(frame.to_door(zone.outline_m)), zone.underside_m - zone.headroom_m
        )
    ]
    ground = list(around.ground)
    return _Covers(
        cover=stack([*ground, *tops, *triangles_of(solid, HIGH)]),
        plate=stack([*ground, *triangles_of(unary_union([solid, around.obstacles]), HIGH)]),
        bottom=stack(triangles_of(kept_free, HIGH)),
        solid=stack(triangles_of(solid, HIGH)),
        dig=stack(triangles_of(around.dig, HIGH)),
        overhead=stack(overhead),
    )


def _build_numbers(
    site: Site,
    parts: UsableParts,
    costs: _PartCosts,
    around: Surroundings,
    arrivals: list[Polygon],
    straight_shift: float,
) -> Numbers:
    catalogue = site.catalogue
    width = parts.width_m
    pitches = [section.pitch_m for section in parts.sections]
    railed = [c + r for c, r in zip(costs.section, costs.section_rail, strict=True)]
    legs = len(parts.legs)
    reach_out = max(abs(width / 2.0 + low.lateral_offset_m) for low in parts.low_supports)
    u_low, v_low, u_high, v_high = around.buildable.intersection(around.surveyed).bounds
    return Numbers(
        width=width,
        depth=parts.depth_m,
        clearance=catalogue.clearance_m,
        low_clearance=catalogue.low_clearance_m,
        gap=catalogue.piece_gap_m,
        bedding=site.bedding_m,
        steepest=steepest_slope(site),
        rise_limit=limit_value(site, "rise_per_run", NO_LIMIT_M),
        length_limit=limit_value(site, "length_per_run", NO_LIMIT_M),
        handrail_rise=limit_value(site, "handrail_rise", NO_LIMIT_M),
        guard_above=site.wishes.guard_above_m,
        landing_rail_above=site.wishes.rail_landings_above_m,
        bottom_length=parts.bottom_length_m,
        bottom_width=parts.bottom_width_m,
        level_limit=limit_value(site, "landing_slope", 1.0 / 48.0),
        pad_cost=NEVER if parts.pad is None else part_cost_cents(parts.pad, site.rates),
        pad_difference=0.0 if parts.pad is None else parts.pad.greatest_level_difference_m,
        post_cost=costs.post,
        end_cost=0 if parts.end is None else part_cost_cents(parts.end, site.rates),
        most_runs=site.search.most_runs,
        highest_tip=highest_tip(around, arrivals),
        least_landing=min(costs.landing, default=0) + 4 * int(costs.support[:legs].min(initial=NEVER)),
        least_low_pair=2 * int(costs.support[legs:].min()),
        rate_bare=min(c / pitch for c, pitch in zip(costs.section, pitches, strict=True)),
        rate_railed=min(c / pitch for c, pitch in zip(railed, pitches, strict=True)),
        least_section=min(costs.section),
        low_min=min(low.min_m for low in parts.low_supports),
        low_max=max(low.max_m for low in parts.low_supports),
        ground_spread=ground_spread(site, around.ground, reach_out),
        straight_shift=straight_shift,
        u_low=u_low,
        u_high=u_high,
        v_low=v_low,
        v_high=v_high,
    )


def _find_departures(parts: UsableParts, turns: tuple[TurnSpec, ...]) -> tuple[Departure, ...]:
    landings = {landing.id: landing for landing in parts.landings}
    return tuple(find_departure(landings[t.landing], t.kind, t.arrive, t.leave, parts.width_m) for t in turns)


def _sum_turn_rails(site: Site, parts: UsableParts, turns: tuple[TurnSpec, ...]) -> list[int]:
    landings = {landing.id: landing for landing in parts.landings}
    return [
        sum(
            _cost(site, rail.part)
            for rail in list_landing_rails(landings[turn.landing], turn.kind, parts.width_m)
        )
        for turn in turns
    ]


def build_tables(site: Site, start: Start, frame: DoorFrame, parts: UsableParts) -> PreparedStart:
    """Everything the kernel needs for one start; ``parts.missing`` must be empty."""
    around = build_surroundings(site, frame)
    rings = build_foot_rings(site, frame)
    buckets = build_buckets(around.ground)
    covers = _build_covers(site, frame, around)
    costs = _build_costs(site, parts)
    arrivals = [Polygon(frame.to_door(outline)) for outline in site.yard.arrivals_m]
    arrival_rings = [np.asarray(arrival.exterior.coords) for arrival in arrivals]
    legs, lows, sections, landings = parts.legs, parts.low_supports, parts.sections, parts.landings
    supports: tuple[Leg | LowSupport, ...] = (*legs, *lows)
    feet = {foot.id: foot for foot in site.catalogue.feet}
    turns = list_turns(parts, site, parts.width_m)
    numbers_of = {landing.id: n for n, landing in enumerate(landings)}
    departures = _find_departures(parts, turns)
    shifts = [abs(d.right_m) for d, t in zip(departures, turns, strict=True) if t.kind == "straight"]
    sums = build_run_sums(
        tuple(s.pitch_m for s in sections),
        (costs.section, tuple(c + r for c, r in zip(costs.section, costs.section_rail, strict=True))),
        2 * int(costs.support.min()),
        site.search.longest_run_m,
    )
    tables = Tables(
        cover=covers.cover,
        plate_cover=covers.plate,
        bottom_cover=covers.bottom,
        solid=covers.solid,
        dig_cover=covers.dig,
        overhead=covers.overhead,
        ground=stack(list(around.ground)),
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
        support_min=np.array([*(leg.min_m + leg.reserve_m for leg in legs), *(low.min_m for low in lows)]),
        support_max=np.array([*(leg.max_m - leg.reserve_m for leg in legs), *(low.max_m for low in lows)]),
        support_lateral=np.array([support.lateral_offset_m for support in supports]),
        support_reach=np.array(
            [feet[s.foot].plate_m / 2.0**0.5 + feet[s.foot].edge_distance_m for s in supports]
        ),
        support_cost=costs.support,
        brace_above=np.array([*(leg.brace_above_m for leg in legs), *(NO_LIMIT_M for _ in lows)]),
        brace_cost=np.array([*(_cost(site, leg.brace) for leg in legs), *(0 for _ in lows)], dtype=np.int64),
        section_cost=np.array(costs.section, dtype=np.int64),
        section_rail=np.array(costs.section_rail, dtype=np.int64),
        section_supports=np.array(
            [[s.id in one.legs or s.id in one.low_supports for s in supports] for one in sections]
        ).reshape(len(sections), len(supports)),
        section_low=np.array(
            [[s.id in section.low_supports for s in supports] for section in sections]
        ).reshape(len(sections), len(supports)),
        mid_start=np.cumsum([0, *(len(s.mid_supports_m) for s in sections)]).astype(np.int64),
        mid_at=np.array([m for s in sections for m in s.mid_supports_m], dtype=np.float64),
        sums=sums.lengths,
        before=sums.before,
        least_cost=sums.least_cost,
        landing_cost=np.array(costs.landing, dtype=np.int64),
        landing_length=np.array([landing.length_m for landing in landings], dtype=np.float64),
        landing_width=np.array([landing.width_m for landing in landings], dtype=np.float64),
        landing_depth=np.array([landing.frame_depth_m for landing in landings], dtype=np.float64),
        landing_inset=np.array([landing.leg_inset_m for landing in landings], dtype=np.float64),
        landing_legs=np.array(
            [[s.id in landing.legs for s in supports] for landing in landings], dtype=np.bool_
        ).reshape(len(landings), len(supports)),
        turn_landing=np.array([numbers_of[t.landing] for t in turns], dtype=np.int64),
        turn_kind=np.array([TURN_CODES[t.kind] for t in turns], dtype=np.int64),
        turn_shift=np.array([d.shift_m for d in departures], dtype=np.float64),
        turn_leave=np.array([[d.along_m, d.right_m] for d in departures], dtype=np.float64).reshape(-1, 2),
        turn_heading=np.array([d.heading for d in departures], dtype=np.float64).reshape(-1, 2),
        turn_rail=np.array(_sum_turn_rails(site, parts, turns), dtype=np.int64),
        turn_walk=np.array([abs(d.along_m) + abs(d.right_m) for d in departures], dtype=np.float64),
        plate_length=np.array([p.length_m for p in parts.plates]),
        plate_cost=np.array([part_cost_cents(p, site.rates) for p in parts.plates], dtype=np.int64),
        plate_rail=np.array([2 * _cost(site, p.rail_panel) for p in parts.plates], dtype=np.int64),
        slopes=build_slopes(site),
        numbers=_build_numbers(site, parts, costs, around, arrivals, max(shifts, default=0.0)),
    )
    return PreparedStart(start, frame, parts, tables, turns)
