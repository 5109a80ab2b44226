"""The algebra of L and folded ramps against the ground they claim to meet, and against a fine scan."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.rough.closed_forms import (
    SHORTEST_LEG_M,
    Corner,
    CornerGround,
    Lane,
    find_corner,
    find_folded_climb,
)

LANE = Lane(slope=1 / 12, rise_per_run_m=0.762, landing_m=1.524)


def _ground(
    out: float, along: float, reach_out_m: float = math.inf, reach_along_m: float = math.inf
) -> CornerGround:
    return CornerGround(out, along, 2.286, 0.762, reach_out_m, reach_along_m)


def _assert_meets_ground(rise_m: float, corner: Corner, ground: CornerGround) -> None:
    tip_out_m = ground.first_out_m + corner.out_m + corner.between_out * LANE.landing_m
    tip_along_m = ground.first_along_m + corner.along_m + corner.between_along * LANE.landing_m
    ground_m = -ground.fall_out * tip_out_m - ground.fall_along * tip_along_m
    assert rise_m - (corner.out_m + corner.along_m) * LANE.slope == pytest.approx(ground_m, abs=1e-9)
    for leg_m, between in ((corner.out_m, corner.between_out), (corner.along_m, corner.between_along)):
        assert leg_m >= SHORTEST_LEG_M - 1e-6
        assert leg_m * LANE.slope <= LANE.rise_per_run_m * (between + 1) + 1e-6
    assert corner.out_m + corner.between_out * LANE.landing_m <= ground.reach_out_m + 1e-6
    assert corner.along_m + corner.between_along * LANE.landing_m <= ground.reach_along_m + 1e-6


def _scan(rise_m: float, ground: CornerGround) -> float:
    """Least length of runs and landings over a fine grid of first legs, or infinity."""
    best_m = math.inf
    for between_out, between_along in itertools.product(range(4), repeat=2):
        level_m = (between_out + between_along) * LANE.landing_m
        for step in range(2500):
            out_m = SHORTEST_LEG_M + 0.01 * step
            tip_out_m = ground.first_out_m + out_m + between_out * LANE.landing_m
            high_m = rise_m + ground.fall_out * tip_out_m
            high_m += ground.fall_along * (ground.first_along_m + between_along * LANE.landing_m)
            along_m = (high_m - out_m * LANE.slope) / (LANE.slope - ground.fall_along)
            if along_m < SHORTEST_LEG_M or ground.fall_along >= LANE.slope:
                continue
            if out_m * LANE.slope > LANE.rise_per_run_m * (between_out + 1):
                continue
            if along_m * LANE.slope > LANE.rise_per_run_m * (between_along + 1):
                continue
            if out_m + between_out * LANE.landing_m > ground.reach_out_m:
                continue
            if along_m + between_along * LANE.landing_m > ground.reach_along_m:
                continue
            best_m = min(best_m, out_m + along_m + level_m)
    return best_m


@pytest.mark.parametrize("rise_m", [0.3, 0.7, 1.2])
@pytest.mark.parametrize(
    "ground",
    [
        _ground(0.03, 0.01),
        _ground(-0.02, 0.02),
        _ground(0.02, 0.02),
        _ground(0.04, -0.01, reach_out_m=6.0),
        _ground(0.01, 0.03, reach_along_m=3.0),
        _ground(0.03, 0.0, reach_out_m=8.0, reach_along_m=5.0),
        _ground(0.09, 0.01, reach_along_m=9.0),
        _ground(0.0, 0.09),
    ],
)
def test_an_l_is_as_short_as_a_fine_scan_finds(rise_m: float, ground: CornerGround) -> None:
    corner = find_corner(rise_m, ground, LANE)
    scanned_m = _scan(rise_m, ground)
    if corner is None:
        assert scanned_m == math.inf
        return
    _assert_meets_ground(rise_m, corner, ground)
    length_m = corner.out_m + corner.along_m + (corner.between_out + corner.between_along) * LANE.landing_m
    # One grid step of the first leg moves the whole by no more than a few of them.
    assert length_m <= scanned_m + 1e-6
    assert scanned_m == math.inf or length_m >= scanned_m - 0.05


@settings(max_examples=60, deadline=None)
@given(
    rise_m=st.floats(0.05, 3.0),
    out=st.floats(-0.2, 0.2),
    along=st.floats(-0.2, 0.2),
    reach_out_m=st.floats(0.1, 30.0),
    reach_along_m=st.floats(0.1, 30.0),
)
def test_an_l_that_is_found_meets_its_ground_and_its_limits(
    rise_m: float, out: float, along: float, reach_out_m: float, reach_along_m: float
) -> None:
    ground = _ground(out, along, reach_out_m, reach_along_m)
    corner = find_corner(rise_m, ground, LANE)
    if corner is not None:
        _assert_meets_ground(rise_m, corner, ground)


@pytest.mark.parametrize(("rise_m", "between"), [(1.5, 0), (1.524, 0), (1.525, 1), (3.048, 1), (3.049, 2)])
def test_each_lane_of_a_switchback_carries_half_of_the_rise(rise_m: float, between: int) -> None:
    climb = find_folded_climb(rise_m, LANE)
    assert climb is not None
    assert climb.between == between
    assert climb.run_plan_m == pytest.approx(12 * rise_m, rel=1e-12)


def test_nothing_to_come_down_is_no_switchback() -> None:
    assert find_folded_climb(0.0, LANE) is None
