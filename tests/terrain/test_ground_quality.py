"""The rough error of the ground, and where it is thin."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.terrain.ground_quality import find_thin_places, measure_leave_one_out
from tests.terrain.ground_samples import build, grid, lay_on_plane, line


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=15)
def test_leaving_one_out_equals_building_the_ground_without_it(seed: int) -> None:
    """The ring of neighbours re-triangulated, against the whole ground built anew."""
    rng = np.random.default_rng(seed)
    xy = np.vstack((grid(5, 5, 2.0), rng.uniform(1, 7, (6, 2))))
    rim = ((xy == 0) | (xy == 8)).any(axis=1)
    xy[~rim] += rng.uniform(-0.3, 0.3, (int((~rim).sum()), 2))
    points = np.column_stack((xy, rng.uniform(0, 1, len(xy))))
    square = np.array([[0, 0], [8, 0], [8, 8], [0, 8]], dtype=np.float64)
    errors = [
        build(np.delete(points, i, axis=0), (), square).elevation_at(*xy[i]) - points[i, 2]
        for i in np.flatnonzero(~rim)
    ]
    expected = math.sqrt(np.mean(np.square(errors)))
    assert build(points, (), square).leave_one_out_m == pytest.approx(expected, rel=1e-9)


def test_one_bump_among_flat_levels_shows_with_its_height() -> None:
    points = np.column_stack((grid(3, 3), np.zeros(9)))
    points[4, 2] = 0.1
    assert build(points).leave_one_out_m is None  # one level inside says nothing
    wide = np.column_stack((grid(9, 9), np.zeros(81)))
    wide[40, 2] = 0.07
    told = build(wide).leave_one_out_m
    assert told is not None
    assert 0.07 / 7 <= told <= 0.07


def test_fewer_than_five_predictable_levels_give_no_figure() -> None:
    assert build(lay_on_plane(grid(4, 4))).leave_one_out_m is None  # four inside
    told = build(lay_on_plane(grid(5, 4))).leave_one_out_m  # six inside
    assert told == pytest.approx(0.0, abs=1e-12)


def test_levels_are_predicted_across_no_wall() -> None:
    """Two flat terraces 1 m apart: each level is predicted from its own side alone."""
    plan = grid(8, 5)
    inside = (plan[:, 0] > 0) & (plan[:, 0] < 7) & (plan[:, 1] > 0) & (plan[:, 1] < 4)
    xy = plan + np.random.default_rng(1).uniform(-0.2, 0.2, plan.shape) * inside[:, None]
    points = np.column_stack((xy, np.where(xy[:, 0] < 3.5, 1.0, 0.0)))
    wall = line([(3.5, 0), (3.5, 4)], [1, 1], [0, 0])
    with_wall = build(points, (wall,))
    assert measure_leave_one_out(with_wall) == pytest.approx(0.0, abs=1e-12)
    without = measure_leave_one_out(build(points))
    assert without is not None
    assert without > 0.05


def test_thin_places_are_the_triangles_with_an_edge_over_two_medians() -> None:
    assert len(find_thin_places(build(lay_on_plane(grid(5, 5))))) == 0
    far = build(lay_on_plane(np.vstack((grid(5, 5), [[2.0, 12.0]]))))
    thin = find_thin_places(far)
    assert len(thin) > 0
    assert (thin[:, 1] > 4).all()
    np.testing.assert_allclose(far.elevation(thin[:, :2]), thin[:, 2], atol=1e-12)
