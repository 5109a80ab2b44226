"""From a site to the flat arrays the search kernel reads, once per start."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Leg, LowSupport
from optimizer.catalogue.rates import part_cost_cents
from optimizer.layout.landing_edges import (
    find_departure,
    list_attach_positions,
    list_landing_rails,
)
from optimizer.layout.spec import TurnKind, TurnSpec
from optimizer.search import kernel_tables as codes
from optimizer.search.footing_tables import Buckets, build_buckets, build_ring_table
from optimizer.search.geometry_kernel import HIGH
from optimizer.search.kernel_tables import (
    NEVER,
    Floats,
    LandingRow,
    Numbers,
    PlateRow,
    Ring,
    SectionRow,
    SumRow,
    Support,
    Tables,
    TurnRow,
    build_records,
)
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


class _Stretches(NamedTuple):
    """Every triangle of the kernel, and where each kind ends (see ``Numbers``)."""

    triangles: Floats
    ends: tuple[int, ...]


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


def _build_triangles(site: Site, frame: DoorFrame, around: Surroundings) -> _Stretches:
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
    kinds = (
        list(around.ground),
        tops,
        triangles_of(solid, HIGH),
        triangles_of(unary_union([solid, around.obstacles]), HIGH),
        triangles_of(kept_free, HIGH),
        triangles_of(around.dig, HIGH),
        overhead,
    )
    ends = tuple(int(end) for end in np.cumsum([len(kind) for kind in kinds]))
    return _Stretches(stack([triangle for kind in kinds for triangle in kind]), ends)


def _build_numbers(
    site: Site,
    parts: UsableParts,
    costs: _PartCosts,
    around: Surroundings,
    arrivals: list[Polygon],
    straight_shift: float,
    buckets: Buckets,
    ends: tuple[int, ...],
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
        longest_plate=max(plate.length_m for plate in parts.plates),
        grid_u=buckets.corner[0],
        grid_v=buckets.corner[1],
        grid_cell=buckets.cell_m,
        grid_columns=buckets.columns,
        grid_rows=buckets.rows,
        start=0,
        ground_end=ends[0],
        tops_end=ends[1],
        solid_end=ends[2],
        plate_end=ends[3],
        bottom_end=ends[4],
        dig_end=ends[5],
        overhead_end=ends[6],
    )


def _bits(ids: Sequence[str], supports: Sequence[Leg | LowSupport]) -> int:
    """Bit n set for support n when its id is among ``ids``."""
    return sum(1 << n for n, support in enumerate(supports) if support.id in ids)


def _list_supports(site: Site, parts: UsableParts, costs: _PartCosts) -> list[Support]:
    feet = {foot.id: foot for foot in site.catalogue.feet}
    rows = []
    supports: tuple[Leg | LowSupport, ...] = (*parts.legs, *parts.low_supports)
    for n, one in enumerate(supports):
        foot = feet[one.foot]
        reserve = one.reserve_m if isinstance(one, Leg) else 0.0
        rows.append(
            Support(
                low=one.min_m + reserve,
                high=one.max_m - reserve,
                lateral=one.lateral_offset_m,
                reach=foot.plate_m / 2.0**0.5 + foot.edge_distance_m,
                brace_above=one.brace_above_m if isinstance(one, Leg) else NO_LIMIT_M,
                cost=int(costs.support[n]),
                brace_cost=_cost(site, one.brace) if isinstance(one, Leg) else 0,
            )
        )
    return rows


def _list_sections(parts: UsableParts, costs: _PartCosts) -> list[SectionRow]:
    supports: tuple[Leg | LowSupport, ...] = (*parts.legs, *parts.low_supports)
    rows = []
    first = 0
    for n, section in enumerate(parts.sections):
        last = first + len(section.mid_supports_m)
        rows.append(
            SectionRow(
                cost=costs.section[n],
                rail=costs.section_rail[n],
                supports=_bits((*section.legs, *section.low_supports), supports),
                low_supports=_bits(section.low_supports, supports),
                mid_first=first,
                mid_last=last,
            )
        )
        first = last
    return rows


def _list_landings(parts: UsableParts, costs: _PartCosts) -> list[LandingRow]:
    return [
        LandingRow(
            cost=costs.landing[n],
            length=landing.length_m,
            width=landing.width_m,
            depth=landing.frame_depth_m,
            inset=landing.leg_inset_m,
            legs=_bits(landing.legs, parts.legs),
        )
        for n, landing in enumerate(parts.landings)
    ]


def _list_turn_rows(site: Site, parts: UsableParts, turns: tuple[TurnSpec, ...]) -> list[TurnRow]:
    numbers = {landing.id: n for n, landing in enumerate(parts.landings)}
    rows = []
    for turn in turns:
        landing = parts.landings[numbers[turn.landing]]
        departure = find_departure(landing, turn.kind, turn.arrive, turn.leave, parts.width_m)
        rails = list_landing_rails(landing, turn.kind, parts.width_m)
        rows.append(
            TurnRow(
                landing=numbers[turn.landing],
                kind=TURN_CODES[turn.kind],
                rail=sum(_cost(site, rail.part) for rail in rails),
                shift=departure.shift_m,
                along=departure.along_m,
                side=departure.right_m,
                heading_along=departure.heading[0],
                heading_side=departure.heading[1],
                walk=abs(departure.along_m) + abs(departure.right_m),
            )
        )
    return rows


def build_tables(site: Site, start: Start, frame: DoorFrame, parts: UsableParts) -> PreparedStart:
    """Everything the kernel needs for one start; ``parts.missing`` must be empty."""
    around = build_surroundings(site, frame)
    rings = build_ring_table(site, frame)
    buckets = build_buckets(around.ground)
    stretches = _build_triangles(site, frame, around)
    costs = _build_costs(site, parts)
    arrivals = [Polygon(frame.to_door(outline)) for outline in site.yard.arrivals_m]
    sections = parts.sections
    turns = list_turns(parts, site, parts.width_m)
    turn_rows = _list_turn_rows(site, parts, turns)
    shifts = [abs(row.side) for row in turn_rows if row.kind == codes.STRAIGHT]
    sums = build_run_sums(
        tuple(s.pitch_m for s in sections),
        (costs.section, tuple(c + r for c, r in zip(costs.section, costs.section_rail, strict=True))),
        2 * int(costs.support.min()),
        site.search.longest_run_m,
    )
    numbers = _build_numbers(
        site, parts, costs, around, arrivals, max(shifts, default=0.0), buckets, stretches.ends
    )
    plates = [
        PlateRow(p.length_m, part_cost_cents(p, site.rates), 2 * _cost(site, p.rail_panel))
        for p in parts.plates
    ]
    tables = Tables(
        triangles=stretches.triangles,
        cell_start=buckets.start,
        cell_items=buckets.items,
        segments=rings.segments,
        rings=build_records(Ring, rings.rings),
        supports=build_records(Support, _list_supports(site, parts, costs)),
        sections=build_records(SectionRow, _list_sections(parts, costs)),
        mids=np.array([m for s in sections for m in s.mid_supports_m], dtype=np.float64),
        sums=build_records(SumRow, sums.rows),
        before=sums.before,
        landings=build_records(LandingRow, _list_landings(parts, costs)),
        turns=build_records(TurnRow, turn_rows),
        plates=build_records(PlateRow, plates),
        slopes=build_slopes(site),
        numbers=build_records(Numbers, [numbers]),
    )
    return PreparedStart(start, frame, parts, tables, turns)
