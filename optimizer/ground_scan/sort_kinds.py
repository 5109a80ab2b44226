"""Each point against the ground: of it, below it, an object, or not to be told."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.ground_scan.cells import Cells
from optimizer.ground_scan.find_ground import GroundPlanes, measure_reach
from optimizer.ground_scan.point_kernel import sort_points
from optimizer.ground_scan.settings import YARD, Settings
from optimizer.ground_scan.sorted_scan import Heights

#: Ground points beyond this from any seen ground are not guessed at.
_FARTHEST_M = 3.0
#: Beyond this the filled ground is less sure, by a tenth of the distance.
_SURE_M = 0.3


@dataclass(frozen=True, slots=True)
class SortedPoints:
    """``kinds`` (n,) as in ``SortedScan``.

    By rows and columns, of the ground points of a cell: ``counts`` how many, and ``squares_m2`` the sum
    of their squared distances from the ground.
    """

    kinds: NDArray[np.int8]
    counts: NDArray[np.int64]
    squares_m2: Heights


def sort_kinds(cells: Cells, planes: GroundPlanes, settings: Settings) -> SortedPoints:
    """The kind of each point."""
    kinds = np.empty(len(cells.points), dtype=np.int8)
    grid = cells.grid
    reach = measure_reach(planes.along_x, planes.along_y, settings)
    counts, squares = np.zeros(grid.rows * grid.columns, dtype=np.int64), np.zeros(grid.rows * grid.columns)
    sort_points(
        cells.points, cells.cell_of, grid.west_m, grid.south_m, 1.0 / grid.cell_m, grid.rows, grid.columns,
        planes.level_m.ravel(), planes.along_x.ravel(), planes.along_y.ravel(), reach.ravel(),
        _slack(planes, settings).ravel(), kinds, counts, squares,
    )  # fmt: skip
    return SortedPoints(kinds, counts.reshape(grid.shape), squares.reshape(grid.shape))


def _slack(planes: GroundPlanes, settings: Settings) -> Heights:
    """How unsure the filled ground is, by the distance from seen ground in cells of a yard."""
    away = ndimage.distance_transform_edt(~planes.is_seen)
    scale = settings.cell_m / YARD.cell_m
    metres = np.asarray(away) * settings.cell_m
    slack = np.where(metres <= _SURE_M * scale, 0.0, 0.1 * metres)
    return np.where(metres > _FARTHEST_M * scale, np.inf, slack)
