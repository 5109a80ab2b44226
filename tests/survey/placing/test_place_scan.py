"""The points of a whole scan are where the placing puts them, and fast."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.survey.placing.control_points import build_control
from optimizer.survey.placing.place_scan import place_scan
from optimizer.survey.placing.placed_errors import (
    measure_covariance,
    measure_height_covariance,
    measure_height_errors,
)
from optimizer.survey.placing.placing import Placing
from optimizer.survey.placing.placing_report import accept_placing, place_by_control
from optimizer.survey.scan.scan import Scan
from tests.survey.placing.exact_control import exact_points


def placing_of(scale: float = 1.0, tilt_deg: float = 0.0, yaw_deg: float = 33.0) -> Placing:
    points = exact_points(7, scale=scale, tilt_deg=tilt_deg, yaw_deg=yaw_deg)
    return accept_placing(place_by_control(build_control(points)))


def scan_of(local_m: NDArray[np.float32], offset_m: NDArray[np.float64]) -> Scan:
    box = np.stack([local_m.min(axis=0), local_m.max(axis=0)]) + offset_m
    return Scan(Path("a.ply"), "m", "z", local_m, offset_m, None, len(local_m), 0, 0, box)


@pytest.mark.parametrize("offset", [(0.0, 0.0, 0.0), (500_000.0, 5_000_000.0, 187.0)])
@pytest.mark.parametrize(("scale", "tilt_deg"), [(1.0, 0.0), (1.004, 0.0), (1.004, 1.2)])
def test_every_point_goes_where_the_placing_says(
    offset: tuple[float, float, float], scale: float, tilt_deg: float
) -> None:
    rng = np.random.default_rng(1)
    local = rng.uniform(-15.0, 15.0, (150_001, 3)).astype(np.float32)  # more than two chunks
    placing = placing_of(scale, tilt_deg)
    assert ("tilt_x" in placing.parameters, "scale" in placing.parameters) == (tilt_deg > 0, scale > 1)
    scan = scan_of(local, np.array(offset))
    placed = place_scan(scan, placing)
    truth = placing.to_site(local.astype(np.float64) + np.array(offset))
    assert np.abs(placed.to_points() - truth).max() < 2e-6
    assert np.array_equal(placed.offset_m, np.round(placed.offset_m))
    assert np.abs(placed.local_m).max() < 40.0


def test_distances_and_verticals_survive() -> None:
    rng = np.random.default_rng(2)
    scan = rng.uniform(-15.0, 15.0, (50, 3))
    placed = placing_of().to_site(scan)
    before = np.linalg.norm(scan[:, None] - scan[None, :], axis=2)
    assert np.linalg.norm(placed[:, None] - placed[None, :], axis=2) == pytest.approx(before, abs=1e-9)
    assert np.ptp(placed[:, 2] - scan[:, 2]) < 1e-9


def test_five_million_points_are_placed_within_a_second() -> None:
    local = np.random.default_rng(3).random((5_000_000, 3), dtype=np.float32)
    placing = placing_of(1.004, 1.2)  # the slowest: every factor differs from 0
    scan = scan_of(local, np.zeros(3))
    started = time.process_time()
    place_scan(scan, placing)
    assert time.process_time() - started < 1.0


@pytest.mark.parametrize(("scale", "tilt_deg"), [(1.0, 0.0), (1.004, 1.2)])
def test_the_covariance_of_a_place_with_itself_is_its_variance(scale: float, tilt_deg: float) -> None:
    placing = placing_of(scale, tilt_deg)
    places = np.array([[103.0, -41.0, 27.0], [120.0, -28.0, 26.0], [90.0, -60.0, 27.5]])
    covariance = measure_height_covariance(placing, places, places)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(measure_height_errors(placing, places))
    assert covariance == pytest.approx(covariance.T)
    assert np.linalg.eigvalsh(covariance).min() > -1e-15
    for i, place in enumerate(places):
        assert measure_covariance(placing, place, place)[2, 2] == pytest.approx(covariance[i, i])


def test_without_a_tilt_heights_are_known_alike_everywhere_and_with_one_worse_away_from_the_points() -> None:
    inside, outside = np.array([[111.0, -36.0]]), np.array([[111.0, 40.0]])
    level, tilted = placing_of(), placing_of(tilt_deg=1.2)
    assert measure_height_errors(level, outside) == pytest.approx(measure_height_errors(level, inside))
    assert measure_height_errors(tilted, outside) > 5.0 * measure_height_errors(tilted, inside)
    # All of a level scan is off by one shift: a difference of two heights is not off at all.
    assert measure_height_covariance(level, inside, outside)[0, 0] == pytest.approx(
        measure_height_errors(level, inside)[0] ** 2
    )
