"""Clouds that are no yard, or not all of one: refused with a reason, or left open with one."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.errors import InputError
from optimizer.ground_scan.sort_scan import sort_scan
from optimizer.ground_scan.sorted_scan import GROUND, UNKNOWN
from tests.ground_scan.plain_clouds import Cloud, flat, lawn, noisy, upright

ORIGIN = np.zeros(3)


@pytest.fixture
def rng() -> np.random.Generator:
    return np.random.default_rng(3)


def refusal(points: Cloud) -> str:
    with pytest.raises(InputError) as caught:
        sort_scan(points, ORIGIN, where="yard.laz")
    (fault,) = caught.value.faults
    assert fault.where == "yard.laz"
    return f"{fault.what} {fault.remedy}"


def test_a_room_is_refused(rng: np.random.Generator) -> None:
    walls = [(0, 0, 5, 0), (0, 0, 0, 4), (5, 0, 5, 4), (0, 4, 5, 4)]
    sides = [upright(60_000, ends, (0.0, 2.5), rng) for ends in walls]
    room = np.concatenate([flat(150_000, (0, 5, 0, 4), z, rng) for z in (0.0, 2.5)] + sides)
    assert "roof or ceiling" in refusal(noisy(room, rng))


def test_a_wall_is_refused_whichever_way_it_runs(rng: np.random.Generator) -> None:
    slanting = noisy(upright(200_000, (0, 0, 9, 3), (0.0, 5.0), rng), rng)
    assert "0.0 m2" in refusal(slanting)
    along = noisy(upright(200_000, (0, 0, 9, 0), (0.0, 5.0), rng), rng)
    assert "a wall or a detail" in refusal(along)


def test_water_that_scatters_is_refused(rng: np.random.Generator) -> None:
    water = flat(20_000, (0, 10, 0, 10), 0.0, rng)
    water[:, 2] = -np.abs(0.8 * rng.standard_normal(len(water)))
    assert "bare ground" in refusal(water)


def test_all_points_in_one_cell_are_refused(rng: np.random.Generator) -> None:
    assert "not a yard" in refusal(flat(50_000, (0.0, 0.05, 0.0, 0.05), 0.0, rng))


def test_bad_arrays_are_refused_with_the_row_or_the_value(rng: np.random.Generator) -> None:
    points = lawn(5000, rng)
    assert "10 points" in refusal(points[:10])
    assert "(5000, 2)" in refusal(points[:, :2])
    assert "5000010 m" in refusal(points + np.array([0.0, 5_000_000.0, 0.0])).replace("5000009", "5000010")
    assert "is the unit right" in refusal(flat(5000, (-2000, 2000, -2000, 2000), 0.0, rng))
    points[7, 1] = np.nan
    assert "point 7 " in refusal(points)
    with pytest.raises(InputError, match="three finite numbers"):
        sort_scan(lawn(5000, rng), np.zeros(2))


def test_too_few_points_are_refused_by_number_and_then_by_how_thin_they_lie(rng: np.random.Generator) -> None:
    points = flat(2000, (0, 4, 0, 4), 0.0, rng)
    assert "the scan has 1999 points" in refusal(points[:-1])
    assert "points a square metre" in refusal(points)
    dense = flat(2700, (0, 2.3, 0, 2.3), 0.0, rng)
    assert np.isfinite(sort_scan(dense, ORIGIN).ground_m).sum() * 0.01 == pytest.approx(5.3, abs=0.5)


def test_a_pond_is_a_hole_in_the_lawn_and_its_rim_is_kept(rng: np.random.Generator) -> None:
    points = lawn(400_000, rng)
    in_pond = (points[:, :2] > (4, 3)).all(axis=1) & (points[:, :2] < (8, 7)).all(axis=1)
    mirrored = flat(6000, (4, 8, 3, 7), 0.0, rng)
    mirrored[:, 2] = -np.abs(0.8 * rng.standard_normal(len(mirrored)))
    found = sort_scan(noisy(np.concatenate([points[~in_pond], mirrored]), rng), ORIGIN)
    assert [hole.area_m2 for hole in found.holes] == [pytest.approx(16.0, abs=2.5)]
    centre_x = found.grid.west_m + (np.arange(found.grid.columns) + 0.5) * found.grid.cell_m
    off = np.abs(found.ground_m - 0.05 * centre_x)
    assert np.nanmax(off) < 0.05
    assert np.isfinite(found.ground_m).sum() * found.grid.cell_m**2 > 100.0


def test_a_storey_without_ground_below_is_no_ground(rng: np.random.Generator) -> None:
    points = lawn(400_000, rng)
    under = (points[:, 0] < 6) & (points[:, 1] < 3)
    deck = flat(60_000, (0, 6, 0, 3), 2.8, rng)
    cloud = noisy(np.concatenate([points[~under], deck]), rng)
    found = sort_scan(cloud, ORIGIN)
    assert np.nanmax(found.ground_m) < 0.7
    assert (found.kinds[-60_000:] != GROUND).all()
    (doubt,) = found.doubts
    assert "2.8" in doubt.what
    assert doubt.remedy


def test_ground_seen_below_a_storey_is_kept_and_the_storey_hangs(rng: np.random.Generator) -> None:
    points = lawn(400_000, rng)
    cloud = noisy(np.concatenate([points, flat(60_000, (0, 6, 0, 3), 2.8, rng)]), rng)
    found = sort_scan(cloud, ORIGIN)
    assert (found.kinds[:400_000] == GROUND).mean() > 0.99
    (storey,) = found.obstacles
    assert storey.place == "hangs"
    assert storey.bottom_m == pytest.approx(2.8, abs=0.07)
    assert len(found.doubts) == 1


def test_stray_points_far_away_move_nothing(rng: np.random.Generator) -> None:
    cloud = noisy(lawn(200_000, rng), rng)
    stray = np.array([[500.0, 3.0, 2.0], [-300.0, 900.0, 50.0]])
    found = sort_scan(np.concatenate([cloud, stray]), ORIGIN)
    assert found.grid.columns < 300
    assert found.kinds[-2:].tolist() == [UNKNOWN, UNKNOWN]
    assert (found.kinds[:-2] == GROUND).mean() > 0.99
