"""Where a ramp may lie: every rule as a pair of yards that differ in it alone, a hair on either side."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.terrain.yard import PIECE_BLOCKING, ZoneKind
from tests.search.flat_yard import (
    BOTTOM_M,
    FAR_M,
    FOOT_REACH_M,
    FRAME_M,
    GAP_M,
    HAIR,
    INCH,
    INSET_M,
    LANDING_FRAME_M,
    LANDING_M,
    LIP_M,
    LOT_M,
    RAMP,
    SECTION_M,
    SLOPE,
    THRESHOLD_M,
    WIDTH_M,
    StraightRamp,
    at,
    box_at,
    engine_costs,
    falling_ground,
    flat_site,
    ground_of,
    is_feasible,
    straight_cost,
    with_break_line,
    with_headroom,
    with_landing,
    with_limits,
    with_obstacle,
    with_parts,
    with_plates,
    with_search,
    with_start,
    with_wishes,
    with_yard,
    with_zone,
)

SIDE_M = WIDTH_M / 2
LEG_U_M = LANDING_M / 2 - INSET_M


def test_the_flat_yard_has_its_one_ramp_at_the_price_of_its_parts() -> None:
    parts = {
        "threshold plate, 2 in": 3400 + 800,
        "landing 64": 94800 + 4200,
        "short legs and their feet": 4 * (4600 + 900 + 1450 + 200),
        "section 96": 71200 + 3000,
        "screw shoes and their plates": 2 * (2350 + 600 + 725 + 100),
        "plate 36": 17200 + 1200,
    }
    assert straight_cost(flat_site()) == sum(parts.values())


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_the_lot_must_hold_the_level_space_beyond_the_tip(room_m: float, *, fits: bool) -> None:
    end = RAMP.tip_m + BOTTOM_M + room_m
    assert is_feasible(with_yard(flat_site(), lot_m=box_at(-LOT_M, -LOT_M, LOT_M, end))) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (-HAIR, False)])
def test_the_lot_must_hold_the_feet_beside_the_landing(room_m: float, *, fits: bool) -> None:
    # Legs close to the landing's edge, and a wider gap that keeps them off the house.
    site = with_start(with_landing(flat_site(), "landing-64", leg_inset_m=0.05), gap_m=0.12)
    side = LANDING_M / 2 - 0.05 + FOOT_REACH_M + room_m
    assert is_feasible(with_yard(site, lot_m=box_at(-LOT_M, -LOT_M, side, FAR_M))) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (-HAIR, False)])
def test_a_setback_binds_pieces_and_not_the_level_space_beyond(room_m: float, *, fits: bool) -> None:
    site = with_yard(flat_site(), lot_m=box_at(-LOT_M, -LOT_M, LOT_M, RAMP.tip_m + 3.0))
    assert is_feasible(with_yard(site, setback_m=3.0 - room_m)) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_ground_that_was_not_surveyed_carries_no_bottom_space(room_m: float, *, fits: bool) -> None:
    end = RAMP.tip_m + BOTTOM_M + room_m
    levels = [(-20.0, -5.0, 0.0), (20.0, -5.0, 0.0), (20.0, end, 0.0), (-20.0, end, 0.0)]
    assert is_feasible(replace(flat_site(), ground=ground_of(levels))) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(0.0, True), (HAIR, True), (-HAIR, False)])
def test_a_wing_of_the_house_may_touch_the_run_and_not_reach_into_it(room_m: float, *, fits: bool) -> None:
    site = flat_site()
    wing = box_at(SIDE_M + room_m, 2.5, 3.0, 3.0)
    assert is_feasible(with_yard(site, house_m=(*site.yard.house_m, wing))) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(0.0, True), (HAIR, True), (-HAIR, False)])
def test_an_obstacle_without_a_top_may_touch_the_run_and_not_reach_under_it(
    room_m: float, *, fits: bool
) -> None:
    assert is_feasible(with_obstacle(flat_site(), box_at(SIDE_M + room_m, 2.5, 2.0, 3.0), None)) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_the_last_section_passes_over_an_obstacle_whose_top_clears_its_frame(
    room_m: float, *, fits: bool
) -> None:
    # The demo catalogue asks no clearance of the last section; its frame is lowest at the lower end.
    top = RAMP.deck_m(3.0) - FRAME_M - room_m
    assert is_feasible(with_obstacle(flat_site(), box_at(-0.3, 2.6, 0.3, 3.0), top)) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_a_landing_keeps_the_ground_clearance_over_an_obstacle(room_m: float, *, fits: bool) -> None:
    top = THRESHOLD_M - LANDING_FRAME_M - 1.5 * INCH - room_m
    assert is_feasible(with_obstacle(flat_site(), box_at(-0.3, 0.6, 0.3, 1.0), top)) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_a_section_that_is_not_the_last_keeps_the_ground_clearance(room_m: float, *, fits: bool) -> None:
    threshold = THRESHOLD_M + SLOPE * RAMP.run_plan_m
    ramp = StraightRamp(threshold, RAMP.plate_m, 2)
    site = with_search(with_start(flat_site(), threshold_m=threshold), longest_run_m=2 * SECTION_M + 0.1)
    top = ramp.deck_m(3.0) - FRAME_M - 1.5 * INCH - room_m
    assert is_feasible(with_obstacle(site, box_at(-0.3, 2.6, 0.3, 3.0), top)) is fits


def test_the_plate_passes_over_no_obstacle_however_low() -> None:
    middle = RAMP.hinge_end_m + 0.4
    low = with_obstacle(flat_site(), box_at(-0.2, middle, 0.2, middle + 0.1), 0.001)
    beside = with_obstacle(flat_site(), box_at(SIDE_M + 0.2, middle, 2.0, middle + 0.1), 0.001)
    assert not is_feasible(low)
    assert is_feasible(beside)


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_an_obstacle_in_the_level_space_beyond_the_tip_is_in_the_way(room_m: float, *, fits: bool) -> None:
    ahead = RAMP.tip_m + BOTTOM_M + room_m
    assert is_feasible(with_obstacle(flat_site(), box_at(-0.3, ahead, 0.3, ahead + 0.5), 0.02)) is fits
    aside = SIDE_M + room_m
    middle = RAMP.tip_m + 0.5
    assert (
        is_feasible(with_obstacle(flat_site(), box_at(aside, middle, aside + 1.0, middle + 0.2), 0.02))
        is fits
    )


@pytest.mark.parametrize("kind", sorted(PIECE_BLOCKING))
def test_a_zone_kept_free_may_be_touched_and_not_passed_over(kind: ZoneKind) -> None:
    assert is_feasible(with_zone(flat_site(), kind, box_at(SIDE_M, 2.5, 2.0, 3.0)))
    assert not is_feasible(with_zone(flat_site(), kind, box_at(SIDE_M - HAIR, 2.5, 2.0, 3.0)))


@pytest.mark.parametrize("kind", ["no_foot", "drip_line"])
def test_a_zone_without_feet_or_digging_may_be_passed_over(kind: ZoneKind) -> None:
    assert is_feasible(with_zone(flat_site(), kind, box_at(-1.0, 2.3, 1.0, 3.3)))


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_a_zone_without_feet_keeps_its_distance_to_a_landings_leg(room_m: float, *, fits: bool) -> None:
    near = LEG_U_M + FOOT_REACH_M + room_m
    assert is_feasible(with_zone(flat_site(), "no_foot", box_at(near, -0.5, near + 0.2, 3.0))) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (-HAIR, False)])
def test_a_foot_keeps_its_distance_to_the_corner_of_an_obstacle(room_m: float, *, fits: bool) -> None:
    # A corner on the diagonal from the outer leg: the distance is measured to the point, not to an edge.
    leg_v = GAP_M + LANDING_M - INSET_M
    along = (FOOT_REACH_M + room_m) / 2**0.5
    u, v = LEG_U_M + along, leg_v + along
    spur = at([(u, v), (u + 0.5, v - 0.2), (u + 0.5, v + 0.9), (u - 0.2, v + 0.5)])
    assert u > SIDE_M + 0.2  # clear of the run
    site = with_obstacle(flat_site(), spur, 0.0001)
    assert is_feasible(site) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (-HAIR, False)])
def test_a_crease_in_the_ground_keeps_its_distance_to_a_foot(room_m: float, *, fits: bool) -> None:
    u = LEG_U_M + FOOT_REACH_M + room_m
    assert is_feasible(with_break_line(flat_site(), u, -29.0, u, 29.0)) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_headroom_is_measured_from_the_deck_at_the_upper_end_of_the_overlap(
    room_m: float, *, fits: bool
) -> None:
    over_landing = with_headroom(flat_site(), box_at(-1.0, 0.0, 1.0, 1.0), THRESHOLD_M + 2.03 + room_m, 2.03)
    assert is_feasible(over_landing) is fits
    over_run = with_headroom(flat_site(), box_at(-1.0, 3.0, 1.0, 3.4), RAMP.deck_m(3.0) + 2.03 + room_m, 2.03)
    assert is_feasible(over_run) is fits
    plate_v = RAMP.hinge_end_m + 0.3
    deck = RAMP.hinge_m - 0.3 * RAMP.hinge_m / RAMP.plate_plan_m
    over_plate = with_headroom(
        flat_site(), box_at(-1.0, plate_v, 1.0, plate_v + 0.2), deck + 2.03 + room_m, 2.03
    )
    assert is_feasible(over_plate) is fits


@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (-HAIR, False)])
def test_the_middle_of_the_tip_must_lie_in_an_arrival_zone(room_m: float, *, fits: bool) -> None:
    site = flat_site()
    assert is_feasible(with_yard(site, arrivals_m=(box_at(-0.01, RAMP.tip_m - room_m, 0.01, 20.0),))) is fits
    assert is_feasible(with_yard(site, arrivals_m=(box_at(-0.01, 1.0, 0.01, RAMP.tip_m + room_m),))) is fits
    elsewhere = box_at(5.0, 5.0, 6.0, 6.0)
    assert not is_feasible(with_yard(site, arrivals_m=(elsewhere,)))
    both = (elsewhere, box_at(-0.01, RAMP.tip_m - room_m, 0.01, 20.0))
    assert is_feasible(with_yard(site, arrivals_m=both)) is fits


def test_the_wish_for_exits_and_turns_limits_the_shapes() -> None:
    site = with_search(
        with_start(flat_site(), threshold_m=THRESHOLD_M + SLOPE * RAMP.run_plan_m), most_runs=2
    )
    one_turn = {("left",), ("right",), ("half_left",), ("half_right",)}
    both = engine_costs(with_wishes(site, exits=("front", "right"), most_turns=1))
    assert {side for side, _ in both} == {"front", "right"}
    # Beside the first run there is no room back to the house; a straight landing is no turn.
    assert {turns for side, turns in both if side == "front"} == {(), ("left",), ("right",)}
    assert set(engine_costs(site)) == {("front", ())}
    assert {turns for _, turns in both} <= {(), *one_turn}
    assert set(engine_costs(flat_site())) == {("front", ())}


def test_a_landing_slides_along_the_wall_only_by_whole_steps() -> None:
    # The landing may slide 0.3628 m; a tree reaches 0.2 m into its middle place.
    tree = box_at(LANDING_M / 2 - 0.2, 0.8, LANDING_M / 2 + 0.5, 1.0)
    site = with_obstacle(flat_site(), tree, None)
    assert not is_feasible(with_search(site, lattice_m=0.37))
    assert is_feasible(with_search(site, lattice_m=0.36))
    assert not is_feasible(with_search(site, lattice_m=0.19))
    assert is_feasible(with_search(site, lattice_m=0.11))


@pytest.mark.parametrize(("fall", "fits"), [(LIP_M / SIDE_M - 1e-4, True), (LIP_M / SIDE_M + 1e-4, False)])
def test_undug_ground_stands_above_the_plate_by_a_quarter_inch(fall: float, *, fits: bool) -> None:
    site = with_parts(with_limits(flat_site(), landing_slope=1.0), bottom_pads=())
    assert is_feasible(replace(site, ground=falling_ground(fall, 0.0))) is fits


@pytest.mark.parametrize("kind", sorted(PIECE_BLOCKING))
@pytest.mark.parametrize(("room_m", "fits"), [(HAIR, True), (-HAIR, False)])
def test_a_zone_kept_free_keeps_its_distance_to_a_foot(kind: ZoneKind, room_m: float, *, fits: bool) -> None:
    # Legs close to the landing's edge, and a wider gap that keeps them off the house.
    site = with_start(with_landing(flat_site(), "landing-64", leg_inset_m=0.05), gap_m=0.12)
    near = LANDING_M / 2 - 0.05 + FOOT_REACH_M + room_m
    assert is_feasible(with_zone(site, kind, box_at(near, -0.5, near + 0.5, 3.0))) is fits


@pytest.mark.parametrize(("higher_m", "fits"), [(-HAIR, True), (HAIR, False)])
def test_the_plate_is_walked_no_steeper_than_the_runs(higher_m: float, *, fits: bool) -> None:
    highest = SLOPE * RAMP.run_plan_m + SLOPE * RAMP.plate_m / (1 + SLOPE**2) ** 0.5
    assert is_feasible(with_start(flat_site(), threshold_m=highest + higher_m)) is fits


def test_a_longer_plate_reaches_what_a_shorter_one_does_not() -> None:
    higher = with_start(flat_site(), threshold_m=0.44)
    assert not is_feasible(with_plates(higher, "plate-36"))
    assert is_feasible(with_plates(higher, "plate-36", "plate-48"))
