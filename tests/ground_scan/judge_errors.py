"""How often the true ground lies within what a sorted scan states of its own error."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from optimizer.ground_scan.sorted_scan import SortedScan
from optimizer.ground_scan.surfaces import fill_gaps
from tests.ground_scan.yard_parts import MadeYard

#: Of a normal error within one and within 1.96 standard errors.
LIKELY, SURE = 0.9945, 1.96
_FARTHEST_M = 1.0


@dataclass(frozen=True, slots=True)
class StatedCells:
    """Cells of one scan where a ramp may stand.

    ``off_m`` (n,) ground less true ground, less what all cells share; ``error_m`` (n,) as stated.
    ``unseen_m`` (n,) distance to the nearest cell with ground of its own, 0 for such a cell;
    ``is_rim`` (n,) within 15 cm of where something stands.
    """

    off_m: NDArray[np.float64]
    error_m: NDArray[np.float64]
    unseen_m: NDArray[np.float64]
    is_rim: NDArray[np.bool_]

    def share_within(self, errors: float, which: NDArray[np.bool_] | None = None) -> float:
        """Share of the cells (of those marked) off by no more than so many standard errors."""
        inside = np.abs(self.off_m) <= errors * self.error_m
        return float(inside.mean() if which is None else inside[which].mean())


def gather_stated(yard: MadeYard, found: SortedScan) -> StatedCells:
    """Free of objects by 5 cm, 8 cm from steps, 10 cm inside the lot, seen or within a metre of it.

    The median of the errors over the seen cells is taken off: control points take a common shift away,
    also what grass lifts the lawn by.
    """
    grid = found.grid
    middles = grid.middles(np.ones(grid.shape, dtype=np.bool_))
    seen = np.isfinite(found.ground_m)
    unseen = np.asarray(distance_transform_edt(~seen)) * grid.cell_m
    off = fill_gaps(found.ground_m) - yard.elevation(middles).reshape(grid.shape)
    wanted = yard.is_free(middles, 0.05) & (yard.step_distance(middles) > 0.08)
    wanted &= ((middles > 0.1) & (middles < np.array(yard.size_m) - 0.1)).all(axis=1)
    zone = wanted.reshape(grid.shape) & (unseen <= _FARTHEST_M)
    shared = float(np.median(off[zone & seen]))
    return StatedCells(off[zone] - shared, found.error_m[zone], unseen[zone], found.is_near_object[zone])
