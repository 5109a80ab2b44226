"""Planes through three points.

Sources and tolerances:

* 'Three-Point Problem Solver', scribd.com/document/339649856, example 3: from the highest point, elevation
  700, the second lies at azimuth 247 degrees, 4100 away, elevation 500, the third at azimuth 198, 5160
  away, elevation 200.  The plane dips 5.646 degrees, its strike is 276.566, its pole trends 6.566 and
  plunges 84.354 (half the last digit); direction cosines of the pole 0.011 0.098 0.995.
* University of Hawaii, GG 303, laboratory 3 (2011), exercise 1: A 100 m N 400 m E at 400 m, B 0 N 0 E at
  200 m, C 300 N 0 E at 500 m.  By hand: C - B gives 300/300 = 1 northward; A - B less 100 leaves 100/400 =
  0.25 eastward.  The gradients differ, so exchanged axes show.
* A plane through three points passes through them: 1e-9 m.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from optimizer.survey.placing.control_points import ControlPoint, build_control
from optimizer.survey.placing.planes import fit_plane
from optimizer.survey.placing.weighted_fit import HEIGHT, PLAN, TILT, fit_parameters, observe

GG303 = np.array([[400.0, 100.0, 400.0], [0.0, 0.0, 200.0], [0.0, 300.0, 500.0]])


def at(azimuth_deg: float, distance: float, elevation: float) -> tuple[float, float, float]:
    azimuth = math.radians(azimuth_deg)
    return distance * math.sin(azimuth), distance * math.cos(azimuth), elevation


def test_the_published_strike_and_dip() -> None:
    plane = fit_plane(np.array([(0.0, 0.0, 700.0), at(247, 4100, 500), at(198, 5160, 200)]))
    assert plane is not None
    assert plane.dip_deg == pytest.approx(5.646, abs=5e-4)
    x, y, z = -plane.normal  # the pole, downward
    assert (x, y, z) == pytest.approx((0.011, 0.098, -0.995), abs=5e-4)
    trend = math.degrees(math.atan2(x, y)) % 360.0
    assert trend == pytest.approx(6.566, abs=5e-4)
    assert 90.0 - plane.dip_deg == pytest.approx(84.354, abs=5e-4)
    assert (trend + 270.0) % 360.0 == pytest.approx(276.566, abs=5e-4)


def test_unequal_gradients_are_not_exchanged() -> None:
    plane = fit_plane(GG303)
    assert plane is not None
    x, y, z = plane.normal
    assert (-x / z, -y / z) == pytest.approx((0.25, 1.0), abs=1e-12)
    assert plane.levels_m(np.array([[100.0, 10.0]])) == pytest.approx([200.0 + 25.0 + 10.0])
    assert plane.rms_m == pytest.approx(0.0, abs=1e-9)


@given(st.lists(st.tuples(*[st.floats(-50.0, 50.0)] * 3), min_size=3, max_size=3))
def test_the_plane_passes_through_any_three_points(corners: list[tuple[float, float, float]]) -> None:
    points = np.array(corners)
    area = np.linalg.norm(np.cross(points[1] - points[0], points[2] - points[0]))
    assume(area > 1e-3)
    plane = fit_plane(points)
    assert plane is not None
    assert np.abs(plane.distances_m(points)).max() < 1e-9
    assert np.linalg.norm(plane.normal) == pytest.approx(1.0)


@pytest.mark.parametrize("count", [2, 3, 5])
def test_points_in_one_line_have_no_plane(count: int) -> None:
    assert fit_plane(np.arange(count)[:, None] * np.array([[1.0, 2.0, 0.5]])) is None


def test_a_line_is_told_from_a_thin_triangle() -> None:
    line = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [5.0, 0.0, 0.0]])
    assert fit_plane(line) is None
    plane = fit_plane(line + np.array([[0.0], [0.0], [1.0]]) * [0.0, 1e-4, 0.0])
    assert plane is not None
    assert plane.dip_deg == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("east", "north"), [(0.02, 0.0), (0.0, -0.015), (0.013, 0.021)])
def test_a_freed_tilt_takes_three_points_to_their_elevations_and_nothing_checks_it(
    east: float, north: float
) -> None:
    picks = [(1.0, 2.0), (17.0, 3.0), (6.0, 13.0)]
    yaw = math.radians(20.0)
    points = []
    for i, (x, y) in enumerate(picks):
        # A level scanned floor that is a plane of these gradients on the site.
        u, v = math.cos(yaw) * x - math.sin(yaw) * y, math.sin(yaw) * x + math.cos(yaw) * y
        points.append(ControlPoint(f"C{i}", (x, y, 0.0), (u, v), 10.0 + east * u + north * v))
    rows = observe(build_control(points), (0, 1, 2))
    fit = fit_parameters(rows, (*PLAN, *HEIGHT, *TILT))
    heights = rows.is_height
    assert np.abs(fit.residuals_m[heights]).max() < 1e-4
    # A rigid floor that tips shortens in plan by half the square of the slope; nothing is left over for the
    # heights, so nothing checks them.
    assert fit.redundancy(heights) == pytest.approx(0.0, abs=1e-3)
    normal = fit.rotation[:, 2]
    assert (-normal[0] / normal[2], -normal[1] / normal[2]) == pytest.approx((east, north), abs=1e-4)
    level = fit_parameters(rows, (*PLAN, *HEIGHT))
    assert np.abs(level.residuals_m[heights]).max() > 0.03
    assert level.redundancy(heights) == pytest.approx(2.0, abs=1e-9)
