"""The ground as drawn: what a vertical line meets, and the least gap under a planar underside.

The gap is exact, not sampled.  Over one ground triangle, cut to the footprint, both the underside
and the ground are planes, so their distance is linear, and a linear function on a convex polygon is
least at one of its corners.  The corners of all such parts are the ground's vertices under the
footprint, the footprint's own corners, and the points where a ground edge crosses its outline; the
least of them is the least gap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.audit.drawn_model import Triangles
from optimizer.audit.report import ROUNDING_M
from optimizer.audit.walking_face import Plane, Points

#: Triangles of less area in plan than this, m2, are upright or slivers and carry nothing.
_FLAT_M2 = 1e-9


@dataclass(frozen=True, slots=True)
class DrawnGround:
    """``triangles`` (t, 3, 3) that are not upright, their ``planes`` (t, 3) and ``shapes`` in plan."""

    triangles: Triangles
    planes: NDArray[np.float64]
    shapes: NDArray[np.object_]

    def level(self, places_m: Points) -> NDArray[np.float64]:
        """Highest ground met by a vertical line at each place (n, 2); NaN where it meets none."""
        levels = np.full(len(places_m), np.nan)
        points = shapely.points(places_m)
        for row, (shape, plane) in enumerate(zip(self.shapes, self.planes, strict=True)):
            low, high = self.triangles[row, :, :2].min(axis=0), self.triangles[row, :, :2].max(axis=0)
            near = np.nonzero(np.all((places_m >= low) & (places_m <= high), axis=1))[0]
            for place in near[shapely.intersects(shape, points[near])]:
                level = float(plane[:2] @ places_m[place] + plane[2])
                levels[place] = np.fmax(levels[place], level)
        return levels

    def least_gap(self, ring_m: Points, underside: Plane) -> float:
        """Least height of a plane over the ground inside a ring (k, 2); infinite where none lies there."""
        region = shapely.Polygon(ring_m).buffer(-ROUNDING_M, join_style="mitre")
        rows = np.nonzero(shapely.intersects(self.shapes, region))[0]
        parts = shapely.intersection(self.shapes[rows], region)
        corners, owner = shapely.get_coordinates(parts, return_index=True)
        if len(corners) == 0:
            return float("inf")
        planes = underside - self.planes[rows[owner]]
        return float((planes[:, 0] * corners[:, 0] + planes[:, 1] * corners[:, 1] + planes[:, 2]).min())


def build_ground(triangles: Triangles) -> DrawnGround:
    """Leave upright faces out: the surfaces on both sides of a step meet its edge at their own levels."""
    edges_a, edges_b = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    normals = np.cross(edges_a, edges_b)
    lying = np.abs(normals[:, 2]) > 2.0 * _FLAT_M2
    kept, normals = triangles[lying], normals[lying]
    a, b = -normals[:, 0] / normals[:, 2], -normals[:, 1] / normals[:, 2]
    c = kept[:, 0, 2] - a * kept[:, 0, 0] - b * kept[:, 0, 1]
    return DrawnGround(kept, np.column_stack([a, b, c]), shapely.polygons(kept[:, :, :2]))


def join_grounds(first: DrawnGround, others: list[DrawnGround]) -> DrawnGround:
    """All surfaces in one."""
    every = [first, *others]
    return DrawnGround(
        np.concatenate([one.triangles for one in every]),
        np.concatenate([one.planes for one in every]),
        np.concatenate([one.shapes for one in every]),
    )
