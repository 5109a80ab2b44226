"""The search against brute force on small yards, and brute force against sums done by hand.

Validates: feasibility and least direct cost of every class, to the cent.  Source: our own
page (DEVELOPERS.md, 'The discrete problem'), from which brute_force.py is written alone;
prices in the cases done by hand are those of the demo catalogue in inches, 1.00 a minute of
labour.  Tolerance: none.  Leg counts 8, 14 and 16: our own count, 4 for each landing (6 for a
half turn) and 2 for each joint inside a run.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from random import Random

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.catalogue.parts import AttachPosition, Catalogue, Foot, Leg
from optimizer.rulebook.rules import Quantity
from optimizer.search.find_layouts import find_layouts
from optimizer.terrain.yard import OVERHEAD, PIECE_BLOCKING, Obstacle, ZoneKind
from tests.validation.brute_force import EXITS, TURNS, BruteLayout, find_cheapest
from tests.validation.small_yards import (
    MIRRORED_SIDE,
    MIRRORED_TURN,
    Side,
    build_ground,
    build_own_limits,
    build_small_yard,
    demo_catalogue,
    frozen,
    mirrored,
    moved,
    turned,
)

SEEDS_A_BLOCK = 5
FIRST_BLOCKS = range(0, 100, SEEDS_A_BLOCK)
MORE_BLOCKS = range(100, 700, 25)
CLASSES = tuple((side, turn) for side in EXITS for turn in TURNS)

Costs = dict[tuple[str, str], int | None]


def brute_costs(site: Site) -> Costs:
    return {(one.exit, one.turn): one.cost_cents for one in find_cheapest(site).classes}


def engine_costs(site: Site) -> Costs:
    """Every class of the engine's answer, all proven; a class it does not name has no layout."""
    answer = find_layouts(site)
    assert all(one.proven for one in answer.classes), site.name
    named: Costs = {(one.exit, one.turn): one.cost_cents for one in answer.classes}
    assert len(named) == len(answer.classes), site.name
    return {key: named.get(key) for key in CLASSES}


def disagreements(seeds: Iterable[int]) -> list[str]:
    """One line for every class in which the two programs differ."""
    found = []
    for seed in seeds:
        site = build_small_yard(seed)
        brute, engine = brute_costs(site), engine_costs(site)
        found += [
            f"seed {seed} ({site.catalogue.id}), {' '.join(key)}: brute {brute[key]}, search {engine[key]}"
            for key in CLASSES
            if brute[key] != engine[key]
        ]
    return found


@pytest.mark.parametrize("first", FIRST_BLOCKS)
def test_the_search_and_brute_force_agree_to_the_cent_in_every_class(first: int) -> None:
    assert disagreements(range(first, first + SEEDS_A_BLOCK)) == []


@pytest.mark.slow
@pytest.mark.parametrize("first", MORE_BLOCKS)
def test_the_search_and_brute_force_agree_on_many_more_yards(first: int) -> None:
    assert disagreements(range(first, first + 25)) == []


# Moving, turning and mirroring

METAMORPHIC_SEEDS = (14, 15, 24, 27, 30, 37, 66, 68, 76, 78)


@pytest.mark.parametrize("seed", METAMORPHIC_SEEDS)
def test_moving_or_turning_the_whole_site_keeps_every_cost(seed: int) -> None:
    site = build_small_yard(seed)
    costs = engine_costs(site)
    assert any(costs.values())
    assert engine_costs(moved(site, 31.7, -12.9, 4.3)) == costs
    assert engine_costs(turned(site, 90.0)) == costs
    assert engine_costs(turned(site, 203.4)) == costs


@pytest.mark.parametrize("seed", METAMORPHIC_SEEDS)
def test_a_mirror_swaps_left_and_right_and_keeps_every_cost(seed: int) -> None:
    site = build_small_yard(seed)
    assert engine_costs(mirrored(site)) == in_a_mirror(engine_costs(site))


def in_a_mirror(costs: Costs) -> Costs:
    sides: dict[str, str] = dict(MIRRORED_SIDE.items())
    return {(sides[side], MIRRORED_TURN[turn]): cost for (side, turn), cost in costs.items()}


@pytest.mark.parametrize("seed", [14, 15, 30])
def test_brute_force_itself_does_not_care_where_north_is(seed: int) -> None:
    site = build_small_yard(seed)
    costs = brute_costs(site)
    assert any(costs.values())
    assert brute_costs(turned(moved(site, -7.1, 55.2, -2.0), 131.0)) == costs
    assert brute_costs(mirrored(site)) == in_a_mirror(costs)


# Sums done by hand


def flat_site(threshold_m: float, longest_run_m: float, most_runs: int) -> Site:
    """Level ground all round a door, few parts of the inch catalogue, one slope of 1:8, front exit only."""
    whole = demo_catalogue("demo-inch")
    small = build_small_yard(2)
    start = replace(
        small.yard.starts[0],
        kind="landing",
        midpoint_m=frozen(np.zeros(2)),
        outward=frozen(np.array([0.6, 0.8])),
        threshold_m=threshold_m,
        drop_m=0.0,
        clear_width_m=0.9,
        gap_m=0.04,
    )
    corners = np.array([[-30.0, -30.0], [30.0, -30.0], [30.0, 30.0], [-30.0, 30.0]])
    house = frozen(np.array([[-0.8, 0.6], [-2.0, -1.0], [-0.4, -2.2], [0.8, -0.6]]))
    return replace(
        small,
        name="flat",
        ground=build_ground(np.column_stack([corners, np.zeros(4)])),
        yard=replace(
            small.yard,
            starts=(start,),
            house_m=(house,),
            lot_m=frozen(corners),
            setback_m=0.0,
            obstacles=(),
            zones=(),
            arrivals_m=(),
        ),
        bedding_m=0.0,
        catalogue=replace(
            whole,
            sections=tuple(s for s in whole.sections if s.id == "section-96"),
            landings=tuple(ld for ld in whole.landings if ld.id in {"landing-64", "landing-half-94"}),
        ),
        rates=replace(small.rates, labour_per_hour_cents=6000),
        rules=build_own_limits(running_slope=1 / 8, handrail_rise=0.1524),
        rider=replace(small.rider, total_mass_kg=120.0),
        wishes=replace(
            small.wishes,
            steepest=None,
            clear_width_m=None,
            exits=("front",),
            most_turns=1,
            guard_above_m=0.762,
            rail_landings_above_m=0.1524,
        ),
        search=replace(
            small.search, slope_levels=1, most_runs=most_runs, longest_run_m=longest_run_m, slide_step_m=0.5
        ),
    )


def best_of(site: Site, side: str, turn: str) -> BruteLayout:
    layout = next(one.layout for one in find_cheapest(site).classes if (one.exit, one.turn) == (side, turn))
    assert layout is not None
    return layout


def test_one_straight_ramp_on_level_ground_costs_what_the_sum_by_hand_says() -> None:
    # 96 in at 1:8 falls 0.302 m from 0.4 m: the hinge is 0.098 m up, within 36 in of plate at 1:8.
    # Under the frame (2 1/2 in) 1.34 in are left there: too much for a shim pad, so screw shoes.
    part = {
        "threshold plate, 2 in": 3400 + 800,
        "landing 64": 94800 + 4200,
        "short leg and its foot": 4 * (4600 + 900 + 1450 + 200),
        "section 96": 71200 + 3000,
        "screw shoes and their plates": 2 * (2350 + 600 + 725 + 100),
        "plate 36": 17200 + 1200,
        "landing: two side rails": 2 * (10900 + 700),
        "landing: infill beside the run, 22 in": 5800 + 600,
        "run: panels of the section": 2 * (15100 + 900),
        "run: panels of the plate": 2 * (7200 + 600),
        "run: posts": 4 * (3100 + 400),
        "run: rail ends": 4 * (3600 + 500),
    }
    site = flat_site(0.4, 3.0, 1)
    layout = best_of(site, "front", "none")
    assert sum(part.values()) == 339_550
    assert layout.cost_cents == 339_550
    assert (layout.plate_id, layout.pad_id, layout.legs, layout.low_supports) == ("plate-36", None, 4, 2)
    assert engine_costs(site)["front", "none"] == 339_550


def test_a_landing_and_three_sections_to_the_toe_stand_on_eight_legs() -> None:
    layout = best_of(flat_site(1.0, 7.4, 1), "front", "none")
    assert layout.runs[0].section_ids == ("section-96",) * 3
    assert (layout.legs, layout.low_supports) == (4 + 2 * 2, 2)


def test_two_and_three_sections_round_a_quarter_turn_stand_on_fourteen_legs_and_round_a_half_turn_on_sixteen(
) -> None:  # fmt: skip
    site = flat_site(1.6, 7.4, 2)
    for turn, legs in (("right", 14), ("left", 14), ("half_right", 16), ("half_left", 16)):
        layout = best_of(site, "front", turn)
        assert sorted(len(run.section_ids) for run in layout.runs) == [2, 3]
        assert layout.legs == legs


def test_a_hinge_exactly_at_the_plates_reach_is_allowed_and_a_hair_higher_is_not() -> None:
    # The plate may be as steep as the run: d <= s t with P^2 = t^2 + d^2, met within 1e-6 m.
    slope, section, plate = 1 / 8, 96 * 0.0254, 48 * 0.0254
    highest = (section + plate) * slope / math.hypot(1, slope)
    for beyond, has_layout in ((-2e-6, True), (0.0, True), (0.5e-6, True), (3e-6, False)):
        site = flat_site(highest + beyond, 3.0, 1)
        plates = tuple(one for one in site.catalogue.transition_plates if one.length_m < 1.3)
        site = replace(site, catalogue=replace(site.catalogue, transition_plates=plates))
        assert (brute_costs(site)["front", "none"] is not None) == has_layout
        assert (engine_costs(site)["front", "none"] is not None) == has_layout


@pytest.mark.parametrize(
    ("depth_m", "cost_cents"), [(0.0114, 339_550), (0.0115, 339_550 + 26500 + 19000), (0.0770, None)]
)
def test_one_sunk_corner_of_the_bottom_space_leaves_the_fitted_plane_by_five_ninths_of_its_depth(
    depth_m: float, cost_cents: int | None
) -> None:
    # Level but for one of the nine probes: the plane fitted to them takes 1/9 + 1/6 + 1/6 of its depth there,
    # so it is off by 5/9; 1/4 in is passed at 0.01143 m.  The pad takes up 3 in = 0.0762 m.
    site = flat_site(0.4, 3.0, 1)
    slope, section, plate = 1 / 8, 96 * 0.0254, 36 * 0.0254
    run = section / math.hypot(1, slope)
    tip_out = 0.04 + 64 * 0.0254 + run + math.sqrt(plate**2 - (0.4 - slope * run) ** 2)
    across = -(64 - 42) / 2 * 0.0254 - 42 / 2 * 0.0254  # flush left, left edge of the space
    start = site.yard.starts[0]
    right = np.array([start.outward[1], -start.outward[0]])
    sunk = (tip_out + 1.2) * start.outward + across * right
    angles = np.radians(np.arange(0.0, 360.0, 45.0))
    ring = sunk + 0.2 * np.column_stack([np.cos(angles), np.sin(angles)])
    corners = np.array([[-30.0, -30.0], [30.0, -30.0], [30.0, 30.0], [-30.0, 30.0]])
    level = np.vstack([corners, ring])
    points = np.vstack([np.column_stack([level, np.zeros(len(level))]), [*sunk, -depth_m]])
    flush_left = tuple(replace(landing, attach=("left",)) for landing in site.catalogue.landings)
    shortest = site.catalogue.transition_plates[:1]
    parts = replace(site.catalogue, landings=flush_left, transition_plates=shortest)
    site = replace(site, ground=build_ground(points), catalogue=parts)
    assert brute_costs(site)["front", "none"] == cost_cents
    assert engine_costs(site)["front", "none"] == cost_cents


@pytest.mark.parametrize(("flush", "barred", "free"), [("left", "right", "left"), ("right", "left", "right")])
def test_a_rest_landing_after_a_half_turn_may_not_reach_over_the_run_before_it(
    flush: AttachPosition, barred: str, free: str
) -> None:
    site = flat_site(1.0, 2.5, 3)
    square = next(landing for landing in site.catalogue.landings if landing.id == "landing-64")
    half = next(landing for landing in site.catalogue.landings if "half" in landing.uses)
    door = replace(square, uses=frozenset({"door"}))
    rest = replace(square, id="landing-rest", uses=frozenset({"straight"}), attach=(flush,))
    site = replace(site, catalogue=replace(site.catalogue, landings=(door, rest, half)))
    for costs in (brute_costs(site), engine_costs(site)):
        assert costs["front", f"half_{free}"] is not None
        assert costs["front", f"half_{barred}"] is None


# More in the way is never cheaper; less to obey is never dearer


@pytest.mark.parametrize("seed", [3, 6, 9, 30, 54, 62])
def test_an_obstacle_more_is_never_cheaper(seed: int) -> None:
    site = build_small_yard(seed)
    random = Random(seed)  # noqa: S311  # repeatable yards, no secrets
    costs = brute_costs(site)
    start = site.yard.starts[0]
    for _ in range(3):
        middle = start.midpoint_m + start.outward * random.uniform(1.0, 5.0)
        middle = middle + random.uniform(-3.0, 3.0) * np.array([start.outward[1], -start.outward[0]])
        square = frozen(middle + 0.15 * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]))
        tree = Obstacle("new tree", square, None, may_stand=False)
        fuller = replace(site, yard=replace(site.yard, obstacles=(*site.yard.obstacles, tree)))
        assert is_nowhere_cheaper(brute_costs(fuller), costs)


def without_limit(quantity: Quantity) -> Callable[[Site], Site]:
    """The site under the same rules less one."""

    def looser(site: Site) -> Site:
        limits = tuple(limit for limit in site.rules.limits if limit.quantity != quantity)
        return replace(site, rules=replace(site.rules, limits=limits))

    return looser


def without_zones(kinds: frozenset[ZoneKind]) -> Callable[[Site], Site]:
    """The site without zones of these kinds."""

    def looser(site: Site) -> Site:
        zones = tuple(zone for zone in site.yard.zones if zone.kind not in kinds)
        return replace(site, yard=replace(site.yard, zones=zones))

    return looser


def without_obstacles(is_gone: Callable[[Obstacle], bool]) -> Callable[[Site], Site]:
    """The site without some obstacles."""

    def looser(site: Site) -> Site:
        obstacles = tuple(one for one in site.yard.obstacles if not is_gone(one))
        return replace(site, yard=replace(site.yard, obstacles=obstacles))

    return looser


def with_yard(**changes: object) -> Callable[[Site], Site]:
    """The site with another yard."""
    return lambda site: replace(site, yard=replace(site.yard, **changes))  # type: ignore[arg-type]


def with_wishes(**changes: object) -> Callable[[Site], Site]:
    """The site with other wishes."""
    return lambda site: replace(site, wishes=replace(site.wishes, **changes))  # type: ignore[arg-type]


def with_parts(change: Callable[[Catalogue], Catalogue]) -> Callable[[Site], Site]:
    """The site with another catalogue."""
    return lambda site: replace(site, catalogue=change(site.catalogue))


def with_legs(change: Callable[[Leg], Leg]) -> Callable[[Site], Site]:
    """The site with other legs."""
    return with_parts(lambda parts: replace(parts, legs=tuple(change(leg) for leg in parts.legs)))


def with_feet(change: Callable[[Foot], Foot]) -> Callable[[Site], Site]:
    """The site with other feet."""
    return with_parts(lambda parts: replace(parts, feet=tuple(change(foot) for foot in parts.feet)))


ALL_EXITS: tuple[Side, ...] = ("front", "left", "right")

#: What the site becomes when one rule is left out, as far as that can be said in its data.
WITHOUT: dict[str, Callable[[Site], Site]] = {
    "rise of a run": without_limit("rise_per_run"),
    "length of a run": without_limit("length_per_run"),
    "rails by rise": without_limit("handrail_rise"),
    "zones without feet": without_zones(frozenset({"no_foot"})),
    "zones without pieces": without_zones(PIECE_BLOCKING),
    "headroom": without_zones(OVERHEAD),
    "zones without digging": without_zones(frozenset({"drip_line"})),
    "endless obstacles": without_obstacles(lambda one: one.top_m is None),
    "obstacles with tops": without_obstacles(lambda one: one.top_m is not None and not one.may_stand),
    "setback": with_yard(setback_m=0.0),
    "arrival zones": with_yard(arrivals_m=()),
    "exits": with_wishes(exits=ALL_EXITS),
    "most turns": with_wishes(most_turns=2),
    "rails by height": with_wishes(guard_above_m=99.0),
    "landing rails": with_wishes(rail_landings_above_m=99.0),
    "clearance": with_parts(lambda parts: replace(parts, clearance_m=0.0)),
    "gap between pieces": with_parts(lambda parts: replace(parts, piece_gap_m=0.0)),
    "reserve of legs": with_legs(lambda leg: replace(leg, reserve_m=0.0)),
    "gap between legs": with_legs(lambda leg: replace(leg, max_m=leg.max_m + 0.3)),
    "rating of legs": with_legs(lambda leg: replace(leg, rated_load_kg=999.0)),
    "edge distance of feet": with_feet(lambda foot: replace(foot, edge_distance_m=0.0)),
    "break lines": lambda site: replace(site, ground=replace(site.ground, break_lines=())),
    "mid supports": with_parts(
        lambda parts: replace(
            parts, sections=tuple(replace(section, mid_supports_m=()) for section in parts.sections)
        )
    ),
    "level bottom": lambda site: replace(
        site,
        rules=replace(
            site.rules,
            limits=(
                *build_own_limits(landing_slope=1.0).limits,
                *(limit for limit in site.rules.limits if limit.quantity != "landing_slope"),
            ),
        ),
    ),
    "depth of pads": with_parts(
        lambda parts: replace(
            parts,
            bottom_pads=tuple(replace(pad, greatest_level_difference_m=9.0) for pad in parts.bottom_pads),
        )
    ),
    "longest run": lambda site: replace(
        site, search=replace(site.search, longest_run_m=site.search.longest_run_m + 1.0)
    ),
}

#: A yard that each of them decides.
BINDING: tuple[tuple[int, str], ...] = (
    (120, "rise of a run"),
    (237, "length of a run"),
    (25, "rails by rise"),
    (87, "zones without feet"),
    (280, "zones without pieces"),
    (48, "headroom"),
    (274, "zones without digging"),
    (210, "endless obstacles"),
    (52, "obstacles with tops"),
    (6, "setback"),
    (210, "arrival zones"),
    (249, "exits"),
    (293, "most turns"),
    (27, "rails by height"),
    (293, "landing rails"),
    (273, "clearance"),
    (102, "gap between pieces"),
    (199, "reserve of legs"),
    (289, "gap between legs"),
    (26, "rating of legs"),
    (280, "edge distance of feet"),
    (206, "break lines"),
    (25, "mid supports"),
    (50, "level bottom"),
    (44, "depth of pads"),
    (289, "longest run"),
)


@pytest.mark.parametrize(("seed", "rule"), BINDING)
def test_a_rule_left_out_is_never_dearer_and_each_rule_decides_some_yard(seed: int, rule: str) -> None:
    site = build_small_yard(seed)
    looser = WITHOUT[rule](site)
    costs, loose_costs = brute_costs(site), brute_costs(looser)
    assert is_nowhere_cheaper(costs, loose_costs)
    assert costs != loose_costs
    assert engine_costs(looser) == loose_costs


def is_nowhere_cheaper(costs: Costs, than: Costs) -> bool:
    return all(or_inf(costs[key]) >= or_inf(than[key]) for key in CLASSES)


def or_inf(cost: int | None) -> float:
    return math.inf if cost is None else float(cost)
