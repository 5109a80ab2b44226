"""What glass and puddles mirror below the ground, and pits that are real."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.ground_scan.sort_scan import sort_scan
from optimizer.ground_scan.sorted_scan import GROUND, LOW, Grid, SortedScan
from tests.ground_scan.plain_clouds import Cloud, lawn, noisy, upright

ORIGIN = np.zeros(3)
MIDDLE = np.array([6.0, 5.0])


def cells_within(found: SortedScan, reach_m: float) -> Cloud:
    """Ground (k,) in the cells about the middle of the pit, and where these are (k, 2)."""
    grid: Grid = found.grid
    middles = grid.middles(np.ones(grid.shape, dtype=np.bool_))
    near = np.abs(middles - MIDDLE).max(axis=1) < reach_m
    return np.column_stack([middles[near], found.ground_m.ravel()[near]])


@pytest.mark.parametrize("share", [0.1, 0.3, 0.45])
@pytest.mark.parametrize("deep_m", [0.2, 0.6])
def test_a_mirrored_patch_leaves_the_ground_where_it_is(share: float, deep_m: float) -> None:
    rng = np.random.default_rng(8)
    points = noisy(lawn(300_000, rng), rng)
    true = 0.05 * points[:, 0]
    near = np.flatnonzero(np.hypot(*(points[:, :2] - MIDDLE).T) < 0.3)
    mirrored = rng.choice(near, int(share * len(near)), replace=False)
    points[mirrored, 2] -= deep_m
    found = sort_scan(points, ORIGIN)
    about = cells_within(found, 0.5)
    assert np.isfinite(about[:, 2]).all()
    assert np.abs(about[:, 2] - 0.05 * about[:, 0]).max() < 0.02
    assert (found.kinds[mirrored] == LOW).all()
    others = np.setdiff1d(near, mirrored)
    assert (found.kinds[others] == GROUND).mean() > 0.99
    assert np.abs(points[others, 2] - true[others]).max() < 0.06


def test_a_window_well_is_no_mirror() -> None:
    rng = np.random.default_rng(9)
    points = lawn(400_000, rng)
    inside = np.abs(points[:, :2] - MIDDLE).max(axis=1) < 0.4
    points[inside, 2] -= 0.4
    west, east, south, north = 5.6, 6.4, 4.6, 5.4
    sides = [
        upright(2500, ends, (-0.1, 0.3), rng)
        for ends in ((west, south, east, south), (east, south, east, north),
                     (west, north, east, north), (west, south, west, north))
    ]  # fmt: skip
    found = sort_scan(noisy(np.concatenate([points, *sides]), rng), ORIGIN)
    about = cells_within(found, 0.2)
    assert np.abs(about[:, 2] - (0.05 * about[:, 0] - 0.4)).max() < 0.03
