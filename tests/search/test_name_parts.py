"""What CP-SAT decides under stock: other parts, other layouts, or none; and nothing without stock."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Leg, LowSupport, StockLevel
from optimizer.estimate.price import build_price
from optimizer.layout.build_layout import build_layout
from optimizer.layout.spec import LayoutSpec
from optimizer.search.solve import Solved, solve_site
from optimizer.search.solve_shapes import solve_shapes
from tests.search.flat_yard import (
    RAMP,
    SECTION_M,
    SLOPE,
    THRESHOLD_M,
    flat_site,
    leg_of,
    turning_site,
    with_parts,
    with_search,
    with_sections,
    with_start,
    with_stock,
    with_wishes,
)
from tests.search.searched import (
    every_shape,
    name_each,
    named_layouts,
    search_all,
    small_yard,
    solved_yard,
)

YARDS = (9, 10, 19, 27, 49, 59, 68)
BASE_CENTS = 231_950


def used_parts(site: Site, spec: LayoutSpec) -> Counter[str]:
    """Every part the estimate counts in a layout, once it is built."""
    price = build_price(build_layout(site, spec), site.catalogue, site.rates, site.yard)
    return Counter({line.part: line.count for line in price.lines if line.group == "direct"})


def solved_costs(solved: Solved) -> dict[tuple[str, tuple[str, ...]], int]:
    return {(one.exit, one.turns): one.cost_cents for one in solved.shown}


def without_part(site: Site, part_id: str) -> Site:
    """The site whose catalogue lacks a part altogether."""
    parts = site.catalogue
    return with_parts(
        site,
        sections=tuple(one for one in parts.sections if one.id != part_id),
        legs=tuple(one for one in parts.legs if one.id != part_id),
        low_supports=tuple(one for one in parts.low_supports if one.id != part_id),
        landings=tuple(one for one in parts.landings if one.id != part_id),
        transition_plates=tuple(one for one in parts.transition_plates if one.id != part_id),
    )


def two_sections_high() -> Site:
    """The flat yard so high that the run takes 192 in, of sections of 48 and 96 in."""
    site = with_start(flat_site(), threshold_m=THRESHOLD_M + SLOPE * RAMP.run_plan_m)
    site = with_search(site, longest_run_m=2 * SECTION_M + 0.1)
    return with_sections(site, "section-48", "section-96")


# Without stock


@pytest.mark.parametrize("seed", YARDS)
def test_without_stock_every_layouts_parts_cost_what_the_search_said(seed: int) -> None:
    site = small_yard(seed)
    assert site.catalogue.stock == ()
    assert every_shape(seed)
    for skeleton, named in named_layouts(seed):
        relief = skeleton.opening.prepared.relief_cents or 0
        assert named.cost_cents + relief == skeleton.cost_cents


@pytest.mark.parametrize("seed", YARDS)
def test_of_many_layouts_of_a_shape_each_costs_what_the_search_said(seed: int) -> None:
    site = small_yard(seed)
    several = 0
    for answer in search_all(site, kept=12).shapes:
        costs = [one.cost_cents for one in answer.skeletons]
        assert costs == sorted(costs)
        for skeleton, named in name_each(site, answer.skeletons):
            assert named.cost_cents + (skeleton.opening.prepared.relief_cents or 0) == skeleton.cost_cents
        several = max(several, len(costs))
    assert several > 1


@pytest.mark.parametrize("seed", YARDS)
def test_named_parts_built_and_priced_by_the_estimate_cost_the_same(seed: int) -> None:
    site, solved = small_yard(seed), solved_yard(seed)
    assert solved.status == "optimal_on_lattice"
    for one in solved.shown:
        price = build_price(build_layout(site, one.spec), site.catalogue, site.rates, site.yard)
        assert price.direct_cents == one.cost_cents == one.bound_cents


@pytest.mark.parametrize("seed", YARDS)
def test_more_stock_than_any_ramp_takes_changes_nothing(seed: int) -> None:
    site = small_yard(seed)
    plenty = tuple(StockLevel(part.id, 1000) for part in site.catalogue.parts())
    assert solve_site(with_parts(site, stock=plenty)) == solved_yard(seed)


# With stock


def test_a_leg_short_in_stock_is_replaced_at_one_corner_by_the_next_dearer() -> None:
    # Four short legs are wanted; with three, the fourth corner takes a middle leg: 18.00 dearer.
    site = flat_site()
    for count, dearer in ((4, 0), (3, 1800), (2, 2 * 1800), (0, 4 * 1800)):
        stocked = with_stock(site, leg_short=count)
        solved = solve_site(stocked)
        assert solved_costs(solved) == {("front", ()): BASE_CENTS + dearer}
        assert solved.status == "optimal_on_lattice"
        used = used_parts(stocked, solved.shown[0].spec)
        assert (used["leg-short"], used["leg-middle"]) == (count, 4 - count)


def test_a_dearer_layout_wins_when_stock_makes_the_cheapest_dearer_still() -> None:
    # A second landing costs 30.00 more and stands on legs of its own at 1.00 more each: 34.00 in all.
    site = flat_site()
    landing, leg = site.catalogue.landings[0], leg_of(site, "leg-short")
    other = replace(landing, id="landing-other", price_cents=landing.price_cents + 3000, legs=("leg-other",))
    both = with_parts(
        site,
        landings=(landing, other),
        legs=(*site.catalogue.legs, replace(leg, id="leg-other", price_cents=leg.price_cents + 100)),
    )
    # Each middle leg in place of a short one costs 18.00 more.
    for count, dearer, door in ((4, 0, landing), (3, 1800, landing), (2, 3400, other), (0, 3400, other)):
        solved = solve_site(with_stock(both, leg_short=count))
        assert solved.status == "optimal_on_lattice"
        assert solved_costs(solved) == {("front", ()): BASE_CENTS + dearer}
        assert solved.shown[0].spec.door_landing == door.id


def test_the_answer_would_be_another_without_the_stage_that_names_parts() -> None:
    # The search alone proposes two long sections and stops there; only one is in the yard.
    site = two_sections_high()
    stocked = with_stock(site, section_96=1)
    searched = solve_shapes(stocked)
    assert searched.best_cents == solve_shapes(site).best_cents
    free, solved = solve_site(site), solve_site(stocked)
    assert used_parts(site, free.shown[0].spec)["section-96"] == 2
    used = used_parts(stocked, solved.shown[0].spec)
    assert (used["section-96"], used["section-48"]) == (1, 2)
    assert free.shown[0].cost_cents == searched.best_cents
    # Two short sections for a long one and, in the middle of them, a joint on two legs more.
    assert solved.shown[0].cost_cents > free.shown[0].cost_cents
    joint = solved.shown[0].cost_cents - free.shown[0].cost_cents - 2 * 42000 + 74200
    assert joint in {2 * (leg + 1650) for leg in (5500, 7300)} | {2 * (2950 + 825), 2 * (1500 + 825)}


def test_a_joint_moves_to_where_a_leg_in_stock_fits() -> None:
    # With one long and two short sections the order is free; without short legs the joints lie elsewhere.
    site = with_stock(two_sections_high(), section_96=1)
    free = solve_site(site).shown[0]
    bare = solve_site(with_stock(two_sections_high(), section_96=1, leg_short=0)).shown
    assert all(used_parts(site, one.spec)["leg-short"] == 0 for one in bare)
    assert all(one.cost_cents > free.cost_cents for one in bare)


def test_stock_of_feet_and_braces_is_counted_with_the_supports_that_use_them() -> None:
    site = flat_site()
    assert solved_costs(solve_site(with_stock(site, foot_6=4))) == {("front", ()): BASE_CENTS}
    assert solve_site(with_stock(site, foot_6=3)).status == "infeasible_on_lattice"
    assert solved_costs(solve_site(with_stock(site, shoe_4=2))) == {("front", ()): BASE_CENTS}
    assert solve_site(with_stock(site, shoe_4=1)).status == "infeasible_on_lattice"
    braced = with_parts(
        site,
        legs=tuple(replace(leg, brace_above_m=0.0) for leg in site.catalogue.legs if leg.id == "leg-short"),
    )
    assert solve_site(with_stock(braced, brace_pair=4)).status == "optimal_on_lattice"
    assert solve_site(with_stock(braced, brace_pair=3)).status == "infeasible_on_lattice"


def test_rails_and_their_posts_are_counted_against_the_stock() -> None:
    site = with_wishes(flat_site(), guard_above_m=0.1, rail_landings_above_m=0.1)
    for part, count in (
        ("rail_96", 2),
        ("rail_36", 2),
        ("rail_post", 4),
        ("rail_extension", 4),
        ("rail_64", 2),
    ):
        assert solve_site(with_stock(site, **{part: count})).status == "optimal_on_lattice", part
        assert solve_site(with_stock(site, **{part: count - 1})).status == "infeasible_on_lattice", part


@pytest.mark.parametrize("part", ["landing_64", "plate_36", "section_96"])
def test_stock_that_forbids_every_layout_is_no_layout_and_proven(part: str) -> None:
    assert solve_site(with_stock(flat_site(), **{part: 1})).status == "optimal_on_lattice"
    none = solve_site(with_stock(flat_site(), **{part: 0}))
    assert none.status == "infeasible_on_lattice"
    assert none.shown == ()
    assert none.bound_cents is None
    assert none.stopped == ""


def test_another_threshold_plate_is_taken_when_the_cheapest_is_out() -> None:
    site = flat_site()
    plain, without = solve_site(site), solve_site(with_stock(site, threshold_2=0))
    assert without.status == "optimal_on_lattice"
    layout = build_layout(with_stock(site, threshold_2=0), without.shown[0].spec)
    assert layout.pieces[0].catalogue_id == "threshold-5"
    assert without.shown[0].cost_cents > plain.shown[0].cost_cents
    none_left = with_stock(site, threshold_2=0, threshold_5=0, threshold_9=0)
    assert solve_site(none_left).status == "infeasible_on_lattice"


def test_stock_sends_the_whole_ramp_another_way() -> None:
    # With one square landing in stock, and that at the door, only the half-turn landing is left.
    site = turning_site(3, 2)
    free = solve_site(site)
    assert not {"half_left", "half_right"} & {*free.shown[0].turns}
    stocked = solve_site(with_stock(site, landing_64=1))
    assert stocked.status == "optimal_on_lattice"
    assert {one.turns for one in stocked.shown} == {("half_left",), ("half_right",)}
    assert stocked.shown[0].cost_cents > free.shown[0].cost_cents
    assert solve_site(with_stock(site, landing_64=1, landing_half_94=0)).status == "infeasible_on_lattice"


@pytest.mark.parametrize("seed", YARDS)
def test_a_part_of_which_there_is_none_is_as_good_as_not_in_the_catalogue(seed: int) -> None:
    site, best = small_yard(seed), solved_yard(seed).shown[0]
    supports = {one.id for one in (*site.catalogue.legs, *site.catalogue.low_supports)}
    for part in sorted(
        {*(name for run in best.spec.runs for name in run.sections), *(best.spec.supports or ())}
    ):
        lacking = without_part(site, part)
        if not lacking.catalogue.sections or (part in supports and not lacking.catalogue.low_supports):
            continue
        if {s.overall_width_m for s in lacking.catalogue.sections} != {
            s.overall_width_m for s in site.catalogue.sections
        }:
            continue  # another width of ramp, which stock does not choose
        stocked = solve_site(with_parts(site, stock=(StockLevel(part, 0),)))
        bare = solve_site(lacking)
        assert (stocked.status, stocked.bound_cents) == (bare.status, bare.bound_cents), part
        assert solved_costs(stocked) == solved_costs(bare), part


@pytest.mark.parametrize("seed", YARDS)
def test_less_stock_is_never_cheaper_and_never_overdrawn(seed: int) -> None:
    site, best = small_yard(seed), solved_yard(seed).shown[0]
    used = used_parts(site, best.spec)
    kinds = {one.id for one in site.catalogue.parts() if isinstance(one, Leg | LowSupport)}
    scarce = max((name for name in used if name in kinds), key=lambda name: (used[name], name))
    before = best.cost_cents
    for count in (used[scarce], used[scarce] - 1, 1):
        stocked = with_parts(site, stock=(StockLevel(scarce, count),))
        solved = solve_site(stocked)
        if not solved.shown:
            continue
        assert solved.shown[0].cost_cents >= before
        before = solved.shown[0].cost_cents
        for one in solved.shown:
            assert used_parts(stocked, one.spec)[scarce] <= count
            assert one.bound_cents <= one.cost_cents
