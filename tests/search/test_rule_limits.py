"""What rules, rider and wishes forbid or make dearer: pairs that differ in one number, a hair apart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.layout.spec import Exit
from optimizer.search.solve_shapes import solve_shapes
from optimizer.terrain.ground import BreakLine
from tests.search.flat_yard import (
    BOTTOM_M,
    HAIR,
    INCH,
    LIP_M,
    LOT_M,
    MIDDLE,
    NEAR_M,
    OUT,
    RAMP,
    RIGHT,
    SECTION_M,
    THRESHOLD_M,
    WIDTH_M,
    at,
    box_at,
    cost_of,
    falling_ground,
    flat_site,
    ground_of,
    is_feasible,
    low_support_of,
    straight_cost,
    with_landing,
    with_legs,
    with_limits,
    with_obstacle,
    with_parts,
    with_plates,
    with_search,
    with_sections,
    with_start,
    with_steepest,
    with_wishes,
    with_zone,
)
from tests.validation.small_yards import build_ground, frozen

#: Rails of the one run: two panels of 96 in, two of the plate, four posts, four ends.
RUN_RAILS = 2 * (15100 + 900) + 2 * (7200 + 600) + 4 * (3100 + 400) + 4 * (3600 + 500)
#: Rails of the door landing left by the front: both sides, and an infill beside the run.
LANDING_RAILS = 2 * (10900 + 700) + (5800 + 600)
PAD_60 = 26500 + 19000


def base_cost() -> int:
    cost = straight_cost(flat_site())
    assert cost is not None
    return cost


def missing(site: Site) -> tuple[str, ...]:
    answer = solve_shapes(site)
    assert (answer.status, answer.shapes, answer.bound_cents) == ("infeasible_on_lattice", (), None)
    return answer.missing


# Runs


@pytest.mark.parametrize(("more_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_the_rise_of_the_last_run_counts_the_plate(more_m: float, *, fits: bool) -> None:
    assert is_feasible(with_limits(flat_site(), rise_per_run=THRESHOLD_M + more_m)) is fits


@pytest.mark.parametrize(("more_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_the_length_of_the_last_run_counts_the_plate_in_plan(more_m: float, *, fits: bool) -> None:
    length = RAMP.run_plan_m + RAMP.plate_plan_m + more_m
    assert is_feasible(with_limits(flat_site(), length_per_run=length)) is fits


def test_the_longest_run_is_measured_along_the_surface() -> None:
    assert is_feasible(with_search(flat_site(), longest_run_m=SECTION_M))
    assert not is_feasible(with_search(flat_site(), longest_run_m=SECTION_M - HAIR))


def test_more_runs_reach_further_down() -> None:
    higher = with_start(flat_site(), threshold_m=THRESHOLD_M + 0.3)
    assert not is_feasible(higher)
    assert is_feasible(with_search(higher, most_runs=2))


@pytest.mark.parametrize("asked", ["rule", "wish"])
def test_the_steeper_of_two_slopes_is_allowed_by_neither(asked: str) -> None:
    # At 1:8 the ramp just reaches; a hair flatter and the plate does not reach the ground.
    flatter = 1 / 8.5
    site = flat_site()
    assert is_feasible(with_wishes(with_limits(site, running_slope=1 / 6), steepest=1 / 8))
    changed = (
        with_limits(site, running_slope=flatter) if asked == "rule" else with_wishes(site, steepest=flatter)
    )
    assert not is_feasible(with_start(changed, threshold_m=0.415))
    assert is_feasible(with_start(site, threshold_m=0.415))


def test_slopes_are_tried_on_their_levels_alone() -> None:
    # Only a slope near 1:8 lands the one section; with the wrong levels there is no ramp.
    steep = with_steepest(flat_site(), 1 / 4)
    assert not is_feasible(with_search(steep, slope_levels=1))
    assert not is_feasible(with_search(steep, slope_levels=2, flattest_share=0.8))
    assert is_feasible(with_search(steep, slope_levels=2, flattest_share=0.5))
    assert is_feasible(with_search(steep, slope_levels=3, flattest_share=0.5)), "the flattest level is kept"


# Rider and widths


def test_parts_rated_for_less_than_the_rider_are_left_out() -> None:
    site = flat_site()
    for mass_kg, fits in ((1000 * 0.45359237 - 0.01, True), (1000 * 0.45359237 + 0.01, False)):
        heavy = replace(site, rider=replace(site.rider, total_mass_kg=mass_kg))
        assert is_feasible(heavy) if fits else missing(heavy)


def test_a_leg_rated_exactly_for_the_rider_is_taken_and_a_weaker_one_is_not() -> None:
    legs = flat_site().catalogue.legs
    short = next(leg for leg in legs if leg.id == "leg-short")
    rated = (replace(short, rated_load_kg=120.0), *legs[1:])
    weaker = (replace(short, rated_load_kg=119.9), *legs[1:])
    assert straight_cost(with_parts(flat_site(), legs=rated)) == base_cost()
    assert straight_cost(with_parts(flat_site(), legs=weaker)) == base_cost() + 4 * (7300 - 5500)


@pytest.mark.parametrize("asked", ["rule", "wish"])
def test_the_clear_width_asked_for_leaves_out_narrow_sections(asked: str) -> None:
    def asking(width_m: float) -> Site:
        if asked == "rule":
            return with_limits(flat_site(), clear_width=width_m)
        return with_wishes(flat_site(), clear_width_m=width_m)

    assert is_feasible(asking(38 * INCH))
    assert missing(asking(38 * INCH + HAIR)) == (
        f"start {flat_site().yard.starts[0].name!r}: no section has a clear width of 0.965 m",
    )


def test_of_two_widths_the_narrowest_that_is_wide_enough_is_used() -> None:
    site = flat_site()
    narrow = site.catalogue.sections[0]
    wide = replace(narrow, id="section-wide", clear_width_m=1.1, overall_width_m=1.2, price_cents=1)
    both = with_parts(
        site,
        sections=(wide, narrow),
        transition_plates=tuple(replace(one, width_m=1.2) for one in site.catalogue.transition_plates),
    )
    assert straight_cost(both) == base_cost()
    asked = straight_cost(with_wishes(both, clear_width_m=1.0))
    assert asked == base_cost() - (71200 - 1)


@pytest.mark.parametrize(
    ("quantity", "leaves"),
    [("landing_length", "front"), ("landing_width", "front"), ("landing_turn", "left")],
)
def test_a_door_landing_smaller_than_the_rule_is_left_out(quantity: str, leaves: Exit) -> None:
    site = with_wishes(flat_site(), exits=(leaves,))
    assert cost_of(with_limits(site, **{quantity: 60 * INCH}), leaves) is not None
    assert missing(with_limits(site, **{quantity: 60 * INCH + HAIR})) == (
        f"start {site.yard.starts[0].name!r}: no landing is large and strong enough to stand at the door",
    )


def test_the_landing_length_asked_for_is_also_the_level_space_beyond_the_tip() -> None:
    site = flat_site()
    for length, room in ((1.3, 1.3), (1.0, 1.0)):
        asked = with_limits(site, landing_length=length)
        lot = replace(site.yard, lot_m=box_at(-LOT_M, -LOT_M, LOT_M, RAMP.tip_m + room + HAIR))
        short = replace(site.yard, lot_m=box_at(-LOT_M, -LOT_M, LOT_M, RAMP.tip_m + room - HAIR))
        assert is_feasible(replace(asked, yard=lot))
        assert not is_feasible(replace(asked, yard=short))


@pytest.mark.parametrize(
    ("gap_m", "dearer"),
    [(2 * INCH, 0), (2 * INCH + HAIR, 5200 + 900 - 4200), (5 * INCH + HAIR, 7900 + 1100 - 4200)],
)
def test_a_wider_gap_at_the_door_takes_the_next_threshold_plate(gap_m: float, dearer: int) -> None:
    assert straight_cost(with_start(flat_site(), gap_m=gap_m)) == base_cost() + dearer


def test_a_gap_that_no_threshold_plate_bridges_is_said() -> None:
    assert missing(with_start(flat_site(), gap_m=9 * INCH + HAIR))


# Rails


@pytest.mark.parametrize(("more_m", "dearer"), [(HAIR, 0), (0.0, 0), (-HAIR, RUN_RAILS + LANDING_RAILS)])
def test_a_run_that_rises_more_than_the_trigger_has_rails(more_m: float, dearer: int) -> None:
    # The landing above it is as high, and must not interrupt them.
    assert straight_cost(with_limits(flat_site(), handrail_rise=THRESHOLD_M + more_m)) == base_cost() + dearer


@pytest.mark.parametrize(("more_m", "dearer"), [(HAIR, 0), (0.0, 0), (-HAIR, RUN_RAILS)])
def test_a_run_whose_edge_is_higher_than_the_guard_trigger_has_rails(more_m: float, dearer: int) -> None:
    assert straight_cost(with_wishes(flat_site(), guard_above_m=THRESHOLD_M + more_m)) == base_cost() + dearer


@pytest.mark.parametrize(("more_m", "dearer"), [(HAIR, 0), (0.0, 0), (-HAIR, LANDING_RAILS)])
def test_a_landing_higher_than_its_trigger_has_rails(more_m: float, dearer: int) -> None:
    site = with_wishes(flat_site(), rail_landings_above_m=THRESHOLD_M + more_m)
    assert straight_cost(site) == base_cost() + dearer


def site_beside_a_drop(u_m: float) -> Site:
    """The flat yard with a wall along u = ``u_m`` and ground 0.4 m lower beyond it."""
    corners = [(-20.0, -20.0), (20.0, -20.0), (20.0, 20.0), (-20.0, 20.0)]
    levels = np.column_stack([at(corners), [-0.4 if u > u_m else 0.0 for u, _ in corners]])
    line = BreakLine(
        "wall", at([(u_m, -20.0), (u_m, 20.0)]), frozen(np.zeros(2)), frozen(np.full(2, -0.4)), "left"
    )
    ground = build_ground(levels, line, (at(corners),))
    assert ground.elevation_at(*(MIDDLE + (u_m + 0.01) * RIGHT + 3.0 * OUT)) == pytest.approx(-0.4)
    assert ground.elevation_at(*(MIDDLE + (u_m - 0.01) * RIGHT + 3.0 * OUT)) == pytest.approx(0.0)
    return replace(flat_site(), ground=ground)


@pytest.mark.parametrize(("further_m", "dearer"), [(HAIR, 0), (-HAIR, RUN_RAILS)])
def test_the_lowest_ground_within_36_inches_of_a_run_decides_its_rails(further_m: float, dearer: int) -> None:
    # 0.4 m over the ground beside it, 0.8 m over the ground below the wall: the trigger lies between.
    site = with_wishes(
        site_beside_a_drop(WIDTH_M / 2 + NEAR_M + further_m), guard_above_m=0.6, rail_landings_above_m=9.0
    )
    assert straight_cost(site) == base_cost() + dearer


# The bottom


def steady_site() -> Site:
    """The flat yard with one type of leg and one of low support, kept when the ground tilts a little."""
    site = with_legs(flat_site(), "leg-middle")
    return with_parts(site, low_supports=(low_support_of(site, "screw-shoe"),))


STEADY_CENTS = 231_950 + 4 * (7300 - 5500)


@pytest.mark.parametrize(("steeper", "dearer"), [(1e-6, 0), (-1e-6, PAD_60)])
def test_a_bottom_steeper_than_the_limit_on_landings_gets_a_pad(steeper: float, dearer: int) -> None:
    site = replace(with_limits(steady_site(), landing_slope=0.01 + steeper), ground=falling_ground(0.01, 0.0))
    assert straight_cost(site) == STEADY_CENTS + dearer


def test_the_slope_of_the_bottom_is_taken_in_its_steepest_direction() -> None:
    # 6 along and 8 across are 10 in the steepest direction; neither alone passes a limit of 9.
    def sloping(limit: float, fall_u: float, fall_v: float) -> Site:
        site = with_start(with_limits(steady_site(), landing_slope=limit), threshold_m=0.38)
        return replace(site, ground=falling_ground(fall_u, fall_v))

    without = straight_cost(sloping(0.0101, 0.008, 0.006))
    assert without is not None
    assert straight_cost(sloping(0.0099, 0.008, 0.006)) == without + PAD_60


@pytest.mark.parametrize(("more_m", "dearer"), [(-HAIR, 0), (HAIR, PAD_60)])
def test_a_corner_of_the_tip_more_than_a_quarter_inch_off_gets_a_pad(more_m: float, dearer: int) -> None:
    # A ridge under the ramp's middle: level on the whole, but falling to both corners of the tip.
    fall = (LIP_M + more_m) / (WIDTH_M / 2)
    levels = [(u, v, -fall * abs(u)) for u in (-20.0, 0.0, 20.0) for v in (-20.0, 20.0)]
    site = replace(with_limits(steady_site(), landing_slope=0.02), ground=ground_of(levels))
    assert straight_cost(site) == STEADY_CENTS + dearer


def needing_a_pad() -> Site:
    """The flat yard with ground that falls 1 in 100 to the right, under a limit of 1 in 200."""
    return replace(with_limits(steady_site(), landing_slope=0.005), ground=falling_ground(0.01, 0.0))


@pytest.mark.parametrize("kind", ["drip_line", "no_foot"])
def test_a_pad_that_is_needed_is_not_dug_where_digging_is_forbidden(kind: str) -> None:
    ahead = RAMP.tip_m + BOTTOM_M - HAIR
    roots = box_at(-0.1, ahead, 0.1, ahead + 1.0)
    beyond = box_at(-0.1, ahead + 2 * HAIR, 0.1, ahead + 1.0)
    assert straight_cost(needing_a_pad()) == STEADY_CENTS + PAD_60
    assert straight_cost(with_zone(needing_a_pad(), kind, beyond)) == STEADY_CENTS + PAD_60  # type: ignore[arg-type]
    assert not is_feasible(with_zone(needing_a_pad(), kind, roots))  # type: ignore[arg-type]
    assert is_feasible(with_zone(steady_site(), kind, roots))  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", ["drip_line", "no_foot"])
def test_a_pad_is_not_dug_where_the_ground_beside_the_plate_may_not_be_cut(kind: str) -> None:
    plate = RAMP.hinge_end_m + RAMP.plate_plan_m / 2
    roots = box_at(-0.1, plate - 0.1, 0.1, plate + 0.1)
    assert is_feasible(with_zone(steady_site(), kind, roots))  # type: ignore[arg-type]
    assert not is_feasible(with_zone(needing_a_pad(), kind, roots))  # type: ignore[arg-type]


@pytest.mark.parametrize(("deeper_m", "fits"), [(HAIR, True), (-HAIR, False)])
def test_ground_that_rises_on_both_sides_of_the_tip_is_cut_no_deeper_than_a_pad_goes(
    deeper_m: float, *, fits: bool
) -> None:
    # A shallow valley under the ramp's middle: at the tip's corners the ground stands 10 mm above it.
    levels = [(u, v, 0.01 * abs(u) / (WIDTH_M / 2)) for u in (-20.0, 0.0, 20.0) for v in (-20.0, 20.0)]
    site = replace(with_limits(steady_site(), landing_slope=0.02), ground=ground_of(levels))
    pads = tuple(
        replace(pad, greatest_level_difference_m=0.01 + deeper_m) for pad in site.catalogue.bottom_pads
    )
    assert straight_cost(with_parts(site, bottom_pads=pads)) == (STEADY_CENTS + PAD_60 if fits else None)


@pytest.mark.parametrize(("more_m", "fits"), [(HAIR, True), (-HAIR, False)])
def test_a_pad_evens_out_no_more_than_its_depth(more_m: float, *, fits: bool) -> None:
    site = needing_a_pad()
    depth = 0.01 * WIDTH_M / 2 + more_m
    pads = tuple(replace(pad, greatest_level_difference_m=depth) for pad in site.catalogue.bottom_pads)
    assert is_feasible(with_parts(site, bottom_pads=pads)) is fits
    assert is_feasible(with_parts(steady_site(), bottom_pads=pads))


def test_without_a_pad_in_the_catalogue_the_bottom_must_be_level() -> None:
    assert is_feasible(with_parts(steady_site(), bottom_pads=()))
    assert not is_feasible(with_parts(needing_a_pad(), bottom_pads=()))


def test_a_wider_turning_space_takes_the_larger_pad() -> None:
    site = needing_a_pad()
    limits = with_limits(site, landing_slope=0.005, landing_turn=60 * INCH)
    larger = with_limits(site, landing_slope=0.005, landing_turn=60 * INCH + HAIR)
    wide_door = {"clear_length_m": 2.0, "clear_width_m": 2.0}
    assert straight_cost(with_landing(limits, "landing-64", **wide_door)) == STEADY_CENTS + PAD_60
    cost = straight_cost(with_landing(larger, "landing-64", **wide_door))
    assert cost == STEADY_CENTS + 41800 + 29000


# The start


def test_a_run_hung_on_an_edge_needs_no_landing() -> None:
    edge = with_start(flat_site(), kind="edge", clear_width_m=2.0)
    landing = 94800 + 4200 + 4 * (4600 + 900 + 1450 + 200)
    assert straight_cost(edge) == base_cost() - landing


def test_an_edge_narrower_than_the_run_carries_none() -> None:
    assert is_feasible(with_start(flat_site(), kind="edge", clear_width_m=WIDTH_M))
    assert not is_feasible(with_start(flat_site(), kind="edge", clear_width_m=WIDTH_M - 4 * HAIR))


def test_a_landing_stands_over_steps_whose_treads_clear_it() -> None:
    def steps(top_m: float) -> Site:
        site = with_start(flat_site(), kind="over_steps")
        return with_obstacle(site, box_at(-0.3, 0.0, 0.3, 0.6), top_m)

    highest = THRESHOLD_M - 3 * INCH - 1.5 * INCH
    assert straight_cost(steps(highest - HAIR)) == base_cost()
    assert not is_feasible(steps(highest + HAIR))


def test_the_drop_below_the_sill_is_taken_off_the_rise() -> None:
    site = with_limits(flat_site(), rise_per_run=THRESHOLD_M)
    assert not is_feasible(with_start(site, threshold_m=THRESHOLD_M + 0.012))
    assert is_feasible(with_start(site, threshold_m=THRESHOLD_M + 0.012, drop_m=0.012))


def test_two_short_sections_cost_more_than_the_long_one_and_its_joint_saved() -> None:
    # A joint of two 48 in sections stands on short legs; the search takes the cheaper of the two ways.
    short = straight_cost(with_sections(flat_site(), "section-48"))
    assert short == base_cost() - 74200 + 2 * (39800 + 2200) + 2 * (4600 + 900 + 1450 + 200)
    assert straight_cost(with_sections(flat_site(), "section-48", "section-96")) == base_cost()


def test_the_cheapest_plate_that_reaches_is_taken() -> None:
    assert straight_cost(with_plates(flat_site(), "plate-60", "plate-48", "plate-36")) == base_cost()
    assert straight_cost(with_plates(flat_site(), "plate-60", "plate-48")) == base_cost() + 23400 - 18400
