"""Clouds of a few plain surfaces, for what can be said by hand."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Cloud = NDArray[np.float64]


def flat(count: int, box: tuple[float, float, float, float], level: float, rng: np.random.Generator) -> Cloud:
    """``count`` points of a level rectangle ``(west, east, south, north)``."""
    west, east, south, north = box
    place = rng.uniform((west, south), (east, north), (count, 2))
    return np.column_stack([place, np.full(count, level)])


def upright(
    count: int, ends: tuple[float, float, float, float], levels: tuple[float, float], rng: np.random.Generator
) -> Cloud:
    """``count`` points of a wall from ``(x0, y0)`` to ``(x1, y1)``."""
    x0, y0, x1, y1 = ends
    share = rng.uniform(0.0, 1.0, count)
    return np.column_stack([x0 + share * (x1 - x0), y0 + share * (y1 - y0), rng.uniform(*levels, count)])


def lawn(count: int, rng: np.random.Generator) -> Cloud:
    """12 x 10 m that rise by 5 % to the east."""
    points = flat(count, (0.0, 12.0, 0.0, 10.0), 0.0, rng)
    points[:, 2] = 0.05 * points[:, 0]
    return points


def noisy(points: Cloud, rng: np.random.Generator) -> Cloud:
    """12 mm of noise on each coordinate."""
    return points + 0.012 * rng.standard_normal(points.shape)
