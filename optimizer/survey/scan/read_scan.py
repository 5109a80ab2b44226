"""Read a scan of any known format into memory, thinned while it streams."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.chunks import ScanChunk
from optimizer.survey.scan.open_scan import open_scan
from optimizer.survey.scan.scan import RawScan, split_offset
from optimizer.survey.scan.thinning import Thinner

#: No grid on Earth has such a coordinate, not even in millimetres.
GREATEST_COORDINATE: Final = 1e11
_FINEST_CELL_M: Final = 1e-4


def read_scan(path: Path, cell_m: float | None) -> RawScan:
    """Read and thin a scan; the same file, or its points in another order, gives the same points.

    ``cell_m``: one point is kept of each cubic cell of that edge (at least 0.1 mm); ``None`` keeps
    all.  Until its unit is confirmed, the file's unit is taken for a metre here: every
    other unit is shorter, so at most too much is kept, and ``confirm_frame`` thins again.
    Thinning moves no point, but it changes how many points stand for a place: a filter that
    counts points should be given a cell well below its own.

    Raises ``InputError`` for an unreadable file, and when no two different points are left.
    """
    if cell_m is not None and not (math.isfinite(cell_m) and cell_m >= _FINEST_CELL_M):
        what = f"the cell is {cell_m!r} m."
        raise InputError(Fault("cell_m", what, "Give an edge of at least 0.0001 m, such as 0.02."))
    source = open_scan(path)
    thinner = Thinner(cell_m)
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    count_read = count_unusable = 0
    example = ""
    for chunk in source.chunks:
        usable = _leave_out_unusable(chunk.xyz)
        count_read += len(chunk.xyz)
        count_unusable += len(chunk.xyz) - len(usable)
        if not example and len(usable) < len(chunk.xyz):
            example = _first_unusable(chunk)
        if len(usable):
            low, high = np.minimum(low, usable.min(axis=0)), np.maximum(high, usable.max(axis=0))
            thinner.add(usable)
    _refuse_nothing(path, count_read, count_unusable, example, low, high)
    kept = thinner.finish()
    step = _measure_step(kept)
    local, offset = split_offset(kept)
    return RawScan(
        path=path,
        told=source.told,
        local=local,
        offset=offset,
        cell=cell_m,
        count_read=count_read,
        count_unusable=count_unusable,
        box=np.stack([low, high]),
        step=step,
    )


def _measure_step(xyz: NDArray[np.float64]) -> float:
    """See ``RawScan.step``; most programs that lose the millimetres of a grid lose them this way."""
    steps = [0.0]
    for axis in range(3):
        single = xyz[:, axis].astype(np.float32)
        if np.array_equal(single, xyz[:, axis]):
            steps.append(float(np.spacing(np.abs(single).max())))
    return max(steps)


def _is_usable(xyz: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Finite and on some grid, (n,); a comparison with what is no number is false."""
    with np.errstate(invalid="ignore"):
        good = np.abs(xyz) <= GREATEST_COORDINATE
    return good[:, 0] & good[:, 1] & good[:, 2]


def _leave_out_unusable(xyz: NDArray[np.float64]) -> NDArray[np.float64]:
    is_usable = _is_usable(xyz)
    return xyz if is_usable.all() else xyz[is_usable]


def _first_unusable(chunk: ScanChunk) -> str:
    i = int(np.argmin(_is_usable(chunk.xyz)))
    return f"point {chunk.first + i} is ({', '.join(f'{value:g}' for value in chunk.xyz[i])})"


def _refuse_nothing(
    path: Path,
    count_read: int,
    count_unusable: int,
    example: str,
    low: NDArray[np.float64],
    high: NDArray[np.float64],
) -> None:
    if count_read == 0:
        raise InputError(Fault(path.name, "the file holds no points.", "Export the scan again."))
    if count_unusable == count_read:
        what = f"none of its {count_read:,} points has finite coordinates: {example}."
        raise InputError(Fault(path.name, what, "Export the scan again with its coordinates."))
    if np.array_equal(low, high):
        place = ", ".join(f"{value:g}" for value in low)
        what = f"all its {count_read - count_unusable:,} points lie at one place, ({place})."
        raise InputError(Fault(path.name, what, "Export the scan again with its coordinates."))
