"""The yard as shapes and triangles in the door frame."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from optimizer.brief.site import Site
from optimizer.search.geometry_kernel import HIGH
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.yard import DIG_BLOCKING, PIECE_BLOCKING

Floats = NDArray[np.float64]
#: 'No limit' for lengths and heights, metres.
NO_LIMIT_M = 1.0e6


def triangles_of(shape: BaseGeometry, height: float) -> list[Floats]:
    """Triangles (3, 3) of u, v, ``height`` that fill a polygon; slivers without area are dropped."""
    if shape.is_empty:
        return []
    pieces = shapely.constrained_delaunay_triangles(shape)
    found = []
    for piece in pieces.geoms:
        if piece.area > 1e-12:
            corners = np.asarray(piece.exterior.coords)[:3]
            found.append(np.column_stack([corners, np.full(3, height)]))
    return found


def stack(triangles: Iterable[Floats]) -> Floats:
    """Stack triangles to (n, 3, 3)."""
    rows = list(triangles)
    return np.array(rows, dtype=np.float64).reshape(len(rows), 3, 3)


class Surroundings(NamedTuple):
    """The yard as shapes in the door frame."""

    ground: Floats
    lot: Polygon
    buildable: BaseGeometry
    surveyed: BaseGeometry
    house: BaseGeometry
    obstacles: BaseGeometry
    walls: BaseGeometry  # obstacles that may not be passed over
    blocked: BaseGeometry  # piece-blocking zones
    dig: BaseGeometry


def build_surroundings(site: Site, frame: DoorFrame, setback_m: float) -> Surroundings:
    """Turn every outline of the yard into the door frame; the lot less ``setback_m`` may be built on."""

    def polygon(outline: Floats) -> BaseGeometry:
        shape = Polygon(frame.to_door(outline))
        return shape if shape.is_valid else shapely.make_valid(shape)

    yard = site.yard
    flat = frame.to_door(site.ground.triangles_xy.reshape(-1, 2)).reshape(-1, 3, 2)
    ground = np.concatenate([flat, site.ground.triangles_z[:, :, None]], axis=2)
    lot = Polygon(frame.to_door(yard.lot_m))
    rings = [Polygon(frame.to_door(ring)) for ring in site.ground.outline_m]
    surveyed = unary_union(rings[:1]).difference(unary_union(rings[1:]))
    zones = [zone for zone in yard.zones if zone.kind in PIECE_BLOCKING]
    return Surroundings(
        ground=ground,
        lot=lot,
        buildable=lot.buffer(-setback_m, join_style="mitre") if setback_m > 0 else lot,
        surveyed=surveyed,
        house=unary_union([polygon(ring) for ring in yard.house_m]),
        obstacles=unary_union([polygon(o.outline_m) for o in yard.obstacles]),
        walls=unary_union([polygon(o.outline_m) for o in yard.obstacles if o.top_m is None]),
        blocked=unary_union([polygon(zone.outline_m) for zone in zones]),
        dig=unary_union([polygon(z.outline_m) for z in yard.zones if z.kind in DIG_BLOCKING]),
    )


def highest_ground(around: Surroundings) -> float:
    """Highest surveyed ground on the lot."""
    region = around.lot.intersection(around.surveyed)
    best = -HIGH
    for triangle in around.ground:
        part = Polygon(triangle[:, :2]).intersection(region)
        if part.is_empty:
            continue
        plane = np.linalg.solve(np.column_stack([triangle[:, :2], np.ones(3)]), triangle[:, 2])
        corners = shapely.get_coordinates(part)
        best = max(best, float((corners @ plane[:2] + plane[2]).max()))
    return best
