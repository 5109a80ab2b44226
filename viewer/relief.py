"""The ground as meshes: surface, vertical steps, the sides of the block, contour lines.

Metres, site frame.  The surface is cut out under a bottom pad, which may lie below it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.ground import Ground
from viewer.solids import Solid, Vertices, build_empty, build_ribbon, measure_ring_area

CONTOUR_WIDTH_M: Final = 0.018
CONTOUR_INDEX_WIDTH_M: Final = 0.034
#: Lines drawn on a surface lie this much above it, so that they do not flicker into it.
LIFT_M: Final = 0.006
#: The block of ground reaches this far below the lowest level.
BLOCK_DEPTH_M: Final = 0.35
#: Two levels of one place that differ by less belong to the same surface.
_SAME_M: Final = 1e-6

Triangles = NDArray[np.float64]  # (t, 3, 3)


@dataclass(frozen=True, slots=True)
class Relief:
    """``surface`` with its normals up; ``steps`` upright ground facing the low side;
    ``sides`` and underside of the block, down to ``base_m``.
    """

    surface: Solid
    steps: Solid
    sides: Solid
    base_m: float


def build_relief(ground: Ground, cut_outs_m: tuple[Vertices, ...] = ()) -> Relief:
    """Block model of the ground without the upright shadow of ``cut_outs_m`` (convex rings (k, 3))."""
    triangles = build_surface_triangles(ground)
    lowest = [float(triangles[:, :, 2].min()), *(float(ring[:, 2].min()) for ring in cut_outs_m)]
    base_m = min(lowest) - BLOCK_DEPTH_M
    # The uprights come from the whole triangles: cutting splits edges that two of them share.
    steps, sides = _build_uprights(triangles, base_m)
    rims = [_build_rim(triangles, ring[:, :2], base_m) for ring in cut_outs_m]
    underside = triangles[:, ::-1].copy()
    underside[:, :, 2] = base_m
    for ring in cut_outs_m:
        triangles = cut_ring_out(triangles, ring[:, :2])
    return Relief(
        build_from_triangles(triangles),
        build_from_triangles(steps),
        build_from_triangles(np.concatenate([sides, underside, *rims])),
        base_m,
    )


def build_surface_triangles(ground: Ground) -> Triangles:
    """Triangles (t, 3, 3) of the ground, each wound so that its normal points up."""
    triangles = np.concatenate([ground.triangles_xy, ground.triangles_z[:, :, None]], axis=2)
    a, b, c = (triangles[:, k, :2] for k in range(3))
    turn = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    return np.where((turn < 0.0)[:, None, None], triangles[:, ::-1], triangles)


def build_from_triangles(triangles: Triangles) -> Solid:
    """Loose triangles (t, 3, 3) as vertices and faces."""
    if len(triangles) == 0:
        return build_empty()
    return Solid(triangles.reshape(-1, 3), np.arange(3 * len(triangles), dtype=np.int64).reshape(-1, 3))


def _build_uprights(triangles: Triangles, base_m: float) -> tuple[Triangles, Triangles]:
    """Upright triangles between surfaces that meet at two heights, and around the block."""
    keys = np.round(triangles[:, :, :2] / _SAME_M).astype(np.int64)
    owners: dict[tuple[int, int, int, int], list[tuple[int, int]]] = defaultdict(list)
    for t in range(len(triangles)):
        for k in range(3):
            first = (int(keys[t, k, 0]), int(keys[t, k, 1]))
            second = (int(keys[t, (k + 1) % 3, 0]), int(keys[t, (k + 1) % 3, 1]))
            owners[min(first, second) + max(first, second)].append((t, k))
    steps: list[Vertices] = []
    sides: list[Vertices] = []
    for sharing in owners.values():
        edges = [(triangles[t, k], triangles[t, (k + 1) % 3]) for t, k in sharing]
        if len(edges) == 2:
            (start, end), (other_end, other_start) = edges
            if max(abs(start[2] - other_start[2]), abs(end[2] - other_end[2])) > _SAME_M:
                steps += _build_step(start, end, other_start, other_end)
        else:
            for start, end in edges:
                low_start = np.array([start[0], start[1], base_m])
                low_end = np.array([end[0], end[1], base_m])
                sides += [np.array([start, low_start, low_end]), np.array([start, low_end, end])]
    return _stack(steps), _stack(sides)


def _build_step(start: Vertices, end: Vertices, other_start: Vertices, other_end: Vertices) -> list[Vertices]:
    """Upright face between an edge walked counter-clockwise and its twin across the step.

    It looks to the low side, whichever of the two that is.
    """
    faces = []
    if abs(start[2] - other_start[2]) > _SAME_M:
        faces.append(np.array([start, other_start, other_end]))
    if abs(end[2] - other_end[2]) > _SAME_M:
        faces.append(np.array([start, other_end, end]))
    return faces


def _stack(faces: list[Vertices]) -> Triangles:
    return np.array(faces) if faces else np.zeros((0, 3, 3))


def cut_ring_out(triangles: Triangles, ring_m: NDArray[np.float64]) -> Triangles:
    """What is left of ``triangles`` (t, 3, 3) outside a convex ring (k, 2), seen in plan."""
    ring = _wind(ring_m)
    near = _find_near(triangles, ring)
    kept = list(triangles[~near])
    for triangle in triangles[near]:
        outside, inside = _cut_triangle(triangle, ring)
        kept += outside if len(inside) else [triangle]
    return np.array(kept).reshape(-1, 3, 3)


def _wind(ring_m: NDArray[np.float64]) -> NDArray[np.float64]:
    return ring_m if measure_ring_area(ring_m) > 0.0 else ring_m[::-1]


def _find_near(triangles: Triangles, ring: NDArray[np.float64]) -> NDArray[np.bool_]:
    low, high = ring.min(axis=0), ring.max(axis=0)
    near = (triangles[:, :, :2].max(axis=1) > low).all(axis=1)
    near &= (triangles[:, :, :2].min(axis=1) < high).all(axis=1)
    return np.asarray(near)


def _build_rim(triangles: Triangles, ring_m: NDArray[np.float64], base_m: float) -> Triangles:
    """Sides of the hole under a ring, from the ground down, facing into the hole."""
    ring = _wind(ring_m)
    faces: list[Vertices] = []
    for triangle in triangles[_find_near(triangles, ring)]:
        _, inside = _cut_triangle(triangle, ring)
        for start, end in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            edge = (end - start) / np.linalg.norm(end - start)
            on_line = [
                p for p in inside if abs(edge[1] * (p[0] - start[0]) - edge[0] * (p[1] - start[1])) < 1e-9
            ]
            if len(on_line) < 2:
                continue
            first, second = sorted(on_line, key=lambda p: float((p[:2] - start) @ edge))[:: len(on_line) - 1]
            low_first, low_second = np.append(first[:2], base_m), np.append(second[:2], base_m)
            # The ring runs counter-clockwise: its inner side is on the left.
            faces += [np.array([second, low_second, low_first]), np.array([second, low_first, first])]
    return _stack(faces)


def _cut_triangle(triangle: Vertices, ring: NDArray[np.float64]) -> tuple[list[Vertices], Vertices]:
    """Triangles outside a counter-clockwise ring, and the convex polygon (k, 3) inside it."""
    outside: list[Vertices] = []
    left = triangle
    for start, end in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        edge = end - start
        # Positive on the outer side of this edge.
        over = edge[1] * (left[:, 0] - start[0]) - edge[0] * (left[:, 1] - start[1])
        outside += build_fan(clip_polygon(left, over))
        left = clip_polygon(left, -over)
        if len(left) < 3:
            return outside, np.zeros((0, 3))
    return outside, left


def clip_polygon(polygon: Vertices, over: NDArray[np.float64]) -> Vertices:
    """Part of a convex polygon (k, d) where ``over`` (k,), linear over it, is positive."""
    points: list[Vertices] = []
    for k in range(len(polygon)):
        here, there = over[k], over[(k + 1) % len(polygon)]
        if here > 0.0:
            points.append(polygon[k])
        if here * there < 0.0:
            points.append(polygon[k] + here / (here - there) * (polygon[(k + 1) % len(polygon)] - polygon[k]))
    return np.array(points).reshape(-1, polygon.shape[1])


def build_fan(polygon: Vertices) -> list[Vertices]:
    """Triangles of a convex polygon (k, 3), slivers left out."""
    triangles = [polygon[[0, k, k + 1]] for k in range(1, len(polygon) - 1)]
    return [t for t in triangles if np.linalg.norm(np.cross(t[1] - t[0], t[2] - t[0])) > 1e-10]


@dataclass(frozen=True, slots=True)
class ContourSteps:
    """Heights of contour lines: counted from ``zero_m``, one every ``step_m``, each
    ``index_every``-th of them stronger.
    """

    zero_m: float
    step_m: float
    index_every: int


def build_contours(
    ground: Ground, steps: ContourSteps, cut_outs_m: tuple[Vertices, ...] = ()
) -> tuple[Solid, Solid]:
    """Ordinary and index contour lines as thin strips on the surface."""
    triangles = build_surface_triangles(ground)
    for ring in cut_outs_m:
        triangles = cut_ring_out(triangles, ring[:, :2])
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    first = int(np.ceil((triangles[:, :, 2].min() - steps.zero_m) / steps.step_m))
    last = int(np.floor((triangles[:, :, 2].max() - steps.zero_m) / steps.step_m))
    plain: list[tuple[Vertices, Vertices, Vertices]] = []
    index: list[tuple[Vertices, Vertices, Vertices]] = []
    for number in range(first, last + 1):
        lines = _cut_level(triangles, normals, steps.zero_m + number * steps.step_m)
        (plain if number % steps.index_every else index).append(lines)
    return _build_lines(plain, CONTOUR_WIDTH_M), _build_lines(index, CONTOUR_INDEX_WIDTH_M)


def _cut_level(
    triangles: Triangles, normals: Vertices, level_m: float
) -> tuple[Vertices, Vertices, Vertices]:
    """Segments (starts, ends, normals) in which a level plane cuts the triangles."""
    above = triangles[:, :, 2] >= level_m
    lone = np.where(above.sum(axis=1) == 1, above.argmax(axis=1), (~above).argmax(axis=1))
    cut = above.any(axis=1) & ~above.all(axis=1)
    rows = np.nonzero(cut)[0]
    apex = triangles[rows, lone[rows]]
    ends = []
    for step in (1, 2):
        other = triangles[rows, (lone[rows] + step) % 3]
        share = (level_m - apex[:, 2]) / (other[:, 2] - apex[:, 2])
        ends.append(apex + share[:, None] * (other - apex))
    return ends[0], ends[1], normals[rows]


def _build_lines(lines: list[tuple[Vertices, Vertices, Vertices]], width_m: float) -> Solid:
    if not lines:
        return build_empty()
    starts, ends, normals = (np.concatenate([line[k] for line in lines]) for k in range(3))
    return build_ribbon(starts + LIFT_M * normals, ends + LIFT_M * normals, normals, width_m)
