"""Cells of a scan: what is measured in them, what the filter throws away, and which points carry the rest."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.survey.scan_cells import LEAST_POINTS, ScanCells, build_cells
from optimizer.survey.scan_filter import filter_cells
from optimizer.survey.scan_vertices import LEAST_BOUND_M, choose_vertices

Array = NDArray[np.float64]
SLOPES = (0.02, 0.08, 0.15)


def scatter(level: object, seed: int = 1, size: float = 8.0, noise_m: float = 0.01) -> Array:
    """Points (n, 3) over a square yard; ``level`` gives the height of (x, y)."""
    rng = np.random.default_rng(seed)
    xy = rng.random((int(size * size * 400), 2)) * size
    z = level(xy[:, 0], xy[:, 1]) + rng.normal(size=len(xy)) * noise_m  # type: ignore[operator]
    return np.column_stack((xy, z))


def plane(slope: float) -> object:
    return lambda x, y: 100.0 + slope * x - 0.3 * slope * y


def off(cells: ScanCells, level: object) -> Array:
    return cells.level_m - level(cells.middle_m[:, 0], cells.middle_m[:, 1])  # type: ignore[operator]


def test_the_level_of_a_cell_is_the_median_and_a_ghost_far_below_does_not_move_it() -> None:
    z = np.array([1.00, 1.01, 1.02, 1.03, 1.04, 1.02, 1.02, 1.01, 1.03, 1.02, -0.5])
    cells = build_cells(np.column_stack((np.full(11, 0.1), np.full(11, 0.1), z)), 0.25)
    assert cells.level_m.tolist() == [pytest.approx(1.02)]
    assert cells.count.tolist() == [10]
    assert cells.middle_m.tolist() == [[0.125, 0.125]]


@pytest.mark.parametrize(("count", "cells"), [(LEAST_POINTS - 1, 0), (LEAST_POINTS, 1)])
def test_a_cell_with_too_few_points_is_counted_and_left_out(count: int, cells: int) -> None:
    rich = np.tile([[3.1, 3.1, 0.0]], (20, 1))
    poor = np.tile([[0.1, 0.1, 0.0]], (count, 1))
    found = build_cells(np.vstack((rich, poor)), 0.25)
    assert len(found.level_m) == 1 + cells
    assert found.poor == 1 - cells


@pytest.mark.parametrize("slope", SLOPES)
def test_the_level_of_a_cell_has_no_bias_that_a_minimum_would_have(slope: float) -> None:
    level = plane(slope)
    cells = build_cells(scatter(level), 0.25)
    # The lowest of some 25 points at 10 mm of noise would lie 20 mm low.
    assert abs(float(off(cells, level).mean())) < 0.002


@pytest.mark.parametrize("slope", SLOPES)
def test_plain_ground_of_any_slope_is_kept_whole(slope: float) -> None:
    filtered = filter_cells(build_cells(scatter(plane(slope)), 0.25))
    assert (filtered.ghosts, filtered.objects) == (0, 0)


@pytest.mark.parametrize("slope", SLOPES)
def test_a_bin_a_shrub_and_ghosts_go_and_the_ground_around_them_stays(slope: float) -> None:
    level = plane(slope)
    points = scatter(level)
    rng = np.random.default_rng(2)
    is_bin = (abs(points[:, 0] - 2) < 0.4) & (abs(points[:, 1] - 2) < 0.4)
    points[is_bin, 2] += 1.0
    is_shrub = (
        (abs(points[:, 0] - 6) < 0.6) & (abs(points[:, 1] - 5) < 0.6) & (rng.random(len(points)) < 0.95)
    )
    points[is_shrub, 2] += 0.15 + rng.random(int(is_shrub.sum())) * 0.8
    is_ghost = (abs(points[:, 0] - 4.1) < 0.15) & (abs(points[:, 1] - 6.1) < 0.15)
    points[is_ghost, 2] -= 0.4
    filtered = filter_cells(build_cells(points, 0.25))
    assert filtered.ghosts >= 1
    assert filtered.objects >= 16
    left = off(filtered.ground, level)
    assert float(np.abs(left).max()) < 0.06
    # Nothing but the things and their rims: 10 by 10 cells at most of 32 by 32.
    assert len(left) > 32 * 32 - 110


def test_both_sides_of_a_terrace_stay_ground() -> None:
    def level(x: Array, _: Array) -> Array:
        return np.where(x > 4.0, 0.4, 0.0)

    ground = filter_cells(build_cells(scatter(level), 0.25)).ground
    for side in (ground.middle_m[:, 0] < 3.8, ground.middle_m[:, 0] > 4.2):
        assert side.sum() > 400


def test_vertices_keep_the_bound_they_state_with_far_fewer_points() -> None:
    def level(x: Array, y: Array) -> Array:
        return 0.05 * np.sin(2.0 * x) * np.cos(1.5 * y)

    cells = build_cells(scatter(level, noise_m=0.002), 0.25)
    vertices = choose_vertices(cells)
    assert vertices.is_bounded
    assert vertices.bound_m == LEAST_BOUND_M
    assert len(vertices.xyz_m) < 0.4 * len(cells.level_m)
    assert vertices.usual_m < vertices.left_m <= vertices.bound_m


def test_a_plane_needs_hardly_more_than_the_coarse_squares() -> None:
    cells = build_cells(scatter(plane(0.08), noise_m=0.002), 0.25)
    assert len(choose_vertices(cells).xyz_m) < 8 * 8 + 4 * 16 + 4


def test_with_too_few_points_allowed_the_bound_is_said_not_to_be_kept() -> None:
    def level(x: Array, y: Array) -> Array:
        return 0.2 * np.sin(3.0 * x) * np.cos(3.0 * y)

    vertices = choose_vertices(build_cells(scatter(level), 0.25), most=120)
    assert len(vertices.xyz_m) == 120
    assert not vertices.is_bounded
    assert vertices.left_m > vertices.bound_m


def test_the_order_of_the_points_does_not_matter() -> None:
    points = scatter(plane(0.08))
    first = choose_vertices(filter_cells(build_cells(points, 0.25)).ground).xyz_m
    again = choose_vertices(filter_cells(build_cells(points[::-1], 0.25)).ground).xyz_m
    np.testing.assert_array_equal(first, again)
