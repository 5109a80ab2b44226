"""Where a step of the ground lies, from the points on both sides of it: finer than the cells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

from optimizer.ground_scan.cells import Cells
from optimizer.ground_scan.sorted_scan import Heights, Mask

_ACROSS_M: Final = 0.20
_ALONG_M: Final = 0.15
_LEAST_POINTS: Final = 8  # a side


@dataclass(frozen=True, slots=True)
class NearPoints:
    """Points (n, 3) near steps, and a tree over their places."""

    points: NDArray[np.float64]
    tree: cKDTree


def gather_near(cells: Cells, marked: Mask) -> NearPoints:
    """The points in the marked cells and beside them."""
    wanted = ndimage.binary_dilation(marked, structure=np.ones((3, 3))).ravel()
    inside = cells.cell_of >= 0
    inside[inside] = wanted[cells.cell_of[inside]]
    points = cells.points[inside].astype(np.float64)
    return NearPoints(points, cKDTree(points[:, :2]))


def place_on_step(
    places: Heights, normals: Heights, left_m: Heights, right_m: Heights, near: NearPoints
) -> Heights:
    """Places (k, 2) moved along their normals (to the left) to where the points change level.

    ``left_m``, ``right_m`` (k,) levels of the two sides; a place stays where the points do not tell.
    """
    shift = np.zeros(len(places))
    reach = float(np.hypot(_ACROSS_M, _ALONG_M))
    for n, group in enumerate(near.tree.query_ball_point(places, reach)):
        if not np.isfinite(left_m[n] + right_m[n]) or not group:
            continue
        off = near.points[group, :2] - places[n]
        across = off @ normals[n]
        along = off @ np.array([-normals[n, 1], normals[n, 0]])
        high = near.points[group, 2]
        low, top = sorted((float(left_m[n]), float(right_m[n])))
        here = (np.abs(across) <= _ACROSS_M) & (np.abs(along) <= _ALONG_M)
        here &= (high > low - 0.05) & (high < top + 0.05)
        is_left = (high > 0.5 * (low + top)) == (left_m[n] > right_m[n])
        shift[n] = _split(across[here], is_left[here])
    return np.asarray(places + ndimage.median_filter(shift, 3, mode="nearest")[:, None] * normals)


def _split(across: Heights, is_left: Mask) -> float:
    """Where to part left from right with the least share of each on the wrong side."""
    left, right = int(is_left.sum()), int((~is_left).sum())
    if min(left, right) < _LEAST_POINTS:
        return 0.0
    order = np.argsort(across)
    sides = is_left[order]
    wrong_left = np.concatenate([[0], np.cumsum(sides)]) / left
    wrong_right = 1.0 - np.concatenate([[0], np.cumsum(~sides)]) / right
    wrong = wrong_left + wrong_right
    best = np.flatnonzero(wrong <= wrong.min() + 1e-12)
    edges = np.concatenate([[-_ACROSS_M], across[order], [_ACROSS_M]])
    return float(np.mean(0.5 * (edges[best] + edges[best + 1])))
