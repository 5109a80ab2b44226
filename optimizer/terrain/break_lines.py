"""Break lines made fit for a mesh: checked, joined where they meet, survey points woven in.

A survey point on a vertex of a line must agree with its top or its foot and is then spoken
for by the line.  A point on a crease becomes a vertex of the crease; a point on a wall
between two vertices must agree with the wall's top or foot there.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.errors import Fault
from optimizer.terrain.ground import BreakLine
from optimizer.terrain.yard import Points
from optimizer.units import TOLERANCE_M, format_length

#: Two places closer than this in plan are one place: a staff is not set down finer.
SAME_PLACE_M = 0.010
#: Two levels of one place that differ by no more than this agree.
SAME_LEVEL_M = 0.005

_DRAW_ANEW = "Draw the line anew, each vertex once and in order."


@dataclass(frozen=True, slots=True)
class WovenLine:
    """A break line as vertex numbers of the mesh: ``vertices`` (n,), elevations (n,) each side."""

    name: str
    vertices: tuple[int, ...]
    top_m: tuple[float, ...]
    foot_m: tuple[float, ...]
    high_side: str


@dataclass(frozen=True, slots=True)
class Weave:
    """Break lines over shared vertices ``xy_m`` (v, 2), and the points they do not speak for."""

    xy_m: Points
    lines: tuple[WovenLine, ...]
    loose_points: tuple[int, ...]


def millimetres(length_m: float) -> str:
    """A length as messages show it."""
    return format_length(length_m, "mm", 0.001)


def place(xy_m: Points) -> str:
    """A place as messages show it."""
    return f"({xy_m[0]:.3f}, {xy_m[1]:.3f}) m"


def check_break_lines(lines: tuple[BreakLine, ...], where: str) -> tuple[Fault, ...]:
    """What is wrong with the lines themselves, and with pairs that cross or nearly touch."""
    faults = [fault for line in lines for fault in _check_one(line, where)]
    if faults:
        return tuple(faults)
    faults.extend(
        Fault(where, f'break line "{line.name}" crosses itself.', _DRAW_ANEW)
        for line in lines
        if not shapely.LineString(line.xy_m).is_simple
    )
    for first, other in itertools.combinations(lines, 2):
        faults.extend(_check_pair(first, other, where))
    return tuple(faults)


def _check_one(line: BreakLine, where: str) -> list[Fault]:
    name = f'break line "{line.name}"'
    xy, top, foot = line.xy_m, line.top_m, line.foot_m
    if (
        xy.ndim != 2
        or xy.shape[1:] != (2,)
        or len(xy) < 2
        or top.shape != (len(xy),)
        or foot.shape != top.shape
    ):
        what = f"{name} has not at least two vertices, each with a top and a foot."
        return [Fault(where, what, "Give it two or more vertices.")]
    if not (np.isfinite(xy).all() and np.isfinite(top).all() and np.isfinite(foot).all()):
        return [Fault(where, f"{name} has a coordinate that is not a finite number.", "Give numbers.")]
    faults = []
    if line.high_side not in ("left", "right"):
        what = f'{name} has its high side on the "{line.high_side}".'
        faults.append(Fault(where, what, "Say left or right, walking from its first to its last point."))
    for i in np.flatnonzero(np.hypot(*np.diff(xy, axis=0).T) <= SAME_PLACE_M):
        what = f"{name} has two vertices in a row at {place(xy[i])}."
        faults.append(Fault(where, what, "Leave one of them out."))
    for i in np.flatnonzero(top < foot - TOLERANCE_M):
        what = f"{name} at {place(xy[i])} has its top {millimetres(float(foot[i] - top[i]))} below its foot."
        faults.append(Fault(where, what, "Exchange the two, or name the other side as the high one."))
    return faults


def _check_pair(first: BreakLine, other: BreakLine, where: str) -> list[Fault]:
    """Two lines may share vertices, nothing else."""
    first_string, other_string = shapely.LineString(first.xy_m), shapely.LineString(other.xy_m)
    names = f'break lines "{first.name}" and "{other.name}"'
    if shapely.distance(first_string, other_string) > SAME_PLACE_M:
        return []
    shared = np.array([v for v in first.xy_m if np.hypot(*(other.xy_m - v).T).min() <= SAME_PLACE_M]).reshape(
        -1, 2
    )
    faults = []
    for line, string in ((first, other_string), (other, first_string)):
        for vertex in line.xy_m:
            near = shapely.distance(shapely.Point(vertex), string) <= SAME_PLACE_M
            if near and not _is_among(vertex, shared):
                what = f"{names} touch at {place(vertex)}, where only one of them has a vertex."
                faults.append(Fault(where, what, "Give both a vertex there, or keep them apart."))
    if faults:
        return faults
    common = shapely.intersection(first_string, other_string)
    if common.length > SAME_PLACE_M:
        return [Fault(where, f"{names} run along each other.", "Make one line of the stretch they share.")]
    for spot in shapely.get_coordinates(common):
        if not _is_among(spot, shared):
            what = f"{names} cross at {place(spot)}."
            return [Fault(where, what, "End one of them before the other, or split it there.")]
    return []


def _is_among(spot: Points, places: Points) -> bool:
    return len(places) > 0 and bool(np.hypot(*(places - spot).T).min() <= 2 * SAME_PLACE_M)


def weave_break_lines(
    lines: tuple[BreakLine, ...], points_m: Points, names: tuple[str, ...], where: str
) -> tuple[Weave, tuple[Fault, ...]]:
    """Join checked lines at shared vertices and weave in survey points (n, 3) that lie on them."""
    xy: list[NDArray[np.float64]] = []
    woven = [_number_vertices(line, xy) for line in lines]
    spoken_for: set[int] = set()
    faults: list[Fault] = []
    if lines:
        vertex_xy = np.array(xy)
        for i, point in enumerate(points_m):
            away = np.hypot(*(vertex_xy - point[:2]).T)
            vertex = int(away.argmin())
            if away[vertex] <= SAME_PLACE_M:
                spoken_for.add(i)
                faults.extend(_check_level(point, names[i], _levels_at(woven, vertex), where))
    for number, line in enumerate(woven):
        woven[number] = _weave_points(line, xy, points_m, names, spoken_for, faults, where)
    loose = tuple(i for i in range(len(points_m)) if i not in spoken_for)
    return Weave(np.array(xy).reshape(-1, 2), tuple(woven), loose), tuple(faults)


def _number_vertices(line: BreakLine, xy: list[NDArray[np.float64]]) -> WovenLine:
    numbers = []
    for vertex in line.xy_m:
        known = [i for i, other in enumerate(xy) if np.hypot(*(other - vertex)) <= SAME_PLACE_M]
        if not known:
            xy.append(np.array(vertex, dtype=np.float64))
        numbers.append(known[0] if known else len(xy) - 1)
    top_m, foot_m = tuple(line.top_m.tolist()), tuple(line.foot_m.tolist())
    return WovenLine(line.name, tuple(numbers), top_m, foot_m, line.high_side)


def _levels_at(lines: list[WovenLine], vertex: int) -> list[tuple[str, float, float]]:
    return [
        (line.name, line.top_m[i], line.foot_m[i])
        for line in lines
        for i, number in enumerate(line.vertices)
        if number == vertex
    ]


def _check_level(point: Points, name: str, levels: list[tuple[str, float, float]], where: str) -> list[Fault]:
    if any(min(abs(point[2] - top), abs(point[2] - foot)) <= SAME_LEVEL_M for _, top, foot in levels):
        return []
    line, top, foot = levels[0]
    sides = f"{top:.3f} m" if top - foot <= TOLERANCE_M else f"{top:.3f} m on top, {foot:.3f} m at the foot"
    what = f'point "{name}" is at {point[2]:.3f} m, break line "{line}" in the same place at {sides}.'
    return [Fault(where, what, "Measure again, or name the point as top or foot of the line.")]


def _weave_points(
    line: WovenLine,
    xy: list[NDArray[np.float64]],
    points_m: Points,
    names: tuple[str, ...],
    spoken_for: set[int],
    faults: list[Fault],
    where: str,
) -> WovenLine:
    """The line with a vertex at every loose point that lies on one of its creased stretches."""
    vertices, tops, feet = [line.vertices[0]], [line.top_m[0]], [line.foot_m[0]]
    for i in range(len(line.vertices) - 1):
        start, end = xy[line.vertices[i]], xy[line.vertices[i + 1]]
        along = end - start
        length = float(np.hypot(*along))
        share = (points_m[:, :2] - start) @ along / length**2
        off = np.abs((points_m[:, :2] - start) @ np.array([-along[1], along[0]])) / length
        creased = max(line.top_m[j] - line.foot_m[j] for j in (i, i + 1)) <= TOLERANCE_M
        taken = len(xy)
        on_stretch = np.flatnonzero((share > 0.0) & (share < 1.0) & (off <= SAME_PLACE_M))
        for p in sorted(on_stretch.tolist(), key=lambda p: float(share[p])):
            if p in spoken_for:
                continue
            spoken_for.add(p)
            if not creased:
                top, foot = (
                    float((1 - share[p]) * side[i] + share[p] * side[i + 1])
                    for side in (line.top_m, line.foot_m)
                )
                faults.extend(_check_level(points_m[p], names[p], [(line.name, top, foot)], where))
            elif len(xy) > taken and np.hypot(*(xy[-1] - points_m[p, :2])) <= SAME_PLACE_M:
                faults.extend(_check_level(points_m[p], names[p], [(line.name, tops[-1], feet[-1])], where))
            else:
                xy.append(points_m[p, :2].copy())
                vertices.append(len(xy) - 1)
                tops.append(float(points_m[p, 2]))
                feet.append(float(points_m[p, 2]))
        vertices.append(line.vertices[i + 1])
        tops.append(line.top_m[i + 1])
        feet.append(line.foot_m[i + 1])
    return WovenLine(line.name, tuple(vertices), tuple(tops), tuple(feet), line.high_side)


def _between(levels_m: tuple[float, ...], i: int, share: float) -> float:
    return float((1 - share) * levels_m[i] + share * levels_m[i + 1])
