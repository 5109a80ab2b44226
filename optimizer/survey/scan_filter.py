"""Ground cells of a scan told from what stands on them: a simple filter, honest about its limits.

The lower envelope of the cells is opened by ever wider windows (grey opening, after a robust plane is
taken off); a cell that stands above it is an object.  Before that, cells far below their neighbours are
ghosts.  What it cannot do is in ``FILTER_LIMITS``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.survey.scan_cells import ScanCells

#: Widths of the windows; the widest is a car's, a hedge's or a table's (common practice, no source).
WINDOWS_M: Final = (0.6, 1.2, 2.4)
#: How far ground may stand above the opened surface: bumps, and so much a metre of window.
RISE_M: Final = 0.04
RISE_PER_WINDOW: Final = 0.02
#: Above the opened surface, in a cell beside an object.
BESIDE_M: Final = 0.02
#: How far around the trend of the ground is taken: a standard deviation.
TREND_M: Final = 1.0
#: A cell so far below the middle of its neighbours is a ghost, not a hole that feet could stand in.
GHOST_M: Final = 0.06

FILTER_LIMITS: Final = (
    "Long grass, leaves and low plants under 4 cm count as ground; under dense shrubs there is none.",
    "What is wider than 2.4 m and flat (a deck, a parked van, a low roof) may be taken for ground.",
    "Kerbs and walls are smeared over a cell: level their top and foot and write them as a break line.",
)


@dataclass(frozen=True, slots=True)
class FilteredCells:
    """``ground``: what is left; ``ghosts``, ``objects``: how many cells were thrown away, and why."""

    ground: ScanCells
    ghosts: int
    objects: int


def filter_cells(cells: ScanCells) -> FilteredCells:
    """Throw ghosts and objects away.

    Opening cuts into ground that slopes up to the rim of the scan or to the top of a step, so it is
    done three times: as it is, above a plane, and above the trend of what these left.  A thing
    stands above all of them.
    """
    if len(cells.low_m) == 0:
        return FilteredCells(cells, 0, 0)
    low = _take_plane_off(cells)
    raster = np.full((int(cells.column.max()) + 1, int(cells.row.max()) + 1), np.nan)
    raster[cells.column, cells.row] = low
    is_ghost = low < _middle_of_neighbours(raster)[cells.column, cells.row] - GHOST_M
    is_object = _find_objects(cells, cells.low_m, is_ghost) & _find_objects(cells, low, is_ghost)
    trend = _find_trend(cells, low, ~(is_ghost | is_object))
    is_object &= _find_objects(cells, low - trend, is_ghost)
    kept = ~(is_ghost | is_object)
    return FilteredCells(cells.choose(kept), int(is_ghost.sum()), int((is_object & ~is_ghost).sum()))


def _find_objects(
    cells: ScanCells, low: NDArray[np.float64], is_ghost: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Which cells (n,) stand above the opened surface of ``low`` (n,)."""
    raster = np.full((int(cells.column.max()) + 1, int(cells.row.max()) + 1), np.nan)
    raster[cells.column, cells.row] = np.where(is_ghost, np.nan, low)
    is_object = np.zeros(len(low), dtype=np.bool_)
    surface, height = raster, np.zeros(len(low))
    for window_m in WINDOWS_M:
        size = max(3, 2 * round(0.5 * window_m / cells.edge_m) + 1)
        opened = _open(surface, size)
        height = np.where(is_ghost, 0.0, low - opened[cells.column, cells.row])
        is_object |= height > RISE_M + RISE_PER_WINDOW * window_m
        surface = np.where(np.isnan(surface), np.nan, opened)
    objects = np.zeros(raster.shape)
    objects[cells.column, cells.row] = is_object
    beside = ndimage.maximum_filter(objects, 3)[cells.column, cells.row] > 0.0
    # The rim of a thing is half thing: there even a little above the opened surface is too much.
    is_object |= beside & (height > BESIDE_M)
    return is_object


def _find_trend(cells: ScanCells, low: NDArray[np.float64], kept: NDArray[np.bool_]) -> NDArray[np.float64]:
    """A plane fitted around every cell (n,) to the kept ones, those nearby counting most."""
    if not kept.any():
        return np.zeros(len(low))
    shape = (int(cells.column.max()) + 1, int(cells.row.max()) + 1)
    x, y = np.indices(shape).astype(np.float64)
    weight, level = np.zeros(shape), np.zeros(shape)
    weight[cells.column[kept], cells.row[kept]] = 1.0
    level[cells.column[kept], cells.row[kept]] = low[kept]
    terms = [np.ones(shape), x, y]

    def around(values: NDArray[np.float64]) -> NDArray[np.float64]:
        smooth: NDArray[np.float64] = ndimage.gaussian_filter(
            weight * values, TREND_M / cells.edge_m, mode="constant"
        )
        return smooth[cells.column, cells.row]

    normal = np.stack([[around(a * b) for b in terms] for a in terms]).transpose(2, 0, 1)
    right = np.stack([around(a * level) for a in terms]).T
    # Where too few cells lie near, a plane is not determined: the least of all that fit is taken.
    planes = (np.linalg.pinv(normal, rcond=1e-9, hermitian=True) @ right[:, :, None])[:, :, 0]
    trend: NDArray[np.float64] = planes[:, 0] + planes[:, 1] * cells.column + planes[:, 2] * cells.row
    return trend


def _middle_of_neighbours(raster: NDArray[np.float64]) -> NDArray[np.float64]:
    """Median of the eight cells around each that have a level; its own where none has."""
    padded = np.pad(raster, 1, constant_values=np.nan)
    wide, tall = raster.shape
    shifts = [(i, j) for i in range(3) for j in range(3) if (i, j) != (1, 1)]
    stack = np.sort(np.stack([padded[i : i + wide, j : j + tall] for i, j in shifts]), axis=0)
    count = np.isfinite(stack).sum(axis=0)  # what is NaN is sorted last
    low = np.take_along_axis(stack, np.maximum(count - 1, 0)[None] // 2, axis=0)[0]
    high = np.take_along_axis(stack, count[None] // 2 % len(shifts), axis=0)[0]
    return np.where(count == 0, raster, 0.5 * (low + np.where(np.isfinite(high), high, low)))


def _open(surface: NDArray[np.float64], size: int) -> NDArray[np.float64]:
    """Grey opening in which cells without a level take no part."""
    eroded = ndimage.minimum_filter(
        np.where(np.isnan(surface), np.inf, surface), size, mode="constant", cval=np.inf
    )
    eroded[np.isinf(eroded)] = -np.inf
    opened: NDArray[np.float64] = ndimage.maximum_filter(eroded, size, mode="constant", cval=-np.inf)
    return opened


def _take_plane_off(cells: ScanCells) -> NDArray[np.float64]:
    """Low levels (n,) above a plane that most of them lie near: fitted anew to the lower half, ten times."""
    away = cells.middle_m - cells.middle_m.mean(axis=0)
    design = np.column_stack((away, np.ones(len(away))))
    above = cells.low_m - np.median(cells.low_m)
    for _ in range(10):
        # Things stand on the ground, so what lies high has less to say than what lies low.
        limit = max(0.05, 2.0 * float(np.median(np.abs(above))))
        weights = 1.0 / (1.0 + (above / np.where(above > 0.0, limit, 4.0 * limit)) ** 2)
        root = np.sqrt(weights)
        plane = np.linalg.lstsq(design * root[:, None], cells.low_m * root, rcond=None)[0]
        above = cells.low_m - design @ plane
    return above
