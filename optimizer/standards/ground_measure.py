"""The checker's own measures of the ground: exact overlays with its triangles.

Ground and decks are both piecewise linear, so every extreme lies at a corner of an overlay
polygon; nothing is sampled.  At a break line the ground has two values and ``elevation_at``
takes the upper one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.terrain.ground import Ground

Vector = NDArray[np.float64]

#: A triangle with less area than this (m2) has no plane of its own.
_LEAST_AREA_M2: Final = 1e-12
#: A point this close outside a triangle's edge (m) still lies in it.
_ON_EDGE_M: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Facets:
    """The ground's triangles with their planes ``z = a x + b y + c``.

    ``xy_m`` (t, 3, 2), ``z_m`` (t, 3), ``planes`` (t, 3); ``polygons`` (t,) of shapely.
    ``area`` is the surveyed area.
    """

    xy_m: Vector
    z_m: Vector
    planes: Vector
    polygons: NDArray[np.object_]
    tree: shapely.STRtree
    area: shapely.Polygon

    def elevation_at(self, xy_m: Vector) -> float:
        """Elevation at one plan point; NaN outside the surveyed area."""
        x, y = float(xy_m[0]), float(xy_m[1])
        near = self.tree.query(shapely.box(x - _ON_EDGE_M, y - _ON_EDGE_M, x + _ON_EDGE_M, y + _ON_EDGE_M))
        heights = [
            float(self.planes[index] @ (x, y, 1.0))
            for index in near
            if _distance_outside(self.xy_m[index], xy_m) <= _ON_EDGE_M
        ]
        return max(heights, default=float("nan"))

    def rise_above(self, area: shapely.Polygon, plane: tuple[float, float, float]) -> tuple[float, Vector]:
        """How far the ground rises above ``plane`` inside ``area`` at most, and where (3,).

        NaN when no ground lies under the area.
        """
        best, where = -np.inf, np.full(3, np.nan)
        for points, index in self._overlaid(area):
            ground = points @ self.planes[index, :2] + self.planes[index, 2]
            over = ground - (points @ np.array(plane[:2]) + plane[2])
            top = int(np.argmax(over))
            if over[top] > best:
                best = float(over[top])
                where = np.array([points[top, 0], points[top, 1], ground[top]])
        return (best if np.isfinite(best) else float("nan")), where

    def lowest_in(self, area: shapely.Polygon) -> float:
        """Least ground elevation in ``area``, as far as surveyed; NaN when none of it is."""
        lows = [
            float(np.min(points @ self.planes[index, :2] + self.planes[index, 2]))
            for points, index in self._overlaid(area)
        ]
        return min(lows, default=float("nan"))

    def lowest_within(self, centre_m: Vector, radius_m: float) -> float:
        """Least ground elevation within a horizontal distance of a plan point, exactly.

        On one triangle the least height inside a disc lies at a triangle corner in the
        disc, where the circle cuts an edge, or straight down the slope on the circle.
        """
        return float(self.lowest_near(np.asarray(centre_m, dtype=np.float64)[None, :2], radius_m)[0])

    def lowest_near(self, centres_m: Vector, radius_m: float) -> Vector:
        """``lowest_within`` of each of ``(n, 2)`` plan points: ``(n,)``, NaN where no ground is near."""
        boxes = shapely.box(*(centres_m - radius_m).T, *(centres_m + radius_m).T)
        which, index = self.tree.query(boxes)
        corners, planes, centres = self.xy_m[index], self.planes[index], centres_m[which]
        ways = np.roll(corners, -1, axis=1) - corners
        cuts, is_cut = _cut_circles(corners, ways, centres, radius_m)
        gradient = np.hypot(planes[:, 0], planes[:, 1])[:, None]
        down = centres - radius_m * planes[:, :2] / np.where(gradient > 0.0, gradient, 1.0)
        points = np.concatenate([corners, cuts, centres[:, None], down[:, None]], axis=1)
        is_point = np.ones(points.shape[:2], dtype=bool)
        is_point[:, 3:9] = is_cut
        away = points - centres[:, None]
        is_point &= np.hypot(away[..., 0], away[..., 1]) <= radius_m + _ON_EDGE_M
        is_point &= _distances_outside(corners, ways, points) <= _ON_EDGE_M
        heights = (points * planes[:, None, :2]).sum(axis=2) + planes[:, None, 2]
        lowest = np.full(len(centres_m), np.inf)
        np.minimum.at(lowest, which, np.where(is_point, heights, np.inf).min(axis=1))
        return np.where(np.isfinite(lowest), lowest, np.nan)

    def _overlaid(self, area: shapely.Polygon) -> list[tuple[Vector, int]]:
        """The corners (n, 2) of the overlap of ``area`` with each triangle it meets."""
        pieces = []
        for index in self.tree.query(area):
            overlap = shapely.intersection(area, self.polygons[index])
            if not overlap.is_empty:
                pieces.append((shapely.get_coordinates(overlap), int(index)))
        return pieces


def build_facets(ground: Ground) -> Facets:
    """Planes and polygons of every triangle that has an area."""
    xy = np.asarray(ground.triangles_xy, dtype=np.float64)
    z = np.asarray(ground.triangles_z, dtype=np.float64)
    first, second = xy[:, 1] - xy[:, 0], xy[:, 2] - xy[:, 0]
    doubled = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    kept = np.abs(doubled) > 2.0 * _LEAST_AREA_M2
    xy, z, first, second, doubled = xy[kept], z[kept], first[kept], second[kept], doubled[kept]
    dz1, dz2 = z[:, 1] - z[:, 0], z[:, 2] - z[:, 0]
    a = (dz1 * second[:, 1] - dz2 * first[:, 1]) / doubled
    b = (dz2 * first[:, 0] - dz1 * second[:, 0]) / doubled
    planes = np.stack([a, b, z[:, 0] - a * xy[:, 0, 0] - b * xy[:, 0, 1]], axis=1)
    polygons = shapely.polygons(xy)
    area = shapely.Polygon(ground.outline_m[0], list(ground.outline_m[1:]))
    return Facets(xy, z, planes, polygons, shapely.STRtree(polygons), area)


def _distance_outside(corners: Vector, point: Vector) -> float:
    """How far a plan point lies outside the farthest edge line of a triangle (negative inside)."""
    ends = np.roll(corners, -1, axis=0)
    along = ends - corners
    offset = np.asarray(point)[:2] - corners
    across = along[:, 0] * offset[:, 1] - along[:, 1] * offset[:, 0]
    turn = along[0, 0] * along[1, 1] - along[0, 1] * along[1, 0]
    return float(np.max(-np.sign(turn) * across / np.hypot(along[:, 0], along[:, 1])))


def _distances_outside(corners: Vector, ways: Vector, points: Vector) -> Vector:
    """``_distance_outside`` of ``(n, k, 2)`` points, k for each of ``(n, 3, 2)`` triangles: ``(n, k)``."""
    offset = points[:, :, None] - corners[:, None]
    across = ways[:, None, :, 0] * offset[..., 1] - ways[:, None, :, 1] * offset[..., 0]
    turn = np.sign(ways[:, 0, 0] * ways[:, 1, 1] - ways[:, 0, 1] * ways[:, 1, 0])
    lengths = np.hypot(ways[..., 0], ways[..., 1])
    return np.asarray((-turn[:, None, None] * across / lengths[:, None]).max(axis=2))


def _cut_circles(
    corners: Vector, ways: Vector, centres: Vector, radius: float
) -> tuple[Vector, NDArray[np.bool_]]:
    """Where each circle cuts the three edges of its triangle: ``(n, 6, 2)``, and which are cuts at all."""
    offset = corners - centres[:, None]
    a, half_b = (ways**2).sum(axis=2), (ways * offset).sum(axis=2)
    root = half_b**2 - a * ((offset**2).sum(axis=2) - radius**2)
    half = np.sqrt(np.maximum(root, 0.0))
    shares = np.stack([-half_b - half, -half_b + half], axis=2) / a[..., None]
    cuts = corners[:, :, None] + shares[..., None] * ways[:, :, None]
    is_cut = (root >= 0.0)[..., None] & (shares >= 0.0) & (shares <= 1.0)
    return cuts.reshape(-1, 6, 2), is_cut.reshape(-1, 6)
