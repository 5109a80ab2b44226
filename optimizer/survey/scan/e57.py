"""E57: every scan of the file in the file's common frame; needs the extra ``e57``."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.chunks import CHUNK_POINTS, ScanChunk, ScanSource
from optimizer.survey.scan.file_frame import ToldFrame

_CARTESIAN: Final = ("cartesianX", "cartesianY", "cartesianZ")
_SPHERICAL: Final = ("sphericalRange", "sphericalAzimuth", "sphericalElevation")
_REMEDY: Final = "Copy or export it again; a download may have broken off."
_TOLD: Final = ToldFrame(
    "m",
    None,
    (
        "The unit is m, by the standard of E57 (ASTM E2807).",
        "E57 does not say which axis points up; the poses of its scans are applied.",
    ),
)


def open_e57(path: Path) -> ScanSource:
    """Open an E57 file (ASTM E2807): Cartesian or spherical points, poses applied, all its scans.

    Points that the file marks as invalid come as not a number, so that they are counted as such.
    Raises ``InputError`` when the library is not installed or the file is damaged.
    """
    try:
        from pye57 import libe57
    except ImportError as error:
        what = "E57 files need the library pye57, which is not installed here."
        remedy = 'Install it with: pip install "evenfall[e57]", or export LAZ or PLY.'
        raise InputError(Fault(path.name, what, remedy)) from error
    try:
        image = libe57.ImageFile(str(path), "r")
        count = len(image.root()["data3D"])
    except libe57.E57Exception as error:
        raise _damaged(path, error, 0) from error
    if count == 0:
        raise InputError(Fault(path.name, "the file holds no scan.", "Export it with its points."))
    return ScanSource(path, _TOLD, _walk(path, image, count))


# The library states no types, hence Any: ``image`` is a libe57.ImageFile, ``header`` a pye57.ScanHeader.
def _walk(path: Path, image: Any, scan_count: int) -> Iterator[ScanChunk]:  # noqa: ANN401
    from pye57 import ScanHeader, libe57

    done = 0
    try:
        for index in range(scan_count):
            header = ScanHeader(image.root()["data3D"][index])
            for xyz in _read_one(path, image, header, index):
                yield ScanChunk(xyz, done + 1)
                done += len(xyz)
    except (libe57.E57Exception, MemoryError) as error:
        raise _damaged(path, error, done) from error
    finally:
        image.close()


def _read_one(
    path: Path,
    image: Any,  # noqa: ANN401  # untyped library, as above
    header: Any,  # noqa: ANN401
    index: int,
) -> Iterator[NDArray[np.float64]]:
    from pye57 import libe57

    fields = next(
        (names for names in (_CARTESIAN, _SPHERICAL) if set(names) <= set(header.point_fields)), None
    )
    if fields is None:
        what = f"scan {index + 1} has neither Cartesian nor spherical coordinates."
        raise InputError(Fault(path.name, what, "Export it with coordinates of its points."))
    mark = "cartesianInvalidState" if fields is _CARTESIAN else "sphericalInvalidState"
    size = max(1, min(CHUNK_POINTS, header.point_count))
    columns = [np.empty(size) for _ in fields]
    marks = np.zeros(size, dtype=np.int8)
    buffers = libe57.VectorSourceDestBuffer()
    for name, column in zip(fields, columns, strict=True):
        buffers.append(libe57.SourceDestBuffer(image, name, column, size, True, True))
    if mark in header.point_fields:
        buffers.append(libe57.SourceDestBuffer(image, mark, marks, size, True, True))
    rotation, translation = (
        np.asarray(header.rotation_matrix),
        np.asarray(header.translation, dtype=np.float64),
    )
    reader = header.points.reader(buffers)
    while got := reader.read():
        xyz = np.stack([column[:got] for column in columns], axis=1)
        if fields is _SPHERICAL:
            xyz = _to_cartesian(xyz)
        xyz = xyz @ rotation.T + translation
        xyz[marks[:got] != 0] = np.nan  # 1: only a direction, 2: nothing was measured
        yield xyz


def _to_cartesian(rae: NDArray[np.float64]) -> NDArray[np.float64]:
    """Range, azimuth from x towards y, elevation from the plane of both, in radians."""
    reach = rae[:, 0] * np.cos(rae[:, 2])
    return np.stack(
        [reach * np.cos(rae[:, 1]), reach * np.sin(rae[:, 1]), rae[:, 0] * np.sin(rae[:, 2])], axis=1
    )


def _damaged(path: Path, error: BaseException, done: int) -> InputError:
    after = f" after point {done:,}" if done else ""
    reason = str(error).strip().partition("\n")[0]
    return InputError(Fault(path.name, f"the file is damaged or cut off{after} ({reason}).", _REMEDY))
