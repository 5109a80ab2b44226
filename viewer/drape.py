"""Outlines and points laid on the ground."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.ground import Ground
from viewer.relief import LIFT_M
from viewer.solids import UP, Solid, Vertices, build_empty, build_ribbon

#: A line over the ground is followed in steps of at most this length.
DRAPE_STEP_M: Final = 0.1


def build_draped_ring(ground: Ground, ring_m: NDArray[np.float64], width_m: float, dash_m: float) -> Solid:
    """A closed outline (k, 2) as a strip on the ground, left out where nothing was surveyed.

    ``dash_m``: length of dashes and gaps; 0 draws an unbroken line.
    """
    starts: list[Vertices] = []
    ends: list[Vertices] = []
    walked = 0.0
    for start, end in zip(ring_m, np.roll(ring_m, -1, axis=0), strict=True):
        length = float(np.linalg.norm(end - start))
        count = max(1, int(np.ceil(length / DRAPE_STEP_M)))
        share = np.linspace(0.0, 1.0, count + 1)[:, None]
        points = start + share * (end - start)
        line = np.column_stack([points, ground.elevation(points) + LIFT_M])
        middle = walked + length * (np.arange(count) + 0.5) / count
        walked += length
        kept = np.isfinite(line[:-1, 2]) & np.isfinite(line[1:, 2])
        if dash_m > 0.0:
            kept &= np.floor(middle / dash_m) % 2 == 0
        # A sudden step is a wall: the line stops above it and goes on below.
        kept &= np.abs(np.diff(line[:, 2])) < DRAPE_STEP_M * 2.0
        starts.append(line[:-1][kept])
        ends.append(line[1:][kept])
    first, second = np.concatenate(starts), np.concatenate(ends)
    if len(first) == 0:
        return build_empty()
    return build_ribbon(first, second, np.tile(UP, (len(first), 1)), width_m)


def measure_ground_near(
    ground: Ground, ring_m: NDArray[np.float64], otherwise_m: float
) -> tuple[float, float]:
    """Lowest and highest surveyed ground along a ring (k, 2); ``otherwise_m`` twice where none is."""
    points = np.concatenate(
        [
            start + np.linspace(0.0, 1.0, 9, endpoint=False)[:, None] * (end - start)
            for start, end in zip(ring_m, np.roll(ring_m, -1, axis=0), strict=True)
        ]
    )
    levels = ground.elevation(points)
    levels = levels[np.isfinite(levels)]
    if len(levels) == 0:
        return otherwise_m, otherwise_m
    return float(levels.min()), float(levels.max())
