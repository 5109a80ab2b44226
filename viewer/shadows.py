"""Shadows of the ramp on the ground, as flat shapes, so that it does not seem to float.

Computed, not rendered: every caster is a convex polygon, thrown along the light on to the
plane of each triangle of the ground and clipped to it.  Pictures only; no part of the plan.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, Section, StepFlight
from optimizer.plan import Candidate
from viewer.relief import (
    Triangles,
    build_fan,
    build_from_triangles,
    build_surface_triangles,
    clip_polygon,
    cut_ring_out,
)
from viewer.solids import UP, NamedMesh, Vertices, build_named_mesh, measure_ring_area

_LIFT_M: Final = 0.003
_LEG_M: Final = 0.055
_RAIL_M: Final = 0.045


def draw_shadows(site: Site, candidate: Candidate, light: Vertices) -> NamedMesh:
    """Shadow of decks, rails, legs and obstacles; ``light`` (3,) points from the sun down."""
    triangles = build_surface_triangles(site.ground)
    for piece in candidate.pieces:
        if piece.kind == "bottom_pad":
            triangles = cut_ring_out(triangles, np.array(piece.corners_m)[:, :2])
    throw = light / np.linalg.norm(light)
    pieces: list[Vertices] = []
    for caster in list_casters(site, candidate, throw):
        pieces += _throw(caster, triangles, throw)
    shadow = np.array(pieces).reshape(-1, 3, 3)
    shadow[:, :, 2] += _LIFT_M
    return build_named_mesh("shadow", "shadow", build_from_triangles(shadow))


def list_casters(site: Site, candidate: Candidate, throw: Vertices) -> list[Vertices]:
    """Convex polygons (k, 3) that stop the light."""
    level = np.array([throw[1], -throw[0], 0.0])
    reach = float(np.linalg.norm(level))
    # Under a light from straight above, slender uprights throw nothing whichever way they face.
    across = np.array([1.0, 0.0, 0.0]) if reach < 1e-9 else level / reach
    casters: list[Vertices] = []
    for piece in candidate.pieces:
        corners = np.array(piece.corners_m)
        part = site.catalogue.part(piece.catalogue_id)
        if isinstance(part, Section | Landing | StepFlight):
            casters += _list_box_faces(corners, part.frame_depth_m)
    for leg in candidate.legs:
        top = np.array([leg.x_m, leg.y_m, leg.frame_elevation_m])
        casters.append(_build_strip(top, top - leg.height_m * UP, across, _LEG_M))
    for rail in candidate.rails:
        first, second = (np.array(end) for end in rail.line_m)
        if rail.kind == "post":
            casters.append(_build_strip(first, first + rail.height_m * UP, across, _RAIL_M))
        elif rail.kind == "panel":
            for height in (rail.height_m, 0.11):
                casters.append(_build_strip(first + height * UP, second + height * UP, UP, _RAIL_M))
    for obstacle in site.yard.obstacles:
        if obstacle.top_m is not None and len(obstacle.outline_m) == 4:
            ring = np.column_stack([obstacle.outline_m, np.full(4, obstacle.top_m)])
            casters += _list_box_faces(ring, 3.0)
    return casters


def _list_box_faces(ring: Vertices, depth_m: float) -> list[Vertices]:
    low = ring - depth_m * UP
    after = np.roll(ring, -1, axis=0)
    sides = [np.array([a, b, b - depth_m * UP, a - depth_m * UP]) for a, b in zip(ring, after, strict=True)]
    return [ring, low, *sides]


def _build_strip(start: Vertices, end: Vertices, side: Vertices, width_m: float) -> Vertices:
    half = side * width_m / 2.0
    return np.array([start - half, end - half, end + half, start + half])


def _throw(caster: Vertices, triangles: Triangles, throw: Vertices) -> list[Vertices]:
    """Shadow triangles (3, 3) of one convex polygon on every triangle of the ground."""
    lowest = float(triangles[:, :, 2].min())
    far = caster + ((lowest - caster[:, 2]) / throw[2])[:, None] * throw
    reach = np.concatenate([caster[:, :2], far[:, :2]])
    near = (triangles[:, :, :2].max(axis=1) > reach.min(axis=0)).all(axis=1)
    near &= (triangles[:, :, :2].min(axis=1) < reach.max(axis=0)).all(axis=1)
    found: list[Vertices] = []
    for triangle in triangles[near]:
        normal = np.cross(triangle[1] - triangle[0], triangle[2] - triangle[0])
        above = clip_polygon(caster, (caster - triangle[0]) @ normal)
        if len(above) < 3:
            continue
        fall = ((triangle[0] - above) @ normal) / float(throw @ normal)
        found += build_fan(_clip_to_triangle(above + fall[:, None] * throw, triangle))
    return found


def _clip_to_triangle(polygon: Vertices, triangle: NDArray[np.float64]) -> Vertices:
    left = polygon
    for k in range(3):
        edge = triangle[(k + 1) % 3] - triangle[k]
        if len(left) < 3:
            return np.zeros((0, 3))
        inside = edge[0] * (left[:, 1] - triangle[k, 1]) - edge[1] * (left[:, 0] - triangle[k, 0])
        left = clip_polygon(left, inside)
    return left[::-1] if len(left) > 2 and measure_ring_area(left[:, :2]) < 0.0 else left
