"""Small flat pieces of a scan: where they are and which way they face."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

#: Points looked at: enough for patches of a third of a metre in a yard, and half a second.
SAMPLE_POINTS: Final = 800_000
#: Patches across the wider side of the scan: 0.3 m in a yard of 20 m.
_PATCHES_ACROSS: Final = 64
_FEWEST_POINTS: Final = 10
#: Spread across a flat patch at most so much of its lesser spread along it.
_FLATNESS: Final = 0.2
#: Spread along it at least so much of the patch: a full square has 0.29, a strip or a corner less.
_FULLNESS: Final = 0.15


@dataclass(frozen=True, slots=True)
class Patches:
    """Flat patches of edge ``edge`` (units of the points).

    ``centres`` and ``normals`` (k, 3), float64; a normal's sign means nothing.
    """

    edge: float
    centres: NDArray[np.float64]
    normals: NDArray[np.float64]


def sample_points(local: NDArray[np.float32]) -> NDArray[np.float64]:
    """Every so manieth point, (m, 3) float64."""
    return local[:: max(1, -(-len(local) // SAMPLE_POINTS))].astype(np.float64)


def find_patches(points: NDArray[np.float64]) -> Patches:
    """Cut space into cubes and keep those whose points lie in a plane; ``points`` (n, 3)."""
    low, high = np.percentile(points, (0.5, 99.5), axis=0)
    edge = float((high - low).max()) / _PATCHES_ACROSS
    nothing = Patches(edge, np.empty((0, 3)), np.empty((0, 3)))
    if edge <= 0.0:
        return nothing
    near = points[((points >= low - edge) & (points <= high + edge)).all(axis=1)] - low
    cubes = (near / edge).astype(np.int64) + 2
    key = (cubes[:, 0] * 4 * _PATCHES_ACROSS + cubes[:, 1]) * 4 * _PATCHES_ACROSS + cubes[:, 2]
    order = np.argsort(key, kind="stable")
    near, key = near[order], key[order]
    starts = np.concatenate(([0], np.flatnonzero(np.diff(key)) + 1))
    counts = np.diff(starts, append=len(key))
    sums = np.add.reduceat(near, starts, axis=0)
    means = sums / counts[:, None]
    away = near - np.repeat(means, counts, axis=0)
    products = np.stack([away[:, i] * away[:, j] for i in range(3) for j in range(3)], axis=1)
    spread = np.add.reduceat(products, starts, axis=0).reshape(-1, 3, 3) / counts[:, None, None]
    is_full = counts >= _FEWEST_POINTS
    if not is_full.any():
        return nothing
    variances, directions = np.linalg.eigh(spread[is_full])  # least first
    across, along = (np.sqrt(np.maximum(variances[:, i], 0.0)) for i in (0, 1))
    is_flat = (across <= _FLATNESS * along) & (along >= _FULLNESS * edge)
    return Patches(edge, means[is_full][is_flat] + low, directions[is_flat, :, 0])
