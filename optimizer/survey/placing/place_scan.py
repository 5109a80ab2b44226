"""The points of a scan in the survey's frame."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.placing import Placing
from optimizer.survey.scan.scan import Scan

#: Points turned at a time: their three columns stay in the processor's cache.
_CHUNK: Final = 65_536


@dataclass(frozen=True, slots=True)
class PlacedScan:
    """Points in the survey's frame, metres, z up.

    A point is ``offset_m + local_m``, as in ``Scan``: (n, 3) float32 and (3,) float64, whole metres.
    """

    path: Path
    local_m: NDArray[np.float32]
    offset_m: NDArray[np.float64]
    placing: Placing

    def to_points(self) -> NDArray[np.float64]:
        """All points (n, 3) in double precision: 24 bytes each."""
        points: NDArray[np.float64] = self.local_m + self.offset_m
        return points


def place_scan(scan: Scan, placing: Placing) -> PlacedScan:
    """Every point of the scan where the placing puts it, in the same order.

    Coordinates are worked out in double precision and kept as floats near ``offset_m``, so nothing
    beyond ``Scan``'s own rounding is lost.
    """
    middle = placing.to_site(scan.offset_m[None, :])[0]
    offset = np.round(middle)
    turn, shift = placing.scale * placing.rotation, middle - offset
    local = np.empty(scan.local_m.shape, dtype=np.float32)
    for first in range(0, len(local), _CHUNK):
        rows = slice(first, first + _CHUNK)
        columns = [scan.local_m[rows, axis].astype(np.float64) for axis in range(3)]
        for axis in range(3):
            # Column by column: a product of matrices would wake threads for three numbers a point.
            placed = np.full(len(columns[0]), shift[axis])
            for column, factor in zip(columns, turn[axis], strict=True):
                if factor != 0.0:  # two in four when only the yaw is fitted
                    placed += factor * column
            local[rows, axis] = placed
    local.setflags(write=False)
    return PlacedScan(scan.path, local, offset, placing)
