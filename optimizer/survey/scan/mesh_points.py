"""Points on the triangles of a mesh, where its corners alone would be too sparse for a survey."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.scan.chunks import CHUNK_POINTS, ScanChunk, chunks_of

#: A mesh with at least so many corners is taken by its corners; one with fewer gets about so many
#: points on its triangles: every 1.4 cm on 400 m^2.
MESH_POINTS: Final = 2_000_000

#: The two-dimensional golden ratio sequence: 1/p and 1/p^2 with p^3 = p + 1 (Roberts, 'The
#: unreasonable effectiveness of quasirandom sequences', 2018).
_STEP_U: Final = 0.7548776662466927
_STEP_V: Final = 0.5698402909980532


def sample_mesh(
    vertices: NDArray[np.float64], triangles: NDArray[np.int64], wanted: int = MESH_POINTS
) -> Iterator[ScanChunk]:
    """The corners, and when these are fewer than ``wanted``, about ``wanted`` points on the triangles.

    ``vertices`` (n, 3), ``triangles`` (m, 3) rows of ``vertices``.  Every triangle gets points in
    proportion to its area, spread evenly, the same ones each time.
    """
    yield from chunks_of(vertices, 1)
    if len(vertices) >= wanted or len(triangles) == 0:
        return
    areas = measure_areas(vertices, triangles)
    total = float(areas.sum())
    if total <= 0.0:
        return
    # Rounding the running sum, not each triangle, so that many small ones are not all left out.
    ends = np.floor(np.cumsum(areas) * (wanted / total) + 0.5).astype(np.int64)
    done = len(vertices)
    for start in range(0, int(ends[-1]), CHUNK_POINTS):
        numbers = np.arange(start, min(start + CHUNK_POINTS, int(ends[-1])))
        corners = triangles[np.searchsorted(ends, numbers, side="right")]
        yield ScanChunk(_place(vertices, corners, numbers), done + 1)
        done += len(numbers)


def measure_areas(vertices: NDArray[np.float64], triangles: NDArray[np.int64]) -> NDArray[np.float64]:
    """Area of each triangle, (m,); 0 for one with a corner that is not finite."""
    origin = vertices[triangles[:, 0]]
    with np.errstate(invalid="ignore", over="ignore"):
        sides = np.cross(vertices[triangles[:, 1]] - origin, vertices[triangles[:, 2]] - origin)
        areas: NDArray[np.float64] = 0.5 * np.sqrt((sides**2).sum(axis=1))
    areas[~np.isfinite(areas)] = 0.0
    return areas


def _place(
    vertices: NDArray[np.float64], corners: NDArray[np.int64], numbers: NDArray[np.int64]
) -> NDArray[np.float64]:
    u, v = (numbers * _STEP_U) % 1.0, (numbers * _STEP_V) % 1.0
    is_beyond = u + v > 1.0  # the other half of the parallelogram, folded back
    u[is_beyond], v[is_beyond] = 1.0 - u[is_beyond], 1.0 - v[is_beyond]
    a, b, c = (vertices[corners[:, i]] for i in range(3))
    return a + u[:, None] * (b - a) + v[:, None] * (c - a)
