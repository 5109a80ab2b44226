"""Rise at the tip of a straight ramp on evenly sloping ground.

Source: our own closed form (no published worked example of total rise on sloping ground was
found), from the run limits of ADA 2010, 405.2 (1:12), 405.6 (30 in) and 405.7.3 (60 in)::

    R = (h0 + g (Lt + 60 k)) / (1 - 12 g),  least k >= 0 with R <= 30 (k + 1)

Plan lengths in inches; no plates, no sizes of pieces.  Values of the table below were worked
by hand to the digits printed.  Tolerance: half of the last digit printed (5e-5 in).
Besides, every answer is held against the ground it claims to meet, and the rows from 1:14 on
against counting landings one at a time.
"""

from __future__ import annotations

import math

import pytest

from optimizer.rough.closed_forms import Lane, find_straight_climb

INCH = 0.0254
LANE = Lane(slope=1 / 12, rise_per_run_m=30 * INCH, landing_m=60 * INCH)
TOP_IN = 60.0


@pytest.mark.parametrize(
    ("fall", "between", "rise_in", "run_in", "foot_in"),
    [
        (0.0, 0, 24.0, 288.0, 348.0),
        (0.02, 1, 34.7368, 416.8421, 536.8421),
        (-0.02, 0, 18.3871, 220.6452, 280.6452),
        (0.07, 39, 1200.0, 14400.0, 16800.0),
    ],
)
def test_a_24_in_threshold_rises_as_worked_by_hand(
    fall: float, between: int, rise_in: float, run_in: float, foot_in: float
) -> None:
    climb = find_straight_climb(24 * INCH, fall, TOP_IN * INCH, LANE)
    assert climb is not None
    assert climb.between == between
    assert climb.rise_m / INCH == pytest.approx(rise_in, abs=5e-5)
    assert climb.run_plan_m / INCH == pytest.approx(run_in, abs=5e-5)
    foot_m = TOP_IN * INCH + climb.run_plan_m + climb.between * LANE.landing_m
    assert foot_m / INCH == pytest.approx(foot_in, abs=5e-5)


@pytest.mark.parametrize("fall", [0.075, 1 / 12, 0.09, 0.5])
def test_there_is_no_straight_ramp_down_ground_that_falls_too_fast(fall: float) -> None:
    assert find_straight_climb(24 * INCH, fall, TOP_IN * INCH, LANE) is None


def test_from_one_in_fourteen_on_a_second_run_never_reaches() -> None:
    # 420 in of plan (a run and a landing) gain 30 in: at 1:14 the ground falls as much.
    assert find_straight_climb(24 * INCH, 1 / 14, TOP_IN * INCH, LANE) is None
    assert find_straight_climb(24 * INCH, 1 / 14 - 1e-4, TOP_IN * INCH, LANE) is not None


def test_one_run_that_reaches_is_found_even_beyond_one_in_fourteen() -> None:
    # A run hung on a porch edge, no landing first: R = 2 / (1 - 12 * 0.075) = 20 in, within one run.
    edge = find_straight_climb(2 * INCH, 0.075, 0.0, LANE)
    assert edge is not None
    assert edge.between == 0
    assert edge.rise_m / INCH == pytest.approx(20.0, abs=5e-5)
    # 3 in are exactly one run of 30 in; a hair more needs a second, which never ends.
    assert find_straight_climb(3 * INCH, 0.075, 0.0, LANE) is not None
    assert find_straight_climb(3.01 * INCH, 0.075, 0.0, LANE) is None


def test_the_landing_makes_the_second_row_and_not_the_rise_alone() -> None:
    without = find_straight_climb(24 * INCH, 0.02, TOP_IN * INCH, Lane(1 / 12, math.inf, 60 * INCH))
    assert without is not None
    assert without.rise_m / INCH == pytest.approx(33.1579, abs=5e-5)


@pytest.mark.parametrize("rise_in", [0.5, 6.0, 24.0, 29.9, 30.0, 30.1, 47.0, 96.0])
@pytest.mark.parametrize("fall", [-0.08, -0.03, 0.0, 0.013, 0.04, 0.06, 0.07, 0.0713])
def test_every_answer_meets_its_ground_with_the_fewest_landings(rise_in: float, fall: float) -> None:
    climb = find_straight_climb(rise_in * INCH, fall, TOP_IN * INCH, LANE)
    counted = _count_landings_one_at_a_time(rise_in, fall)
    if climb is None:
        assert counted is None
        return
    assert climb.between == counted
    foot_m = TOP_IN * INCH + climb.run_plan_m + climb.between * LANE.landing_m
    ground_m = -fall * foot_m
    assert rise_in * INCH - climb.run_plan_m / 12 == pytest.approx(ground_m, abs=1e-9)
    assert climb.rise_m <= LANE.rise_per_run_m * (climb.between + 1) + 1e-6


def _count_landings_one_at_a_time(rise_in: float, fall: float) -> int | None:
    for between in range(20_000):
        rise = (rise_in + fall * (TOP_IN + 60 * between)) / (1 - 12 * fall)
        if rise <= 0:
            return None
        if rise <= 30 * (between + 1) + 1e-6:
            return between
    return None
