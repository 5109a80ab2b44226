"""Walls and doors found in a placed scan: proposals with evidence, and never a threshold's height."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.errors import InputError
from optimizer.survey.placing.find_walls import find_walls
from optimizer.survey.placing.propose_door import (
    THRESHOLD_NOTE,
    DoorProposal,
    StatedWall,
    propose_doors,
)
from tests.survey.placing.scanned_house import HouseFront, place_of, scan_front

YAW_DEG = 37.0
AT_M = (12.0, -3.0)
FRONT = HouseFront()


def scan_of(front: HouseFront, seed: int = 3) -> NDArray[np.float64]:
    return scan_front(front, seed, YAW_DEG, AT_M)


def stated_wall(front: HouseFront, off_m: float = 0.0) -> StatedWall:
    across = np.array([-np.sin(np.radians(YAW_DEG)), np.cos(np.radians(YAW_DEG))])
    start, end = (place_of(front, along, YAW_DEG, AT_M) + off_m * across for along in (0.0, front.length_m))
    return StatedWall((float(start[0]), float(start[1])), (float(end[0]), float(end[1])))


def assert_found(door: DoorProposal, front: HouseFront) -> None:
    centre = place_of(front, front.door_left_m + 0.5 * front.door_width_m, YAW_DEG, AT_M)
    assert np.hypot(*(np.array(door.centre_m) - centre)) < 0.02
    assert door.width_m == pytest.approx(front.door_width_m, abs=0.04)
    assert door.outward_deg == pytest.approx(YAW_DEG + 90.0, abs=0.05)


@pytest.mark.parametrize(
    "front",
    [
        FRONT,
        HouseFront(reveal_m=0.06),
        HouseFront(density=1000),
        HouseFront(noise_m=0.015),
        HouseFront(door_width_m=1.8, door_left_m=2.0),
        HouseFront(door_width_m=0.78),
        HouseFront(hedge_m=1.5),
    ],
)
@pytest.mark.parametrize("off_m", [None, 0.0, 0.25])
def test_a_door_is_proposed_where_it_is_and_a_window_is_not(front: HouseFront, off_m: float | None) -> None:
    stated = None if off_m is None else stated_wall(front, off_m)
    (door,) = propose_doors(scan_of(front), stated)
    assert_found(door, front)
    assert door.is_outward_certain
    assert door.is_clear


@pytest.mark.parametrize("yaw_deg", [0.0, 90.0, 135.0, 180.0, 217.0, 300.0])
def test_outward_is_the_side_that_was_walked_on_whichever_way_the_wall_faces(yaw_deg: float) -> None:
    (door,) = propose_doors(scan_front(replace(FRONT, density=1500), 5, yaw_deg, AT_M))
    assert (door.outward_deg - yaw_deg - 90.0 + 180.0) % 360.0 == pytest.approx(180.0, abs=0.1)


@pytest.mark.parametrize("width_m", [0.0, 0.55, 2.2])
def test_no_door_is_proposed_in_a_blind_wall_or_where_the_gap_is_no_door(width_m: float) -> None:
    front = HouseFront(door_width_m=width_m, door_left_m=2.0)
    assert propose_doors(scan_of(front), stated_wall(front)) == ()


def test_a_gap_behind_a_tall_hedge_is_not_clear_and_comes_last() -> None:
    front = HouseFront(hedge_m=2.2)
    first, second = propose_doors(scan_of(front))
    assert_found(first, front)
    assert (first.is_clear, second.is_clear) == (True, False)


def test_the_height_of_the_scan_changes_nothing_and_no_height_is_proposed() -> None:
    points = scan_of(FRONT)
    (door,), (raised,) = propose_doors(points), propose_doors(points + np.array([0.0, 0.0, 7.25]))
    assert door.centre_m == pytest.approx(raised.centre_m, abs=0.005)
    assert {field.name for field in fields(DoorProposal)} == {
        "wall",
        "centre_m",
        "width_m",
        "outward_deg",
        "is_outward_certain",
        "is_clear",
        "evidence",
        "to_measure",
    }
    assert len(door.centre_m) == 2
    assert THRESHOLD_NOTE in door.to_measure


def test_a_wall_seen_from_both_sides_has_no_certain_outside() -> None:
    points = scan_of(FRONT)
    across = np.array([-np.sin(np.radians(YAW_DEG)), np.cos(np.radians(YAW_DEG))])
    off = (points[:, :2] - AT_M) @ across
    inside = points[off > 0.5]
    inside[:, :2] -= 2.0 * off[off > 0.5][:, None] * across
    (door,) = propose_doors(np.concatenate([points, inside]), stated_wall(FRONT))
    assert not door.is_outward_certain


def test_the_same_points_and_seed_give_the_same_walls() -> None:
    points = scan_of(FRONT)
    first, second = find_walls(points, 5), find_walls(points, 5)
    assert [wall.plane.normal.tolist() for wall in first] == [wall.plane.normal.tolist() for wall in second]
    other = find_walls(points, 6)[0]
    assert other.plane.normal == pytest.approx(first[0].plane.normal, abs=2e-3)


def test_the_wall_is_where_it_stands_and_its_lean_is_told() -> None:
    lean = np.radians(0.8)
    points = scan_front(replace(FRONT, density=1500), 4, 0.0, (0.0, 0.0))
    points[:, 1] += np.tan(lean) * points[:, 2]
    wall = find_walls(points, 1)[0]
    assert wall.lean_deg == pytest.approx(0.8, abs=0.03)
    assert wall.length_m == pytest.approx(FRONT.length_m, abs=0.08)
    assert abs(float(wall.along[1])) < np.radians(0.03)
    assert wall.noise_m == pytest.approx(FRONT.noise_m, rel=0.1)
    assert wall.area_m2 == pytest.approx(FRONT.length_m * FRONT.height_m - 0.98 * 2.1 - 1.2**2, rel=0.05)


def test_a_yard_without_a_wall_is_refused_with_a_remedy() -> None:
    ground = np.random.default_rng(1).random((50_000, 3)) * [10.0, 8.0, 0.05]
    for points in (ground, np.empty((0, 3))):
        with pytest.raises(InputError) as raised:
            propose_doors(points)
        assert "no upright plane" in raised.value.faults[0].what
        assert raised.value.faults[0].remedy


@pytest.mark.parametrize(
    ("stated", "what"),
    [
        (StatedWall((0.0, 0.0), (0.99, 0.0)), "the stated wall is 0.99 m long"),
        (StatedWall((float("nan"), 0.0), (9.0, 0.0)), "the stated wall is nan m long"),
        (StatedWall((30.0, 30.0), (39.0, 30.0)), "has no upright plane along it"),
        (StatedWall((15.0, -3.0), (15.0, 3.0)), "has no upright plane along it"),
    ],
)
def test_a_stated_wall_that_is_not_there_is_refused(stated: StatedWall, what: str) -> None:
    with pytest.raises(InputError) as raised:
        propose_doors(scan_of(FRONT), stated)
    assert what in raised.value.faults[0].what
