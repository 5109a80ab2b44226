"""A walking face measured from its triangles: corners, plane, slopes, sizes, openings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.audit.drawn_model import DrawnPart, Triangles
from optimizer.audit.report import DRAWN_M, ROUNDING_M
from optimizer.plan import Piece

Points = NDArray[np.float64]
Plane = NDArray[np.float64]  # (a, b, c) of z = a x + b y + c

#: A point of the face this near to a corner of its outline, in plan, is that corner (of a narrow
#: plate: within a quarter of its shorter side).
_AT_CORNER_M: Final = 0.005
#: Radii of openings are told to within this.
_OPENING_STEP_M: Final = 5e-5
#: Curbs stand on the outermost strip of a face: this wide at most.
CURB_STRIP_M: Final = 0.03


@dataclass(frozen=True, slots=True)
class WalkingFace:
    """One face as drawn, in metres, site frame.

    ``ring_m`` (4, 2): corners of the smallest rectangle about its points in plan, in the plan's
    order (start-left, start-right, end-right, end-left); ``levels_m`` (4, 2): lowest and highest
    point there.  ``plane`` by least squares through all points.  ``slope`` falls along the way and
    ``cross_slope`` to the right, both rise over plan.  ``off_plane_m``: how far a point that is no
    corner lies off the plane.
    """

    ring_m: Points
    levels_m: Points
    plane: Plane
    length_m: float
    width_m: float
    slope: float
    cross_slope: float
    off_plane_m: float

    def level(self, place_m: Points) -> float:
        """Level of the face's plane at a place (2,)."""
        return float(self.plane[0] * place_m[0] + self.plane[1] * place_m[1] + self.plane[2])

    def as_triangles(self) -> Triangles:
        """The outline on the plane, as two triangles (2, 3, 3)."""
        corners = np.column_stack([self.ring_m, self.ring_m @ self.plane[:2] + self.plane[2]])
        return np.asarray(corners[[[0, 1, 2], [0, 2, 3]]])

    @property
    def start_m(self) -> Points:
        """Middle (2,) of the upper edge."""
        return np.asarray((self.ring_m[0] + self.ring_m[1]) / 2.0)

    @property
    def end_m(self) -> Points:
        """Middle (2,) of the lower edge."""
        return np.asarray((self.ring_m[3] + self.ring_m[2]) / 2.0)


def measure_face(face: Triangles, stated_m: Points) -> WalkingFace:
    """Measure a face (t, 3, 3); ``stated_m`` (4, 3) only names its corners.

    They are the points at the corners of the smallest rectangle about all of them: where copies of
    one corner lie apart, the copy that is furthest from the plan's, and all their levels.
    """
    points = face.reshape(-1, 3)
    rectangle = measure_ring(points[:, :2], stated_m[:, :2])
    plane = fit_plane(points)
    reach = min(_AT_CORNER_M, 0.25 * min(measure_sides(rectangle)))
    near = np.linalg.norm(points[:, None, :2] - rectangle, axis=2) <= reach  # (n, 4)
    ring, levels = rectangle.copy(), np.empty((4, 2))
    for corner in range(4):
        at_corner = points[near[:, corner]]
        if len(at_corner) == 0:
            levels[corner] = plane[:2] @ ring[corner] + plane[2]
            continue
        off = np.linalg.norm(at_corner[:, :2] - stated_m[corner, :2], axis=1)
        ring[corner] = at_corner[np.argmax(off), :2]
        levels[corner] = at_corner[:, 2].min(), at_corner[:, 2].max()
    inner = points[~near.any(axis=1)]
    off_plane = np.abs(inner[:, :2] @ plane[:2] + plane[2] - inner[:, 2])
    return _build_face(ring, levels, plane, float(off_plane.max(initial=0.0)))


def _build_face(ring: Points, levels: Points, plane: Plane, off_plane_m: float) -> WalkingFace:
    along = (ring[3] + ring[2] - ring[0] - ring[1]) / 2.0
    across = (ring[1] + ring[2] - ring[0] - ring[3]) / 2.0
    length, width = measure_sides(ring)
    return WalkingFace(
        ring,
        levels,
        plane,
        length,
        width,
        -float(plane[:2] @ along) / length,
        -float(plane[:2] @ across) / width,
        off_plane_m,
    )


def state_face(piece: Piece) -> WalkingFace:
    """The same of the plan's four corners, taken as they are."""
    corners = np.array(piece.corners_m, dtype=np.float64)
    return _build_face(corners[:, :2], corners[:, [2, 2]], fit_plane(corners), 0.0)


def measure_ring(places: Points, stated_m: Points) -> Points:
    """Corners (4, 2) of the smallest rectangle about points (n, 2), counter-clockwise from above.

    The first is the one with which the ring lies nearest to ``stated_m`` (4, 2).
    """
    rectangle = shapely.minimum_rotated_rectangle(shapely.MultiPoint(places))
    ring = shapely.get_coordinates(shapely.orient_polygons(rectangle))[:4]
    turns = [np.roll(ring, -step, axis=0) for step in range(4)]
    return min(turns, key=lambda turn: float(np.linalg.norm(turn - stated_m, axis=1).sum()))


def measure_sides(ring_m: Points) -> tuple[float, float]:
    """Length and width of a ring (4, 2) in the plan's order."""
    along = (ring_m[3] + ring_m[2] - ring_m[0] - ring_m[1]) / 2.0
    across = (ring_m[1] + ring_m[2] - ring_m[0] - ring_m[3]) / 2.0
    return float(np.linalg.norm(along)), float(np.linalg.norm(across))


def fit_plane(points: Points) -> Plane:
    """Plane (a, b, c) through points (n, 3) by least squares of heights."""
    middle = points.mean(axis=0)
    moved = points - middle
    (a, b), *_ = np.linalg.lstsq(moved[:, :2], moved[:, 2], rcond=None)
    return np.array([a, b, middle[2] - a * middle[0] - b * middle[1]])


def measure_opening(face: Triangles, ring_m: Points) -> float:
    """Diameter of the largest circle in plan that meets no triangle of the face inside its outline.

    Triangles that do not face up cover nothing.
    """
    up = _measure_up(face) > 0.0
    covered = shapely.union_all(shapely.polygons(face[up][:, :, :2]), grid_size=ROUNDING_M)
    left = shapely.Polygon(ring_m).difference(covered)
    # A circle of a radius fits where something is left after shrinking by it; the radius is bisected.
    fits, fails = 0.0, float(np.linalg.norm(ring_m[2] - ring_m[0]))
    while fails - fits > _OPENING_STEP_M:
        radius = (fits + fails) / 2.0
        if left.buffer(-radius, quad_segs=4).is_empty:
            fails = radius
        else:
            fits = radius
    return 2.0 * fits


def _measure_up(face: Triangles) -> Points:
    """Twice the area in plan, positive when the triangle faces up."""
    return np.asarray(np.cross(face[:, 1] - face[:, 0], face[:, 2] - face[:, 0])[:, 2])


def measure_above(part: DrawnPart, face: WalkingFace) -> float:
    """How high the rest of the part stands above its face, the strip of its curbs left out.

    Triangles are cut at ``DRAWN_M`` above the face's plane first: what lies lower is below it.
    """
    rest = part.triangles[part.walking :]
    heights = rest[:, :, 2] - rest[:, :, :2] @ face.plane[:2] - face.plane[2]
    inner = shapely.Polygon(face.ring_m).buffer(-CURB_STRIP_M, join_style="mitre")
    shapely.prepare(inner)
    highest = 0.0
    for triangle, height in zip(rest[:, :, :2], heights, strict=True):
        if height.max() <= DRAWN_M:
            continue
        above = cut_above(np.column_stack([triangle, height]), height - DRAWN_M)
        if len(above) and inner.intersects(shapely.MultiPoint(above[:, :2]).convex_hull):
            highest = max(highest, float(above[:, 2].max()))
    return highest


def cut_above(polygon: Points, over: Points) -> Points:
    """The part of a convex polygon (k, d) where ``over`` (k,), linear over it, is positive."""
    kept: list[Points] = []
    for here in range(len(polygon)):
        there = (here + 1) % len(polygon)
        if over[here] > 0.0:
            kept.append(polygon[here])
        if over[here] * over[there] < 0.0:
            share = over[here] / (over[here] - over[there])
            kept.append(polygon[here] + share * (polygon[there] - polygon[here]))
    return np.array(kept).reshape(-1, polygon.shape[1])
