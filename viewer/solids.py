"""Named meshes and the few solids they are made of.

Metres, site frame, z up.  Faces are wound so that their normals point out of the solid.
Every solid here is closed by itself; a part made of several solids stays closed because
their vertices are never merged.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from viewer.marks import Mark

Vertices = NDArray[np.float64]  # (n, 3)
Faces = NDArray[np.int64]  # (m, 3)

MeshGroup = Literal[
    "ground",  # the surveyed surface
    "step",  # vertical ground: a retaining wall, a kerb
    "earth",  # the cut sides of the block of ground
    "contour",
    "contour_index",  # the stronger lines
    "house",
    "house_cut",  # the face where the walls are cut
    "door",
    "trim",  # door frame, sill, handle
    "obstacle",
    "zone",
    "arrival",
    "lot",
    "deck",
    "landing",
    "plate",
    "leg",
    "foot",
    "rail",
    "pad",
    "walking_line",
    "shadow",  # of the ramp on the ground, in pictures only
    "figure",  # a person, for scale; no part of the plan
]

UP: Final = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, slots=True)
class Solid:
    """Vertices (n, 3) in metres and triangles (m, 3) that index them."""

    vertices: Vertices
    faces: Faces


@dataclass(frozen=True, slots=True)
class NamedMesh:
    """One part of the picture.

    ``name`` is what a person would call it (``section S3``, ``leg L07 (leg-mid)``),
    ``facts`` are (label, value) pairs in the site's display units.  ``mark`` says what it is to
    a program that reads the model; ``None``: drawn for the eye only.  Arrays are read-only.
    """

    name: str
    group: MeshGroup
    vertices: Vertices
    faces: Faces
    facts: tuple[tuple[str, str], ...]
    mark: Mark | None = None


def build_named_mesh(
    name: str,
    group: MeshGroup,
    solid: Solid,
    facts: tuple[tuple[str, str], ...] = (),
    mark: Mark | None = None,
) -> NamedMesh:
    """A named, read-only copy of ``solid``."""
    vertices = np.array(solid.vertices, dtype=np.float64)
    faces = np.array(solid.faces, dtype=np.int64)
    vertices.flags.writeable = False
    faces.flags.writeable = False
    return NamedMesh(name, group, vertices, faces, facts, mark)


def build_empty() -> Solid:
    """No vertices, no faces."""
    return Solid(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64))


def build_joined(solids: list[Solid]) -> Solid:
    """All of ``solids`` in one, vertices kept apart."""
    if not solids:
        return build_empty()
    starts = np.cumsum([0] + [len(solid.vertices) for solid in solids[:-1]])
    return Solid(
        np.concatenate([solid.vertices for solid in solids]),
        np.concatenate([solid.faces + start for solid, start in zip(solids, starts, strict=True)]),
    )


def build_loft(lower: Vertices, upper: Vertices) -> Solid:
    """Closed solid between two rings (k, 3) with the same count, both counter-clockwise seen from ``upper``.

    The end rings are closed by fans from their first vertex, so they must be convex.
    """
    count = len(lower)
    ring = np.arange(count)
    after = (ring + 1) % count
    sides = np.concatenate(
        [
            np.stack([ring, after, after + count], axis=1),
            np.stack([ring, after + count, ring + count], axis=1),
        ]
    )
    fan = np.stack([np.zeros(count - 2, dtype=np.int64), ring[1:-1], ring[2:]], axis=1)
    return Solid(
        np.concatenate([lower, upper]),
        np.concatenate([sides, fan[:, ::-1], fan + count]),
    )


def build_prism(corners_m: Vertices, depth_m: float) -> Solid:
    """Closed solid from a convex ring (k, 3), either way round, down by ``depth_m`` along z."""
    ring = np.asarray(corners_m, dtype=np.float64)
    if measure_ring_area(ring[:, :2]) < 0.0:
        ring = ring[::-1]
    return build_loft(ring - depth_m * UP, ring)


def build_box(low_m: Vertices, high_m: Vertices) -> Solid:
    """Axis-parallel box between two opposite corners (3,)."""
    x0, y0, z0 = low_m
    x1, y1, z1 = high_m
    ring = np.array([[x0, y0, z1], [x1, y0, z1], [x1, y1, z1], [x0, y1, z1]])
    return build_prism(ring, float(z1 - z0))


def build_beam(start_m: Vertices, end_m: Vertices, width_m: float, height_m: float) -> Solid:
    """Bar of rectangular section around the line from ``start_m`` to ``end_m`` (3,).

    ``width_m`` is measured level, ``height_m`` square to it; for an upright bar the
    section lies along x and y.
    """
    return _build_bar(start_m, end_m, width_m / 2.0, height_m / 2.0, 4, math.pi / 4.0, math.sqrt(2.0))


def build_tube(start_m: Vertices, end_m: Vertices, diameter_m: float, sides: int = 10) -> Solid:
    """Round bar, as a prism of ``sides`` sides, around the line between two points (3,)."""
    return _build_bar(start_m, end_m, diameter_m / 2.0, diameter_m / 2.0, sides, 0.0, 1.0)


def _build_bar(
    start_m: Vertices, end_m: Vertices, half_a_m: float, half_b_m: float, sides: int, turn: float, grow: float
) -> Solid:
    start = np.asarray(start_m, dtype=np.float64)
    end = np.asarray(end_m, dtype=np.float64)
    along = (end - start) / np.linalg.norm(end - start)
    level = np.cross(UP, along)
    length = float(np.linalg.norm(level))
    side = np.array([1.0, 0.0, 0.0]) if length < 1e-9 else level / length
    other = np.cross(along, side)
    angles = turn + 2.0 * math.pi * np.arange(sides) / sides
    ring = grow * (half_a_m * np.outer(np.cos(angles), side) + half_b_m * np.outer(np.sin(angles), other))
    return build_loft(start + ring, end + ring)


def build_square_post(
    base_m: Vertices, height_m: float, side_m: float, along: Vertices, taper: float = 1.0
) -> Solid:
    """Upright square post; two of its faces are square to ``along`` (2,), a level unit vector.

    ``taper``: the top side as a share of the bottom side.
    """
    ahead = np.array([along[0], along[1], 0.0])
    across = np.array([-along[1], along[0], 0.0])
    half = side_m / 2.0
    ring = np.array([-ahead - across, ahead - across, ahead + across, -ahead + across]) * half
    base = np.asarray(base_m, dtype=np.float64)
    return build_loft(base + ring, base + height_m * UP + ring * taper)


def build_ribbon(starts_m: Vertices, ends_m: Vertices, normals: Vertices, width_m: float) -> Solid:
    """Flat strips along the segments ``starts_m[i]`` .. ``ends_m[i]`` (n, 3), facing ``normals`` (n, 3).

    Open surfaces, for lines drawn on something; segments of no length are left out.
    """
    along = ends_m - starts_m
    length = np.linalg.norm(along, axis=1)
    kept = length > 1e-9
    starts, ends, up = starts_m[kept], ends_m[kept], normals[kept]
    side = np.cross(along[kept] / length[kept, None], up)
    side *= (width_m / 2.0) / np.maximum(np.linalg.norm(side, axis=1), 1e-12)[:, None]
    count = len(starts)
    vertices = np.stack([starts + side, ends + side, ends - side, starts - side], axis=1).reshape(-1, 3)
    return Solid(vertices, build_quad_faces(count))


def build_quad_faces(count: int) -> Faces:
    """Triangles (2 count, 3) of quadrilaterals whose corners follow each other, four by four."""
    first = 4 * np.arange(count, dtype=np.int64)[:, None]
    return np.asarray((first + np.array([0, 1, 2, 0, 2, 3])).reshape(-1, 3))


def build_extrusion(outline_m: NDArray[np.float64], bottom_m: float, top_m: float) -> Solid:
    """Closed upright solid over a simple outline (k, 2), convex or not, either way round."""
    ring = np.asarray(outline_m, dtype=np.float64)
    if measure_ring_area(ring) < 0.0:
        ring = ring[::-1]
    count = len(ring)
    cap = build_triangulation(ring)
    index = np.arange(count)
    after = (index + 1) % count
    sides = np.concatenate(
        [
            np.stack([index, after, after + count], axis=1),
            np.stack([index, after + count, index + count], axis=1),
        ]
    )
    level = np.ones(count)
    return Solid(
        np.concatenate([np.column_stack([ring, bottom_m * level]), np.column_stack([ring, top_m * level])]),
        np.concatenate([sides, cap[:, ::-1], cap + count]),
    )


def measure_ring_area(ring_m: NDArray[np.float64]) -> float:
    """Signed area of a ring (k, 2): positive when counter-clockwise."""
    x, y = ring_m[:, 0], ring_m[:, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def build_triangulation(ring_m: NDArray[np.float64]) -> Faces:
    """Triangles (k - 2, 3) of a simple counter-clockwise ring (k, 2), by cutting off ears.

    An outline that crosses itself was refused when the site was read; should rounding
    leave no clean ear, the flattest corner is cut, so the loop always ends.
    """
    left = list(range(len(ring_m)))
    faces: list[tuple[int, int, int]] = []
    while len(left) > 3:
        place = _find_ear(ring_m, left)
        faces.append((left[place - 1], left[place], left[(place + 1) % len(left)]))
        del left[place]
    faces.append((left[0], left[1], left[2]))
    return np.array(faces, dtype=np.int64)


def _find_ear(ring_m: NDArray[np.float64], left: list[int]) -> int:
    flattest, least = 0, math.inf
    for place in range(len(left)):
        a, b, c = (ring_m[left[(place + step) % len(left)]] for step in (-1, 0, 1))
        turn = _cross(b - a, c - b)
        if abs(turn) < least:
            flattest, least = place, abs(turn)
        if turn <= 1e-12:
            continue
        others = ring_m[[i for i in left if not any(np.array_equal(ring_m[i], p) for p in (a, b, c))]]
        if not _has_point_inside(others, a, b, c):
            return place
    return flattest


def _cross(first: NDArray[np.float64], second: NDArray[np.float64]) -> float:
    return float(first[0] * second[1] - first[1] * second[0])


def _has_point_inside(
    points: NDArray[np.float64], a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64]
) -> bool:
    inside = np.ones(len(points), dtype=bool)
    for start, end in ((a, b), (b, c), (c, a)):
        edge = end - start
        inside &= edge[0] * (points[:, 1] - start[1]) - edge[1] * (points[:, 0] - start[0]) > -1e-12
    return bool(inside.any())
