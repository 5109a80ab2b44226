"""What a made-up yard is built of: raised or sunk ground, solids, planting, and how it is scanned."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

#: What a point of a made-up scan truly is.
GROUND, OBJECT, GHOST, FACE = 0, 1, 2, 3
#: What the ground is covered with.
PAVING, LAWN, GRAVEL, LITTER = 0, 1, 2, 3
#: Edge of the cells in which smooth ground is drawn.
RASTER_M = 0.02


@dataclass(frozen=True, slots=True)
class Step:
    """Ground raised by ``rise_m`` (or sunk) where all of ``sides`` hold: a convex piece of the yard.

    ``sides`` (k, 3): ``a x + b y - c > 0`` with ``a, b`` of length one.
    """

    sides: NDArray[np.float64]
    rise_m: float


@dataclass(frozen=True, slots=True)
class Block:
    """A box on the ground, turned by ``yaw``; ``density`` per metre, so that a hedge lets rays through.

    ``low_m`` and ``high_m`` are elevations.
    """

    name: str
    middle_m: tuple[float, float]
    half_m: tuple[float, float]
    yaw: float
    low_m: float
    high_m: float
    density: float = np.inf


@dataclass(frozen=True, slots=True)
class Blob:
    """An ellipsoid, upright: crown, shrub, head."""

    name: str
    middle_m: tuple[float, float, float]
    radii_m: tuple[float, float, float]
    density: float = np.inf


@dataclass(frozen=True, slots=True)
class MadeYard:
    """A yard of ``size_m``, its lower left corner at the origin.

    ``smooth_m`` (rows, columns) heights every ``RASTER_M`` without the steps; ``cover`` the same
    shape.  What is not ground is in ``blocks`` and ``blobs``.
    """

    seed: int
    size_m: tuple[float, float]
    slope: float
    smooth_m: NDArray[np.float64]
    cover: NDArray[np.int8]
    steps: tuple[Step, ...]
    blocks: tuple[Block, ...]
    blobs: tuple[Blob, ...]

    def elevation(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """True ground at (n, 2) points, also below objects."""
        rows, columns = self.smooth_m.shape
        u = np.clip(xy_m[:, 0] / RASTER_M, 0, columns - 1.001)
        v = np.clip(xy_m[:, 1] / RASTER_M, 0, rows - 1.001)
        j, i = u.astype(int), v.astype(int)
        s, t, z = u - j, v - i, self.smooth_m
        low = (1 - s) * z[i, j] + s * z[i, j + 1]
        high = (1 - s) * z[i + 1, j] + s * z[i + 1, j + 1]
        height = (1 - t) * low + t * high
        for step in self.steps:
            height = height + step.rise_m * is_inside(step, xy_m)
        return height

    def is_free(self, xy_m: NDArray[np.float64], margin_m: float) -> NDArray[np.bool_]:
        """Whether nothing stands on or hangs within 2 m of the ground, to within ``margin_m``."""
        free = np.ones(len(xy_m), dtype=np.bool_)
        ground = self.elevation(xy_m)
        for block in self.blocks:
            across = turn_back(block, xy_m)
            near = (np.abs(across) <= np.array(block.half_m) + margin_m).all(axis=1)
            free &= ~(near & (block.low_m < ground + 2.0))
        for blob in self.blobs:
            off = (xy_m - blob.middle_m[:2]) / (np.array(blob.radii_m[:2]) + margin_m)
            near = np.hypot(*off.T) <= 1.0
            free &= ~(near & (blob.middle_m[2] - blob.radii_m[2] < ground + 2.0))
        return free

    def step_distance(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """How far the nearest step of the ground is."""
        away = np.full(len(xy_m), np.inf)
        for step in self.steps:
            for start, end in outline(step, self.size_m):
                away = np.minimum(away, segment_distance(xy_m, start, end))
        return away


def is_inside(step: Step, xy_m: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which of (n, 2) points a step raises."""
    return (xy_m @ step.sides[:, :2].T - step.sides[:, 2] > 0).all(axis=1)


def turn_back(block: Block, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points in the block's own axes, its middle at the origin."""
    c, s = np.cos(block.yaw), np.sin(block.yaw)
    off = xy_m - np.array(block.middle_m)
    return np.column_stack([c * off[:, 0] + s * off[:, 1], -s * off[:, 0] + c * off[:, 1]])


def outline(step: Step, size_m: tuple[float, float]) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """The edges of a step inside the yard, as pairs of ends."""
    edges = []
    yard = np.array([[1, 0, 0], [-1, 0, -size_m[0]], [0, 1, 0], [0, -1, -size_m[1]]], dtype=np.float64)
    for number, (a, b, c) in enumerate(step.sides):
        foot, along = np.array([a * c, b * c]), np.array([-b, a])
        least, most = -1e3, 1e3
        for other in (*np.delete(step.sides, number, axis=0), *yard):
            gain, start = other[:2] @ along, other[:2] @ foot - other[2]
            if abs(gain) < 1e-12:
                most = most if start > 0 else least
            elif gain > 0:
                least = max(least, -start / gain)
            else:
                most = min(most, -start / gain)
        if most - least > 1e-6:
            edges.append((foot + least * along, foot + most * along))
    return edges


def segment_distance(
    xy_m: NDArray[np.float64], start: NDArray[np.float64], end: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Distance of (n, 2) points from a stretch."""
    along = end - start
    share = np.clip((xy_m - start) @ along / (along @ along), 0.0, 1.0)
    return np.hypot(*(xy_m - start - share[:, None] * along).T)
