"""Legal steps in a yard that gets in their way: exactly the clauses that speak of it fail."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.plan import Piece
from tests.standards.damage import change_yard, with_obstacle, with_zone
from tests.standards.flight_on_a_ramp import (
    CASE,
    DECK_M,
    EDGE_U,
    FLIGHT,
    FOOT_U,
    FRAME,
    GOING_M,
    HAIR,
    NEAR_V,
    RAMP,
    RISE_M,
    SPACE_U,
    WIDTH_M,
    box_of,
    failed_of_steps,
    ground_m,
    ramp_ground_from,
    ring,
    strips_of,
    with_flights,
)


@pytest.mark.parametrize(
    ("low", "high", "clauses"),
    [
        (RISE_M - HAIR, RISE_M + HAIR, set()),
        (RISE_M, 0.9, set()),
        (0.4, RISE_M, set()),
        (RISE_M + HAIR, 0.9, {"build.steps_rise"}),
        (0.4, RISE_M - HAIR, {"build.steps_rise"}),
    ],
)
def test_the_rise_lies_in_the_range_of_the_part(low: float, high: float, clauses: set[str]) -> None:
    assert failed_of_steps(with_flights(CASE, replace(FLIGHT, rise_min_m=low, rise_max_m=high))) == clauses


@pytest.mark.parametrize(
    ("doubt_m", "clauses"), [(0.0099, set()), (0.01, set()), (0.0101, {"build.steps_rise"})]
)
def test_the_range_bears_the_error_of_the_survey(doubt_m: float, clauses: set[str]) -> None:
    case = with_flights(CASE, replace(FLIGHT, rise_min_m=RISE_M - 0.01))
    assert failed_of_steps(replace(case, survey_error_m=doubt_m)) == clauses
    case = with_flights(CASE, replace(FLIGHT, rise_max_m=RISE_M + 0.01))
    assert failed_of_steps(replace(case, survey_error_m=doubt_m)) == clauses


@pytest.mark.parametrize(("by_m", "free"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_flight_and_space_are_clear_of_what_stands_there(by_m: float, *, free: bool) -> None:
    far_v = NEAR_V + WIDTH_M
    beside = with_obstacle(CASE, ring(-1.4, far_v + by_m, -1.2, far_v + 0.5), None)
    assert failed_of_steps(beside) == (set() if free else {"build.clear_of"})
    low = with_obstacle(CASE, ring(-1.4, far_v + by_m, -1.2, far_v + 0.5), -5.0)
    assert failed_of_steps(low) == (set() if free else {"build.clear_of"})
    beyond = with_obstacle(CASE, ring(SPACE_U - 0.5, 0.1, SPACE_U - by_m, 0.5), None)
    assert failed_of_steps(beyond) == (set() if free else {"build.steps_space"})


def test_a_zone_for_feet_blocks_the_flight_and_not_the_space() -> None:
    assert failed_of_steps(with_zone(CASE, "no_foot", ring(-1.4, 0.3, -1.2, 0.5))) == {"build.clear_of"}
    assert failed_of_steps(with_zone(CASE, "no_foot", ring(SPACE_U, 0.3, FOOT_U - 0.1, 0.5))) == set()


@pytest.mark.parametrize(("by_m", "free"), [(HAIR, True), (0.0, True), (-HAIR, False)])
def test_the_setback_holds_for_the_flight_and_the_lot_for_the_space(by_m: float, *, free: bool) -> None:
    strip = change_yard(CASE, lot_m=ring(FOOT_U - 0.95 - by_m, -2.0, 25.0, 28.0), setback_m=0.95)
    assert failed_of_steps(strip) == (set() if free else {"build.inside_lot"})
    edge = change_yard(CASE, lot_m=ring(SPACE_U - by_m, -1.0, 25.0, 28.0), setback_m=0.0)
    assert failed_of_steps(edge) == (set() if free else {"build.steps_space"})


@pytest.mark.parametrize(
    ("bed_m", "clauses"), [(0.0061, set()), (0.006, set()), (0.0059, {"build.steps_foot"})]
)
def test_the_bed_evens_out_what_the_part_says(bed_m: float, clauses: set[str]) -> None:
    case = with_flights(CASE, replace(FLIGHT, foot_level_difference_m=bed_m))
    assert failed_of_steps(case) == clauses


@pytest.mark.parametrize(("by_m", "clauses"), [(HAIR, set()), (0.0, set()), (-HAIR, {"build.headroom"})])
def test_headroom_is_measured_over_the_nosings(by_m: float, clauses: set[str]) -> None:
    """Under a wire from one tread before the foot outward: half a metre of rise less three treads' share."""
    u = FOOT_U + GOING_M
    deck = DECK_M - 2 * RISE_M / 4
    case = with_zone(CASE, "headroom", ring(u - 3.0, 0.0, u, 1.0), deck + 2.0 + by_m, 2.0)
    assert failed_of_steps(case) == clauses


@pytest.mark.parametrize(("by_m", "clauses"), [(HAIR, set()), (0.0, set()), (-HAIR, {"build.clearance"})])
def test_treads_clear_the_ground(by_m: float, clauses: set[str]) -> None:
    """The lowest tread is nearest to the ground: highest under its landing end, far from the wall's side."""
    ground = max(ground_m(u, v) for u in (FOOT_U, FOOT_U + GOING_M) for v in (NEAR_V, NEAR_V + WIDTH_M))
    tread = DECK_M - 3 * RISE_M / 4
    part = replace(FLIGHT, frame_depth_m=tread - ground - 0.002 - by_m)
    assert failed_of_steps(with_flights(CASE, part)) == clauses


@pytest.mark.parametrize(("by_m", "clauses"), [(HAIR, set()), (0.0, set()), (-HAIR, {"build.surveyed"})])
def test_the_space_beyond_the_foot_is_surveyed(by_m: float, clauses: set[str]) -> None:
    rim = SPACE_U - by_m
    assert failed_of_steps(replace(CASE, ground=ramp_ground_from(rim))) == clauses


@pytest.mark.parametrize("way", [-1.0, 1.0])
@pytest.mark.parametrize(
    ("off_m", "clauses"), [(0.0761, set()), (0.0762, set()), (0.0763, {"build.steps_foot"})]
)
def test_the_ground_beyond_the_foot_is_no_step(off_m: float, way: float, clauses: set[str]) -> None:
    """Level ground to the foot, then falling or rising by so much over the 36 in beyond it."""
    ground = strips_of((FOOT_U - 20 * 0.9144, 20 * way * off_m), (FOOT_U, 0.0), (30.0, 0.0))
    assert failed_of_steps(replace(CASE, ground=ground)) & {"build.steps_foot"} == clauses


@pytest.mark.parametrize(
    ("across_m", "clauses"), [(0.0063, set()), (0.00635, set()), (0.0064, {"build.steps_foot"})]
)
def test_a_bed_is_dug_only_where_digging_is_allowed(across_m: float, clauses: set[str]) -> None:
    """The ground falls along v, from the middle of the foot by half the width."""
    case = replace(CASE, ground=strips_of((-30.0, 0.0), (30.0, 0.0), fall_v=across_m / (WIDTH_M / 2)))
    assert failed_of_steps(case) & {"build.steps_foot"} == set()
    roots = with_zone(case, "drip_line", ring(SPACE_U, 0.0, FOOT_U, 1.0))
    assert failed_of_steps(roots) & {"build.steps_foot"} == clauses


@pytest.mark.parametrize(("by_m", "clauses"), [(HAIR, set()), (0.0, set()), (-HAIR, {"build.apart"})])
def test_no_piece_lies_in_the_space_beyond_the_foot(by_m: float, clauses: set[str]) -> None:
    corners = tuple((*FRAME.site(u, v), 0.3) for u, v in box_of(SPACE_U - 1.6, SPACE_U - by_m))
    pad = Piece(
        id="pad", catalogue_id="pad", kind="bottom_pad", use=None, run=None, corners_m=corners, slope=0.0
    )
    assert failed_of_steps(CASE, RAMP.model_copy(update={"pieces": (*RAMP.pieces, pad)})) == clauses


@pytest.mark.parametrize(("by_m", "clauses"), [(-HAIR, set()), (0.0, set()), (HAIR, {"build.apart"})])
def test_the_flight_keeps_the_gap_to_other_pieces(by_m: float, clauses: set[str]) -> None:
    """The plate at the sill ends 0.335 m before the flight begins."""
    parts = replace(CASE.catalogue, piece_gap_m=-EDGE_U - 0.475 + by_m)
    assert failed_of_steps(replace(CASE, catalogue=parts)) == clauses


@pytest.mark.parametrize(
    ("kind", "far_v", "clauses"),
    [
        ("needs_relief", 9.0, set()),
        ("needs_relief", 28.0, {"build.inside_lot"}),
        ("hard", 9.0, {"build.inside_lot"}),
    ],
)
def test_steps_use_the_strip_only_where_the_ramp_needs_relief_anyway(
    kind: str, far_v: float, clauses: set[str]
) -> None:
    """The foot of the ramp lies about 8.5 m out, in the strip of a lot that ends at 9 m."""
    lot = ring(SPACE_U - 0.01, -2.0, 25.0, far_v)
    assert failed_of_steps(change_yard(CASE, lot_m=lot, setback_m=0.95, setback_kind=kind)) == clauses
