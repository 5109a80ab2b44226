"""Solids as drawn: convex outlines in plan between two planes, and how far two run into each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from optimizer.audit.drawn_model import DrawnPart
from optimizer.audit.report import DRAWN_M
from optimizer.audit.walking_face import Plane, Points, cut_above, fit_plane

#: Faces this level, as their normal's vertical share, show a wall's outline.
_LEVEL: Final = 0.99


@dataclass(frozen=True, slots=True)
class Slab:
    """A convex ``outline`` with everything between the planes ``low`` and ``high`` above it."""

    outline: shapely.Polygon
    low: Plane
    high: Plane


@dataclass(frozen=True, slots=True)
class DrawnSolid:
    """A part as slabs that together hold it."""

    name: str
    slabs: tuple[Slab, ...]

    def overlap(self, other: DrawnSolid) -> float:
        """How far the two run into each other in plan, metres; 0 when they touch or pass.

        Two slabs share a point when each one's upper plane lies above the other's lower one there;
        the two regions are cut out of the common outline one after the other, so the answer is
        exact.  Told is the shorter side of the smallest rectangle about what is left.
        """
        return max((_overlap(own, its) for own in self.slabs for its in other.slabs), default=0.0)


def build_piece_solid(part: DrawnPart) -> DrawnSolid:
    """Outline of all its points; the planes are its face's, moved to its lowest and highest point."""
    return DrawnSolid(part.id, (_build_slab(part),))


def measure_depth(part: DrawnPart, plane: Plane) -> float:
    """How deep a piece reaches under its walking plane, vertically."""
    return float(-_measure_off(part.triangles.reshape(-1, 3), plane).min())


def _build_slab(part: DrawnPart) -> Slab:
    points = part.triangles.reshape(-1, 3)
    plane = fit_plane(part.face.reshape(-1, 3))
    off = _measure_off(points, plane)
    outline = shapely.MultiPoint(points[:, :2]).convex_hull
    return Slab(outline, _lift(plane, float(off.min())), _lift(plane, float(off.max())))


def _measure_off(points: Points, plane: Plane) -> Points:
    return np.asarray(points[:, 2] - points[:, :2] @ plane[:2] - plane[2])


def _lift(plane: Plane, by_m: float) -> Plane:
    return np.asarray(plane + np.array([0.0, 0.0, by_m]))


def build_upright_solid(part: DrawnPart, top_m: float) -> DrawnSolid:
    """A wall or obstacle from below everything up to ``top_m``, one slab a level triangle of it."""
    low, high = np.array([0.0, 0.0, -np.inf]), np.array([0.0, 0.0, top_m])
    level = part.triangles[_is_level(part)][:, :, :2]
    return DrawnSolid(part.node, tuple(Slab(shapely.Polygon(triangle), low, high) for triangle in level))


def measure_outline(part: DrawnPart) -> shapely.Geometry:
    """Outline in plan of the level faces of a part."""
    return shapely.union_all(shapely.polygons(part.triangles[_is_level(part)][:, :, :2]))


def _is_level(part: DrawnPart) -> Points:
    triangles = part.triangles
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return np.asarray(np.abs(normals[:, 2]) > _LEVEL * np.linalg.norm(normals, axis=1))


def _overlap(first: Slab, second: Slab) -> float:
    common = shapely.intersection(first.outline, second.outline)
    if common.geom_type != "Polygon" or common.is_empty:
        return 0.0
    corners = shapely.get_coordinates(common)[:-1]
    for upper, lower in ((first.high, second.low), (second.high, first.low)):
        height = upper - lower
        corners = cut_above(corners, corners @ height[:2] + height[2] - DRAWN_M)
        if len(corners) < 3:
            return 0.0
    return _measure_narrow(corners)


def _measure_narrow(corners: Points) -> float:
    rectangle = shapely.minimum_rotated_rectangle(shapely.MultiPoint(corners))
    if rectangle.geom_type != "Polygon":
        return 0.0
    ring = shapely.get_coordinates(rectangle)
    return float(np.linalg.norm(np.diff(ring[:3], axis=0), axis=1).min())
