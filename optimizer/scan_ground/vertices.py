"""Few points that carry a surface of many cells within an error: greedy insertion into a Delaunay mesh.

Garland and Heckbert, 'Fast polygonal approximation of terrains and height fields', CMU-CS-95-181, 1995:
the point of the worst error goes in until none is above the bound.  Here one a triangle goes in at a time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, Delaunay

from optimizer.scan_ground.cells import ScanCells

#: The search looks at every triangle, so it stays quick up to so many points.
MOST_VERTICES: Final = 1500
#: Everywhere at least one point a square of this edge: a bound on what a triangle may hide.
COARSE_M: Final = 1.0
#: Along the rim one a stretch of this length, so that the ground keeps its outline.
RIM_M: Final = 0.5
#: No finer than this, whatever the noise says: legs are set to a centimetre.
LEAST_BOUND_M: Final = 0.010
#: Bound in standard errors of a cell: a narrower one would follow the noise.
_BOUND_ERRORS: Final = 3.0
#: A cell on an edge belongs to both triangles, whatever the rounding.
_RIM: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Vertices:
    """``xyz_m`` (n, 3).  ``bound_m`` was aimed at; ``left_m`` is the largest error left, ``usual_m`` the
    root mean square over all cells.  ``is_bounded``: no cell is off by more than the bound.
    """

    xyz_m: NDArray[np.float64]
    bound_m: float
    left_m: float
    usual_m: float

    @property
    def is_bounded(self) -> bool:
        """Whether the bound was reached with so many points."""
        return self.left_m <= self.bound_m


def choose_vertices(cells: ScanCells, most: int = MOST_VERTICES) -> Vertices:
    """Points of a surface through some of the cells; at least three cells, not all in one line."""
    bound_m = max(LEAST_BOUND_M, _BOUND_ERRORS * float(np.median(cells.error_m)))
    chosen = _seed(cells)[:most]
    while True:
        owned = _measure_off(cells, chosen)
        off = owned.off_m
        off[chosen] = 0.0
        worst = np.lexsort((-off, owned.triangle))
        _, first = np.unique(owned.triangle[worst], return_index=True)
        candidates = worst[first]
        candidates = candidates[off[candidates] > bound_m]
        room = most - len(chosen)
        if len(candidates) == 0 or room <= 0:
            break
        candidates = candidates[np.argsort(-off[candidates], kind="stable")][:room]
        chosen = np.concatenate((chosen, candidates))
    chosen = np.sort(chosen)
    xyz = np.column_stack((cells.middle_m[chosen], cells.level_m[chosen]))
    xyz.setflags(write=False)
    return Vertices(xyz, bound_m, float(off.max()), float(np.sqrt(np.mean(off**2))))


def _seed(cells: ScanCells) -> NDArray[np.int64]:
    """The most typical cell of every coarse square, the outermost of every stretch of rim, the hull."""
    number = _number_squares(cells, COARSE_M)
    totals = np.bincount(number, cells.level_m) / np.bincount(number)
    typical = _choose_least(number, np.abs(cells.level_m - totals[number]))
    is_there = np.zeros((int(cells.column.max()) + 3, int(cells.row.max()) + 3), dtype=np.bool_)
    is_there[cells.column + 1, cells.row + 1] = True
    sides = [is_there[cells.column + 1 + i, cells.row + 1 + j] for i, j in ((1, 0), (-1, 0), (0, 1), (0, -1))]
    rim = np.flatnonzero(~np.logical_and.reduce(sides))
    away = np.hypot(*(cells.middle_m[rim] - cells.middle_m.mean(axis=0)).T)
    outermost = rim[_choose_least(_number_squares(cells, RIM_M)[rim], -away)]
    hull = ConvexHull(cells.middle_m).vertices
    return np.unique(np.concatenate((typical, outermost, hull))).astype(np.int64)


def _number_squares(cells: ScanCells, edge_m: float) -> NDArray[np.int64]:
    """Number of the square of ``edge_m`` that each cell (n,) lies in."""
    squares = np.floor(cells.middle_m / edge_m).astype(np.int64)
    number: NDArray[np.int64] = np.unique(squares, axis=0, return_inverse=True)[1].reshape(-1)
    return number


def _choose_least(number: NDArray[np.int64], values: NDArray[np.float64]) -> NDArray[np.int64]:
    """For each number the index of its least value."""
    order = np.lexsort((values, number))
    return order[np.unique(number[order], return_index=True)[1]]


@dataclass(frozen=True, slots=True)
class _Owned:
    """For each cell (n,) its triangle, -1 outside the mesh, and how far it lies off that."""

    triangle: NDArray[np.int64]
    off_m: NDArray[np.float64]


def _measure_off(cells: ScanCells, chosen: NDArray[np.int64]) -> _Owned:
    """Lay a Delaunay mesh of the chosen cells over all cells.

    Triangle by triangle on the grid: scipy's own location of points solves a small system a triangle,
    which takes seconds where its threads get in each other's way.
    """
    triangle = np.full(len(cells.level_m), -1)
    off = np.zeros(len(cells.level_m))
    number = np.full((int(cells.column.max()) + 1, int(cells.row.max()) + 1), -1)
    number[cells.column, cells.row] = np.arange(len(cells.level_m))
    for t, corners in enumerate(chosen[Delaunay(cells.middle_m[chosen]).simplices]):
        columns, rows = cells.column[corners], cells.row[corners]
        inside = number[columns.min() : columns.max() + 1, rows.min() : rows.max() + 1].ravel()
        inside = inside[inside >= 0]
        origin, first, second = cells.middle_m[corners]
        a, b, away = first - origin, second - origin, cells.middle_m[inside] - origin
        twice = a[0] * b[1] - a[1] * b[0]
        if twice == 0.0:
            continue  # a sliver of the rim
        u = (away[:, 0] * b[1] - away[:, 1] * b[0]) / twice
        v = (a[0] * away[:, 1] - a[1] * away[:, 0]) / twice
        is_in = (u >= -_RIM) & (v >= -_RIM) & (u + v <= 1.0 + _RIM)
        z = cells.level_m[corners]
        on_mesh = z[0] + u * (z[1] - z[0]) + v * (z[2] - z[0])
        triangle[inside[is_in]] = t
        off[inside[is_in]] = np.abs(cells.level_m[inside] - on_mesh)[is_in]
    return _Owned(triangle, off)
