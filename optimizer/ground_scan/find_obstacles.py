"""Points above the ground gathered into things."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.ground_scan.cells import Cells
from optimizer.ground_scan.find_ground import GroundPlanes
from optimizer.ground_scan.outlines import draw_outline, label_patches
from optimizer.ground_scan.point_kernel import gather_objects
from optimizer.ground_scan.sorted_scan import FoundObstacle, Heights, Mask

#: What hangs higher than this above the ground is told apart: a ramp may pass below it.
HEADROOM_M: Final = 2.0
#: Lower than this above the ground nothing is an obstacle: grass, leaves, gravel.
LEAST_HEIGHT_M: Final = 0.06
#: A cell counts when this many of its points, and this share, belong to an object.
_LEAST_POINTS: Final = 3
_LEAST_SHARE: Final = 0.08
#: Things smaller than this are left to the eye.
_LEAST_CELLS: Final = 3


@dataclass(frozen=True, slots=True)
class Things:
    """Obstacles by place; the cells where one stands, and those with something higher than ``HEADROOM_M``."""

    obstacles: tuple[FoundObstacle, ...]
    stands: Mask
    is_roofed: Mask


def find_obstacles(cells: Cells, planes: GroundPlanes, kinds: NDArray[np.int8], step_cells: Mask) -> Things:
    """Gather the object points.

    ``step_cells``: along kerbs and walls, where the face of a step is not an obstacle.
    """
    size = planes.level_m.size
    standing, hanging = np.zeros(size, dtype=np.int64), np.zeros(size, dtype=np.int64)
    top, bottom, high_top, high_bottom = (np.full(size, np.nan) for _ in range(4))
    gather_objects(
        cells.points, cells.cell_of, kinds, planes.level_m.ravel(), HEADROOM_M,
        standing, hanging, top, bottom, high_top, high_bottom,
    )  # fmt: skip
    shape = cells.grid.shape
    least = np.maximum(_LEAST_POINTS, _LEAST_SHARE * cells.counts)
    upper_ground = ndimage.maximum_filter(planes.level_m, 5)
    tops = top.reshape(shape)
    is_face = step_cells & (tops <= upper_ground + LEAST_HEIGHT_M)
    stands = (standing.reshape(shape) >= least) & (tops - planes.level_m > LEAST_HEIGHT_M) & ~is_face
    is_roofed = hanging.reshape(shape) >= least
    hangs = is_roofed & ~stands
    both = np.fmax(top, high_top).reshape(shape)
    found = [
        *_gather(cells, planes, stands, standing + hanging, both, bottom.reshape(shape), "stands"),
        *_gather(cells, planes, hangs, hanging, high_top.reshape(shape), high_bottom.reshape(shape), "hangs"),
    ]
    return Things(tuple(found), stands, is_roofed)


def _gather(
    cells: Cells,
    planes: GroundPlanes,
    marked: Mask,
    counts: NDArray[np.int64],
    top: Heights,
    bottom: Heights,
    place: Literal["stands", "hangs"],
) -> list[FoundObstacle]:
    labels, _ = label_patches(marked)
    found = []
    for number, window in enumerate(ndimage.find_objects(labels), start=1):
        patch = labels[window] == number
        if patch.sum() < _LEAST_CELLS:
            continue
        mask = np.zeros(labels.shape, dtype=np.bool_)
        mask[window] = patch
        found.append(
            FoundObstacle(
                outline_m=draw_outline(mask, cells.grid),
                top_m=float(np.nanmax(top[mask])),
                bottom_m=float(np.nanmin(bottom[mask])),
                ground_m=float(np.median(planes.level_m[mask])),
                point_count=int(counts.reshape(labels.shape)[mask].sum()),
                place=place,
            )
        )
    return found
