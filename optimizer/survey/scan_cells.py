"""A placed scan as square cells seen from above: in each the low points, and the level of what is there.

The lowest point of a cell is a ghost or noise: at 12 mm of noise the minimum of a cell lies some 25 mm
below its middle.  So a low quantile finds the surface, and the median of what lies near it measures it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

#: Says of each of (n, 2) places whether it belongs to an area.
AreaTest = Callable[[NDArray[np.float64]], NDArray[np.bool_]]

#: Share of a cell's points below the surface that is looked for.
LOW_SHARE: Final = 0.10
#: Points so far below and above that quantile are the surface's own (noise of a phone: 1 to 2 cm; the
#: fall of the ground across a cell comes on top).
BELOW_M: Final = 0.03
ABOVE_M: Final = 0.06
#: A cell with fewer points tells nothing.
LEAST_POINTS: Final = 4
#: Errors within a cell share one pass of the phone, so no more than so many count as independent.
MOST_INDEPENDENT: Final = 5


@dataclass(frozen=True, slots=True)
class ScanCells:
    """Cells with enough points, ordered by column, then row.

    ``column``, ``row`` (n,) whole numbers from 0; ``middle_m`` (n, 2) and ``edge_m`` in plan, survey's
    frame.  ``low_m`` (n,) the low quantile, ``level_m`` (n,) the median near it, ``error_m`` (n,) its
    standard error from the scatter; ``count`` (n,) points near it.  ``poor``: cells left out for want
    of points.
    """

    edge_m: float
    column: NDArray[np.int64]
    row: NDArray[np.int64]
    middle_m: NDArray[np.float64]
    low_m: NDArray[np.float64]
    level_m: NDArray[np.float64]
    error_m: NDArray[np.float64]
    count: NDArray[np.int64]
    poor: int

    def choose(self, kept: NDArray[np.bool_]) -> ScanCells:
        """Those of ``kept`` (n,)."""
        return ScanCells(
            self.edge_m,
            self.column[kept],
            self.row[kept],
            self.middle_m[kept],
            self.low_m[kept],
            self.level_m[kept],
            self.error_m[kept],
            self.count[kept],
            self.poor,
        )


def extend_cells(cells: ScanCells, is_wanted: AreaTest) -> ScanCells:
    """With one more row of cells where ``is_wanted`` (at a wall), on planes through those around them.

    A scan shows no ground at the very foot of a wall, where the first landing stands.
    """
    shape = (int(cells.column.max()) + 3, int(cells.row.max()) + 3)
    number = np.full(shape, -1)
    number[cells.column + 1, cells.row + 1] = np.arange(len(cells.column))
    is_there = number >= 0
    beside = np.zeros(shape, dtype=np.bool_)
    for i, j in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)):
        beside |= np.roll(is_there, (i, j), axis=(0, 1))
    column, row = np.nonzero(beside & ~is_there)
    first = cells.middle_m[0] - (np.array([cells.column[0], cells.row[0]])) * cells.edge_m
    middle = first + np.column_stack((column - 1, row - 1)) * cells.edge_m
    wanted = is_wanted(middle)
    column, row, middle = column[wanted] - 1, row[wanted] - 1, middle[wanted]
    kept, levels, errors = [], [], []
    for index, place in enumerate(middle):
        away = cells.middle_m - place
        near = np.flatnonzero(np.abs(away).max(axis=1) <= 2.1 * cells.edge_m)
        design = np.column_stack((away[near], np.ones(len(near))))
        if len(near) >= LEAST_POINTS and np.linalg.matrix_rank(design) == 3:
            kept.append(index)
            levels.append(float(np.linalg.lstsq(design, cells.level_m[near], rcond=None)[0][2]))
            errors.append(2.0 * float(cells.error_m[near].max()))
    added = np.array(kept, dtype=np.int64)
    return ScanCells(
        cells.edge_m,
        np.concatenate((cells.column, column[added])),
        np.concatenate((cells.row, row[added])),
        np.vstack((cells.middle_m, middle[added])),
        np.concatenate((cells.low_m, levels)),
        np.concatenate((cells.level_m, levels)),
        np.concatenate((cells.error_m, errors)),
        np.concatenate((cells.count, np.zeros(len(added), dtype=np.int64))),
        cells.poor,
    )


def build_cells(points_m: NDArray[np.float64], edge_m: float) -> ScanCells:
    """Cells of ``edge_m`` over points (n, 3), survey's frame, n at least 1."""
    first = np.floor(points_m[:, :2].min(axis=0) / edge_m)
    column, row = (np.floor(points_m[:, :2] / edge_m) - first).astype(np.int64).T
    order = np.lexsort((points_m[:, 2], row, column))
    column, row, z = column[order], row[order], points_m[order, 2]
    is_new = np.flatnonzero((np.diff(column) != 0) | (np.diff(row) != 0)) + 1
    starts, ends = np.concatenate(([0], is_new)), np.concatenate((is_new, [len(z)]))
    is_rich = ends - starts >= LEAST_POINTS
    measured = [_measure(z[a:b]) for a, b in zip(starts[is_rich], ends[is_rich], strict=True)]
    table = np.array(measured, dtype=np.float64).reshape(-1, 4)
    columns, rows = column[starts[is_rich]], row[starts[is_rich]]
    return ScanCells(
        edge_m,
        columns,
        rows,
        (np.column_stack((columns, rows)) + first + 0.5) * edge_m,
        table[:, 0],
        table[:, 1],
        table[:, 2],
        table[:, 3].astype(np.int64),
        int((~is_rich).sum()),
    )


def _measure(sorted_z: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """Low quantile, median near it, its standard error, and how many points are near."""
    low = float(sorted_z[int(LOW_SHARE * (len(sorted_z) - 1) + 0.5)])
    near = sorted_z[
        np.searchsorted(sorted_z, low - BELOW_M) : np.searchsorted(sorted_z, low + ABOVE_M, side="right")
    ]
    level = float(np.median(near))
    scatter = 1.4826 * float(np.median(np.abs(near - level)))
    return low, level, scatter / np.sqrt(min(len(near), MOST_INDEPENDENT)), float(len(near))
