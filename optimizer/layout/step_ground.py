"""The ground under an outline: its least and greatest level, exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.terrain.ground import Ground


@dataclass(frozen=True, slots=True)
class GroundRange:
    """Least and greatest ground elevation in an outline, as far as surveyed."""

    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class GroundOverlay:
    """The ground's triangles for laying outlines over them: planes ``z = a x + b y + c``, (t, 3)."""

    tree: shapely.STRtree
    polygons: NDArray[np.object_]
    planes: NDArray[np.float64]

    def measure(self, area: shapely.Polygon) -> GroundRange | None:
        """Range of the ground in an outline; ``None`` where none of it is surveyed.

        On a plane the extremes lie at corners of the overlap with each triangle.
        """
        levels: list[float] = []
        for index in self.tree.query(area):
            a, b, c = self.planes[index]
            shared = shapely.intersection(area, self.polygons[index])
            levels += [float(a * x + b * y + c) for x, y in shapely.get_coordinates(shared)]
        return GroundRange(min(levels), max(levels)) if levels else None


def build_overlay(ground: Ground) -> GroundOverlay:
    """Planes and outlines of every triangle that has an area."""
    polygons, planes = [], []
    for corners, levels in zip(ground.triangles_xy, ground.triangles_z, strict=True):
        sides = np.column_stack([corners, np.ones(3)])
        if abs(float(np.linalg.det(sides))) > 1e-12:
            polygons.append(shapely.Polygon(corners))
            planes.append(np.linalg.solve(sides, levels))
    outlines = np.array(polygons, dtype=object)
    return GroundOverlay(shapely.STRtree(outlines), outlines, np.array(planes))
