"""Ground points of a scan as square cells seen from above: the level of each, and how well it is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.scan_ground.yard_sorted import AreaTest, Surface

#: A cell with fewer points tells nothing.
LEAST_POINTS: Final = 4
#: Errors within a cell share one pass of the phone, so no more than so many count as independent.
MOST_INDEPENDENT: Final = 5


@dataclass(frozen=True, slots=True)
class ScanCells:
    """Cells with enough points, ordered by column, then row.

    ``column``, ``row`` (n,) whole numbers from 0; ``middle_m`` (n, 2) and ``edge_m`` in plan, survey's
    frame.  ``level_m`` (n,) the level at the middle, ``error_m`` (n,) its standard error from the
    scatter; ``count`` (n,) points in it.  ``poor``: cells left out for want of points.
    """

    edge_m: float
    column: NDArray[np.int64]
    row: NDArray[np.int64]
    middle_m: NDArray[np.float64]
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
        np.concatenate((cells.level_m, levels)),
        np.concatenate((cells.error_m, errors)),
        np.concatenate((cells.count, np.zeros(len(added), dtype=np.int64))),
        cells.poor,
    )


def build_cells(
    points_m: NDArray[np.float64], surface: Surface, edge_m: float, poor_below: int = LEAST_POINTS
) -> ScanCells:
    """Cells of ``edge_m`` over ground points (n, 3), survey's frame, n at least 1.

    Levels are measured from ``surface``, so the fall of the ground across a cell is no scatter, and
    points that lie to one side of the middle draw it nowhere.
    """
    first = np.floor(points_m[:, :2].min(axis=0) / edge_m)
    column, row = (np.floor(points_m[:, :2] / edge_m) - first).astype(np.int64).T
    above = points_m[:, 2] - surface.at(points_m[:, :2])
    order = np.lexsort((above, row, column))
    column, row, above = column[order], row[order], above[order]
    is_new = np.flatnonzero((np.diff(column) != 0) | (np.diff(row) != 0)) + 1
    starts, ends = np.concatenate(([0], is_new)), np.concatenate((is_new, [len(above)]))
    is_rich = ends - starts >= poor_below
    measured = [_measure(above[a:b]) for a, b in zip(starts[is_rich], ends[is_rich], strict=True)]
    table = np.array(measured, dtype=np.float64).reshape(-1, 2)
    columns, rows = column[starts[is_rich]], row[starts[is_rich]]
    middle_m = (np.column_stack((columns, rows)) + first + 0.5) * edge_m
    return ScanCells(
        edge_m,
        columns,
        rows,
        middle_m,
        surface.at(middle_m) + table[:, 0] if len(table) else np.zeros(0),
        table[:, 1],
        (ends - starts)[is_rich].astype(np.int64),
        int((~is_rich).sum()),
    )


def _measure(sorted_above: NDArray[np.float64]) -> tuple[float, float]:
    """Median, and its standard error by the scatter around it."""
    level = float(np.median(sorted_above))
    scatter = 1.4826 * float(np.median(np.abs(sorted_above - level)))
    return level, scatter / float(np.sqrt(min(len(sorted_above), MOST_INDEPENDENT)))
