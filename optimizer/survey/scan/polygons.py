"""Faces of any number of corners cut into triangles."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError


def cut_polygons(
    path: Path, corners: NDArray[np.int64], counts: NDArray[np.int64], vertex_count: int
) -> NDArray[np.int64]:
    """Triangles (m, 3), each polygon fanned out from its first corner.

    ``corners`` holds the corners of all faces one after the other, ``counts`` how many each has.
    Raises ``InputError`` for a corner that is none of the ``vertex_count`` vertices.
    """
    is_wrong = (corners < 0) | (corners >= vertex_count)
    if is_wrong.any():
        i = int(np.argmax(is_wrong))
        face = int(np.searchsorted(np.cumsum(counts), i, side="right")) + 1
        what = f"face {face:,} names vertex {int(corners[i]):,}, counted from 0; there are {vertex_count:,}."
        raise InputError(Fault(path.name, what, "Export the mesh again."))
    starts = np.cumsum(counts) - counts
    fans = np.maximum(counts - 2, 0)
    first = np.repeat(starts, fans)
    # 1, 2, ... within each face
    step = np.arange(int(fans.sum())) - np.repeat(np.cumsum(fans) - fans, fans) + 1
    return np.stack([corners[first], corners[first + step], corners[first + step + 1]], axis=1)
