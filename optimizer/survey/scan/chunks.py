"""A scan as it comes from a file: piece by piece, nothing thinned and nothing left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.scan.file_frame import ToldFrame

#: Points that a reader holds at once: 24 MB of coordinates.
CHUNK_POINTS: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class ScanChunk:
    """Consecutive points of a file.

    ``xyz`` (n, 3) float64 in the file's own units and axes; points that are not finite are
    still among them.  ``first`` is the number of the first one, from 1.
    """

    xyz: NDArray[np.float64]
    first: int


@dataclass(frozen=True, slots=True)
class ScanSource:
    """An open scan file: what it tells of its frame, and its points, to be walked through once.

    A fault of the header is raised when the source is made, a fault among the points while
    ``chunks`` is walked through.
    """

    path: Path
    told: ToldFrame
    chunks: Iterator[ScanChunk]


def chunks_of(xyz: NDArray[np.float64], first: int) -> Iterator[ScanChunk]:
    """Cut points that are in memory already; ``xyz`` (n, 3), ``first`` the number of the first one."""
    for start in range(0, len(xyz), CHUNK_POINTS):
        yield ScanChunk(xyz[start : start + CHUNK_POINTS], first + start)
