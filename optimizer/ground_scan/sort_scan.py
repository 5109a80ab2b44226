"""Sort a scan of a yard into ground and what stands on it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.errors import Fault, InputError
from optimizer.ground_scan.cells import Cells, check_points, sort_into_cells
from optimizer.ground_scan.doubts import check_roof, keep_joined_ground
from optimizer.ground_scan.find_ground import GroundPlanes, find_ground, measure_reach
from optimizer.ground_scan.find_holes import find_holes
from optimizer.ground_scan.find_obstacles import find_obstacles
from optimizer.ground_scan.find_steps import find_steps
from optimizer.ground_scan.move_back import move_back
from optimizer.ground_scan.point_kernel import sort_points
from optimizer.ground_scan.settings import YARD, Settings
from optimizer.ground_scan.sorted_scan import GROUND, NEAR_OBJECT_M, Heights, SortedScan

#: Ground points beyond this from any seen ground are not guessed at.
_FARTHEST_M = 3.0
#: Beyond this the filled ground is less sure, by a tenth of the distance.
_SURE_M = 0.3


def sort_scan(
    points_m: NDArray[np.floating],
    offset_m: NDArray[np.float64],
    settings: Settings = YARD,
    where: str = "scan",
) -> SortedScan:
    """Sort points (n, 3), metres, z up, into ground, low ghosts, objects and unknown.

    A point lies at ``offset_m + points_m``; ``offset_m`` (3,).  The result has the offset added.
    ``InputError`` with ``where``: no finite (n, 3) points near the origin, no yard (a wall, a detail, a
    room), too little ground in one piece.
    """
    if offset_m.shape != (3,) or not np.isfinite(offset_m).all():
        raise InputError(Fault(where, "the offset is not three finite numbers.", "Give x, y and z of it."))
    cells = sort_into_cells(check_points(points_m, where), settings, where)
    planes, told = keep_joined_ground(find_ground(cells, settings), cells, settings, where)
    kinds = sort_kinds(cells, planes, settings)
    lines, along_lines = find_steps(cells, planes)
    things = find_obstacles(cells, planes, kinds, along_lines)
    roofed = check_roof(planes, things.is_roofed, cells.grid, where)
    holes = find_holes(planes.is_seen, things.stands, cells.grid)
    near = ndimage.distance_transform_edt(~things.stands) * cells.grid.cell_m <= NEAR_OBJECT_M
    sorted_scan = SortedScan(
        kinds=kinds,
        grid=cells.grid,
        ground_m=np.where(planes.is_seen, planes.level_m, np.nan),
        counts=_count_ground(cells, kinds),
        is_near_object=near,
        obstacles=things.obstacles,
        break_lines=lines,
        holes=holes,
        doubts=(*told, *roofed),
    )
    return move_back(sorted_scan, offset_m)


def sort_kinds(cells: Cells, planes: GroundPlanes, settings: Settings) -> NDArray[np.int8]:
    """The kind of each point (n,)."""
    kinds = np.empty(len(cells.points), dtype=np.int8)
    grid = cells.grid
    reach = measure_reach(planes.along_x, planes.along_y, settings)
    sort_points(
        cells.points, cells.cell_of, grid.west_m, grid.south_m, 1.0 / grid.cell_m, grid.rows, grid.columns,
        planes.level_m.ravel(), planes.along_x.ravel(), planes.along_y.ravel(), reach.ravel(),
        _slack(planes, settings).ravel(), kinds,
    )  # fmt: skip
    return kinds


def _slack(planes: GroundPlanes, settings: Settings) -> Heights:
    """How unsure the filled ground is, by the distance from seen ground in cells of a yard."""
    away = ndimage.distance_transform_edt(~planes.is_seen)
    scale = settings.cell_m / YARD.cell_m
    metres = np.asarray(away) * settings.cell_m
    slack = np.where(metres <= _SURE_M * scale, 0.0, 0.1 * metres)
    return np.where(metres > _FARTHEST_M * scale, np.inf, slack)


def _count_ground(cells: Cells, kinds: NDArray[np.int8]) -> NDArray[np.int64]:
    of_ground = cells.cell_of[(kinds == GROUND) & (cells.cell_of >= 0)]
    size = cells.grid.rows * cells.grid.columns
    return np.bincount(of_ground, minlength=size).reshape(cells.grid.shape)
