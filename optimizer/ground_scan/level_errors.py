"""How well the level of each cell is known, in the scan's own frame.

Independent sources, their variances added: the scatter of a cell's ground points, over the root of at
most five of them, for errors inside a cell share the same pass of the scanner; what a plane leaves out
of ten centimetres of lawn or gravel; a step that runs through the cell; the foot of something that
stands near and passes for ground; and, where no ground was seen, the filling.

The figures were measured on made-up yards with known ground, for no openly licensed yard scan with
labelled ground was at hand, and hold for cells of 10 cm.  What all cells share is not in them: drift,
placing, and grass, which lifts the whole of a lawn by about its bias.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy import ndimage

from optimizer.ground_scan.find_ground import GroundPlanes
from optimizer.ground_scan.sort_kinds import SortedPoints
from optimizer.ground_scan.sorted_scan import NEAR_OBJECT_M, Grid, Heights, Mask

#: Points of a cell that count as independent.
_MOST_INDEPENDENT: Final = 5.0
#: A cell of few points borrows so many that scatter as is usual in the yard.
_BORROWED: Final = 5.0
#: Relief and cover within a cell, and what differs between paving and lawn.
_WITHIN_M: Final = 0.004
#: In a cell in which something stands; gone at ``NEAR_OBJECT_M``.
_FOOT_M: Final = 0.012
#: Filled ground: at its rim, and more a metre from seen ground.
_FILLED_M: Final = 0.012
_FILLED_GROWTH: Final = 0.07


def state_errors(
    planes: GroundPlanes, points: SortedPoints, stands: Mask, step_cells: Mask, grid: Grid
) -> Heights:
    """Standard error (rows, columns) of the level at each cell's middle, filled ground included, metres.

    ``stands``: cells in which something stands; ``step_cells``: those along kerbs and walls.
    """
    counts = points.counts
    usual = float(points.squares_m2.sum()) / max(1, int(counts.sum()))
    scatter = (points.squares_m2 + _BORROWED * usual) / (counts + _BORROWED)
    alone = scatter / np.clip(counts, 1.0, _MOST_INDEPENDENT)
    fall = ndimage.maximum_filter(planes.level_m, 3) - ndimage.minimum_filter(planes.level_m, 3)
    step = np.where(step_cells, 0.5 * fall, 0.0)
    near = np.asarray(ndimage.distance_transform_edt(~stands)) * grid.cell_m
    foot = _FOOT_M * np.clip(1.0 - near / NEAR_OBJECT_M, 0.0, 1.0)
    away = np.asarray(ndimage.distance_transform_edt(~planes.is_seen)) * grid.cell_m
    filled = np.where(planes.is_seen, 0.0, _FILLED_M + _FILLED_GROWTH * away)
    return np.asarray(np.sqrt(alone + _WITHIN_M**2 + step**2 + foot**2 + filled**2))
