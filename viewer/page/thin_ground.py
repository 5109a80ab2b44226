"""A ground of very many triangles made light enough for a telephone, coarser away from the ramp."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.plan import Candidate
from optimizer.terrain.ground import Ground

#: A ground of no more triangles than these is drawn as it is.
MOST_TRIANGLES: Final = 10_000
#: Within this distance of a piece the ground keeps more.
NEAR_M: Final = 1.5
#: Most triangles near the ramp, and away from it.
_NEAR_TRIANGLES: Final = 5_000
_FAR_TRIANGLES: Final = 4_000
#: Cells of this side draw nothing together but corners that are one.
_TINY_M: Final = 1e-4
#: Corners of one cell with a gap in height of more than this between them stay apart: a wall stays one.
_STEP_M: Final = 0.12


def thin_ground(ground: Ground, candidates: tuple[Candidate, ...]) -> Ground:
    """The same ground with at most about ``MOST_TRIANGLES`` triangles; itself when it has no more.

    Corners are drawn together cell by cell, small cells near any candidate's pieces and larger ones
    away, each at the mean of its corners.  The levels are means of levels that were there, so the
    relief stays within one cell's relief; legs and pieces are drawn from the plan, never from this.
    """
    if len(ground.triangles_xy) <= MOST_TRIANGLES:
        return ground
    triangles = np.concatenate([ground.triangles_xy, ground.triangles_z[:, :, None]], axis=2)
    is_near = _find_near(triangles, candidates)
    cell_m = np.where(
        is_near,
        _choose_cell(triangles[is_near.all(axis=1)], _NEAR_TRIANGLES),
        _choose_cell(triangles[~is_near.all(axis=1)], _FAR_TRIANGLES),
    )
    places, owner = _draw_together(triangles.reshape(-1, 3), cell_m.reshape(-1))
    kept = _keep_surface(places[owner].reshape(-1, 3, 3), owner.reshape(-1, 3))
    return replace(ground, triangles_xy=kept[:, :, :2].copy(), triangles_z=kept[:, :, 2].copy())


def _find_near(triangles: NDArray[np.float64], candidates: tuple[Candidate, ...]) -> NDArray[np.bool_]:
    """Which corners (t, 3) lie near a piece, by the pieces' upright boxes."""
    boxes = np.array([piece.corners_m for one in candidates for piece in one.pieces])[:, :, :2]
    lows, highs = boxes.min(axis=1) - NEAR_M, boxes.max(axis=1) + NEAR_M
    near = ((triangles[:, :, :2] >= lows.min(axis=0)) & (triangles[:, :, :2] <= highs.max(axis=0))).all(
        axis=2
    )
    # Only what lies in the box around all of them is looked at piece by piece.
    inside = triangles[near][:, :2]
    found = np.zeros(len(inside), dtype=bool)
    for low, high in zip(lows, highs, strict=True):
        found |= ((inside >= low) & (inside <= high)).all(axis=1)
    near[near] = found
    return np.asarray(near)


def _choose_cell(triangles: NDArray[np.float64], most: int) -> float:
    """Side of the cells in metres that leaves about ``most`` triangles; tiny where they are few enough."""
    if len(triangles) <= most:
        return _TINY_M
    area_m2 = float(np.abs(_measure_plan_areas(triangles)).sum())
    return float(np.sqrt(2.0 * area_m2 / most))


def _draw_together(
    points: NDArray[np.float64], cell_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Means (k, 3) of the points (n, 3) in each cell, and which of them each point (n,) becomes."""
    # One whole number a cell: sorting rows takes ten times as long.
    keys = np.zeros(len(points), dtype=np.int64)
    for column in (points[:, 0] / cell_m, points[:, 1] / cell_m, cell_m == cell_m.min()):
        whole = np.floor(column).astype(np.int64)
        whole -= whole.min()
        keys = keys * (int(whole.max()) + 1) + whole
    order = np.lexsort((points[:, 2], keys))
    # Up through each cell: a gap in height is a step, and what lies above it another place.
    begins = np.diff(keys[order], prepend=-1) != 0
    begins |= np.diff(points[order, 2], prepend=0.0) > _STEP_M
    owner = np.empty(len(points), dtype=np.int64)
    owner[order] = np.cumsum(begins) - 1
    count = np.bincount(owner)
    means = np.column_stack([np.bincount(owner, points[:, axis]) for axis in range(3)]) / count[:, None]
    return means, owner


def _keep_surface(triangles: NDArray[np.float64], corners: NDArray[np.int64]) -> NDArray[np.float64]:
    """Of triangles (t, 3, 3) those that still are some: no slivers, and each set of corners once."""
    kept = _measure_plan_areas(triangles) > 1e-6
    triangles, sets = triangles[kept], np.sort(corners[kept], axis=1)
    size = int(sets.max()) + 1
    # Corners of a set as one whole number; there are far fewer than a million of them.
    _, first = np.unique((sets[:, 0] * size + sets[:, 1]) * size + sets[:, 2], return_index=True)
    return np.asarray(triangles[np.sort(first)])


def _measure_plan_areas(triangles: NDArray[np.float64]) -> NDArray[np.float64]:
    a, b, c = (triangles[:, k, :2] for k in range(3))
    first, second = b - a, c - a
    return np.asarray(0.5 * (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]))
