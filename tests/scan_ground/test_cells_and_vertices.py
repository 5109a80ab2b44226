"""Cells of a scan's ground: what is measured in them, and which points carry the rest."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.ground_scan.sorted_scan import Grid
from optimizer.scan_ground.cells import LEAST_POINTS, ScanCells, build_cells
from optimizer.scan_ground.vertices import LEAST_BOUND_M, choose_vertices
from optimizer.scan_ground.yard_sorted import Surface

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


def reference(level: object, size: float = 8.0) -> Surface:
    """The fine surface of a yard whose level is known, on cells of 0.1 m."""
    grid = Grid(0.0, 0.0, 0.1, round(size / 0.1), round(size / 0.1))
    middles = grid.middles(np.ones(grid.shape, dtype=np.bool_))
    return Surface(grid, level(middles[:, 0], middles[:, 1]).reshape(grid.shape))  # type: ignore[operator]


def test_the_level_of_a_cell_is_the_median_and_its_error_that_of_five_points_at_most() -> None:
    z = np.array([1.00, 1.01, 1.02, 1.03, 1.04, 1.02, 1.02, 1.01, 1.03, 1.02])
    points = np.column_stack((np.full(10, 0.1), np.full(10, 0.1), z))
    cells = build_cells(points, reference(lambda x, _: 0.0 * x), 0.25)
    assert cells.level_m.tolist() == [pytest.approx(1.02)]
    # Deviations from 1.02 in hundredths: 0 0 0 0 1 1 1 1 2 2; their median is 1.
    assert cells.error_m.tolist() == [pytest.approx(1.4826 * 0.01 / np.sqrt(5.0))]
    assert cells.count.tolist() == [10]
    assert cells.middle_m.tolist() == [[0.125, 0.125]]


def test_points_on_one_side_of_a_cell_on_a_slope_draw_its_level_nowhere() -> None:
    level = plane(0.15)
    rng = np.random.default_rng(5)
    xy = np.column_stack((rng.uniform(4.0, 4.06, 40), rng.uniform(4.0, 4.25, 40)))
    z = level(xy[:, 0], xy[:, 1])  # type: ignore[operator]
    cells = build_cells(np.column_stack((xy, z)), reference(level), 0.25)
    assert np.abs(off(cells, level)).max() < 1e-9
    assert cells.error_m.max() < 1e-9


@pytest.mark.parametrize(("count", "cells"), [(LEAST_POINTS - 1, 0), (LEAST_POINTS, 1)])
def test_a_cell_with_too_few_points_is_counted_and_left_out(count: int, cells: int) -> None:
    rich = np.tile([[3.1, 3.1, 0.0]], (20, 1))
    poor = np.tile([[0.1, 0.1, 0.0]], (count, 1))
    found = build_cells(np.vstack((rich, poor)), reference(lambda x, _: 0.0 * x), 0.25)
    assert len(found.level_m) == 1 + cells
    assert found.poor == 1 - cells


@pytest.mark.parametrize("slope", SLOPES)
def test_the_level_of_a_cell_has_no_bias_that_a_minimum_would_have(slope: float) -> None:
    level = plane(slope)
    cells = build_cells(scatter(level), reference(level), 0.25)
    # The lowest of some 25 points at 10 mm of noise would lie 20 mm low.
    assert abs(float(off(cells, level).mean())) < 0.002


def test_vertices_keep_the_bound_they_state_with_far_fewer_points() -> None:
    def level(x: Array, y: Array) -> Array:
        return 0.05 * np.sin(2.0 * x) * np.cos(1.5 * y)

    cells = build_cells(scatter(level, noise_m=0.002), reference(level), 0.25)
    vertices = choose_vertices(cells)
    assert vertices.is_bounded
    assert vertices.bound_m == LEAST_BOUND_M
    assert len(vertices.xyz_m) < 0.4 * len(cells.level_m)
    assert vertices.usual_m < vertices.left_m <= vertices.bound_m


def test_a_plane_needs_hardly_more_than_the_coarse_squares() -> None:
    cells = build_cells(scatter(plane(0.08), noise_m=0.002), reference(plane(0.08)), 0.25)
    assert len(choose_vertices(cells).xyz_m) < 8 * 8 + 4 * 16 + 4


def test_with_too_few_points_allowed_the_bound_is_said_not_to_be_kept() -> None:
    def level(x: Array, y: Array) -> Array:
        return 0.2 * np.sin(3.0 * x) * np.cos(3.0 * y)

    vertices = choose_vertices(build_cells(scatter(level), reference(level), 0.25), most=120)
    assert len(vertices.xyz_m) == 120
    assert not vertices.is_bounded
    assert vertices.left_m > vertices.bound_m


def test_the_order_of_the_points_does_not_matter() -> None:
    points = scatter(plane(0.08))
    first = choose_vertices(build_cells(points, reference(plane(0.08)), 0.25)).xyz_m
    again = choose_vertices(build_cells(points[::-1], reference(plane(0.08)), 0.25)).xyz_m
    np.testing.assert_array_equal(first, again)
