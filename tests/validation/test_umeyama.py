"""Closed-form transformations against a published example and against other libraries.

Sources and tolerances:

* S. Umeyama, 'Least-squares estimation of transformation parameters between two point patterns', IEEE
  PAMI 13(4), 1991, the paper's example: (0,0) (1,0) (0,2) onto (0,0) (-1,0) (0,2).  Rotation 0.832 0.555
  -0.555 0.832, scale 0.721, shift -0.800 0.400 (to the three digits printed).  The points are mirrored, so
  only the turned sign of the last singular value gives them.  The mean squares 0.5333 and, with the scale
  held at 1, 0.6198, and that shift (-0.9805, 0.2969), are worked out with another singular value
  decomposition; the digits given are right to half the last.
* Weighted rotations in space: ``scipy.spatial.transform.Rotation.align_vectors``, to 1e-9.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from optimizer.survey.placing.closed_forms import Similarity, fit_rigid, fit_similarity
from optimizer.survey.placing.control_points import ControlPoint, build_control
from optimizer.survey.placing.placing_report import place_by_control
from optimizer.survey.placing.weighted_fit import PLAN, SCALE, fit_parameters, observe

START = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 2.0]])
END = np.array([[0.0, 0.0], [-1.0, 0.0], [0.0, 2.0]])
ROTATION = np.array([[0.832, 0.555], [-0.555, 0.832]])
EVEN = np.ones(3)


def error_of(
    found: Similarity, start: NDArray[np.float64], end: NDArray[np.float64], weights: NDArray[np.float64]
) -> float:
    away = end - (found.shift + found.scale * start @ found.rotation.T)
    return float(weights @ (away**2).sum(axis=1) / weights.sum())


def test_the_published_similarity() -> None:
    found = fit_similarity(START, END, EVEN)
    assert found.rotation == pytest.approx(ROTATION, abs=5e-4)
    assert found.scale == pytest.approx(0.721, abs=5e-4)
    assert found.shift == pytest.approx([-0.800, 0.400], abs=5e-4)
    assert found.mean_square == pytest.approx(0.5333, abs=5e-5)
    assert np.linalg.det(found.rotation) == pytest.approx(1.0, abs=1e-12)


def test_the_published_points_with_the_scale_held() -> None:
    found = fit_rigid(START, END, EVEN)
    assert found.rotation == pytest.approx(ROTATION, abs=5e-4)
    assert found.scale == 1.0
    assert found.shift == pytest.approx([-0.9805, 0.2969], abs=5e-5)
    assert found.mean_square == pytest.approx(0.6198, abs=5e-5)


@pytest.mark.parametrize(
    ("parameters", "scale", "shift"),
    [((*PLAN, *SCALE), 0.721, (-0.800, 0.400)), (PLAN, 1.0, (-0.9805, 0.2969))],
)
def test_the_fit_by_least_squares_gives_the_published_numbers_too(
    parameters: tuple[str, ...], scale: float, shift: tuple[float, float]
) -> None:
    points = [
        ControlPoint(f"C{i}", (float(a[0]), float(a[1]), 0.0), (float(b[0]), float(b[1])))
        for i, (a, b) in enumerate(zip(START, END, strict=True))
    ]
    fit = fit_parameters(observe(build_control(points), (0, 1, 2)), parameters)  # type: ignore[arg-type]
    origin = fit.place(np.zeros((1, 3)))[0]
    assert fit.rotation[:2, :2] == pytest.approx(ROTATION, abs=5e-4)
    assert fit.scale == pytest.approx(scale, abs=5e-4)
    assert origin[:2] == pytest.approx(shift, abs=5e-4)


@given(seed=st.integers(0, 2**32 - 1), dimension=st.sampled_from([2, 3]), count=st.integers(2, 8))
def test_no_points_whatever_mirror_the_scan(seed: int, dimension: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    start, end = rng.normal(size=(2, count, dimension))
    mirror = np.ones(dimension)
    mirror[0] = -1.0
    weights = rng.uniform(0.1, 10.0, count)
    for target in (end, start * mirror, np.zeros_like(end)):  # anything, a mirror image, no pattern at all
        for fit in (fit_rigid, fit_similarity):
            found = fit(start, target, weights)
            assert np.linalg.det(found.rotation) == pytest.approx(1.0, abs=1e-9)
            assert found.scale >= -1e-12
            assert found.mean_square == pytest.approx(error_of(found, start, target, weights), abs=1e-9)


@given(seed=st.integers(0, 2**32 - 1), count=st.integers(3, 8))
def test_weighted_rotations_agree_with_another_library(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    start, end = rng.normal(size=(2, count, 3))
    weights = rng.uniform(0.1, 10.0, count)
    share = weights / weights.sum()
    theirs, _ = Rotation.align_vectors(end - share @ end, start - share @ start, weights)
    # Where the two least singular values nearly cancel, many rotations are as good: compare the errors.
    found = fit_rigid(start, end, weights)
    shift = share @ end - theirs.as_matrix() @ (share @ start)
    other = Similarity(theirs.as_matrix(), 1.0, shift, 0.0)
    assert found.mean_square == pytest.approx(error_of(other, start, end, weights), rel=1e-9, abs=1e-12)


@given(seed=st.integers(0, 2**32 - 1), yaw=st.floats(-3.1, 3.1), scale=st.floats(0.2, 5.0))
def test_what_was_turned_is_turned_back(seed: int, yaw: float, scale: float) -> None:
    rng = np.random.default_rng(seed)
    start = rng.normal(size=(4, 2)) * 10.0
    turn = np.array([[math.cos(yaw), -math.sin(yaw)], [math.sin(yaw), math.cos(yaw)]])
    found = fit_similarity(start, scale * start @ turn.T + [5.0, -7.0], np.ones(4))
    assert found.rotation == pytest.approx(turn, abs=1e-9)
    assert found.scale == pytest.approx(scale, rel=1e-9)
    assert found.shift == pytest.approx([5.0, -7.0], abs=1e-8)


def test_a_mirrored_yard_is_refused_and_not_mirrored_back() -> None:
    places = [(0.0, 0.0), (11.0, 1.0), (9.0, 8.0), (-2.0, 6.0)]
    points = [ControlPoint(f"C{i}", (y, x, 0.1 * i), (x, y), 0.1 * i) for i, (x, y) in enumerate(places)]
    report = place_by_control(build_control(points))
    assert report.placing is None
    assert "the taped points fit a mirror image of the scan" in report.refusals[-1].what
