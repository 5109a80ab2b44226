"""A scanned yard made from a seed: sloped ground, a house wall, a few bushes, with noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Yard:
    """Sizes in metres; ``yaw_deg`` turns the whole yard, so that no wall faces an axis."""

    width_m: float = 20.0
    depth_m: float = 14.0
    wall_long_m: float = 11.0
    wall_high_m: float = 2.7
    fall_out: float = 0.06
    fall_along: float = -0.03
    bushes: int = 4
    noise_m: float = 0.008
    yaw_deg: float = 0.0


def scan_yard(yard: Yard, seed: int, count: int) -> NDArray[np.float64]:
    """About ``count`` points (n, 3) in metres, z up, in the order a person walks past them."""
    rng = np.random.default_rng(seed)
    wall_count, bush_count = count // 8, count // 40
    ground_count = count - wall_count - bush_count * yard.bushes
    x, y = rng.random(ground_count) * yard.width_m, rng.random(ground_count) * yard.depth_m
    ground = np.stack([x, y, _level(yard, x, y)], axis=1)
    x = 3.0 + rng.random(wall_count) * yard.wall_long_m
    foot = _level(yard, x, np.zeros_like(x))
    wall = np.stack([x, np.zeros_like(x), foot + rng.random(wall_count) * yard.wall_high_m], axis=1)
    parts = [ground, wall]
    for _ in range(yard.bushes):
        middle = np.array([rng.random() * yard.width_m, (0.3 + 0.6 * rng.random()) * yard.depth_m])
        away = rng.normal(size=(bush_count, 3)) * 0.3
        level = _level(yard, middle[:1], middle[1:])[0]
        parts.append(np.array([*middle, level + 0.5]) + away * [1.0, 1.0, 0.5])
    points = np.concatenate(parts)
    points += rng.normal(size=points.shape) * yard.noise_m
    points = points[np.argsort(points[:, 0], kind="stable")]
    turn = np.radians(yard.yaw_deg)
    across = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    points[:, :2] = points[:, :2] @ across.T
    return points


def _level(yard: Yard, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Elevation of the ground: a plane, and lawn that is not quite one."""
    lawn = 0.03 * np.sin(1.7 * x + 0.4) * np.cos(1.3 * y)
    return -yard.fall_out * y - yard.fall_along * x + lawn
