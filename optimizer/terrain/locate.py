"""Answer 'how high is the surface here' for many points: triangles sorted into square cells.

Vectorised and scalar answers use the same arithmetic in the same order, so that they are
the same float.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: A point this far outside a triangle's edge still counts as on the edge.
EDGE_TOLERANCE_M = 1e-9
_CELLS_PER_TRIANGLE = 4.0
_MOST_CELLS_A_SIDE = 512


@dataclass(frozen=True, slots=True)
class SurfaceIndex:
    """Triangles (t, 3, 2) with corner elevations (t, 3), counter-clockwise, and their cells.

    ``cell_start`` (cells + 1,) and ``members``: the triangles of cell ``c`` are
    ``members[cell_start[c]:cell_start[c + 1]]``.  ``slack`` (t, 3): twice the area by which
    a point may lie outside the edge opposite each corner.
    """

    xy: Floats
    z: Floats
    slack: Floats
    low: tuple[float, float]
    cell_m: tuple[float, float]
    shape: tuple[int, int]
    cell_start: Ints
    members: Ints

    def elevation(self, xy_m: Floats) -> Floats:
        """Highest elevation at each of ``(n, 2)`` points; NaN where no triangle is."""
        points = np.asarray(xy_m, dtype=np.float64).reshape(-1, 2)
        found = np.full(len(points), np.nan)
        cells = self._cells(points)
        left = np.flatnonzero(cells >= 0)
        first = self.cell_start[cells[left]]
        last = self.cell_start[cells[left] + 1]
        while len(left):
            more = first < last
            left, first, last = left[more], first[more], last[more]
            triangles = self.members[first]
            inside, height = self._inside(points[left], triangles)
            at = left[inside]
            found[at] = np.fmax(found[at], height)
            first = first + 1
        return found

    def elevation_at(self, x_m: float, y_m: float) -> float:
        """Highest elevation at one point; NaN where no triangle is."""
        column = _cell_number(x_m, self.low[0], self.cell_m[0], self.shape[0])
        row = _cell_number(y_m, self.low[1], self.cell_m[1], self.shape[1])
        found = math.nan
        if column < 0 or row < 0:
            return found
        cell = column * self.shape[1] + row
        for triangle in self.members[self.cell_start[cell] : self.cell_start[cell + 1]].tolist():
            (ax, ay), (bx, by), (cx, cy) = self.xy[triangle].tolist()
            slack_a, slack_b, slack_c = self.slack[triangle].tolist()
            a = (bx - x_m) * (cy - y_m) - (cx - x_m) * (by - y_m)
            if a < -slack_a:
                continue
            b = (cx - x_m) * (ay - y_m) - (ax - x_m) * (cy - y_m)
            if b < -slack_b:
                continue
            c = (ax - x_m) * (by - y_m) - (bx - x_m) * (ay - y_m)
            if c < -slack_c:
                continue
            az, bz, cz = self.z[triangle].tolist()
            a, b, c = max(a, 0.0), max(b, 0.0), max(c, 0.0)
            height = az + (b * (bz - az) + c * (cz - az)) / (a + b + c)
            if not height <= found:
                found = height
        return found

    def _cells(self, points: Floats) -> Ints:
        """Cell of each point, -1 outside all of them."""
        cells = np.zeros(len(points), dtype=np.int64)
        outside = ~np.isfinite(points).all(axis=1)
        for axis in (0, 1):
            number = np.floor((points[:, axis] - self.low[axis]) / self.cell_m[axis])
            outside |= ~((number >= 0) & (number < self.shape[axis]))
            cells = cells * self.shape[axis] + np.where(outside, 0, number).astype(np.int64)
        return np.where(outside, -1, cells)

    def _inside(self, points: Floats, triangles: Ints) -> tuple[NDArray[np.bool_], Floats]:
        """Which points lie in their triangle, and the elevations of those that do."""
        corners = self.xy[triangles]
        x, y = points[:, 0], points[:, 1]
        ax, ay = corners[:, 0, 0], corners[:, 0, 1]
        bx, by = corners[:, 1, 0], corners[:, 1, 1]
        cx, cy = corners[:, 2, 0], corners[:, 2, 1]
        a = (bx - x) * (cy - y) - (cx - x) * (by - y)
        b = (cx - x) * (ay - y) - (ax - x) * (cy - y)
        c = (ax - x) * (by - y) - (bx - x) * (ay - y)
        slack = self.slack[triangles]
        inside = (a >= -slack[:, 0]) & (b >= -slack[:, 1]) & (c >= -slack[:, 2])
        a, b, c = np.maximum(a[inside], 0.0), np.maximum(b[inside], 0.0), np.maximum(c[inside], 0.0)
        az, bz, cz = self.z[triangles[inside]].T
        return inside, az + (b * (bz - az) + c * (cz - az)) / (a + b + c)


def _cell_number(value: float, low: float, size: float, count: int) -> int:
    number = (value - low) / size
    return math.floor(number) if 0.0 <= number < count else -1


def build_surface_index(triangles_xy: Floats, triangles_z: Floats) -> SurfaceIndex:
    """Sort triangles (t, 3, 2), counter-clockwise, t >= 1, into cells."""
    # Far from zero a float is coarser than a nanometre; the edges then get its own grain.
    tolerance = max(EDGE_TOLERANCE_M, 8 * np.finfo(np.float64).eps * float(np.abs(triangles_xy).max()))
    opposite = np.roll(triangles_xy, -2, axis=1) - np.roll(triangles_xy, -1, axis=1)
    slack = tolerance * np.hypot(opposite[..., 0], opposite[..., 1])
    low_corner = triangles_xy.min(axis=(0, 1)) - 2 * tolerance
    extent = triangles_xy.max(axis=(0, 1)) + 2 * tolerance - low_corner
    wanted = _CELLS_PER_TRIANGLE * len(triangles_xy)
    columns = int(np.clip(math.sqrt(wanted * extent[0] / extent[1]), 1, _MOST_CELLS_A_SIDE))
    rows = int(np.clip(math.sqrt(wanted * extent[1] / extent[0]), 1, _MOST_CELLS_A_SIDE))
    shape = np.array([columns, rows])
    cell = extent / shape * (1 + 1e-12)  # so that the far edge falls inside the last cell
    first = np.floor((triangles_xy.min(axis=1) - tolerance - low_corner) / cell).astype(np.int64)
    last = np.floor((triangles_xy.max(axis=1) + tolerance - low_corner) / cell).astype(np.int64)
    first, last = np.clip(first, 0, shape - 1), np.clip(last, 0, shape - 1)
    span = last - first + 1
    counts = span[:, 0] * span[:, 1]
    triangle = np.repeat(np.arange(len(triangles_xy)), counts)
    within = np.arange(len(triangle)) - np.repeat(np.cumsum(counts) - counts, counts)
    column = first[triangle, 0] + within // span[triangle, 1]
    row = first[triangle, 1] + within % span[triangle, 1]
    cells = column * rows + row
    order = np.argsort(cells, kind="stable")
    cell_start = np.searchsorted(cells[order], np.arange(columns * rows + 1))
    return SurfaceIndex(
        xy=triangles_xy,
        z=triangles_z,
        slack=slack,
        low=(float(low_corner[0]), float(low_corner[1])),
        cell_m=(float(cell[0]), float(cell[1])),
        shape=(columns, rows),
        cell_start=cell_start.astype(np.int64),
        members=triangle[order].astype(np.int64),
    )
