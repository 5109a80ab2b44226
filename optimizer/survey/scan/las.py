"""LAS and LAZ: points by laspy, sizes checked before it is let near them."""

from __future__ import annotations

import logging
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import laspy
import numpy as np

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.chunks import CHUNK_POINTS, ScanChunk, ScanSource
from optimizer.survey.scan.las_crs import tell_las_frame
from optimizer.survey.scan.las_sizes import check_las_sizes

#: What a damaged file makes the library raise, as found by damaging files at random places.
_BROKEN: Final = (
    laspy.errors.LaspyException,
    RuntimeError,  # of the decompressor
    ValueError,
    KeyError,
    IndexError,
    OverflowError,
    OSError,
    EOFError,
    MemoryError,
    struct.error,
)
#: Whatever else is installed for LAZ fails in other ways on a damaged file.
_BACKEND: Final = laspy.LazBackend.LazrsParallel
# The library also logs what it raises, and without a handler that is printed.
logging.getLogger("laspy").addHandler(logging.NullHandler())
_REMEDY: Final = "Copy or export it again; a download may have broken off."
_COORDINATES_ONLY: Final = laspy.DecompressionSelection.XY_RETURNS_CHANNEL | laspy.DecompressionSelection.Z


def open_las(path: Path) -> ScanSource:
    """Open a LAS or LAZ file (ASPRS LAS 1.0 to 1.4); the CRS records tell its unit.

    Raises ``InputError`` for a truncated or damaged file, for degrees instead of lengths, and
    when plan and heights have different units.
    """
    check_las_sizes(path)
    try:
        with laspy.open(path, read_evlrs=True) as reader:
            header = reader.header
            records = [*header.vlrs, *(header.evlrs or ())]
    except _BROKEN as error:
        raise _damaged(path, 0) from error
    return ScanSource(path, tell_las_frame(path, records, header.scales), _walk(path))


def _walk(path: Path) -> Iterator[ScanChunk]:
    done = 0
    try:
        with laspy.open(
            path, read_evlrs=False, laz_backend=_BACKEND, decompression_selection=_COORDINATES_ONLY
        ) as reader:
            total = reader.header.point_count
            while done < total:
                points = reader.read_points(CHUNK_POINTS)
                if len(points) == 0:
                    break
                xyz = np.empty((len(points), 3))
                xyz[:, 0], xyz[:, 1], xyz[:, 2] = points.x, points.y, points.z
                yield ScanChunk(xyz, done + 1)
                done += len(points)
    except _BROKEN as error:
        raise _damaged(path, done) from error
    if done < total:
        what = f"the header promises {total:,} points, the file ends after {done:,}."
        raise InputError(Fault(path.name, what, _REMEDY))


def _damaged(path: Path, done: int) -> InputError:
    after = f" after point {done:,}" if done else ""
    return InputError(Fault(path.name, f"the file is damaged or cut off{after}.", _REMEDY))
