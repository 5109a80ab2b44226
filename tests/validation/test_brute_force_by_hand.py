"""The brute force against cases worked out by hand: prices added part by part, limits met exactly.

Validates: the second program of the discrete problem (brute_force.py), with which the search is
compared.  Source: our own page (DEVELOPERS.md, 'The discrete problem'); prices are those of the
demo catalogue in inches, 1.00 a minute of labour.  Tolerance: none for prices, the page's 1e-6 m for
limits.  Leg counts 8, 14 and 16: our own count, 4 for each landing (6 for a half turn) and 2 for each
joint inside a run.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.terrain.yard import Obstacle
from tests.validation.brute_force import find_cheapest
from tests.validation.brute_geometry import Lattice, Pose
from tests.validation.brute_layout import BruteLayout
from tests.validation.brute_parts import UsableParts
from tests.validation.brute_surroundings import Surroundings
from tests.validation.flat_site import flat_site, in_site_frame
from tests.validation.small_yards import MIRRORED_TURN, build_ground, build_own_limits, frozen, with_rules

STEP = 0.00254  # a tenth of an inch
SECTION, PLATE, LANDING, WIDTH = 96 * 0.0254, 36 * 0.0254, 64 * 0.0254, 42 * 0.0254
DROP = 119 * STEP  # 2.4384 m at 1:8 would drop 119.07 tenths of an inch
PLAN = math.sqrt(SECTION**2 - DROP**2)


def best_of(site: Site, exit_side: str, *turns: str) -> BruteLayout:
    layout = find_cheapest(site).layout(exit_side, turns)
    assert layout is not None
    return layout


def with_wishes(site: Site, **changes: object) -> Site:
    return replace(site, wishes=replace(site.wishes, **changes))  # type: ignore[arg-type]


def with_search(site: Site, **changes: object) -> Site:
    return replace(site, search=replace(site.search, **changes))  # type: ignore[arg-type]


def with_shortest_plate(site: Site) -> Site:
    plates = site.catalogue.transition_plates[:1]
    return replace(site, catalogue=replace(site.catalogue, transition_plates=plates))


# Prices added by hand

SHORT_LEG = 4600 + 900 + 1450 + 200
BRACED_MIDDLE_LEG = 6300 + 1000 + 1450 + 200 + 2700 + 800
BRACED_TALL_LEG = 9700 + 1200 + 1450 + 200 + 2700 + 800
SCREW_SHOE, SHIM_PAD = 2350 + 600 + 725 + 100, 1100 + 400 + 725 + 100
SIDE_RAIL, INFILL, LOOP, WIDE_RAIL = 10900 + 700, 5800 + 600, 6600 + 800, 14800 + 900
PANEL, PLATE_PANEL, POST, RAIL_END = 15100 + 900, 7200 + 600, 3100 + 400, 3600 + 500
SECTION_96, PLATE_36 = 71200 + 3000, 17200 + 1200
SQUARE, HALF_TURN = 94800 + 4200, 138600 + 6000
THRESHOLD = 3400 + 800
DOOR_RAILS = 2 * SIDE_RAIL + INFILL  # 22 in beside the run


def test_one_straight_ramp_on_level_ground_costs_what_the_sum_by_hand_says() -> None:
    # 96 in at 1:8 fall 11.9 in from 0.4 m: the hinge is 0.098 m up, within 36 in of plate at 1:8.
    # Under the frame (2 1/2 in) 1.35 in are left there: too much for a shim pad, so screw shoes.
    by_hand = (
        THRESHOLD + SQUARE + 4 * SHORT_LEG + SECTION_96 + 2 * SCREW_SHOE + PLATE_36 + DOOR_RAILS
        + 2 * PANEL + 2 * PLATE_PANEL + 4 * POST + 4 * RAIL_END
    )  # fmt: skip
    assert by_hand == 339_550
    layout = best_of(flat_site(0.4, 3.0, 1), "front")
    assert layout.cost_cents == by_hand
    assert (layout.plate_id, layout.pad_id, layout.legs, layout.low_supports) == ("plate-36", None, 4, 2)
    assert layout.attach_m == pytest.approx(0.0)
    assert layout.runs[0].drop_m == pytest.approx(DROP)
    assert layout.runs[0].plan_m == pytest.approx(PLAN)


@pytest.mark.parametrize(("turns", "rail_ends"), [(("left",), 6), (("right",), 6), ((), 8)])
def test_two_runs_round_a_square_landing_cost_what_the_sum_by_hand_says(
    turns: tuple[str, ...], rail_ends: int
) -> None:
    # The door landing is 0.7 m up: legs of 24.6 in are braced.  The second landing is at 0.398 m: short
    # legs of 12.7 in.  It has two runs and two bare edges, whether the way turns there or not; where it
    # turns, the rail goes on round the inside corner and two rail ends are saved.
    by_hand = (
        THRESHOLD + 2 * SQUARE + 4 * BRACED_MIDDLE_LEG + 4 * SHORT_LEG
        + 2 * SECTION_96 + 2 * SCREW_SHOE + PLATE_36
        + DOOR_RAILS + 2 * INFILL + 2 * SIDE_RAIL
        + 4 * PANEL + 2 * PLATE_PANEL + 8 * POST + rail_ends * RAIL_END
    )  # fmt: skip
    assert by_hand == 660_950 - (8 - rail_ends) * RAIL_END
    layout = best_of(flat_site(0.7, 3.0, 2), "front", *turns)
    assert layout.cost_cents == by_hand
    assert (layout.legs, layout.braces, layout.low_supports) == (8, 4, 2)


@pytest.mark.parametrize("first", ["right", "left"])
def test_a_switchback_of_three_runs_costs_what_the_sum_by_hand_says(first: str) -> None:
    # Two sections out, one back, one out again: with three runs of one section each the second landing
    # would come down on the door landing.  Door landing 48.2 in of leg, joint 36.8 in, half turns at
    # 24.4 and 12.5 in; the hinge leaves 1.08 in: shim pads.
    by_hand = (
        THRESHOLD + SQUARE + 4 * BRACED_TALL_LEG + DOOR_RAILS
        + 2 * SECTION_96 + 2 * BRACED_TALL_LEG + 4 * PANEL + 6 * POST + 3 * RAIL_END
        + HALF_TURN + 6 * BRACED_MIDDLE_LEG + LOOP + WIDE_RAIL + 2 * SIDE_RAIL
        + SECTION_96 + 2 * PANEL + 4 * POST + 2 * RAIL_END
        + HALF_TURN + 6 * SHORT_LEG + LOOP + WIDE_RAIL + 2 * SIDE_RAIL
        + SECTION_96 + 2 * PANEL + 2 * PLATE_PANEL + 4 * POST + 3 * RAIL_END
        + 2 * SHIM_PAD + PLATE_36
    )  # fmt: skip
    assert by_hand == 1_273_750
    second = MIRRORED_TURN[first]
    layout = best_of(flat_site(1.3, 5.0, 3), "front", f"half_{first}", f"half_{second}")
    assert [len(run.section_ids) for run in layout.runs] == [2, 1, 1]
    assert layout.cost_cents == by_hand
    assert layout.legs == 4 + 2 + 6 + 6


def test_three_runs_of_one_length_cannot_switch_back_into_the_door_landing() -> None:
    answer = find_cheapest(flat_site(1.0, 2.5, 3))
    assert answer.best is not None
    for turns in (("half_right", "half_left"), ("half_right", "half_right")):
        assert answer.cost_cents("front", turns) is None


def test_a_landing_and_three_sections_to_the_toe_stand_on_eight_legs() -> None:
    layout = best_of(flat_site(1.0, 7.4, 1), "front")
    assert layout.runs[0].section_ids == ("section-96",) * 3
    assert (layout.legs, layout.low_supports) == (4 + 2 * 2, 2)


def test_two_and_three_sections_round_a_quarter_turn_stand_on_fourteen_legs_and_round_a_half_turn_on_sixteen(
) -> None:  # fmt: skip
    site = flat_site(1.6, 7.4, 2)
    for turn, legs in (("right", 14), ("left", 14), ("half_right", 16), ("half_left", 16)):
        layout = best_of(site, "front", turn)
        assert sorted(len(run.section_ids) for run in layout.runs) == [2, 3]
        assert layout.legs == legs


# Slopes: whole height steps, levels by sine, one level a run


@pytest.mark.parametrize(
    ("step_m", "drops_m"), [(0.1, [0.3, 0.2, 0.1]), (0.2, [0.2]), (0.15, [0.3, 0.15]), (0.4, [])]
)
def test_a_run_drops_whole_height_steps_and_a_level_without_a_drop_of_its_own_is_left_out(
    step_m: float, drops_m: list[float]
) -> None:
    # 2.4384 m at the sines of 1:8, three quarters and half of it would drop 0.302, 0.227 and 0.151 m.
    site = with_search(flat_site(0.4, 3.0, 1), slope_levels=3, flattest_share=0.5, height_step_m=step_m)
    runs = UsableParts(site, site.yard.starts[0]).runs
    assert [run.drop for run in runs] == pytest.approx(drops_m)
    assert all(math.hypot(run.plan, run.drop) == pytest.approx(SECTION) for run in runs)


@pytest.mark.parametrize(
    ("beyond_m", "steps"), [(1e-6, 119), (0.0, 119), (-1e-12, 119), (-1e-10, 118), (STEP + 1e-6, 120)]
)
def test_a_drop_of_a_whole_number_of_steps_is_kept_in_spite_of_rounding(beyond_m: float, steps: int) -> None:
    sine = (DROP + beyond_m) / SECTION
    limits = build_own_limits(running_slope=sine / math.sqrt(1 - sine**2))
    site = with_rules(flat_site(0.4, 3.0, 1), limits)
    assert UsableParts(site, site.yard.starts[0]).runs[0].drop == pytest.approx(steps * STEP, abs=1e-12)


def test_runs_have_slopes_of_their_own_unless_equal_slopes_are_wished() -> None:
    # 119 and 59 tenths of an inch leave the hinge 0.095 m up; twice either leaves it too low or too high.
    site = with_shortest_plate(flat_site(0.095 + 178 * STEP, 3.0, 2))
    site = with_search(site, slope_levels=2, flattest_share=0.5)
    layout = best_of(site, "front", "right")
    assert sorted(run.level for run in layout.runs) == [0, 1]
    assert find_cheapest(with_wishes(site, slopes="equal")).shapes == ()


# Lattice lines


@pytest.mark.parametrize(("heading", "offsets"), [("front", [-0.1, 0.15]), ("back", [0.1, -0.15])])
def test_a_run_leaves_an_edge_on_lattice_lines_only(heading: str, offsets: list[float]) -> None:
    # The edge's middle is at u = 0.1; a run 1.0 wide has 0.25 and a bit to either side: u = 0 and 0.25.
    found = list(Lattice(0.25, 1.0, 0.54).poses_on(Pose(0.1, 2.0, heading), 1.5))
    assert [offset for offset, _ in found] == pytest.approx(offsets)
    assert [pose.u for _, pose in found] == pytest.approx([0.0, 0.25])


@pytest.mark.parametrize(("heading", "to_right"), [("left", 1), ("right", -1)])
def test_runs_along_the_wall_start_their_lattice_flush_with_the_door_landing(
    heading: str, to_right: int
) -> None:
    # The edge runs from v = 0.04 to 1.64, the run is 1.0 wide: v = 0.54, 0.84, 1.14.
    found = list(Lattice(0.3, 1.0, 0.54).poses_on(Pose(2.0, 0.84, heading), 1.6))
    assert [pose.v for _, pose in found] == pytest.approx([0.54, 0.84, 1.14])
    assert [offset * to_right for offset, _ in found] == pytest.approx([-0.3, 0.0, 0.3])


@pytest.mark.parametrize(("beyond", "count"), [(-1e-4, 3), (0.0, 3), (1e-6, 3), (4e-6, 1)])
def test_a_run_lies_on_its_edge_with_its_whole_width_within_the_tolerance(beyond: float, count: int) -> None:
    found = list(Lattice(0.25 + beyond / 2, 1.0, 0.54).poses_on(Pose(0.0, 2.0, "front"), 1.5))
    assert len(found) == count


def test_a_door_landing_slides_by_the_lattice_and_keeps_the_door_on_it() -> None:
    # 64 in less a door of 0.9 m leave 0.363 m to either side; 42 in of run have 0.279 m on the edge.
    site = flat_site(0.4, 3.0, 1)
    outline = in_site_frame((0.3, 3.0), (0.5, 3.0), (0.5, 3.4), (0.3, 3.4))
    tree = Obstacle("tree", outline, None, may_stand=False)
    site = replace(site, yard=replace(site.yard, obstacles=(tree,)))
    assert find_cheapest(site).best is None  # u = 0 only: the run reaches to 0.533
    finer = with_search(site, lattice_m=0.25)  # u = -0.25: the run ends at 0.283
    layout = best_of(finer, "front")
    assert layout.cost_cents == 339_550
    assert layout.attach_m is not None
    assert layout.slide * 0.25 + layout.attach_m in {-0.25, -0.5}


@pytest.mark.parametrize(("side", "to_right"), [("left", 1), ("right", -1)])
def test_a_run_along_the_wall_leaves_flush_with_the_near_end_of_the_door_landing_or_a_step_on(
    side: Literal["left", "right"], to_right: int
) -> None:
    site = with_wishes(flat_site(0.4, 3.0, 1), exits=(side,))
    near_end = -(LANDING - WIDTH) / 2  # 0.279 m; half a metre on leaves 0.221 m beyond the middle
    attach = best_of(site, side).attach_m
    assert attach is not None
    assert min(abs(attach * to_right - near_end), abs(attach * to_right - near_end - 0.5)) < 1e-9
    barred = replace(site, search=replace(site.search, lattice_m=0.56))  # 0.558 m of the edge are free
    only = best_of(barred, side).attach_m
    assert only is not None
    assert only * to_right == pytest.approx(near_end)


# Supports, rests, runs


@pytest.mark.parametrize(
    ("error_m", "cost_cents"),
    [
        (0.0063, 339_550),
        (0.0064, 339_550),
        (0.0065, 346_750),
        (0.01518, 346_750),
        (0.01519, 346_750),
        (0.0152, None),
    ],
)
def test_supports_must_fit_for_ground_higher_or_lower_by_the_survey_error(
    error_m: float, cost_cents: int | None
) -> None:
    # Legs of 323.8 mm: 6.4 mm below the end of the short leg's range (13 in with its reserve), then middle
    # legs, 18.00 dearer each.  The hinge's 34.24 mm are 15.19 mm above the low end of the screw shoe.
    site = with_wishes(flat_site(0.4, 3.0, 1), survey_error_m=error_m)
    assert find_cheapest(site).cost_cents("front", ()) == cost_cents


@pytest.mark.parametrize(
    ("beyond", "has_layout"), [(1e-4, True), (0.0, True), (-0.5e-6, True), (-3e-6, False)]
)
def test_the_longest_way_between_rests_is_measured_in_plan_with_the_plate(
    beyond: float,
    has_layout: bool,  # noqa: FBT001  # what the case expects
) -> None:
    site = with_shortest_plate(flat_site(0.4, 3.0, 1))
    plate = math.sqrt(PLATE**2 - (0.4 - DROP) ** 2)
    site = with_wishes(site, longest_between_rests_m=PLAN + plate + beyond)
    assert (find_cheapest(site).best is not None) == has_layout


@pytest.mark.parametrize(("z0", "most"), [(0.99, 6), (1.0, 6), (1.0 + 0.5e-6, 6), (1.0 + 2e-6, 7), (0.2, 4)])
def test_without_a_number_of_runs_the_rise_says_how_many(z0: float, most: int) -> None:
    site = with_search(flat_site(0.4, 3.0, 1), most_runs=None)
    assert UsableParts(site, site.yard.starts[0]).most_runs(z0, 0.0) == 4
    site = with_rules(site, build_own_limits(running_slope=1 / 8, rise_per_run=0.25))
    parts = UsableParts(site, site.yard.starts[0])
    assert parts.most_runs(z0, 0.0) == most
    assert parts.most_runs(z0 + 0.7, 0.7) == most


def test_the_highest_ground_is_looked_for_on_the_lot_alone() -> None:
    site = flat_site(0.4, 3.0, 1)
    corners = np.array([[-30.0, -30.0, 0.0], [30.0, -30.0, 6.0], [30.0, 30.0, 6.0], [-30.0, 30.0, 0.0]])
    lot = frozen(np.array([[-10.0, -10.0], [10.0, -10.0], [10.0, 10.0], [-10.0, 10.0]]))
    site = replace(site, ground=build_ground(corners), yard=replace(site.yard, lot_m=lot))
    assert Surroundings(site, site.yard.starts[0]).highest_on_lot() == pytest.approx(4.0)


def test_no_more_turns_than_wished() -> None:
    for most in (2, 1, 0):
        shapes = find_cheapest(with_wishes(flat_site(1.3, 5.0, 3), most_turns=most)).shapes
        assert max(len(turns) for _, turns in shapes) == most


# Locks and the setback

TIP = 0.04 + LANDING + PLAN + math.sqrt(PLATE**2 - (0.4 - DROP) ** 2)


@pytest.mark.parametrize(("beyond", "has_layout"), [(-1.0, True), (0.0, True), (0.5e-6, True), (3e-6, False)])
@pytest.mark.parametrize("place", ["tip", "side"])
def test_a_point_to_be_passed_lies_on_a_piece_within_the_tolerance(
    place: Literal["tip", "side"],
    beyond: float,
    has_layout: bool,  # noqa: FBT001  # what the case expects
) -> None:
    site = with_shortest_plate(flat_site(0.4, 3.0, 1))
    point = (0.0, TIP + beyond) if place == "tip" else (WIDTH / 2 + beyond, 3.0)
    site = with_wishes(site, must_pass_m=(in_site_frame(point)[0], in_site_frame((0.1, 1.0))[0]))
    assert (find_cheapest(site).best is not None) == has_layout


@pytest.mark.parametrize(("beyond", "has_layout"), [(-0.2, True), (0.0, True), (0.5e-6, True), (3e-6, False)])
def test_a_point_for_a_landing_lies_on_a_landing_the_one_at_the_door_included(
    beyond: float,
    has_layout: bool,  # noqa: FBT001  # what the case expects
) -> None:
    point = in_site_frame((0.3, 0.04 + LANDING + beyond))[0]
    site = with_wishes(flat_site(0.4, 3.0, 1), landing_at_m=(point,))
    assert (find_cheapest(site).best is not None) == has_layout


@pytest.mark.parametrize(
    ("u", "turns_left"),
    [
        (0.0, {(), ("left",), ("right",), ("half_left",), ("half_right",)}),
        (0.8, {(), ("left",), ("right",), ("half_right",)}),
        (1.06, {(), ("left",), ("half_right",)}),
        (1.2, {("half_right",)}),
        (1.9, set()),
    ],
)
def test_a_landing_asked_for_beside_the_way_leaves_the_shapes_that_can_have_one_there(
    u: float, turns_left: set[tuple[str, ...]]
) -> None:
    # Beyond two sections; the run is 0.533 m to either side of u = 0.  To the right reach: a half turn to
    # the left 0.533, a quarter turn right 1.033 (one lattice step of 0.5), left or straight 1.092 (64 in
    # flush left), a half turn to the right 1.854 (94 in).
    site = flat_site(1.0, 5.0, 2)
    v = 0.04 + LANDING + math.sqrt((2 * SECTION) ** 2 - (238 * STEP) ** 2) + 1.0
    locked = with_wishes(site, landing_at_m=(in_site_frame((u, v))[0],))
    assert {turns for _, turns in find_cheapest(locked).shapes} == turns_left


@pytest.mark.parametrize(
    ("room_m", "hard", "relief"), [(1e-5, 339_550, 339_550), (0.0, 339_550, 339_550), (-5e-6, None, 389_550)]
)
def test_a_piece_in_the_setback_is_barred_or_costs_the_relief_once(
    room_m: float, hard: int | None, relief: int
) -> None:
    site = with_shortest_plate(flat_site(0.4, 3.0, 1))
    end = TIP + 2.0 + room_m
    lot = in_site_frame((-20.0, -20.0), (20.0, -20.0), (20.0, end), (-20.0, end))
    kinds: tuple[Literal["hard", "needs_relief"], ...] = ("hard", "needs_relief")
    for kind, cost in zip(kinds, (hard, relief), strict=True):
        yard = replace(site.yard, lot_m=lot, setback_m=2.0, setback_kind=kind, relief_cents=50_000)
        assert find_cheapest(replace(site, yard=yard)).best_cents == cost


def test_relief_is_paid_once_for_many_pieces_and_never_takes_the_ramp_off_the_lot() -> None:
    site = with_shortest_plate(flat_site(0.4, 3.0, 1))
    for end, cost in ((TIP + 1.25, 389_550), (TIP + 1.15, None)):  # the bottom space is 1.2 m long
        lot = in_site_frame((-20.0, -20.0), (20.0, -20.0), (20.0, end), (-20.0, end))
        yard = replace(site.yard, lot_m=lot, setback_m=6.0, setback_kind="needs_relief", relief_cents=50_000)
        assert find_cheapest(replace(site, yard=yard)).best_cents == cost


# The toe


def test_a_hinge_exactly_at_the_plates_reach_is_allowed_and_a_hair_higher_is_not() -> None:
    # The plate may be as steep as 1:8: d <= s t with P^2 = t^2 + d^2, met within 1e-6 m.
    plate = 48 * 0.0254
    highest = DROP + plate / 8 / math.hypot(1, 1 / 8)
    for beyond, has_layout in ((-2e-6, True), (0.0, True), (0.5e-6, True), (3e-6, False)):
        site = flat_site(highest + beyond, 3.0, 1)
        plates = tuple(one for one in site.catalogue.transition_plates if one.length_m < 1.3)
        site = replace(site, catalogue=replace(site.catalogue, transition_plates=plates))
        assert (find_cheapest(site).best is not None) == has_layout


@pytest.mark.parametrize(
    ("depth_m", "cost_cents"), [(0.0114, 339_550), (0.0115, 339_550 + 26500 + 19000), (0.0770, None)]
)
def test_one_sunk_corner_of_the_bottom_space_leaves_the_fitted_plane_by_five_ninths_of_its_depth(
    depth_m: float, cost_cents: int | None
) -> None:
    # Level but for one of the nine probes: the plane fitted to them takes 1/9 + 1/6 + 1/6 of its depth there,
    # so it is off by 5/9; 1/4 in is passed at 0.01143 m.  The pad takes up 3 in = 0.0762 m.
    site = with_shortest_plate(flat_site(0.4, 3.0, 1))
    sunk = in_site_frame((-WIDTH / 2, TIP + 1.2))[0]
    angles = np.radians(np.arange(0.0, 360.0, 45.0))
    ring = sunk + 0.2 * np.column_stack([np.cos(angles), np.sin(angles)])
    corners = np.array([[-30.0, -30.0], [30.0, -30.0], [30.0, 30.0], [-30.0, 30.0]])
    level = np.vstack([corners, ring])
    points = np.vstack([np.column_stack([level, np.zeros(len(level))]), [*sunk, -depth_m]])
    site = replace(site, ground=build_ground(points))
    assert find_cheapest(site).cost_cents("front", ()) == cost_cents
