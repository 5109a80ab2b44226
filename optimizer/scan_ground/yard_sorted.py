"""A placed scan near the ramp sorted into ground and things, and the fine surface of its ground."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.errors import Fault, InputError
from optimizer.ground_scan.sort_scan import sort_scan
from optimizer.ground_scan.sorted_scan import GROUND, LOW, OBJECT, UNKNOWN, Grid, SortedScan
from optimizer.ground_scan.surfaces import fill_gaps
from optimizer.survey.placing.place_scan import PlacedScan

#: Says of each of (n, 2) places whether it belongs to an area.
AreaTest = Callable[[NDArray[np.float64]], NDArray[np.bool_]]

#: What the sorting cannot do, as people are told.
SORT_LIMITS: Final = (
    "Grass, leaves and gravel under 6 cm count as ground; under dense shrubs none is seen.",
    "What is wider than 2.6 m and flat (a deck, a parked van, a low roof) may be taken for ground.",
)
#: What hangs higher above the ground than this throws no doubt on the ground below it.
_STANDS_M: Final = 2.0
#: Thickness of the lowest layer in a cell: noise, and the slope of a mound's side across it.
_LAYER_M: Final = 0.15
#: So many points of a thing make a cell of the fine grid one of no ground.
_LEAST_POINTS: Final = 3


@dataclass(frozen=True, slots=True)
class Surface:
    """Ground at the middles of fine cells, gaps filled: a reference to measure heights from."""

    grid: Grid
    filled_m: NDArray[np.float64]

    def at(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Level (n,) at places (n, 2), between the middles by straight lines, beyond the rim as at it."""
        grid = self.grid
        column = (xy_m[:, 0] - grid.west_m) / grid.cell_m - 0.5
        row = (xy_m[:, 1] - grid.south_m) / grid.cell_m - 0.5
        level: NDArray[np.float64] = ndimage.map_coordinates(
            self.filled_m, np.stack((row, column)), order=1, mode="nearest"
        )
        return level


@dataclass(frozen=True, slots=True)
class SortedYard:
    """``points_m`` (n, 3) of the scan near the ramp, survey's frame, and what each of them is.

    ``kinds`` (n,) as in ``SortedScan``, whose coordinates are the survey's too.
    """

    points_m: NDArray[np.float64]
    kinds: NDArray[np.int8]
    found: SortedScan
    surface: Surface

    def count(self, kind: int) -> int:
        """Points of a kind."""
        return int((self.kinds == kind).sum())


def sort_yard(placed: PlacedScan, is_near: AreaTest) -> SortedYard:
    """Sort the points for which ``is_near`` holds.

    Raises ``InputError``: no point lies there, or what lies there is no yard (a room, a wall, water).
    """
    points_m = placed.to_points()
    points_m = points_m[is_near(points_m[:, :2])]
    if len(points_m) == 0:
        what = "no point of the scan lies on the lot near the first start."
        remedy = "Check the control points' x and y, the lot, and reach of [scan]."
        raise InputError(Fault(placed.path.name, what, remedy))
    found = sort_scan(points_m - placed.offset_m, placed.offset_m, where=placed.path.name)
    surface = Surface(found.grid, fill_gaps(found.ground_m))
    return SortedYard(points_m, found.kinds, found, surface)


def take_back(yard: SortedYard, is_ground: NDArray[np.bool_]) -> SortedYard:
    """The same with the points (n,) of what a person calls ground, whatever they looked like.

    Of what lies above each other in a cell only the lowest layer is meant: not the branch over a mound.
    """
    called = np.flatnonzero(is_ground & (yard.kinds != LOW))
    grid = yard.found.grid
    x, y, z = yard.points_m[called].T
    column = np.floor((x - grid.west_m) / grid.cell_m).astype(np.int64)
    row = np.floor((y - grid.south_m) / grid.cell_m).astype(np.int64)
    _, cell = np.unique(np.column_stack((row, column)), axis=0, return_inverse=True)
    cell = cell.reshape(-1)
    lowest = np.full(int(cell.max(initial=-1)) + 1, np.inf)
    np.minimum.at(lowest, cell, z)
    kinds = yard.kinds.copy()
    kinds[called[z <= lowest[cell] + _LAYER_M]] = GROUND
    return SortedYard(yard.points_m, kinds, yard.found, yard.surface)


def find_rejected(yard: SortedYard, is_wanted: AreaTest) -> NDArray[np.float64]:
    """Middles (k, 2) of fine cells in which something stands, where ``is_wanted`` holds."""
    grid = yard.found.grid
    is_thing = (yard.kinds == OBJECT) | (yard.kinds == UNKNOWN)
    things = yard.points_m[is_thing]
    things = things[things[:, 2] - yard.surface.at(things[:, :2]) < _STANDS_M]
    column = np.floor((things[:, 0] - grid.west_m) / grid.cell_m).astype(np.int64)
    row = np.floor((things[:, 1] - grid.south_m) / grid.cell_m).astype(np.int64)
    count = np.zeros(grid.shape, dtype=np.int64)
    np.add.at(count, (np.clip(row, 0, grid.rows - 1), np.clip(column, 0, grid.columns - 1)), 1)
    middles = grid.middles(count >= _LEAST_POINTS)
    return middles[is_wanted(middles)] if len(middles) else middles
