"""The points of a scan in the cells of a grid, after a look at whether they can be a yard at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.ground_scan.cell_kernel import find_cells, find_layers, sort_heights
from optimizer.ground_scan.settings import Settings
from optimizer.ground_scan.sorted_scan import Grid, Heights

#: Fewer points than this are no scan.
LEAST_POINTS: Final = 2000
#: A yard is at least this many cells long and wide.
LEAST_CELLS: Final = 10
#: More cells than this are no yard; they would take gigabytes.
MOST_CELLS: Final = 40_000_000
#: Beyond this single precision no longer holds a tenth of a millimetre.
FARTHEST_M: Final = 2048.0


@dataclass(frozen=True, slots=True)
class Cells:
    """Points by cell.

    ``cell_of`` (n,) row-major number of each point's cell, -1 outside; ``heights`` all elevations by
    cell, rising, those of cell ``c`` at ``starts[c]`` to ``starts[c + 1]``.  By rows and columns:
    ``counts``; ``low_m`` the level of the lowest layer and ``low_counts`` its points; ``main_m`` and
    ``main_counts`` of the layer that holds most points.
    """

    grid: Grid
    points: NDArray[np.float32]
    cell_of: NDArray[np.int32]
    starts: NDArray[np.int64]
    heights: NDArray[np.float32]
    counts: NDArray[np.int64]
    low_m: Heights
    low_counts: NDArray[np.int64]
    main_m: Heights
    main_counts: NDArray[np.int64]


def check_points(points_m: NDArray[np.floating], where: str) -> NDArray[np.float32]:
    """Points as single precision; ``InputError`` with all that is wrong with the array."""
    if points_m.ndim != 2 or points_m.shape[1] != 3:
        what = f"the points have the shape {points_m.shape}, not (n, 3)."
        raise InputError(Fault(where, what, "Give x, y and z for each point."))
    if len(points_m) < LEAST_POINTS:
        what = f"the scan has {len(points_m)} points."
        raise InputError(Fault(where, what, f"Give at least {LEAST_POINTS}."))
    least, most = points_m.min(axis=0), points_m.max(axis=0)
    if not (np.isfinite(least).all() and np.isfinite(most).all()):
        row = int(np.flatnonzero(~np.isfinite(points_m).all(axis=1))[0])
        what = f"point {row} has a coordinate that is not a finite number."
        raise InputError(Fault(where, what, "Leave such points out."))
    farthest = float(max(np.abs(least).max(), np.abs(most).max()))
    if farthest > FARTHEST_M:
        what = f"a coordinate is {farthest:.0f} m from the origin."
        raise InputError(Fault(where, what, "Take a whole number of metres off and give it as the offset."))
    return np.ascontiguousarray(points_m, dtype=np.float32)


def sort_into_cells(points: NDArray[np.float32], settings: Settings, where: str) -> Cells:
    """Sort checked points (n, 3) into cells; those far from all others fall outside the grid."""
    grid = _lay_grid(points, settings.cell_m, where)
    count = grid.rows * grid.columns
    cell_of = np.empty(len(points), dtype=np.int32)
    counts = np.zeros(count, dtype=np.int64)
    per_m = 1.0 / grid.cell_m
    find_cells(points, grid.west_m, grid.south_m, per_m, grid.rows, grid.columns, cell_of, counts)
    starts = np.zeros(count + 1, dtype=np.int64)
    np.cumsum(counts, out=starts[1:])
    heights = np.empty(starts[-1], dtype=np.float32)
    sort_heights(points, cell_of, starts, np.zeros(count, dtype=np.int64), heights)
    low, main = np.empty(count), np.empty(count)
    low_counts, main_counts = np.empty(count, dtype=np.int64), np.empty(count, dtype=np.int64)
    find_layers(heights, starts, settings.layer_m, settings.least_share, low, low_counts, main, main_counts)
    shape = grid.shape
    return Cells(
        grid=grid,
        points=points,
        cell_of=cell_of,
        starts=starts,
        heights=heights,
        counts=counts.reshape(shape),
        low_m=low.reshape(shape),
        low_counts=low_counts.reshape(shape),
        main_m=main.reshape(shape),
        main_counts=main_counts.reshape(shape),
    )


def _lay_grid(points: NDArray[np.float32], cell_m: float, where: str) -> Grid:
    """A grid over the points, less what lies far beyond nearly all of them."""
    some = points[:: max(1, len(points) // 100_000), :2]
    inner = np.quantile(some, [0.001, 0.999], axis=0)
    slack = 2.0 * cell_m * LEAST_CELLS + 0.1 * (inner[1] - inner[0])
    low = np.maximum(points[:, :2].min(axis=0), inner[0] - slack) - 1e-3
    high = np.minimum(points[:, :2].max(axis=0), inner[1] + slack)
    columns, rows = (int(n) + 1 for n in np.floor((high - low) / cell_m))
    size = f"{high[0] - low[0]:.2f} x {high[1] - low[1]:.2f} m"
    if min(rows, columns) < LEAST_CELLS:
        what = f"the points cover {size} on plan: a wall or a detail, not a yard."
        remedy = f"Give a scan at least {LEAST_CELLS * cell_m:.1f} m long and wide that shows the ground."
        raise InputError(Fault(where, what, remedy))
    if rows * columns > MOST_CELLS:
        what = f"the points cover {size} on plan."
        raise InputError(Fault(where, what, "Cut out the yard first; is the unit right?"))
    return Grid(float(low[0]), float(low[1]), cell_m, rows, columns)
