"""The slope of the bottom space is only as sure as the levels it was reckoned from.

Outside check: a plane is fitted by least squares to nine levels that are each wrong by a normal error
of their own, many thousand times over (seeded); its slopes spread as the closed form says.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit, Quantity
from optimizer.standards.bottom import Slopes, estimate_errors
from optimizer.standards.check_candidate import CheckCase
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import judge, make_limit

RAMP, CASE = build_ramp(gradient=(0.006, -0.008))
PADDED, PAD_CASE = build_ramp(gradient=(0.006, -0.008), pad=True)
SLOPE, SPACE = 0.01, 1.524
DRAWS = 40_000


def with_error(case: CheckCase, level_error_m: float | None) -> CheckCase:
    return replace(case, ground=replace(case.ground, leave_one_out_m=level_error_m))


def sized(limit: Limit) -> tuple[Limit, ...]:
    """The limit, and what makes the space 1.524 m both ways."""
    sizes = (make_limit("landing_length", ">=", SPACE), make_limit("landing_turn", ">=", SPACE))
    return (limit, *(replace(size, clause="sizes") for size in sizes))


def bottom_of(findings: list[Finding]) -> Finding:
    (finding,) = [one for one in findings if one.subject == "bottom space" and one.clause != "sizes"]
    return finding


@pytest.mark.parametrize(("length_m", "width_m"), [(1.524, 1.524), (1.83, 1.05)])
@pytest.mark.parametrize("slopes", [Slopes(0.03, 0.04), Slopes(0.05, 0.0), Slopes(0.0, 0.05)])
def test_slopes_of_a_plane_fitted_to_nine_uncertain_levels_spread_as_estimated(
    length_m: float, width_m: float, slopes: Slopes
) -> None:
    error_m = 0.004
    places = np.array(
        [
            [1.0, along, across]
            for along in (0.0, length_m / 2.0, length_m)
            for across in (-width_m / 2.0, 0.0, width_m / 2.0)
        ]
    )
    exact = places @ np.array([0.3, slopes.along, slopes.across])
    levels = exact[:, None] + np.random.default_rng(3).normal(0.0, error_m, (9, DRAWS))
    fitted, *_ = np.linalg.lstsq(places, levels, rcond=None)
    spread = (np.hypot(fitted[1], fitted[2]).std(), fitted[1].std(), fitted[2].std())
    assert estimate_errors(slopes, length_m, width_m, error_m) == pytest.approx(spread, rel=0.02)


def test_on_level_ground_the_greater_error_counts() -> None:
    steepest, along, across = estimate_errors(Slopes(0.0, 0.0), 2.0, 1.0, 0.003)
    assert (along, across) == pytest.approx((0.003 * math.sqrt(2 / 3) / 2, 0.003 * math.sqrt(2 / 3)))
    assert steepest == across


@pytest.mark.parametrize("quantity", ["landing_slope", "landing_slope_along", "landing_slope_across"])
def test_a_limit_within_two_standard_errors_cannot_be_told(quantity: Quantity) -> None:
    measured = {"landing_slope": SLOPE, "landing_slope_along": 0.008, "landing_slope_across": 0.006}[quantity]
    error_m = 0.003
    margin = 2.0 * error_m * math.sqrt(2.0 / 3.0) / SPACE
    case = with_error(CASE, error_m)
    for limit, verdict in (
        (measured + margin + 1e-5, "meets"),
        (measured + margin, "meets"),
        (measured + margin - 1e-5, "cannot tell"),
        (measured, "cannot tell"),
        (measured - margin + 1e-5, "cannot tell"),
        (measured - margin - 1e-5, "fails"),
    ):
        finding = bottom_of(judge(RAMP, case, *sized(make_limit(quantity, "<=", limit))))
        assert finding.verdict == verdict, limit
        assert finding.measured == pytest.approx(measured)
        assert "two standard errors" in finding.text
        assert ("measure it on site" in finding.text) is (verdict == "cannot tell")


@pytest.mark.parametrize("error_m", [None, 0.0])
def test_levels_nobody_doubts_are_taken_as_they_are(error_m: float | None) -> None:
    case = with_error(CASE, error_m)
    assert bottom_of(judge(RAMP, case, make_limit("landing_slope", "<=", SLOPE))).verdict == "meets"
    assert bottom_of(judge(RAMP, case, make_limit("landing_slope", "<=", SLOPE - 1e-5))).verdict == "fails"


def test_a_pad_is_as_level_as_it_is_built_whatever_the_survey() -> None:
    finding = bottom_of(judge(PADDED, with_error(PAD_CASE, 0.05), make_limit("landing_slope", "<=", 1 / 48)))
    assert finding.verdict == "meets"
    bare = bottom_of(judge(RAMP, with_error(CASE, 0.05), make_limit("landing_slope", "<=", 1 / 48)))
    assert bare.verdict == "cannot tell"
