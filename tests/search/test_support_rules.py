"""What a ramp stands on: ranges of legs, what feet may stand on, braces; pairs that differ in one thing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.brief.site import Site
from optimizer.catalogue.parts import LowSupport
from tests.search.flat_yard import (
    FOOT_REACH_M,
    FRAME_M,
    GAP_M,
    HAIR,
    INCH,
    INSET_M,
    LANDING_FRAME_M,
    LANDING_M,
    RAMP,
    SECTION_M,
    SLOPE,
    THRESHOLD_M,
    WIDTH_M,
    StraightRamp,
    box_at,
    flat_site,
    is_feasible,
    leg_of,
    low_support_of,
    straight_cost,
    with_break_line,
    with_legs,
    with_obstacle,
    with_parts,
    with_plates,
    with_search,
    with_sections,
    with_start,
    with_zone,
)

SHORT_TOP_M = 13 * INCH  # 14 in less 1 in of reserve
TALL_BOTTOM_M = 25 * INCH  # 24 in and 1 in of reserve
SHORT_CENTS = 4600 + 900
MIDDLE_CENTS = 6300 + 1000
BRACE_CENTS = 2700 + 800
LANDING_LEG_M = THRESHOLD_M - LANDING_FRAME_M


def standing_at(leg_height_m: float) -> Site:
    """The flat yard with the door so high that the landing's legs are that tall."""
    return with_start(flat_site(), threshold_m=leg_height_m + LANDING_FRAME_M)


@pytest.mark.parametrize(("taller_m", "fits"), [(-HAIR, True), (0.0, True), (HAIR, False)])
def test_a_leg_keeps_its_reserve_at_the_top_of_its_range(taller_m: float, *, fits: bool) -> None:
    site = standing_at(SHORT_TOP_M + taller_m)
    assert is_feasible(with_legs(site, "leg-short")) is fits
    assert is_feasible(with_legs(site, "leg-short", "leg-tall")) is fits  # the gap between their ranges
    assert is_feasible(with_legs(site, "leg-short", "leg-middle"))


@pytest.mark.parametrize(("taller_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_a_leg_keeps_its_reserve_at_the_bottom_of_its_range(taller_m: float, *, fits: bool) -> None:
    ramp = with_search(with_plates(standing_at(TALL_BOTTOM_M + taller_m), "plate-60"), longest_run_m=5.0)
    hung = with_parts(ramp, low_supports=anywhere(ramp))
    assert is_feasible(with_legs(hung, "leg-short", "leg-tall")) is fits


def anywhere(site: Site) -> tuple[LowSupport, ...]:
    """A low support that fits under every joint and hinge."""
    return (replace(low_support_of(site, "screw-shoe"), min_m=-1.0, max_m=9.0),)


@pytest.mark.parametrize(("higher_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_the_hinge_stands_no_lower_than_the_lowest_support(higher_m: float, *, fits: bool) -> None:
    threshold = SLOPE * RAMP.run_plan_m + FRAME_M + 0.25 * INCH + higher_m
    assert is_feasible(with_start(flat_site(), threshold_m=threshold)) is fits


@pytest.mark.parametrize(("higher_m", "fits"), [(-HAIR, True), (0.0, True), (HAIR, False)])
def test_the_hinge_stands_no_higher_than_the_highest_low_support(higher_m: float, *, fits: bool) -> None:
    # Legs never carry the hinge.
    threshold = SLOPE * RAMP.run_plan_m + FRAME_M + 3.5 * INCH + higher_m
    assert is_feasible(with_start(with_plates(flat_site(), "plate-60"), threshold_m=threshold)) is fits


def test_where_both_fit_the_cheaper_low_support_is_counted() -> None:
    # A frame 1 in over the ground: both the shim pad and the screw shoe fit.
    both = with_start(flat_site(), threshold_m=SLOPE * RAMP.run_plan_m + FRAME_M + 1.0 * INCH)
    shoe = with_parts(both, low_supports=(low_support_of(both, "screw-shoe"),))
    cost, shoe_cost = straight_cost(both), straight_cost(shoe)
    assert cost is not None
    assert shoe_cost == cost + 2 * ((2350 + 600) - (1100 + 400))


@pytest.mark.parametrize("bedding_m", [0.0, 0.01])
def test_a_foot_that_sinks_in_makes_the_leg_taller(bedding_m: float) -> None:
    site = with_legs(standing_at(SHORT_TOP_M - bedding_m), "leg-short")
    assert is_feasible(replace(site, bedding_m=bedding_m))
    assert not is_feasible(replace(site, bedding_m=bedding_m + HAIR))


def test_a_leg_taller_than_its_bare_limit_is_braced() -> None:
    site = flat_site()
    at_limit = replace(leg_of(site, "leg-short"), brace_above_m=LANDING_LEG_M)
    above = replace(at_limit, brace_above_m=LANDING_LEG_M - HAIR)
    cost = straight_cost(with_parts(site, legs=(at_limit,)))
    assert cost is not None
    assert straight_cost(with_parts(site, legs=(above,))) == cost + 4 * BRACE_CENTS


def test_a_brace_makes_the_next_leg_the_cheaper_one() -> None:
    site = flat_site()
    braced = replace(leg_of(site, "leg-short"), brace_above_m=0.0)
    cost, other = (
        straight_cost(site),
        straight_cost(with_parts(site, legs=(braced, leg_of(site, "leg-middle")))),
    )
    assert cost is not None
    assert other == cost + 4 * (MIDDLE_CENTS - SHORT_CENTS)


def slab_under_the_outer_right_leg(reach_m: float) -> tuple[float, float, float, float]:
    """A slab about the outer right leg of the door landing, so far from the leg on every side."""
    u, v = LANDING_M / 2 - INSET_M, GAP_M + LANDING_M - INSET_M
    return (u - reach_m, v - reach_m, u + reach_m, v + reach_m)


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_a_foot_stands_on_a_slab_that_carries_the_whole_foot(room_m: float, *, fits: bool) -> None:
    slab = box_at(*slab_under_the_outer_right_leg(FOOT_REACH_M + room_m))
    assert is_feasible(with_obstacle(flat_site(), slab, 0.05, may_stand=True)) is fits


def test_a_foot_stands_on_no_obstacle_that_may_not_carry_it() -> None:
    slab = box_at(*slab_under_the_outer_right_leg(FOOT_REACH_M + 0.1))
    assert is_feasible(with_obstacle(flat_site(), slab, 0.05, may_stand=True))
    assert not is_feasible(with_obstacle(flat_site(), slab, 0.05))


@pytest.mark.parametrize(("taller_m", "fits"), [(-HAIR, True), (HAIR, False)])
def test_a_leg_on_a_slab_is_shorter_by_what_the_slab_stands_up(taller_m: float, *, fits: bool) -> None:
    # All four legs on one slab of 5 cm, and a door as high as the shortest leg allows there.
    slab = box_at(-LANDING_M, 0.0, LANDING_M, RAMP.landing_end_m + 0.1)
    site = with_legs(standing_at(SHORT_TOP_M + 0.05 + taller_m), "leg-short")
    hung = with_parts(with_plates(site, "plate-60"), low_supports=anywhere(site))
    raised = with_obstacle(hung, slab, 0.05, may_stand=True)
    assert is_feasible(raised) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (-HAIR, False)])
def test_a_crease_in_the_ground_keeps_its_distance_to_a_foot(room_m: float, *, fits: bool) -> None:
    u = LANDING_M / 2 - INSET_M + FOOT_REACH_M + room_m
    assert is_feasible(with_break_line(flat_site(), u, -29.0, u, 29.0)) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_a_zone_without_feet_keeps_its_distance_to_a_low_support(room_m: float, *, fits: bool) -> None:
    # The screw shoe stands 2 in inside the section's edge and has a plate of 4 in.
    reach = 4 * INCH / 2**0.5 + 1.5 * INCH
    near = WIDTH_M / 2 - 2 * INCH + reach + room_m
    zone = box_at(near, RAMP.hinge_end_m - 0.3, near + 0.4, RAMP.hinge_end_m + 0.3)
    assert is_feasible(with_zone(flat_site(), "no_foot", zone)) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_a_zone_without_feet_keeps_its_distance_to_the_legs_of_a_joint(room_m: float, *, fits: bool) -> None:
    threshold = THRESHOLD_M + SLOPE * RAMP.run_plan_m
    ramp = StraightRamp(threshold, RAMP.plate_m, 2)
    site = with_search(with_start(flat_site(), threshold_m=threshold), longest_run_m=2 * SECTION_M + 0.1)
    joint = (ramp.landing_end_m + ramp.hinge_end_m) / 2
    near = WIDTH_M / 2 + 1.5 * INCH + FOOT_REACH_M + room_m  # legs stand 1 1/2 in outside the frame
    assert is_feasible(with_zone(site, "no_foot", box_at(near, joint - 0.3, near + 0.4, joint + 0.3))) is fits


def test_a_long_section_spans_ground_where_the_joint_of_short_ones_may_not_stand() -> None:
    drain = box_at(-1.0, RAMP.landing_end_m + 1.0, 1.0, RAMP.landing_end_m + 1.5)
    for sections, fits in (
        (("section-96",), True),
        (("section-48",), False),
        (("section-48", "section-96"), True),
    ):
        site = with_sections(flat_site(), *sections)
        assert is_feasible(site)
        assert is_feasible(with_zone(site, "no_foot", drain)) is fits


def test_a_section_that_wants_mid_supports_pays_for_them_and_needs_ground_there() -> None:
    site = flat_site()
    section = site.catalogue.sections[0]
    middle = with_parts(site, sections=(replace(section, mid_supports_m=(SECTION_M / 2,)),))
    cost = straight_cost(site)
    assert cost is not None
    # Half way down, the frame is 7.3 in over the ground: a pair of short legs.
    assert straight_cost(middle) == cost + 2 * (SHORT_CENTS + 1450 + 200)
    drain = box_at(-1.0, RAMP.landing_end_m + 1.0, 1.0, RAMP.landing_end_m + 1.5)
    assert is_feasible(with_zone(site, "no_foot", drain))
    assert not is_feasible(with_zone(middle, "no_foot", drain))
