"""Corner elevations of triangles: at a break line each triangle takes its own side's.

Round a vertex of break lines the triangles form sectors, parted by the lines' edges.  All
corners of a sector have one elevation, given by the side on which the sector lies of each
line edge that bounds it.  A line that ends inside the ground with a step bounds one sector
from both sides, and is told.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InternalError
from optimizer.terrain.break_lines import Weave, WovenLine, place
from optimizer.terrain.delaunay import Edge, Triangles
from optimizer.terrain.yard import Points
from optimizer.units import TOLERANCE_M


@dataclass(frozen=True, slots=True)
class _Stretch:
    """One edge of a line, from its vertex ``i`` to ``i + 1``."""

    line: WovenLine
    i: int

    def level(self, vertex: int, *, on_left: bool) -> float:
        """Elevation of the line at one of the edge's vertices, on one side of the edge."""
        at = self.i if self.line.vertices[self.i] == vertex else self.i + 1
        is_high = on_left == (self.line.high_side == "left")
        return self.line.top_m[at] if is_high else self.line.foot_m[at]


def line_edges(weave: Weave) -> frozenset[Edge]:
    """Edges (low, high) of all break lines."""
    return frozenset(_stretches(weave))


def _stretches(weave: Weave) -> dict[Edge, _Stretch]:
    return {
        (min(a, b), max(a, b)): _Stretch(line, i)
        for line in weave.lines
        for i, (a, b) in enumerate(zip(line.vertices, line.vertices[1:], strict=False))
    }


def build_corner_elevations(
    xy_m: Points,
    z_m: NDArray[np.float64],
    all_triangles: Triangles,
    kept: NDArray[np.bool_],
    weave: Weave,
    where: str,
) -> tuple[NDArray[np.float64], tuple[Fault, ...]]:
    """Elevations (k, 3) of the kept triangles.

    ``z_m`` (n,) elevation of each vertex, any number at the ``len(weave.xy_m)`` first ones.
    """
    triangles = all_triangles[kept]
    elevations = z_m[triangles]
    stretches = _stretches(weave)
    faults = []
    for vertex in range(len(weave.xy_m)):
        fan = np.flatnonzero((triangles == vertex).any(axis=1))
        for sector in _find_sectors(vertex, triangles[fan].tolist(), stretches):
            levels = _levels_of(vertex, [triangles[fan[i]].tolist() for i in sector], stretches)
            if not levels:
                levels = _levels_round(vertex, triangles[fan[sector[0]]].tolist(), all_triangles, stretches)
            if max(levels) - min(levels) > TOLERANCE_M:
                faults.append(_open_end(vertex, xy_m, weave, where))
                break
            for i in sector:
                elevations[fan[i], triangles[fan[i]] == vertex] = levels[0]
    return elevations, tuple(faults)


def _find_sectors(vertex: int, fan: list[list[int]], stretches: dict[Edge, _Stretch]) -> list[list[int]]:
    """Positions in the fan, grouped by what can be reached without crossing a line."""
    sectors: list[list[int]] = []
    unseen = set(range(len(fan)))
    while unseen:
        sector = [min(unseen)]
        unseen.discard(sector[0])
        for i in sector:  # grows while it is walked
            others = [v for v in fan[i] if v != vertex and (min(v, vertex), max(v, vertex)) not in stretches]
            reached = sorted(j for j in unseen if any(v in fan[j] for v in others))
            sector.extend(reached)
            unseen.difference_update(reached)
        sectors.append(sector)
    return sectors


def _levels_of(vertex: int, sector: list[list[int]], stretches: dict[Edge, _Stretch]) -> list[float]:
    """What the line edges at ``vertex`` that bound the sector say of its elevation."""
    levels = []
    for triangle in sector:
        for i in range(3):
            a, b = triangle[i], triangle[(i + 1) % 3]
            stretch = stretches.get((min(a, b), max(a, b)))
            if stretch is not None and vertex in (a, b):
                # A counter-clockwise triangle lies to the left of its edges.
                levels.append(stretch.level(vertex, on_left=stretch.line.vertices[stretch.i] == a))
    return levels


def _levels_round(
    vertex: int, triangle: list[int], all_triangles: Triangles, stretches: dict[Edge, _Stretch]
) -> list[float]:
    """The same for a sector whose line edges lie outside the surveyed area."""
    fan = all_triangles[(all_triangles == vertex).any(axis=1)].tolist()
    for sector in _find_sectors(vertex, fan, stretches):
        members = [fan[i] for i in sector]
        if triangle in members:
            return _levels_of(vertex, members, stretches)
    message = f"no break line bounds the triangles at vertex {vertex}"
    raise InternalError(message)


def _open_end(vertex: int, xy_m: Points, weave: Weave, where: str) -> Fault:
    names = [f'"{line.name}"' for line in weave.lines if vertex in line.vertices]
    if len(names) > 1:
        what = f"break lines {' and '.join(names)} meet at {place(xy_m[vertex])} with elevations that differ."
        return Fault(where, what, "Give them one elevation there on each side, or keep them apart.")
    what = f"break line {names[0]} ends at {place(xy_m[vertex])} inside the surveyed ground with a step."
    return Fault(
        where, what, "Give its end one elevation (top = foot), or carry it to the edge of the survey."
    )
