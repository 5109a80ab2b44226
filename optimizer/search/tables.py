"""From a site to the flat arrays the search kernel reads, once per start."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, Leg, LowSupport
from optimizer.catalogue.rates import part_cost_cents
from optimizer.layout.landing_edges import list_landing_rails
from optimizer.layout.spec import TurnKind
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
    build_records,
)
from optimizer.search.run_sums import build_run_sums
from optimizer.search.slope_levels import Levels, build_levels, has_plain_laws, steepest_slope
from optimizer.search.surroundings import (
    NO_LIMIT_M,
    Surroundings,
    build_surroundings,
    highest_ground,
    stack,
    triangles_of,
)
from optimizer.search.usable_parts import Role, UsableParts, ask_landings
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.yard import OVERHEAD, Start
from optimizer.units import TOLERANCE_M

TURN_CODES: dict[TurnKind, int] = {
    "straight": codes.STRAIGHT,
    "left": codes.LEFT,
    "right": codes.RIGHT,
    "half_left": codes.HALF_LEFT,
    "half_right": codes.HALF_RIGHT,
}
#: Steepest ground that counts as level where no rule says: 1:48 (ADA 2010, 405.7.1).
STEEPEST_LEVEL = 1.0 / 48.0
#: Free ground beyond everything known that counts as outside, metres.
BEYOND_M = 100.0


class PreparedStart(NamedTuple):
    """One start, ready to be searched."""

    start: Start
    frame: DoorFrame
    parts: UsableParts
    tables: Tables
    relief_cents: int | None  # paid for using the setback, ``None`` where it is kept


def build_landing_kinds(site: Site, start: Start, parts: UsableParts) -> NDArray[np.int64]:
    """Rails of every landing in every use, cents; ``NEVER`` where it may not serve."""
    asked = ask_landings(site, start, parts.width_m)
    kinds = np.full((len(parts.landings), codes.TURN_COUNT), NEVER, dtype=np.int64)
    uses: tuple[tuple[TurnKind, Role], ...] = (
        ("straight", "straight"),
        ("left", "quarter"),
        ("right", "quarter"),
        ("half_left", "half"),
        ("half_right", "half"),
    )
    for n, landing in enumerate(parts.landings):
        for turn, use in uses:
            if asked.serves(landing, use):
                rails = list_landing_rails(landing, turn, parts.width_m)
                kinds[n, TURN_CODES[turn]] = sum(_cost(site, rail.part) for rail in rails)
    return kinds


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


def _build_triangles(site: Site, frame: DoorFrame, around: Surroundings, headroom_m: float) -> _Stretches:
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
            Polygon(frame.to_door(zone.outline_m)), zone.underside_m - max(zone.headroom_m, headroom_m)
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
    start: Start,
    buckets: Buckets,
    ends: tuple[int, ...],
    levels: Levels,
) -> Numbers:
    catalogue = site.catalogue
    width = parts.width_m
    pitches = [section.pitch_m for section in parts.sections]
    legs = len(parts.legs)
    design = site.design_of(start)
    return Numbers(
        width=width,
        depth=parts.depth_m,
        clearance=catalogue.clearance_m,
        low_clearance=catalogue.low_clearance_m,
        gap=catalogue.piece_gap_m,
        bedding=site.bedding_m,
        steepest=steepest_slope(site, start),
        bends=int(not has_plain_laws(site, start)),
        handrail_rise=design.rails_rise_m,
        handrail_slope=design.rails_slope,
        guard_above=min(site.wishes.guard_above_m, design.guard_drop_m, design.rails_drop_m),
        landing_rail_above=min(site.wishes.rail_landings_above_m, design.guard_drop_m, design.rails_rise_m),
        bottom_length=parts.bottom_length_m,
        bottom_width=parts.bottom_width_m,
        foot_room=measure_foot_room(site, parts),
        apron_length=max(parts.bottom_length_m, 0.0 if parts.pad is None else parts.pad.length_m),
        apron_width=max(parts.bottom_width_m, 0.0 if parts.pad is None else parts.pad.width_m),
        level_limit=design.landing_slope if math.isfinite(design.landing_slope) else STEEPEST_LEVEL,
        pad_cost=NEVER if parts.pad is None else part_cost_cents(parts.pad, site.rates),
        pad_difference=0.0 if parts.pad is None else parts.pad.greatest_level_difference_m,
        post_cost=costs.post,
        end_cost=0 if parts.end is None else part_cost_cents(parts.end, site.rates),
        most_runs=count_most_runs(site, around, start, levels),
        deck=start.threshold_m - start.drop_m,
        height_step=site.search.height_step_m,
        pitch=site.search.lattice_m,
        line_v=start.gap_m + width / 2.0,
        least_landing=min(costs.landing, default=0) + 4 * int(costs.support[:legs].min(initial=NEVER)),
        least_low_pair=2 * int(costs.support[legs:].min()),
        rate_bare=min(c / pitch for c, pitch in zip(costs.section, pitches, strict=True)),
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


def measure_foot_room(site: Site, parts: UsableParts) -> float:
    """How far beside a piece a foot may need room, whichever support is taken."""
    feet = {foot.id: foot for foot in site.catalogue.feet}
    supports: tuple[Leg | LowSupport, ...] = (*parts.legs, *parts.low_supports)
    room_m: float = max(
        one.lateral_offset_m + feet[one.foot].plate_m / 2.0**0.5 + feet[one.foot].edge_distance_m
        for one in supports
    )
    return room_m


def _list_supports(site: Site, parts: UsableParts, costs: _PartCosts) -> list[Support]:
    feet = {foot.id: foot for foot in site.catalogue.feet}
    rows = []
    supports: tuple[Leg | LowSupport, ...] = (*parts.legs, *parts.low_supports)
    for n, one in enumerate(supports):
        foot = feet[one.foot]
        reserve = one.reserve_m if isinstance(one, Leg) else 0.0
        rows.append(
            Support(
                low=one.min_m + reserve + site.wishes.survey_error_m,
                high=one.max_m - reserve - site.wishes.survey_error_m,
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


def count_legs(landing: Landing) -> int:
    """Legs under a landing in the use that needs fewest."""
    return 6 if landing.uses <= {"half"} else 4


def least_leg(costs: _PartCosts, parts: UsableParts, landing: Landing) -> int:
    """Least cost of one of the legs a landing takes, with its foot; 0 when it takes none."""
    return min(
        (int(costs.support[n]) for n, leg in enumerate(parts.legs) if leg.id in landing.legs), default=0
    )


def _list_landings(parts: UsableParts, costs: _PartCosts) -> list[LandingRow]:
    return [
        LandingRow(
            cost=costs.landing[n],
            least=costs.landing[n] + count_legs(landing) * least_leg(costs, parts, landing),
            length=landing.length_m,
            width=landing.width_m,
            depth=landing.frame_depth_m,
            inset=landing.leg_inset_m,
            legs=_bits(landing.legs, parts.legs),
        )
        for n, landing in enumerate(parts.landings)
    ]


def count_most_runs(site: Site, around: Surroundings, start: Start, levels: Levels) -> int:
    """Runs allowed: as the site says, else two more than the rules need, at least four."""
    if site.search.most_runs is not None:
        return site.search.most_runs
    rise = site.design_of(start).rise_per_run_m
    if not has_plain_laws(site, start):
        rise = min(rise, float(levels.drops.max(initial=0)) * site.search.height_step_m)
    drop = start.threshold_m - start.drop_m - highest_ground(around)
    return max(4, math.ceil((drop - TOLERANCE_M) / rise) + 2) if 0.0 < rise < NO_LIMIT_M else 4


def build_locks(site: Site, frame: DoorFrame) -> Floats:
    """The places that some piece, or some landing, must lie on: (m, 3)."""
    rows = [
        (*frame.to_door(np.array([point]))[0], kind)
        for points, kind in ((site.wishes.must_pass_m, 0.0), (site.wishes.landing_at_m, 1.0))
        for point in points
    ]
    return np.array(rows, dtype=np.float64).reshape(len(rows), 3)


def build_tables(
    site: Site, start: Start, frame: DoorFrame, parts: UsableParts, relief_cents: int | None
) -> PreparedStart:
    """Everything the kernels need for one start; ``parts.missing`` must be empty.

    ``relief_cents``: the setback may be used, at that price; ``None``: it is kept free.
    """
    around = build_surroundings(site, frame, site.yard.setback_m if relief_cents is None else 0.0)
    rings = build_ring_table(site, frame)
    buckets = build_buckets(around.ground)
    stretches = _build_triangles(site, frame, around, site.design_of(start).headroom_m)
    costs = _build_costs(site, parts)
    sections = parts.sections
    sums = build_run_sums(tuple(s.pitch_m for s in sections), site.search.longest_run_m)
    levels = build_levels(site, start, np.array(sums.lengths_m))
    numbers = _build_numbers(site, parts, costs, around, start, buckets, stretches.ends, levels)
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
        sums=build_records(SumRow, [SumRow(length) for length in sums.lengths_m]),
        before=sums.before,
        landings=build_records(LandingRow, _list_landings(parts, costs)),
        kinds=build_landing_kinds(site, start, parts),
        plates=build_records(PlateRow, plates),
        sines=levels.sines,
        laws=levels.laws,
        slopes=levels.slopes,
        laid=levels.laid,
        drops=levels.drops,
        plans=levels.plans,
        locks=build_locks(site, frame),
        numbers=build_records(Numbers, [numbers]),
    )
    return PreparedStart(start, frame, parts, tables, relief_cents)
