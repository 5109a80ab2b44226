"""Sort a scan of a yard into ground and what stands on it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.errors import Fault, InputError
from optimizer.ground_scan.cells import check_points, sort_into_cells
from optimizer.ground_scan.doubts import check_roof, keep_joined_ground
from optimizer.ground_scan.find_ground import find_ground
from optimizer.ground_scan.find_holes import find_holes
from optimizer.ground_scan.find_obstacles import find_obstacles
from optimizer.ground_scan.find_steps import find_steps
from optimizer.ground_scan.level_errors import state_errors
from optimizer.ground_scan.move_back import move_back
from optimizer.ground_scan.settings import YARD, Settings
from optimizer.ground_scan.sort_kinds import sort_kinds
from optimizer.ground_scan.sorted_scan import NEAR_OBJECT_M, SortedScan


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
    sorted_points = sort_kinds(cells, planes, settings)
    lines, along_lines = find_steps(cells, planes)
    things = find_obstacles(cells, planes, sorted_points.kinds, along_lines)
    roofed = check_roof(planes, things.is_roofed, cells.grid, where)
    holes = find_holes(planes.is_seen, things.stands, cells.grid)
    near = ndimage.distance_transform_edt(~things.stands) * cells.grid.cell_m <= NEAR_OBJECT_M
    sorted_scan = SortedScan(
        kinds=sorted_points.kinds,
        grid=cells.grid,
        ground_m=np.where(planes.is_seen, planes.level_m, np.nan),
        error_m=state_errors(planes, sorted_points, things.stands, along_lines, cells.grid),
        counts=sorted_points.counts,
        is_near_object=near,
        obstacles=things.obstacles,
        break_lines=lines,
        holes=holes,
        doubts=(*told, *roofed),
    )
    return move_back(sorted_scan, offset_m)
