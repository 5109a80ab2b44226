"""Ramps that turn: which landings may carry a turn, and what parallel pieces keep free between them."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.brief.site import Site
from tests.search.flat_yard import (
    HAIR,
    INCH,
    LANDING_M,
    RAMP,
    THRESHOLD_M,
    WIDTH_M,
    box_at,
    cost_of,
    engine_costs,
    turning_site,
    with_limits,
    with_obstacle,
    with_parts,
    with_search,
    with_wishes,
)

HALF_M = 94 * INCH
LANE_M = HALF_M - WIDTH_M  # from the middle of one lane to the middle of the other


def foot_room(site: Site) -> float:
    """How far beside a piece the farthest foot reaches, by hand: offset, half diagonal, edge distance."""
    feet = {foot.id: foot for foot in site.catalogue.feet}
    return max(
        one.lateral_offset_m
        + math.hypot(feet[one.foot].plate_m / 2, feet[one.foot].plate_m / 2)
        + feet[one.foot].edge_distance_m
        for one in (*site.catalogue.legs, *site.catalogue.low_supports)
    )


def test_a_half_turn_beside_a_run_as_long_finds_no_room_at_the_door_landing() -> None:
    # Back along the first run, the second lane and its plate would cut the corner of the door landing.
    assert cost_of(turning_site(4, 2), "front", "half_right") is None
    assert cost_of(turning_site(4, 3), "front", "half_right") is not None


@pytest.mark.parametrize(("longer_m", "fits"), [(-HAIR, True), (HAIR, False)])
def test_the_level_space_beyond_the_tip_keeps_room_for_feet(longer_m: float, *, fits: bool) -> None:
    # Two sections out, one back: between tip and door landing a section's plan less a plate's is left,
    # and beside the landing the widest foot needs room.
    site = turning_site(3, 2)
    room = RAMP.run_plan_m - RAMP.plate_plan_m - foot_room(site)
    site = with_limits(site, landing_length=room + longer_m)
    assert (cost_of(site, "front", "half_right") is not None) is fits
    assert (cost_of(site, "front", "half_left") is not None) is fits


@pytest.mark.parametrize(("gap_m", "fits"), [(10 * INCH, True), (10 * INCH + HAIR, False)])
def test_the_two_lanes_of_a_half_turn_keep_the_gap_between_pieces(gap_m: float, *, fits: bool) -> None:
    # 94 in carry two lanes of 42 in and the catalogue's 10 in, exactly.
    costs = engine_costs(with_parts(turning_site(3, 2), piece_gap_m=gap_m))
    assert (("front", ("half_right",)) in costs) is fits
    assert ("front", ("right",)) in costs


def test_a_lane_that_passes_the_door_landing_keeps_the_gap_to_it() -> None:
    # Leaving along the wall flush with the landing's outer end, the way back lies 10 in before it, exactly.
    site = turning_site(4, 2, "left")
    outer = with_search(site, lattice_m=LANDING_M - WIDTH_M)
    assert cost_of(outer, "left", "half_right") is not None
    assert cost_of(with_parts(outer, piece_gap_m=10 * INCH + HAIR), "left", "half_right") is None
    nearly = with_search(site, lattice_m=LANDING_M - WIDTH_M - HAIR)
    assert cost_of(nearly, "left", "half_right") is None, "no lattice line lies at the outer end"
    assert cost_of(outer, "left", "half_left") is None, "the house is there"


def test_the_same_lane_seen_in_a_mirror() -> None:
    pitch = LANDING_M - WIDTH_M
    cost = cost_of(with_search(turning_site(4, 2, "right"), lattice_m=pitch), "right", "half_left")
    assert cost is not None
    assert cost == cost_of(with_search(turning_site(4, 2, "left"), lattice_m=pitch), "left", "half_right")


@pytest.mark.parametrize(("reach_m", "fits"), [(0.0, True), (HAIR, False)])
def test_an_obstacle_beside_the_second_lane_may_touch_it_and_no_more(reach_m: float, *, fits: bool) -> None:
    # Lots so narrow that there is one way: two sections out, one back on the right.
    site = turning_site(3, 2)
    side = LANE_M + WIDTH_M / 2
    back = RAMP.landing_end_m + 1.2 * RAMP.run_plan_m
    tree = box_at(side - reach_m, back, side + 1.0, back + 0.2)
    assert (cost_of(with_obstacle(site, tree, None), "front", "half_right") is not None) is fits


@pytest.mark.parametrize("hand", ["left", "right"])
def test_a_turn_needs_a_landing_as_large_as_the_rule_asks(hand: str) -> None:
    # The door's own landing is made large, so that the rule bites at the turn alone.
    site = turning_site(3, 2)
    door = replace(
        site.catalogue.landings[0],
        id="landing-door",
        uses=frozenset({"door"}),
        clear_length_m=2.0,
        clear_width_m=2.0,
    )
    turn = replace(site.catalogue.landings[0], uses=frozenset({"quarter"}))
    half = next(one for one in site.catalogue.landings if "half" in one.uses)
    # Lanes farther apart, so that feet of the first leave room for the space at the end of the other.
    half = replace(half, width_m=half.width_m + 0.5)
    site = with_parts(site, landings=(door, turn, half))
    on = engine_costs(with_limits(site, landing_turn=60 * INCH))
    over = engine_costs(with_limits(site, landing_turn=60 * INCH + HAIR))
    shapes = {("front", (hand,)), ("front", (f"half_{hand}",))}
    assert shapes <= on.keys()
    assert not shapes & over.keys()


def test_a_quarter_turn_towards_the_house_needs_room_before_the_wall() -> None:
    # Along the wall to the left, a left turn leads out into the yard's back: there stands the house.
    site = turning_site(3, 2, "left")
    cost = cost_of(site, "left", "right")
    assert cost is not None
    broad = replace(site.yard, house_m=(box_at(-20.0, -3.0, 20.0, 0.0),))
    assert cost_of(replace(site, yard=broad), "left", "left") is None
    assert cost_of(replace(site, yard=broad), "left", "right") == cost


def test_two_runs_in_line_share_a_landing_with_both_their_ends_on_it() -> None:
    # Rise per run just allows one section each: 0.4 m for the last with its plate.
    site = with_wishes(turning_site(2, 2), most_turns=0)
    one_run = cost_of(site, "front")
    two_runs = cost_of(with_limits(site, rise_per_run=THRESHOLD_M), "front")
    too_low = cost_of(with_limits(site, rise_per_run=THRESHOLD_M - HAIR), "front")
    assert one_run is not None
    assert two_runs is not None
    assert too_low is None
    # In place of a joint on two middle legs (13.2 in under the shallower frame of a section) there is
    # a landing on four short ones (12.7 in).
    assert 13 * INCH < THRESHOLD_M - 2.5 * INCH
    assert two_runs == one_run - 2 * (7300 + 1650) + 94800 + 4200 + 4 * (5500 + 1650)
