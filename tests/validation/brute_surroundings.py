"""Everything in the way of a ramp, in the door frame of one start, for the brute force alone.

Written from DEVELOPERS.md, 'The discrete problem' ('Surfaces', 'Supports', 'Locks'); shares nothing
with the search but the data classes.  What was worked out for a place is kept, no more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point, Polygon

from optimizer.brief.site import Site
from optimizer.terrain.yard import DIG_BLOCKING, FOOT_BLOCKING, OVERHEAD, PIECE_BLOCKING, Points, Start
from tests.validation.brute_geometry import E, Plane, Rect, corners_of, height_of, is_within, shrunk

NEAR_M = 0.9144
GRID_M = 0.5


def rounded(rect: Rect) -> Rect:
    """The same for rectangles a nanometre apart, to look up what was worked out before."""
    u0, v0, u1, v1 = rect
    return round(u0, 9), round(v0, 9), round(u1, 9), round(v1, 9)


def common_corners(shape: Polygon, rect: Rect) -> Points:
    """Corners of what a polygon and a rectangle share; empty when they share no area."""
    u0, v0, u1, v1 = shape.bounds
    if u0 >= rect[2] or u1 <= rect[0] or v0 >= rect[3] or v1 <= rect[1]:
        return np.empty((0, 2))
    shared = shape.intersection(shapely.box(*rect))
    return shapely.get_coordinates(shared) if shared.area > 0 else np.empty((0, 2))


class Surroundings:
    """Everything in the way, in the door frame of one start."""

    def __init__(self, site: Site, start: Start) -> None:
        out = np.asarray(start.outward, dtype=float)
        right = np.array([out[1], -out[0]])

        def framed(points: Points) -> Points:
            moved = np.asarray(points, dtype=float) - start.midpoint_m
            return np.stack([moved @ right, moved @ out], axis=-1)

        def polygon(points: Points) -> Polygon:
            return Polygon(framed(points))

        yard, ground = site.yard, site.ground
        self.corners = framed(ground.triangles_xy)
        self.heights = np.asarray(ground.triangles_z, dtype=float)
        ones = np.ones((len(self.corners), 3, 1))
        corners_and_one = np.concatenate([self.corners, ones], axis=2)
        self.planes = np.linalg.solve(corners_and_one, self.heights[:, :, None])[:, :, 0]
        self.triangles = shapely.polygons(self.corners)
        self.least, self.greatest = self.corners.min(axis=1), self.corners.max(axis=1)
        self.tops = self.heights.max(axis=1)
        self.cells: dict[tuple[int, int], list[tuple[float, ...]]] = {}
        for index in range(len(self.corners)):
            self._file_triangle(index)

        surveyed = Polygon(framed(ground.outline_m[0]), [framed(ring) for ring in ground.outline_m[1:]])
        self.lot = polygon(yard.lot_m)
        inset = self.lot.buffer(-yard.setback_m, join_style="mitre", mitre_limit=1e3)
        # With relief the strip may be used at a price; how much of it is asked for does not matter.
        inside = inset if yard.setback_kind == "hard" else self.lot
        self.inset = inset
        self.free_for_pieces = inside.intersection(surveyed)
        self.free_for_bottom = self.lot.intersection(surveyed)
        houses = [polygon(ring) for ring in yard.house_m]
        barred = [polygon(z.outline_m) for z in yard.zones if z.kind in PIECE_BLOCKING]
        obstacles = [(polygon(o.outline_m), o) for o in yard.obstacles]
        endless = [shape for shape, o in obstacles if o.top_m is None]
        self.over_obstacles = [(shape, o.top_m) for shape, o in obstacles if o.top_m is not None]
        self.barrier = shapely.union_all([*houses, *barred, *endless])
        self.plate_barrier = shapely.union_all([*houses, *barred, *(shape for shape, _ in obstacles)])
        self.overhead = [
            (polygon(z.outline_m), z.underside_m - max(z.headroom_m, site.design_of(start).headroom_m))
            for z in yard.zones
            if z.kind in OVERHEAD and z.underside_m is not None and z.headroom_m is not None
        ]
        self.no_digging = shapely.union_all(
            [polygon(z.outline_m) for z in yard.zones if z.kind in DIG_BLOCKING]
        )
        self.no_feet = shapely.union_all(
            [
                *houses,
                self.lot.boundary,
                *(LineString(framed(line.xy_m)) for line in ground.break_lines),
                *(polygon(z.outline_m) for z in yard.zones if z.kind in FOOT_BLOCKING | PIECE_BLOCKING),
                *(shape for shape, o in obstacles if not o.may_stand or o.top_m is None),
            ]
        )
        self.standing = [
            (shape, shape.boundary, o.top_m) for shape, o in obstacles if o.may_stand and o.top_m is not None
        ]
        self.arrivals = [polygon(ring) for ring in yard.arrivals_m]
        for shape in (self.free_for_pieces, self.free_for_bottom, self.barrier, self.plate_barrier, self.lot):
            shapely.prepare(shape)
        shapely.prepare(self.inset)
        self.must_pass = [framed(point) for point in site.wishes.must_pass_m]
        self.landing_at = [framed(point) for point in site.wishes.landing_at_m]
        self.footholds: dict[tuple[float, float, float], float] = {}
        self.lowest: dict[Rect, float] = {}
        self.free_rects: dict[tuple[Rect, bool], bool] = {}

    def _file_triangle(self, index: int) -> None:
        """Note the triangle in every grid cell it may touch, with its three edges."""
        (ax, ay), (bx, by), (cx, cy) = (map(float, corner) for corner in self.corners[index])
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        entry = (ax, ay, bx, by, cx, cy, 1 / area, *map(float, self.heights[index]))
        u0, v0 = (math.floor(x / GRID_M - 1e-6) for x in self.least[index])
        u1, v1 = (math.floor(x / GRID_M + 1e-6) for x in self.greatest[index])
        for cell in product(range(u0, u1 + 1), range(v0, v1 + 1)):
            self.cells.setdefault(cell, []).append(entry)

    def ground(self, u: float, v: float) -> float:
        """Ground elevation, the higher one where two meet; NaN off the survey."""
        found = math.nan
        for ax, ay, bx, by, cx, cy, per_area, za, zb, zc in self.cells.get(
            (math.floor(u / GRID_M), math.floor(v / GRID_M)), ()
        ):
            share_c = ((bx - ax) * (v - ay) - (by - ay) * (u - ax)) * per_area
            share_a = ((cx - bx) * (v - by) - (cy - by) * (u - bx)) * per_area
            share_b = 1 - share_a - share_c
            if share_a >= -1e-9 and share_b >= -1e-9 and share_c >= -1e-9:
                z = za * share_a + zb * share_b + zc * share_c
                found = z if math.isnan(found) else max(found, z)
        return found

    def _overlay(self, rect: Rect) -> tuple[Points, NDArray[np.float64]]:
        """Corners of the rectangle cut by every ground triangle, and the ground there."""
        near = self._near(rect)
        cut = shapely.intersection(self.triangles[near], shapely.box(*rect))
        points, owner = shapely.get_coordinates(cut, return_index=True)
        a, b, c = self.planes[near[owner]].T
        return points, a * points[:, 0] + b * points[:, 1] + c

    def _near(self, rect: Rect) -> NDArray[np.intp]:
        u0, v0, u1, v1 = rect
        return np.nonzero(
            (self.least[:, 0] <= u1)
            & (self.greatest[:, 0] >= u0)
            & (self.least[:, 1] <= v1)
            & (self.greatest[:, 1] >= v0)
        )[0]

    def is_above_ground(self, rect: Rect, under: Plane, needed: float) -> bool:
        """Whether the plane is at least ``needed`` above the ground all over the rectangle."""
        lowest = min(height_of(under, u, v) for u, v in corners_of(rect))
        if lowest - self.tops[self._near(rect)].max(initial=-math.inf) >= needed:
            return True
        points, z = self._overlay(rect)
        a, b, c = under
        return bool(np.all(a * points[:, 0] + b * points[:, 1] + c - z >= needed - E))

    def is_above_obstacles(self, rect: Rect, under: Plane, needed: float) -> bool:
        """The same over the tops of obstacles that have one."""
        for shape, top in self.over_obstacles:
            for u, v in common_corners(shape, rect):
                if height_of(under, u, v) - top < needed - E:
                    return False
        return True

    def has_headroom(self, rect: Rect, deck: Plane) -> bool:
        """Overhead zones: the deck at the upper end of the overlap."""
        return all(
            max(height_of(deck, u, v) for u, v in shared) <= ceiling + E
            for shape, ceiling in self.overhead
            if len(shared := common_corners(shape, rect))
        )

    def lowest_near(self, rect: Rect) -> float:
        """'Lowest ground near' a rectangle, as far as surveyed."""
        key = rounded(rect)
        if key not in self.lowest:
            self.lowest[key] = float(self._overlay(shrunk(rect, -NEAR_M))[1].min())
        return self.lowest[key]

    def highest_on_lot(self) -> float:
        """The highest surveyed ground on the lot."""
        cut = shapely.intersection(self.triangles, self.lot)
        points, owner = shapely.get_coordinates(cut, return_index=True)
        a, b, c = self.planes[owner].T
        return float((a * points[:, 0] + b * points[:, 1] + c).max())

    def is_free(self, rect: Rect) -> bool:
        """Whether nothing infinitely high lies under a landing or section (already shrunk)."""
        return self._is_free_of(rect, self.barrier, is_plate=False)

    def is_free_for_plate(self, rect: Rect) -> bool:
        """The same for a transition plate, which may overlap no obstacle at all."""
        return self._is_free_of(rect, self.plate_barrier, is_plate=True)

    def _is_free_of(self, rect: Rect, barrier: Polygon, *, is_plate: bool) -> bool:
        key = rounded(rect), is_plate
        if key not in self.free_rects:
            box = shapely.box(*rect)
            self.free_rects[key] = self.free_for_pieces.covers(box) and not barrier.intersects(box)
        return self.free_rects[key]

    def is_in_setback(self, rect: Rect) -> bool:
        """Whether a piece overlaps the strip between the lot line and the setback."""
        return not self.inset.covers(shapely.box(*shrunk(rect, E)))

    def passes_locks(self, pieces: Iterable[Rect], landings: Iterable[Rect]) -> bool:
        """'Locks': every point in a piece (or landing) of one layout."""
        pieces, landings = tuple(pieces), tuple(landings)
        return all(any(is_within((u, v), rect) for rect in pieces) for u, v in self.must_pass) and all(
            any(is_within((u, v), rect) for rect in landings) for u, v in self.landing_at
        )

    def stands_on(self, u: float, v: float, reach: float) -> float:
        """Elevation a foot stands on; NaN where no foot of this reach is allowed."""
        key = round(u, 9), round(v, 9), reach
        if key not in self.footholds:
            self.footholds[key] = self._foothold(u, v, reach)
        return self.footholds[key]

    def _foothold(self, u: float, v: float, reach: float) -> float:
        point = Point(u, v)
        z = self.ground(u, v)
        if math.isnan(z) or not self.lot.covers(point) or self.no_feet.distance(point) < reach - E:
            return math.nan
        tops = []
        for shape, rim, top in self.standing:
            if shape.covers(point) and rim.distance(point) >= reach - E:
                tops.append(top)
            elif shape.distance(point) < reach - E:
                return math.nan
        return max(tops, default=z)
