"""Pits that are mirrored: a pane or a puddle shows a patch of the yard below the ground."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.ground_scan.cell_kernel import measure_near
from optimizer.ground_scan.cells import Cells
from optimizer.ground_scan.settings import Settings
from optimizer.ground_scan.sorted_scan import Heights, Mask
from optimizer.ground_scan.surfaces import close_surface

# Chosen on made-up yards.  A real pit has no cover: a mirrored one shows points of the ground over it, half
# as many as in it or more, and it is deeper than the roughness of a lawn and the fall within a cell.
_COVER: Final = 0.5
_DEEP: Final = 2.0  # in pits' least depths
# The face of a wall that reaches down into a real pit shows as much half way as at its top.
_FACE: Final = 0.25


def drop_mirrored(cells: Cells, level: Heights, trend: Heights, settings: Settings) -> Heights:
    """Levels above the trend with NaN in mirrored pits: the ground beside them tells what is there."""
    closed = close_surface(level, round(settings.pit_wide_m / settings.cell_m / 2))
    is_pit = level < closed - settings.pit_m
    pits, count = ndimage.label(is_pit, structure=np.ones((3, 3)))
    if count == 0:
        return level
    deep = np.where(is_pit, closed - level, 0.0)
    above = _count_near(cells, closed + trend, settings.pit_m, is_pit)
    half_way = _count_near(cells, closed - 0.5 * deep + trend, deep / 6.0, is_pit)
    numbers = np.arange(1, count + 1)
    cover, face, inside, depth, size = (
        np.asarray(ndimage.sum_labels(values, pits, numbers))
        for values in (above, half_way, cells.low_counts, deep, is_pit)
    )
    is_mirrored = (cover >= _COVER * inside) & (face <= _FACE * cover)
    is_mirrored &= depth > _DEEP * settings.pit_m * size
    # A trench along a wall is longer than a patch.
    is_mirrored &= size <= (settings.pit_wide_m / settings.cell_m) ** 2
    return np.where(np.concatenate([[False], is_mirrored])[pits], np.nan, level)


def _count_near(cells: Cells, about_m: Heights, reach_m: Heights | float, wanted: Mask) -> NDArray[np.int64]:
    """By rows and columns: points within reach of a level, where wanted."""
    level, counts = np.empty(about_m.size), np.empty(about_m.size, dtype=np.int64)
    reach = np.broadcast_to(reach_m, about_m.shape).ravel()
    measure_near(cells.heights, cells.starts, np.where(wanted, about_m, np.nan).ravel(), reach, level, counts)
    return counts.reshape(about_m.shape)
