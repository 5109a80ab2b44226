from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.errors import InputError
from optimizer.terrain.ground_error.scan_errors import (
    HOLE_ERROR_M,
    HOLE_GROWTH,
    RIM_ERROR_M,
    Drift,
    PlacingCovariance,
    ScanCells,
    ScanErrors,
    build_scan_errors,
)
from optimizer.terrain.yard import Points
from tests.terrain.ground_samples import build, grid, lay_on_plane, plane

GROUND = build(lay_on_plane(grid(11, 11)))
CELL_M = 0.1
FAR = np.zeros((0, 2))


def no_placing(first: Points, second: Points) -> NDArray[np.float64]:
    return np.zeros((len(first), len(second)))


def shifted(first: Points, second: Points) -> NDArray[np.float64]:
    """A height that is off by 6 mm everywhere and a tilt of 1 mm a metre about x = 5."""
    return 0.006**2 + 0.001**2 * np.outer(first[:, 0] - 5.0, second[:, 0] - 5.0)


def cells(hole_m: float = 0.0, scatter_m: float = 0.012, points: float = 20.0) -> ScanCells:
    """Cells all over the yard but for a square hole about (5, 5)."""
    xy = grid(101, 101, CELL_M)
    kept = np.abs(xy - 5.0).max(axis=1) > hole_m / 2 - 1e-9 if hole_m else np.ones(len(xy), dtype=np.bool_)
    count = int(kept.sum())
    return ScanCells(xy[kept], np.full(count, scatter_m), np.full(count, points), CELL_M, FAR)


def model_of(
    scanned: ScanCells,
    placing: PlacingCovariance = no_placing,
    drift_per_m: float = 0.0,
    open_m: float = 3.0,
    threshold: Points | None = None,
) -> ScanErrors:
    drift = Drift(np.array([[0.0, 0.0], [0.0, 10.0]]), drift_per_m)
    return build_scan_errors(GROUND, scanned, placing, drift, open_m, threshold, "yard.laz")


@pytest.mark.parametrize(
    ("points", "independent"), [(1.0, 1.0), (4.0, 4.0), (5.0, 5.0), (6.0, 5.0), (80.0, 5.0)]
)
def test_a_cell_is_known_by_at_most_five_of_its_points(points: float, independent: float) -> None:
    error = model_of(cells(points=points)).standard_error(np.array([[3.0, 3.0]]))
    assert error == pytest.approx([0.012 / math.sqrt(independent)])


def test_the_surface_is_what_is_expected() -> None:
    places = np.array([[3.21, 3.4], [7.0, 2.0]])
    assert model_of(cells()).expected(places) == pytest.approx(plane(places))


def test_placing_drift_and_scatter_add_as_variances() -> None:
    at = np.array([[3.0, 4.0]])
    local = 0.012 / math.sqrt(5.0)
    error = model_of(cells(), shifted, 0.001).standard_error(at)
    nearest_control = 5.0
    assert error == pytest.approx(
        [math.sqrt(local**2 + 0.006**2 + (0.001 * 2.0) ** 2 + (0.001 * nearest_control) ** 2)]
    )


def test_drift_is_nothing_at_a_control_point_and_grows_away() -> None:
    model = model_of(cells(scatter_m=0.0), drift_per_m=0.001)
    errors = model.standard_error(np.array([[0.0, 0.0], [3.0, 0.0], [6.0, 0.0]]))
    assert errors == pytest.approx([0.0, 0.003, 0.006])


def test_covariance_goes_with_the_standard_error_and_is_one() -> None:
    model = model_of(cells(1.0), shifted, 0.001)
    places = np.random.default_rng(2).random((30, 2)) * 10.0
    covariance = model.covariance(places, places)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(model.standard_error(places))
    assert np.linalg.eigvalsh(covariance).min() > -1e-15


def test_what_is_common_to_threshold_and_foot_leaves_their_difference() -> None:
    at, threshold = np.array([[3.0, 4.0]]), np.array([5.0, 0.0])
    local = 0.012 / math.sqrt(5.0)
    error = model_of(cells(), shifted, threshold=threshold).standard_error(at)
    # The shift of 6 mm is gone, the tilt is that over 2 m.
    assert error == pytest.approx([math.hypot(local, 0.002)])


def test_at_the_threshold_itself_only_the_surface_is_left() -> None:
    threshold = np.array([5.0, 0.0])
    model = model_of(cells(), shifted, 0.001, threshold=threshold)
    assert model.standard_error(threshold[None]) == pytest.approx([0.012 / math.sqrt(5.0)])


@pytest.mark.parametrize("hole_m", [0.5, 1.0, 2.0])
def test_a_hole_is_worse_the_wider_it_is(hole_m: float) -> None:
    error = model_of(cells(hole_m, scatter_m=0.0)).standard_error(np.array([[5.0, 5.0]]))
    assert error == pytest.approx([HOLE_ERROR_M + HOLE_GROWTH * hole_m], abs=HOLE_GROWTH * 2.01 * CELL_M)


def test_a_hole_s_stated_error_is_near_what_was_measured_over_clean_rims() -> None:
    # Measured on invented yards: 3.3, 4.7, 5.8, 7.0 and 10.2 mm for holes of 0.5, 1, 1.5, 2 and 3 m.
    measured = ((0.5, 0.0033), (1.0, 0.0047), (1.5, 0.0058), (2.0, 0.0070), (3.0, 0.0102))
    for width, error in measured:
        assert 0.95 <= (HOLE_ERROR_M + HOLE_GROWTH * width) / error <= 1.35


def test_beyond_the_limit_a_hole_is_left_open() -> None:
    model = model_of(cells(2.0), open_m=1.5)
    places = np.array([[5.0, 5.0], [4.05, 5.0], [2.0, 2.0]])
    assert np.isnan(model.standard_error(places)).tolist() == [True, False, False]
    assert np.isnan(model.expected(places)).tolist() == [True, False, False]
    assert np.isnan(model.sample(places, 4, 1)).all(axis=0).tolist() == [True, False, False]
    assert np.isnan(model.covariance(places, places[2:])).ravel().tolist() == [True, False, False]


def test_outside_the_surveyed_area_nothing_is_known() -> None:
    outside = np.array([[10.5, 5.0]])
    model = model_of(cells())
    assert np.isnan(model.standard_error(outside)).all()
    assert np.isnan(model.interval(outside, 0.95)).all()


@pytest.mark.parametrize(("away", "share"), [(0.0, 1.0), (0.15, 1.0), (0.225, 0.5), (0.30, 0.0), (2.0, 0.0)])
def test_the_rim_of_something_rejected_is_known_to_two_centimetres(away: float, share: float) -> None:
    scanned = replace(cells(scatter_m=0.0), rejected_xy_m=np.array([[3.0, 3.0]]))
    error = model_of(scanned).standard_error(np.array([[3.0 + away, 3.0]]))
    assert error == pytest.approx([RIM_ERROR_M * share], abs=1e-12)


def test_intervals_are_normal_and_samples_have_them() -> None:
    model = model_of(cells(), shifted, 0.001)
    places = np.array([[3.0, 4.0], [3.1, 4.0], [8.0, 8.0]])
    error, expected = model.standard_error(places), model.expected(places)
    assert model.interval(places, 0.95)[:, 1] - expected == pytest.approx(1.959964 * error, rel=1e-5)
    grounds = model.sample(places, 30_000, 9)
    assert grounds.std(axis=0) == pytest.approx(error, rel=0.02)
    together = np.cov(grounds.T)[0, 1]
    assert together == pytest.approx(model.covariance(places, places)[0, 1], rel=0.04)


def test_every_fault_of_a_scan_is_told() -> None:
    scanned = cells()
    scatter = scanned.scatter_m.copy()
    scatter[[4, 8]] = (np.nan, -1.0)
    broken = replace(scanned, scatter_m=scatter, cell_m=0.0)
    with pytest.raises(InputError) as raised:
        build_scan_errors(GROUND, broken, no_placing, Drift(FAR, -1.0), 0.0, None, "yard.laz")
    said = str(raised.value)
    assert len(raised.value.faults) == 6
    assert "yard.laz, cell 4" in said
    assert "yard.laz, cell 8" in said
    assert "control points" in said


def test_a_scan_without_cells_is_refused() -> None:
    empty = ScanCells(FAR, np.zeros(0), np.zeros(0), CELL_M, FAR)
    with pytest.raises(InputError, match="there are 0 cells"):
        model_of(empty)
