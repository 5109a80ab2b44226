"""Rotations of a placed scan: a yaw about the vertical and a tilt about a level axis."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray


def turn_by_yaw(yaw: float) -> NDArray[np.float64]:
    """Rotation (3, 3) about z by ``yaw`` radians, counter-clockwise seen from above."""
    c, s = math.cos(yaw), math.sin(yaw)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def turn_by_tilt(about_x: float, about_y: float) -> NDArray[np.float64]:
    """Rotation (3, 3) about the level axis (about_x, about_y, 0) by its length in radians (Rodrigues)."""
    angle = math.hypot(about_x, about_y)
    cross = np.array([[0.0, 0.0, about_y], [0.0, 0.0, -about_x], [-about_y, about_x, 0.0]])
    first = np.sinc(angle / np.pi)
    second = 0.5 * np.sinc(0.5 * angle / np.pi) ** 2
    turned: NDArray[np.float64] = np.eye(3) + first * cross + second * cross @ cross
    return turned


def split_turn(rotation: NDArray[np.float64]) -> tuple[float, float, float]:
    """``(yaw, about_x, about_y)`` in radians, with rotation = yaw after tilt; tilt below half a turn.

    The tilt alone decides what becomes of the vertical, so it is read off the last row.
    """
    x, y, z = rotation[2]
    # Row 2 of the tilt is (-s ay, s ax, cos): its level part has the length sin(angle).
    sine = math.hypot(x, y)
    angle = math.atan2(sine, z)
    size = angle / sine if sine > 0.0 else 1.0
    about_x, about_y = float(y * size), float(-x * size)
    rest = rotation @ turn_by_tilt(about_x, about_y).T
    return math.atan2(rest[1, 0], rest[0, 0]), about_x, about_y
