"""A scan in memory: as its file has it, and in metres with z up once unit and axis are confirmed."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.scan.file_frame import ScanUnit, ToldFrame, UpAxis


@dataclass(frozen=True, slots=True)
class RawScan:
    """Points in the units and axes of their file: nothing may be measured on it yet.

    A point is ``offset + local``: ``local`` (n, 3) float32, ``offset`` (3,) float64, whole units,
    near the middle of the points, so that float32 loses nothing that was measured.
    ``told`` is what the file states of its frame, ``cell`` the edge of the thinning grid
    (``None``: not thinned).  ``count_read`` points stood in the file; ``count_unusable`` of them
    were no finite numbers and were left out; the rest of the difference is thinning.
    ``box`` (2, 3) float64: least and greatest coordinates before thinning.
    ``step`` (file's units): when every coordinate is one that single precision can hold, the
    widest gap between two such numbers there; else 0.  On a national grid that is half a metre.
    """

    path: Path
    told: ToldFrame
    local: NDArray[np.float32]
    offset: NDArray[np.float64]
    cell: float | None
    count_read: int
    count_unusable: int
    box: NDArray[np.float64]
    step: float

    @property
    def count_kept(self) -> int:
        """Points in memory."""
        return len(self.local)


@dataclass(frozen=True, slots=True)
class Scan:
    """Points in metres, z up; x and y as surveyed.

    A point is ``offset_m + local_m``: ``local_m`` (n, 3) float32, ``offset_m`` (3,) float64, whole
    metres.  No coordinate of ``local_m`` exceeds ``FARTHEST_M``, so each is within 0.13 mm of what
    the file had, and within 0.01 mm in a yard of 200 m.  ``unit`` and ``up`` are what was
    confirmed, ``cell_m`` the edge of the thinning grid.  ``count_too_far`` points beyond
    ``FARTHEST_M`` were left out as well.
    ``box_m`` (2, 3) float64: least and greatest coordinates of the points that are kept.
    """

    path: Path
    unit: ScanUnit
    up: UpAxis
    local_m: NDArray[np.float32]
    offset_m: NDArray[np.float64]
    cell_m: float | None
    count_read: int
    count_unusable: int
    count_too_far: int
    box_m: NDArray[np.float64]

    @property
    def count_kept(self) -> int:
        """Points in memory."""
        return len(self.local_m)


#: Half a step of float32 is 0.06 mm here, and coordinates pass through it twice.  No yard is that wide.
FARTHEST_M = 2048.0


def split_offset(xyz: NDArray[np.float64]) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """``(local, offset)`` with ``xyz = offset + local``; (n, 3) float64 in, n at least 1.

    The offset is the median of some of the points, as whole numbers: one stray point does not
    move it.
    """
    some = xyz[:: max(1, len(xyz) // 100_000)]
    offset = np.round(np.median(some, axis=0)) + 0.0
    local = np.empty(xyz.shape, dtype=np.float32)
    for axis in range(3):  # one axis at a time: a third of the memory
        local[:, axis] = xyz[:, axis] - offset[axis]
    return local, offset
