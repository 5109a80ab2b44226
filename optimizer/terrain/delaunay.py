"""Constrained Delaunay triangles of points in plan, the same however the site is turned.

Four points on one circle (any square grid of levels) leave Delaunay's rule undecided, and
rounding would decide it anew for every rotation.  Here the diagonal from the lowest-numbered
point is taken, so moving, turning or mirroring a site never changes its ground.
"""

from __future__ import annotations

from collections import deque

import numpy as np
import pythoncdt
from numpy.typing import NDArray

from optimizer.errors import InternalError
from optimizer.terrain.yard import Points

Triangles = NDArray[np.int64]
Edge = tuple[int, int]

#: Of the fourth power of the quad's size: below this its four points are on one circle.
_ON_CIRCLE = 1e-9
#: Triangles on the rim flatter than this are rounding of points on one line, not ground.
FLATTEST_M = 1e-6


def build_delaunay(xy_m: Points, constrained: frozenset[Edge]) -> Triangles:
    """Triangles (t, 3), counter-clockwise, over points (n, 2) that are at least 10 mm apart.

    ``constrained``: edges (low, high) that must appear; they may meet only at points.
    Covers the convex hull, but for slivers along it.
    """
    centred = xy_m - xy_m.mean(axis=0)
    mesh = pythoncdt.Triangulation(
        pythoncdt.VertexInsertionOrder.AS_PROVIDED, pythoncdt.IntersectingConstraintEdges.NOT_ALLOWED, 0.0
    )
    try:
        mesh.insert_vertices([pythoncdt.V2d(x, y) for x, y in centred.tolist()])
        if constrained:
            mesh.insert_edges([pythoncdt.Edge(low, high) for low, high in sorted(constrained)])
    except RuntimeError as error:
        message = f"the triangulation refused checked points: {error}"
        raise InternalError(message) from error
    mesh.erase_super_triangle()
    triangles = mesh.triangles_array()["vertices"].astype(np.int64)
    settled = _settle_ties(centred, triangles, constrained)
    edges = {edge for triangle in settled.tolist() for edge in edges_of(triangle)}
    if not constrained <= edges:
        message = f"the triangulation lost the edges {sorted(constrained - edges)}"
        raise InternalError(message)
    return _drop_slivers(centred, settled, constrained)


def edges_of(triangle: list[int]) -> tuple[Edge, Edge, Edge]:
    """The three undirected edges (low, high); the i-th lies opposite corner i."""
    a, b, c = triangle
    return (min(b, c), max(b, c)), (min(c, a), max(c, a)), (min(a, b), max(a, b))


def twice_areas(xy_m: Points, triangles: Triangles) -> NDArray[np.float64]:
    """Twice the signed area (t,) of triangles (t, 3)."""
    a, b, c = (xy_m[triangles[:, i]] for i in range(3))
    doubled: NDArray[np.float64] = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (
        c[:, 0] - a[:, 0]
    )
    return doubled


def _settle_ties(xy: Points, triangles: Triangles, constrained: frozenset[Edge]) -> Triangles:
    """Flip undecided diagonals until each comes from the lowest-numbered of its four points.

    Each flip lowers the sum of the diagonals' lowest numbers, so it ends; the result is the
    pulling triangulation of each circle's points, whatever the start.
    """
    corners: list[list[int]] = triangles.tolist()
    owners: dict[Edge, set[int]] = {}
    for number, triangle in enumerate(corners):
        for edge in edges_of(triangle):
            owners.setdefault(edge, set()).add(number)
    waiting = deque(sorted(owners))
    while waiting:
        edge = waiting.popleft()
        pair = sorted(owners.get(edge, ()))
        if len(pair) != 2 or edge in constrained:
            continue
        apexes = [next(v for v in corners[number] if v not in edge) for number in pair]
        if min(apexes) < edge[0] and _is_on_one_circle(xy[[edge[0], apexes[0], edge[1], apexes[1]]]):
            waiting.extend(_flip(xy, corners, owners, edge, apexes))
    return np.array(corners, dtype=np.int64).reshape(-1, 3)


def _flip(
    xy: Points, corners: list[list[int]], owners: dict[Edge, set[int]], edge: Edge, apexes: list[int]
) -> list[Edge]:
    """Turn the diagonal ``edge`` of a quad to join its apexes; the quad's four sides."""
    pair = sorted(owners[edge])
    for number in pair:
        for side in edges_of(corners[number]):
            owners[side].discard(number)
    for number, end in zip(pair, edge, strict=True):
        corners[number] = [end, *apexes]
        if twice_areas(xy, np.array([corners[number]]))[0] < 0.0:
            corners[number] = [end, *reversed(apexes)]
        for side in edges_of(corners[number]):
            owners.setdefault(side, set()).add(number)
    return [(min(end, apex), max(end, apex)) for end in edge for apex in apexes]


def _is_on_one_circle(quad: Points) -> bool:
    """Whether four corners (in order round the quad) are on one circle, and strictly convex."""
    unit = (quad - quad[0]) / float(np.ptp(quad, axis=0).max())
    following = np.roll(unit, -1, axis=0) - unit
    after = np.roll(following, -1, axis=0)
    turns = following[:, 0] * after[:, 1] - following[:, 1] * after[:, 0]
    if not (np.all(turns > _ON_CIRCLE) or np.all(turns < -_ON_CIRCLE)):
        return False
    lifted = np.column_stack((unit[1:], (unit[1:] ** 2).sum(axis=1)))
    return abs(float(np.linalg.det(lifted))) <= _ON_CIRCLE


def _drop_slivers(xy: Points, triangles: Triangles, constrained: frozenset[Edge]) -> Triangles:
    """Without the flat triangles along the hull that rounding makes of points on one line."""
    while True:
        owners: dict[Edge, int] = {}
        for triangle in triangles.tolist():
            for edge in edges_of(triangle):
                owners[edge] = owners.get(edge, 0) + 1
        sides = xy[triangles[:, [2, 0, 1]]] - xy[triangles[:, [1, 2, 0]]]
        height = twice_areas(xy, triangles) / np.hypot(sides[..., 0], sides[..., 1]).max(axis=1)
        on_rim = np.array(
            [any(owners[e] == 1 and e not in constrained for e in edges_of(t)) for t in triangles.tolist()],
            dtype=np.bool_,
        )
        keep = ~(on_rim & (height < FLATTEST_M))
        if keep.all():
            return triangles
        triangles = triangles[keep]
