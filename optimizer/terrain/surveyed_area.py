"""Which triangles are surveyed ground, and the ring round them."""

from __future__ import annotations

import heapq

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.errors import InternalError
from optimizer.terrain.delaunay import Edge, Triangles, edges_of
from optimizer.terrain.yard import Points

#: Edges on the rim longer than this many median edges are not ground when nothing is stated.
#: Our own choice: a level stands for about its spacing to either side and some more.
LONGEST_IN_MEDIANS = 2.5


def measure_edges(xy_m: Points, triangles: Triangles) -> dict[Edge, float]:
    """Plan length of every edge once, in order of vertex numbers.

    To the nanometre, so that equal edges stay equal when a site is turned.
    """
    edges = sorted({edge for triangle in triangles.tolist() for edge in edges_of(triangle)})
    ends = xy_m[np.array(edges, dtype=np.int64)]
    lengths = np.round(np.hypot(ends[:, 1, 0] - ends[:, 0, 0], ends[:, 1, 1] - ends[:, 0, 1]), 9)
    return {edge: float(length) for edge, length in zip(edges, lengths, strict=True)}


class _Rim:
    """Triangles left after taking some off the rim; knows which edges and vertices are on it."""

    def __init__(
        self, xy_m: Points, triangles: Triangles, constrained: frozenset[Edge], longest_m: float
    ) -> None:
        self.corners: list[list[int]] = triangles.tolist()
        self.constrained = constrained
        self.longest_m = longest_m
        self.lengths = measure_edges(xy_m, triangles)
        self.owners: dict[Edge, list[int]] = {}
        for number, triangle in enumerate(self.corners):
            for edge in edges_of(triangle):
                self.owners.setdefault(edge, []).append(number)
        self.rim_vertices = {v for edge, own in self.owners.items() if len(own) == 1 for v in edge}
        self.gone: set[int] = set()
        self.waiting: list[tuple[float, Edge]] = []
        for edge, own in self.owners.items():
            if len(own) == 1:
                self._queue(edge)

    def _queue(self, edge: Edge) -> None:
        if edge not in self.constrained and self.lengths[edge] > self.longest_m:
            heapq.heappush(self.waiting, (-self.lengths[edge], edge))

    def pop_longest(self) -> tuple[int, int] | None:
        """The triangle on the longest rim edge and its far corner."""
        while self.waiting:
            _, edge = heapq.heappop(self.waiting)
            if len(self.owners[edge]) == 1:
                number = self.owners[edge][0]
                return number, next(v for v in self.corners[number] if v not in edge)
        return None

    def take_off(self, number: int) -> None:
        self.gone.add(number)
        self.rim_vertices.update(self.corners[number])
        for edge in edges_of(self.corners[number]):
            self.owners[edge].remove(number)
            if len(self.owners[edge]) == 1:
                self._queue(edge)

    def kept(self) -> NDArray[np.bool_]:
        return np.array([number not in self.gone for number in range(len(self.corners))], dtype=np.bool_)


def keep_near_levels(xy_m: Points, triangles: Triangles, constrained: frozenset[Edge]) -> NDArray[np.bool_]:
    """Mask (t,) of the surveyed triangles when no longest edge is stated.

    Longest first, triangles on rim edges longer than 2.5 median edges are taken off, as
    long as the far corner then first comes to the rim: the area stays one piece without
    pinches and no measured level is given up.  (Characteristic shape: M. Duckham et al.,
    'Efficient generation of simple polygons for characterizing the shape of a set of points
    in the plane', Pattern Recognition 41 (2008) 3224.)  What stays thin is told by
    ``find_thin_places``.
    """
    longest_m = LONGEST_IN_MEDIANS * float(np.median(list(measure_edges(xy_m, triangles).values())))
    rim = _Rim(xy_m, triangles, constrained, longest_m * (1 + 1e-9))
    while (taken := rim.pop_longest()) is not None:
        number, far_corner = taken
        if far_corner not in rim.rim_vertices:
            rim.take_off(number)
    return rim.kept()


def keep_within(
    xy_m: Points, triangles: Triangles, constrained: frozenset[Edge], longest_edge_m: float
) -> NDArray[np.bool_]:
    """Mask (t,) after every rim edge longer than the stated length is taken off.

    May leave levels without a triangle, or several parts; see ``count_parts``.
    """
    rim = _Rim(xy_m, triangles, constrained, longest_edge_m * (1 + 1e-9))
    while (taken := rim.pop_longest()) is not None:
        rim.take_off(taken[0])
    return rim.kept()


def keep_inside(xy_m: Points, triangles: Triangles, ring: list[int]) -> NDArray[np.bool_]:
    """Mask (t,) of the triangles inside a ring of vertices whose edges are constrained."""
    area = shapely.Polygon(xy_m[ring])
    shapely.prepare(area)
    inside: NDArray[np.bool_] = shapely.contains(area, shapely.points(xy_m[triangles].mean(axis=1)))
    return inside


def count_parts(triangles: Triangles) -> int:
    """Number of pieces of ground that share no edge."""
    parent = list(range(len(triangles)))

    def root(number: int) -> int:
        while parent[number] != number:
            parent[number] = parent[parent[number]]
            number = parent[number]
        return number

    first_owner: dict[Edge, int] = {}
    for number, triangle in enumerate(triangles.tolist()):
        for edge in edges_of(triangle):
            parent[root(number)] = root(first_owner.setdefault(edge, number))
    return len({root(number) for number in range(len(triangles))})


def build_ring(triangles: Triangles) -> list[int]:
    """Vertices round triangles that form one simple piece, counter-clockwise."""
    following: dict[int, int] = {}
    directed = {(t[i], t[(i + 1) % 3]) for t in triangles.tolist() for i in range(3)}
    for start, end in sorted(directed):
        if (end, start) not in directed:
            if start in following:
                message = f"the surveyed area touches itself at vertex {start}"
                raise InternalError(message)
            following[start] = end
    first = min(following)
    ring = [first]
    while (vertex := following[ring[-1]]) != first:
        ring.append(vertex)
    if len(ring) != len(following):
        message = "the surveyed area has more than one ring"
        raise InternalError(message)
    return ring
