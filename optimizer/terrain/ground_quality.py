"""How far the ground may be trusted: a rough error from its own levels, and thin places."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.delaunay import Triangles, build_delaunay, edges_of
from optimizer.terrain.ground import Ground
from optimizer.terrain.locate import build_surface_index
from optimizer.terrain.surveyed_area import keep_inside, measure_edges
from optimizer.terrain.yard import Points

#: Fewer predictable levels than this say nothing.
LEAST_PREDICTABLE = 5
#: Fewer are too few to call one of them odd.
LEAST_COMPARED = 8
#: Off by so many times what is usual, and by so much, a level is odd: shots of a lawn are not.
ODD_TIMES = 6.0
ODD_M = 0.08
#: A triangle with an edge longer than this many median edges is thin ground.
THIN_IN_MEDIANS = 2.0


def _number_vertices(ground: Ground) -> tuple[Points, Triangles]:
    """Plan vertices (n, 2) and the triangles (t, 3) over them."""
    xy, numbers = np.unique(ground.triangles_xy.reshape(-1, 2), axis=0, return_inverse=True)
    return xy, numbers.reshape(-1, 3).astype(np.int64)


def measure_leave_one_out(ground: Ground) -> float | None:
    """RMS error, metres, of predicting each level from the others; ``None`` below five.

    Predictable are levels inside the surveyed area and off the break lines.  Taking one out
    of a Delaunay mesh changes only the ring of its neighbours, so that ring is
    re-triangulated.  A rough figure: levels are taken where the ground bends, so it
    overstates the error in between and knows nothing of bumps that no level found.
    """
    errors = [one.off_m for one in _leave_out(ground)]
    if len(errors) < LEAST_PREDICTABLE:
        return None
    return math.sqrt(sum(error**2 for error in errors) / len(errors))


@dataclass(frozen=True, slots=True)
class OddLevel:
    """A level that its neighbours do not foretell: ``off_m`` above what they tell, others ``usual_m``."""

    name: str
    off_m: float
    usual_m: float


def find_odd_levels(ground: Ground) -> tuple[OddLevel, ...]:
    """Levels that stand out from all others, the worst first; own choice of ``ODD_TIMES`` and ``ODD_M``.

    The usual error is 1.4826 times the median of all, which a few wrong ones do not move; none is named
    where fewer than ``LEAST_COMPARED`` can be predicted.
    """
    left_out = _leave_out(ground)
    if len(left_out) < LEAST_COMPARED:
        return ()
    usual_m = 1.4826 * float(np.median([abs(one.off_m) for one in left_out]))
    limit_m = max(ODD_M, ODD_TIMES * usual_m)
    worst = max(left_out, key=lambda one: abs(one.off_m))
    if abs(worst.off_m) <= limit_m:
        return ()
    # A wrong level spoils what its neighbours are told by: only the worst of all is named.
    away = np.hypot(*(ground.points_m[:, :2] - np.array(worst.xy_m)).T)
    return (OddLevel(ground.point_names[int(away.argmin())], -worst.off_m, usual_m),)


@dataclass(frozen=True, slots=True)
class _LeftOut:
    """A place and how far the others' prediction lies above its own level."""

    xy_m: tuple[float, float]
    off_m: float


def _leave_out(ground: Ground) -> list[_LeftOut]:
    xy, triangles = _number_vertices(ground)
    owners: dict[int, list[int]] = {}
    for number, triangle in enumerate(triangles.tolist()):
        for vertex in triangle:
            owners.setdefault(vertex, []).append(number)
    on_lines = {tuple(spot) for line in ground.break_lines for spot in line.xy_m.tolist()}
    errors: list[_LeftOut] = []
    for vertex, fan in sorted(owners.items()):
        if tuple(xy[vertex].tolist()) in on_lines:
            continue
        ring, levels = _ring_round(vertex, triangles[fan], ground.triangles_z[fan])
        if ring:
            own = float(ground.triangles_z[fan[0], triangles[fan[0]] == vertex][0])
            x, y = xy[vertex].tolist()
            errors.append(_LeftOut((x, y), _predict(xy[ring], levels, xy[vertex]) - own))
    return errors


def _ring_round(
    vertex: int, fan: Triangles, fan_z: NDArray[np.float64]
) -> tuple[list[int], NDArray[np.float64]]:
    """Neighbours counter-clockwise with their elevations; empty on the rim."""
    following: dict[int, int] = {}
    level: dict[int, float] = {}
    for triangle, z in zip(fan.tolist(), fan_z.tolist(), strict=True):
        at = triangle.index(vertex)
        a, b = (at + 1) % 3, (at + 2) % 3
        following[triangle[a]] = triangle[b]
        level[triangle[a]] = z[a]
    ring = [min(following)]
    while (after := following.get(ring[-1])) is not None and after != ring[0]:
        ring.append(after)
    if after is None or len(ring) != len(following):
        return [], np.zeros(0)
    return ring, np.array([level[v] for v in ring])


def _predict(ring_xy: Points, ring_z: NDArray[np.float64], spot: Points) -> float:
    """Elevation at ``spot`` inside the star-shaped ring (k, 2), from its corners alone."""
    numbers = list(range(len(ring_xy)))
    edges = frozenset((min(a, b), max(a, b)) for a, b in zip(numbers, [*numbers[1:], 0], strict=True))
    triangles = build_delaunay(ring_xy, edges)
    triangles = triangles[keep_inside(ring_xy, triangles, numbers)]
    surface = build_surface_index(ring_xy[triangles], ring_z[triangles])
    return surface.elevation_at(float(spot[0]), float(spot[1]))


def find_thin_places(ground: Ground) -> Points:
    """Centroids (k, 3) of triangles with an edge longer than two median edges, longest first."""
    xy, triangles = _number_vertices(ground)
    lengths = measure_edges(xy, triangles)
    limit = THIN_IN_MEDIANS * float(np.median(list(lengths.values()))) * (1 + 1e-9)
    longest = np.array([max(lengths[edge] for edge in edges_of(t)) for t in triangles.tolist()])
    thin = [i for i in np.argsort(-longest, kind="stable") if longest[i] > limit]
    centres = np.column_stack((ground.triangles_xy.mean(axis=1), ground.triangles_z.mean(axis=1)))
    return centres[thin]
