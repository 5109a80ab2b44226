"""What a scan is sorted into: a kind for each point, and what is proposed for the yard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.ground import BreakLine

Heights = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: Kinds of points.  ``LOW``: below the ground, so mirrored or mixed, never real.
UNKNOWN: Final = 0
GROUND: Final = 1
LOW: Final = 2
OBJECT: Final = 3

#: Within this of an object the ground is less certain: leaves and feet of things pass for ground.
NEAR_OBJECT_M: Final = 0.15


@dataclass(frozen=True, slots=True)
class Grid:
    """Square cells of ``cell_m``; row 0 in the south, column 0 in the west, corner ``(west_m, south_m)``."""

    west_m: float
    south_m: float
    cell_m: float
    rows: int
    columns: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.rows, self.columns

    def middles(self, cells: Mask) -> Heights:
        """Middles (k, 2) of the marked cells, row by row."""
        i, j = np.nonzero(cells)
        return np.column_stack(
            [self.west_m + (j + 0.5) * self.cell_m, self.south_m + (i + 0.5) * self.cell_m]
        )


@dataclass(frozen=True, slots=True)
class FoundObstacle:
    """Something in the yard, for the user to confirm.

    ``outline_m`` (k, 2) counter-clockwise, not closed; ``top_m`` and ``bottom_m`` elevations of its
    highest and lowest points, ``ground_m`` of the ground there.
    ``hangs``: all of it is more than ``HEADROOM_M`` above the ground.
    """

    outline_m: Heights
    top_m: float
    bottom_m: float
    ground_m: float
    point_count: int
    place: Literal["stands", "hangs"]


@dataclass(frozen=True, slots=True)
class Hole:
    """Where no ground was seen: ``outline_m`` (k, 2) counter-clockwise, not closed."""

    outline_m: Heights
    area_m2: float
    why: Literal["nothing seen", "something stands there"]


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something that the scan cannot tell, and what would settle it."""

    what: str
    remedy: str


@dataclass(frozen=True, slots=True)
class SortedScan:
    """A sorted scan.

    ``kinds`` (n,) one of ``UNKNOWN``, ``GROUND``, ``LOW``, ``OBJECT`` for each point.
    ``ground_m`` (rows, columns) elevation of the ground at the middles of the cells, NaN where it was
    not seen.  ``error_m``: its standard error in the scan's own frame, everywhere: in the gaps that of
    what ``fill_gaps`` makes of them; drift, placing and what grass lifts all of it by come on top.
    ``counts`` how many ground points a cell holds; ``is_near_object`` marks cells where the ground is
    less certain.  All lengths in metres in the frame of the points with their offset added.
    """

    kinds: NDArray[np.int8]
    grid: Grid
    ground_m: Heights
    error_m: Heights
    counts: NDArray[np.int64]
    is_near_object: Mask
    obstacles: tuple[FoundObstacle, ...]
    break_lines: tuple[BreakLine, ...]
    holes: tuple[Hole, ...]
    doubts: tuple[Doubt, ...]
