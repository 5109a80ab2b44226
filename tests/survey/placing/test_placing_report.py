"""What a placing reports: parameters, what was freed, left-out errors, suspects, check points, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from optimizer.errors import InputError
from optimizer.survey.placing.control_points import ControlPoint, build_control
from optimizer.survey.placing.placed_errors import (
    height_factor,
    measure_height_covariance,
    measure_height_errors,
)
from optimizer.survey.placing.placing_report import PlacingReport, accept_placing, place_by_control
from optimizer.survey.placing.turns import split_turn, turn_by_tilt, turn_by_yaw
from tests.survey.placing.exact_control import PLACES, SHIFT_M, YAW_DEG, exact_points, with_one

#: A centimetre up and down at six points: what chance and nothing else makes of heights.
ROUGH_M = (0.004, -0.007, 0.003, 0.005, -0.006, 0.002)


def parameters_of(report: PlacingReport) -> dict[str, tuple[float, float]]:
    return {one.parameter: (one.value, one.standard_error) for one in report.parameters}


def roughen(points: list[ControlPoint]) -> list[ControlPoint]:
    """Plan and heights off by millimetres, so that there are residuals to test against."""
    rough = []
    for point, off in zip(points, ROUGH_M, strict=False):
        assert point.plan_m is not None
        assert point.elevation_m is not None
        x, y = point.plan_m
        rough.append(replace(point, plan_m=(x + off, y - 0.7 * off), elevation_m=point.elevation_m + off))
    return rough


def test_exact_points_are_placed_exactly() -> None:
    report = place_by_control(build_control(exact_points(4)))
    placing = accept_placing(report)
    truth = np.array(PLACES) + SHIFT_M
    scan = np.array([point.scan_m for point in exact_points(7)])
    assert placing.to_site(scan) == pytest.approx(truth, abs=1e-9)
    assert placing.to_scan(truth) == pytest.approx(scan, abs=1e-9)
    assert placing.angles_deg == pytest.approx((YAW_DEG, 0.0, 0.0), abs=1e-9)
    assert report.left_out.plan_m == pytest.approx(0.0, abs=1e-9)
    assert report.left_out.height_m == pytest.approx(0.0, abs=1e-9)
    assert (report.is_fit_for_legs, report.suspects, report.refusals) == (True, (), ())


def test_stated_errors_become_standard_errors_of_the_shift() -> None:
    found = parameters_of(place_by_control(build_control(exact_points(4))))
    assert list(found) == ["yaw", "x", "y", "z"]
    assert found["z"][1] == pytest.approx(math.hypot(0.010, 0.003) / 2.0)
    assert found["x"][1] == pytest.approx(math.hypot(0.010, 0.010) / 2.0)
    # Yaw: e / root of the sum of squared distances from the middle.
    plan = np.array([place[:2] for place in PLACES[:4]])
    arm = math.sqrt(float(((plan - plan.mean(axis=0)) ** 2).sum()))
    assert found["yaw"][1] == pytest.approx(math.degrees(math.hypot(0.010, 0.010) / arm))


def test_the_stated_error_of_a_picks_height_is_that_of_heights_only() -> None:
    points = [replace(point, pick_height_error_m=0.004) for point in exact_points(4)]
    found = parameters_of(place_by_control(build_control(points)))
    assert found["z"][1] == pytest.approx(0.005 / 2.0)
    assert found["x"][1] == pytest.approx(math.hypot(0.010, 0.010) / 2.0)


def test_the_better_point_pulls_harder() -> None:
    points = exact_points(3)
    first = points[0].elevation_m
    assert first is not None
    lifted = replace(points[0], elevation_m=first + 0.012, pick_error_m=0.004, level_error_m=0.003)
    report = place_by_control(with_one(points, 0, lifted))
    # Weights 1/25 against twice 1/109, per square millimetre.
    share = (1 / 25) / (1 / 25 + 2 / 109)
    placing = report.placing
    assert placing is not None
    off = placing.to_site(np.array([lifted.scan_m]))[0, 2] - (first + 0.012)
    assert off == pytest.approx(-0.012 * (1.0 - share), abs=1e-9)


def test_left_out_errors_are_those_of_a_fit_without_the_point() -> None:
    points = roughen(exact_points(5))
    report = place_by_control(build_control(points))
    for i, error in enumerate(report.left_out.errors):
        rest = place_by_control(build_control(points[:i] + points[i + 1 :])).placing
        assert rest is not None
        placed = rest.to_site(np.array([points[i].scan_m]))[0]
        assert error.plan_m == pytest.approx((placed[:2] - np.array(points[i].plan_m)).tolist(), abs=1e-9)
        assert error.height_m == pytest.approx(placed[2] - (points[i].elevation_m or 0.0), abs=1e-9)
    heights = [error.height_m or 0.0 for error in report.left_out.errors]
    assert report.left_out.height_m == pytest.approx(math.sqrt(sum(h * h for h in heights) / 5))
    within = [residual.height_m or 0.0 for residual in report.residuals]
    assert all(abs(out) > abs(fitted) for out, fitted in zip(heights, within, strict=True))


@pytest.mark.parametrize(("count", "is_freed"), [(4, False), (5, True)])
def test_a_wrong_scale_is_fitted_with_five_points_and_not_with_four(count: int, *, is_freed: bool) -> None:
    report = place_by_control(build_control(roughen(exact_points(count, scale=1.004))))
    scale = report.freed[0]
    assert (scale.freedom, scale.is_freed) == ("scale", is_freed)
    if is_freed:
        value, error = parameters_of(report)["scale"]
        assert value == pytest.approx(1.004, abs=3 * error)
        assert "mm in a metre" in scale.reason
    else:
        assert scale.reason == "The scale stays 1: 4 taped points, 5 are needed to fit it."
        assert any("in a metre wrong in length" in doubt.remedy for doubt in report.doubts)


def test_a_true_scale_and_a_true_vertical_are_left_alone_and_the_reason_is_told() -> None:
    report = place_by_control(build_control(roughen(exact_points(6))))
    for one in report.freed:
        assert not one.is_freed
        assert one.statistic is not None
        assert one.limit is not None
        assert one.statistic <= one.limit
        assert "would not be significant" in one.reason
    assert accept_placing(report).angles_deg[1:] == (0.0, 0.0)


@pytest.mark.parametrize(("count", "is_freed"), [(5, False), (6, True)])
def test_a_tilted_scan_is_levelled_with_six_points_and_not_with_five(count: int, *, is_freed: bool) -> None:
    tilted = roughen(exact_points(count, tilt_deg=1.2))
    report = place_by_control(build_control(tilted))
    tilt = report.freed[1]
    assert (tilt.freedom, tilt.is_freed) == ("tilt", is_freed)
    if is_freed:
        found = parameters_of(report)
        assert found["tilt_x"][0] == pytest.approx(1.2, abs=0.15)
        assert found["tilt_y"][0] == pytest.approx(0.0, abs=0.15)
        assert report.left_out.height_m is not None
        assert report.left_out.height_m < 0.02
    else:
        assert "5 levelled points, 6 are needed" in tilt.reason
        assert report.placing is None  # five points tilted by 1.2 degrees fit no level scan


def test_a_wrong_scale_on_a_slope_does_not_pass_for_a_tilt() -> None:
    steep = []
    for point in exact_points(7, scale=1.03):
        # 3 m more of height over the yard than the ring has: 3 % of it would look like 0.3 degrees.
        more = 0.18 * point.scan_m[0]
        x, y, z = point.scan_m
        steep.append(
            replace(point, scan_m=(x, y, z + more), elevation_m=(point.elevation_m or 0.0) + 1.03 * more)
        )
    report = place_by_control(build_control(steep))
    assert [one.is_freed for one in report.freed] == [True, False]


def test_nothing_is_freed_where_points_fit_far_better_than_their_stated_errors() -> None:
    slightly = exact_points(7, scale=1.0 + 1e-6, tilt_deg=1e-3)
    assert [one.is_freed for one in place_by_control(build_control(slightly)).freed] == [False, False]


def test_no_tilt_is_fitted_to_levelled_points_in_one_line() -> None:
    points = exact_points(3)
    line = [
        ControlPoint(f"L{i}", (2.0 * i, 1.0, 0.01 * (-1) ** i), None, SHIFT_M[2] + 0.01 * i) for i in range(6)
    ]
    points = [replace(point, elevation_m=None) for point in points]
    report = place_by_control(build_control([*points, *line]))
    assert report.freed[1].reason == "The tilt stays 0: the levelled points lie in one line."


@pytest.mark.parametrize("blunder", [3, 0])
def test_the_point_to_measure_again_is_named(blunder: int) -> None:
    points = roughen(exact_points(6))
    x, y = points[blunder].plan_m or (0.0, 0.0)
    report = place_by_control(with_one(points, blunder, replace(points[blunder], plan_m=(x + 0.10, y))))
    (suspect,) = report.suspects
    assert (suspect.point, suspect.part) == (blunder, "plan")
    assert suspect.limit == pytest.approx(math.sqrt(-2.0 * math.log(0.001)))
    assert f'the position of "C{blunder + 1}" is off by' in report.doubts[0].what
    assert report.doubts[0].remedy


def test_an_elevation_is_doubted_just_beyond_the_limit_and_not_just_within() -> None:
    points = exact_points(5)
    error_m = math.hypot(0.010, 0.003)
    # One off among five exact: its residual is 4/5 of it, its standard error e root(4/5).
    limit_m = 3.2905 * error_m / math.sqrt(0.8)
    for share, doubted in ((0.999, False), (1.001, True)):
        level = points[2].elevation_m
        assert level is not None
        report = place_by_control(
            with_one(points, 2, replace(points[2], elevation_m=level + share * limit_m))
        )
        assert bool(report.suspects) is doubted
        assert max(test.standardised or 0.0 for test in report.tests) == pytest.approx(
            3.2905 * share, rel=1e-4
        )


def test_two_points_cannot_tell_which_of_them_is_wrong() -> None:
    points = exact_points(2)
    x, y = points[1].plan_m or (0.0, 0.0)
    report = place_by_control(with_one(points, 1, replace(points[1], plan_m=(x + 0.08, y + 0.005))))
    assert '"C1" and "C2" disagree, and nothing tells which is wrong.' in [d.what for d in report.doubts]
    assert any("only their distance checks them" in doubt.what for doubt in report.doubts)
    assert report.left_out.plan_m is None  # one point places nothing


def test_a_check_point_is_compared_and_never_used() -> None:
    points = exact_points(6)
    x, y = points[5].plan_m or (0.0, 0.0)
    off = replace(points[5], role="check", plan_m=(x + 3.0, y - 4.0), elevation_m=SHIFT_M[2])
    report = place_by_control(with_one(points, 5, off))
    (check,) = report.checked
    assert check.error.distance_m == pytest.approx(5.0)
    assert check.error.height_m == pytest.approx(PLACES[5][2])
    assert any(doubt.what.startswith('the check point "C6" is off by') for doubt in report.doubts)
    alone = place_by_control(build_control(points[:5]))
    assert accept_placing(report).shift_m == pytest.approx(accept_placing(alone).shift_m, abs=0.0)
    assert any("no check point" in doubt.what for doubt in alone.doubts)


@pytest.mark.parametrize(("levelled", "is_fit"), [(2, False), (3, True)])
def test_heights_order_legs_from_three_levelled_points_on(levelled: int, *, is_fit: bool) -> None:
    points = [
        point if i < levelled else replace(point, elevation_m=None) for i, point in enumerate(exact_points(5))
    ]
    report = place_by_control(build_control(points))
    assert report.is_fit_for_legs is is_fit
    told = [doubt.what for doubt in report.doubts if "not fit for ordering legs" in doubt.what]
    assert len(told) == (0 if is_fit else 1)
    guessed = replace(points[0], level_error_m=0.05)
    assert place_by_control(with_one(points, 0, guessed)).is_fit_for_legs is False


def test_a_check_point_does_not_count_as_levelled() -> None:
    points = exact_points(4)
    plain = [replace(point, elevation_m=None) if i == 3 else point for i, point in enumerate(points)]
    report = place_by_control(with_one(plain, 0, replace(points[0], role="check")))
    assert report.is_fit_for_legs is False


def test_taped_only_and_levelled_only_points_each_give_what_they_have() -> None:
    points = exact_points(6)
    mixed = [replace(point, elevation_m=None) for point in points[:3]]
    mixed += [replace(point, plan_m=None) for point in points[3:]]
    report = place_by_control(build_control(mixed))
    scan = np.array([point.scan_m for point in points])
    assert accept_placing(report).to_site(scan) == pytest.approx(np.array(PLACES[:6]) + SHIFT_M, abs=1e-9)
    assert [error.plan_m is None for error in report.residuals] == [False] * 3 + [True] * 3
    assert [error.height_m is None for error in report.residuals] == [True] * 3 + [False] * 3


@pytest.mark.parametrize(
    ("points", "what"),
    [
        (exact_points(1), "1 control point has a taped position; 2 are needed."),
        ([replace(p, role="check") for p in exact_points(3)], "0 control points have a taped position"),
        ([replace(p, elevation_m=None) for p in exact_points(4)], "no control point has an elevation."),
        ([*exact_points(3), ControlPoint("P", (3.0, 3.0, 3.0))], '"P" has neither'),
    ],
)
def test_too_few_points_are_refused_with_a_remedy(points: list[ControlPoint], what: str) -> None:
    with pytest.raises(InputError) as raised:
        place_by_control(build_control(points))
    assert what in str(raised.value)
    assert all(fault.remedy for fault in raised.value.faults)


def test_points_in_one_line_are_refused_and_a_little_off_it_are_not() -> None:
    def line(off_m: float) -> list[ControlPoint]:
        return [
            ControlPoint(f"C{i}", (x, y, 0.0), (x, y), 0.0)
            for i, (x, y) in enumerate([(0.0, 0.0), (10.0, off_m), (20.0, 0.0)])
        ]

    # Spreads: along, the root of 200; across, the root of two thirds of the offset's square.
    limit_m = math.sqrt(200.0 / (2.0 / 3.0)) / 30.0
    for off_m in (0.0, 0.99 * limit_m):
        with pytest.raises(InputError, match="C0, C1, C2 lie in one line"):
            place_by_control(build_control(line(off_m)))
    assert place_by_control(build_control(line(1.01 * limit_m))).placing is not None


def test_residuals_far_beyond_the_stated_errors_are_refused() -> None:
    points = exact_points(5)
    lifted = [
        replace(point, elevation_m=(point.elevation_m or 0.0) + off)
        for point, off in zip(points, (0.09, -0.05, 0.06, -0.08, -0.02), strict=True)
    ]
    report = place_by_control(build_control(lifted))
    assert report.placing is None
    assert "the heights miss by" in report.refusals[0].what
    with pytest.raises(InputError, match="times the stated errors"):
        accept_placing(report)


def test_heights_that_miss_widen_their_errors_and_never_narrow_them() -> None:
    rough = build_control(
        [
            replace(point, elevation_m=(point.elevation_m or 0.0) + off)
            for point, off in zip(exact_points(4), (0.03, -0.03, 0.03, -0.03), strict=True)
        ]
    )
    report, exact = place_by_control(rough), place_by_control(build_control(exact_points(4)))
    variance = 4 * 0.03**2 / 3
    assert report.heights.factor == pytest.approx(math.sqrt(variance / 0.000109))
    placing = accept_placing(report)
    assert placing.drift_m == pytest.approx(math.sqrt(variance - 0.000109))
    assert parameters_of(report)["z"][1] == pytest.approx(math.sqrt(variance / 4))
    assert parameters_of(report)["x"][1] == parameters_of(exact)["x"][1]
    # Welch and Satterthwaite: total variance over the part estimated, squared, times its 3 degrees.
    freedom = 3.0 * (variance / (variance - 0.000109)) ** 2
    assert placing.freedom == pytest.approx(freedom)
    assert height_factor(placing, 0.95) == pytest.approx(stats.t.ppf(0.975, freedom))
    assert height_factor(accept_placing(exact), 0.95) == pytest.approx(1.959964, abs=1e-6)
    # A place shares its drift with itself, and with no other.
    here = np.array([[103.0, -41.0], [104.0, -41.0]])
    covariance = measure_height_covariance(placing, here, here)
    assert covariance[0, 1] == pytest.approx(variance / 4)
    assert covariance[0, 0] == pytest.approx(variance / 4 + variance - 0.000109)
    assert covariance[0, 0] == pytest.approx(measure_height_errors(placing, here)[0] ** 2)
    assert (exact.heights.shown, exact.heights.factor) == (pytest.approx(0.0, abs=1e-6), 1.0)
    assert (accept_placing(exact).drift_m, accept_placing(exact).freedom) == (0.0, math.inf)


@pytest.mark.parametrize("yaw", [-3.0, -0.4, 0.0, 1.3, 3.1])
@pytest.mark.parametrize("tilt", [(0.0, 0.0), (0.3, 0.0), (-0.02, 0.05), (0.0, -1e-9)])
def test_a_turn_splits_into_its_yaw_and_tilt(yaw: float, tilt: tuple[float, float]) -> None:
    rotation = turn_by_yaw(yaw) @ turn_by_tilt(*tilt)
    assert split_turn(rotation) == pytest.approx((yaw, *tilt), abs=1e-12)
    assert np.linalg.det(rotation) == pytest.approx(1.0, abs=1e-12)
    assert rotation @ rotation.T == pytest.approx(np.eye(3), abs=1e-12)
