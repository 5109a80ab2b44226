"""A scanned house front made from a seed: wall with a door and a window, yard, steps, a hedge, noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class HouseFront:
    """Metres, in the wall's own frame: x along it, y out, the ground at 0.

    The door's opening runs from ``door_left_m`` over ``door_width_m``, from ``sill_m`` up; its leaf
    stands ``reveal_m`` back, and a width of 0 means a blind wall.  A window 1.2 m square begins 1.5 m right
    of the door.  ``hedge_m``: height of a hedge that stands before the right end of the wall and hides
    it from 0 to that height; 0 for none.
    """

    length_m: float = 9.0
    height_m: float = 3.0
    door_left_m: float = 3.2
    door_width_m: float = 0.98
    door_height_m: float = 2.10
    sill_m: float = 0.45
    reveal_m: float = 0.12
    hedge_m: float = 0.0
    noise_m: float = 0.008
    density: int = 3000


def scan_front(
    front: HouseFront, seed: int, yaw_deg: float, at_m: tuple[float, float]
) -> NDArray[np.float64]:
    """Points (n, 3); ``density`` a square metre.  The wall's left end stands at ``at_m``, turned by yaw."""
    rng = np.random.default_rng(seed)
    wall = _square(rng, front, front.length_m, front.height_m)
    is_door = _within(
        wall, front.door_left_m, front.door_width_m, front.sill_m, front.sill_m + front.door_height_m
    )
    left = front.door_left_m + front.door_width_m + 1.5
    is_window = _within(wall, left, 1.2, front.sill_m + 0.9, front.sill_m + 2.1)
    is_hidden = (
        (wall[:, 0] > front.length_m - 1.8)
        & (wall[:, 0] < front.length_m - 0.7)
        & (wall[:, 1] < front.hedge_m)
    )
    leaf = wall[is_door]
    solid = wall[~(is_door | is_window | is_hidden)]
    yard = rng.random((int(14 * 6 * front.density / 3), 2)) * [14.0, 6.0] - [2.5, 0.0]
    parts = [
        np.column_stack([solid[:, 0], np.zeros(len(solid)), solid[:, 1]]),
        np.column_stack([leaf[:, 0], np.full(len(leaf), -front.reveal_m), leaf[:, 1]]),
        np.column_stack([yard[:, 0], yard[:, 1], -0.04 * yard[:, 1]]),
    ]
    for step in range(2):  # before the door, as wide as it and a little more
        tread = rng.random((900, 2)) * [front.door_width_m + 0.4, 0.3]
        x, y = front.door_left_m - 0.2 + tread[:, 0], 0.3 * step + tread[:, 1]
        parts.append(np.column_stack([x, y, np.full(900, front.sill_m * (2 - step) / 3)]))
    hidden = wall[is_hidden]
    parts.append(np.column_stack([hidden[:, 0], 0.4 + 0.3 * rng.random(len(hidden)), hidden[:, 1]]))
    points = np.concatenate(parts)
    points += rng.normal(size=points.shape) * front.noise_m
    turn = np.radians(yaw_deg)
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    points[:, :2] = points[:, :2] @ rotation.T + np.array(at_m)
    return points


def place_of(
    front: HouseFront, along_m: float, yaw_deg: float, at_m: tuple[float, float]
) -> NDArray[np.float64]:
    """A place (2,) on the wall in the turned frame."""
    turn = np.radians(yaw_deg)
    return np.array(at_m) + min(along_m, front.length_m) * np.array([np.cos(turn), np.sin(turn)])


def _square(rng: np.random.Generator, front: HouseFront, wide: float, high: float) -> NDArray[np.float64]:
    return rng.random((int(wide * high * front.density), 2)) * [wide, high]


def _within(
    wall: NDArray[np.float64], left: float, width: float, bottom: float, top: float
) -> NDArray[np.bool_]:
    inside: NDArray[np.bool_] = (
        (wall[:, 0] > left) & (wall[:, 0] < left + width) & (wall[:, 1] > bottom) & (wall[:, 1] < top)
    )
    return inside
