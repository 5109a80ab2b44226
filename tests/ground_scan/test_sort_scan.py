"""Kinds of points, obstacles and the offset, on clouds whose answer is plain."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from optimizer.ground_scan.sort_scan import sort_scan
from optimizer.ground_scan.sorted_scan import GROUND, LOW, OBJECT, SortedScan
from tests.ground_scan.plain_clouds import Cloud, flat, lawn, noisy, upright

ORIGIN = np.zeros(3)


def boxed_lawn(rng: np.random.Generator) -> Cloud:
    """A lawn with a box 0.8 x 0.5 m and 40 cm high at (5, 5), hiding what is below."""
    points = lawn(400_000, rng)
    below = (np.abs(points[:, 0] - 5.0) < 0.4) & (np.abs(points[:, 1] - 5.0) < 0.25)
    faces = [(4.6, 4.75, 5.4, 4.75), (4.6, 5.25, 5.4, 5.25), (4.6, 4.75, 4.6, 5.25), (5.4, 4.75, 5.4, 5.25)]
    sides = [upright(1500, face, (0.25, 0.65), rng) for face in faces]
    return np.concatenate([points[~below], flat(1600, (4.6, 5.4, 4.75, 5.25), 0.65, rng), *sides])


@pytest.fixture(scope="module")
def boxed() -> SortedScan:
    rng = np.random.default_rng(8)
    return sort_scan(noisy(boxed_lawn(rng), rng), ORIGIN)


def test_a_box_is_one_obstacle_with_its_outline_and_top(boxed: SortedScan) -> None:
    (box,) = boxed.obstacles
    assert box.place == "stands"
    assert box.top_m == pytest.approx(0.65, abs=0.05)  # the second highest of noisy points
    assert box.ground_m == pytest.approx(0.25, abs=0.03)
    outline, true = shapely.Polygon(box.outline_m), shapely.box(4.6, 4.75, 5.4, 5.25)
    assert outline.exterior.is_ccw
    assert outline.buffer(0.01).contains(true)
    assert true.buffer(0.17).contains(outline)


def test_below_a_box_the_ground_is_a_hole_and_near_it_less_certain(boxed: SortedScan) -> None:
    (hole,) = boxed.holes
    assert hole.why == "something stands there"
    assert hole.area_m2 == pytest.approx(0.4, abs=0.2)
    i, j = (int((5.0 - side) / 0.1) for side in (boxed.grid.south_m, boxed.grid.west_m))
    assert np.isnan(boxed.ground_m[i, j])
    assert boxed.is_near_object[i, j - 5]
    assert not boxed.is_near_object[i, j - 8]


def test_ghosts_are_low_and_few_ground_points_are_lost() -> None:
    rng = np.random.default_rng(9)
    cloud = noisy(lawn(300_000, rng), rng)
    ghosts = rng.choice(len(cloud), 3000, replace=False)
    cloud[ghosts, 2] -= rng.uniform(0.1, 1.0, len(ghosts))
    found = sort_scan(cloud, ORIGIN)
    assert (found.kinds[ghosts] == LOW).mean() > 0.99
    assert (np.delete(found.kinds, ghosts) == GROUND).mean() > 0.99
    assert found.obstacles == ()
    assert found.break_lines == ()


def test_the_offset_moves_everything_and_changes_nothing() -> None:
    rng = np.random.default_rng(10)
    cloud = noisy(boxed_lawn(rng), rng)
    offset = np.array([500_000.0, 5_000_000.0, 187.0])
    near, far = sort_scan(cloud, ORIGIN), sort_scan(cloud, offset)
    assert np.array_equal(near.kinds, far.kinds)
    assert np.nanmax(np.abs(far.ground_m - near.ground_m - 187.0)) < 1e-9
    assert far.grid.west_m == pytest.approx(near.grid.west_m + 500_000.0)
    assert far.obstacles[0].outline_m == pytest.approx(near.obstacles[0].outline_m + offset[:2])
    assert far.obstacles[0].top_m == pytest.approx(near.obstacles[0].top_m + 187.0)
    assert far.holes[0].outline_m == pytest.approx(near.holes[0].outline_m + offset[:2])


def test_neither_the_order_nor_the_width_of_the_numbers_matters() -> None:
    rng = np.random.default_rng(11)
    cloud = noisy(boxed_lawn(rng), rng).astype(np.float32)
    order = rng.permutation(len(cloud))
    first, other = sort_scan(cloud, ORIGIN), sort_scan(cloud[order].astype(np.float64), ORIGIN)
    assert np.array_equal(first.kinds[order], other.kinds)
    assert np.array_equal(first.ground_m, other.ground_m, equal_nan=True)


@pytest.mark.parametrize(("height", "kind"), [(0.03, GROUND), (0.08, OBJECT)])
def test_a_slab_counts_as_ground_only_within_the_reach(height: float, kind: int) -> None:
    rng = np.random.default_rng(12)
    slab = flat(4000, (6, 6.6, 6, 6.6), 0.0, rng)
    slab[:, 2] = 0.05 * slab[:, 0] + height
    points = lawn(300_000, rng)
    below = (points[:, :2] > 6.0).all(axis=1) & (points[:, :2] < 6.6).all(axis=1)
    cloud = np.concatenate([points[~below], slab])
    cloud[:, 2] += 0.004 * rng.standard_normal(len(cloud))
    found = sort_scan(cloud, ORIGIN)
    assert (found.kinds[-4000:] == kind).mean() > 0.9
