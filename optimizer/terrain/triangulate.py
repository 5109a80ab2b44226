"""From spot levels and break lines to the ground."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.terrain.break_lines import (
    SAME_LEVEL_M,
    SAME_PLACE_M,
    Weave,
    check_break_lines,
    millimetres,
    place,
    weave_break_lines,
)
from optimizer.terrain.corners import build_corner_elevations, line_edges
from optimizer.terrain.delaunay import Triangles, build_delaunay
from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.ground_quality import measure_leave_one_out
from optimizer.terrain.outline import find_outline_ring
from optimizer.terrain.surveyed_area import (
    build_ring,
    count_parts,
    keep_inside,
    keep_near_levels,
    keep_within,
)
from optimizer.terrain.yard import Points

#: Narrower than this share of their length, points are 'on one line'.
_LEAST_BREADTH = 1e-3


@dataclass(frozen=True, slots=True)
class _Levels:
    """Vertices of the mesh: ``xy_m`` (n, 2), ``z_m`` (n,); break-line vertices first."""

    xy_m: Points
    z_m: NDArray[np.float64]
    names: tuple[str, ...]


def build_ground(
    points_m: Points,
    names: tuple[str, ...],
    break_lines: tuple[BreakLine, ...],
    outline: Points | None,
    longest_edge_m: float | None,
    where: str,
) -> Ground:
    """Triangulate spot levels ``points_m`` (n, 3) named ``names``, site frame, metres.

    The surveyed area is ``outline`` (k, 2) when given (a ring through survey points, concave
    or not); else, when ``longest_edge_m`` is given, what is left of the convex hull after
    every longer rim edge is taken off; else the same with 2.5 times the median edge, where
    no level is given up and the area stays in one piece.

    Points within 10 mm in plan and 5 mm in level are averaged.  Raises ``InputError`` with
    every fault found, each under ``where``.
    """
    faults = [*_check_points(points_m, names, where), *check_break_lines(break_lines, where)]
    if longest_edge_m is not None and not longest_edge_m > 0.0:
        what = f"the longest edge is {longest_edge_m} m."
        faults.append(Fault(where, what, "Give a length above zero, or leave it out."))
    if faults:
        raise InputError(*faults)
    weave, weave_faults = weave_break_lines(break_lines, points_m, names, where)
    levels, merge_faults = _merge_points(points_m, names, weave, where)
    faults = [*weave_faults, *merge_faults, *_check_breadth(levels.xy_m, where)]
    if faults:
        raise InputError(*faults)

    constrained = line_edges(weave)
    ring = None
    if outline is not None:
        ring = find_outline_ring(outline, levels.xy_m, weave, where)
        constrained |= {(min(a, b), max(a, b)) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)}
    triangles = build_delaunay(levels.xy_m, constrained)
    if ring is not None:
        kept = keep_inside(levels.xy_m, triangles, ring)
    elif longest_edge_m is not None:
        kept = keep_within(levels.xy_m, triangles, constrained, longest_edge_m)
        _check_kept(levels, triangles[kept], longest_edge_m, where)
    else:
        kept = keep_near_levels(levels.xy_m, triangles, constrained)
    elevations, corner_faults = build_corner_elevations(
        levels.xy_m, levels.z_m, triangles, kept, weave, where
    )
    if corner_faults:
        raise InputError(*corner_faults)

    ground = Ground(
        points_m=_read_only(points_m),
        point_names=names,
        triangles_xy=_read_only(levels.xy_m[triangles[kept]]),
        triangles_z=_read_only(elevations),
        outline_m=(_read_only(levels.xy_m[build_ring(triangles[kept])]),),
        break_lines=_woven_lines(weave),
        leave_one_out_m=None,
    )
    return dataclasses.replace(ground, leave_one_out_m=measure_leave_one_out(ground))


def _read_only(array: NDArray[np.float64]) -> NDArray[np.float64]:
    copy = np.array(array, dtype=np.float64)
    copy.setflags(write=False)
    return copy


def _woven_lines(weave: Weave) -> tuple[BreakLine, ...]:
    return tuple(
        BreakLine(
            name=line.name,
            xy_m=_read_only(weave.xy_m[list(line.vertices)]),
            top_m=_read_only(np.array(line.top_m)),
            foot_m=_read_only(np.array(line.foot_m)),
            high_side=line.high_side,
        )
        for line in weave.lines
    )


def _check_points(points_m: Points, names: tuple[str, ...], where: str) -> list[Fault]:
    if points_m.ndim != 2 or points_m.shape[1] != 3 or len(points_m) != len(names):
        what = f"{len(names)} names were given for points of shape {points_m.shape}."
        return [Fault(where, what, "Give x, y, elevation and one name for each point.")]
    faults = []
    for i in np.flatnonzero(~np.isfinite(points_m).all(axis=1)):
        what = f'point "{names[i]}" has a coordinate that is not a finite number.'
        faults.append(Fault(where, what, "Give three numbers: x, y, elevation."))
    if len(points_m) < 3:
        what = f"the ground has {len(points_m)} survey point{'' if len(points_m) == 1 else 's'}."
        faults.append(Fault(where, what, "Give at least three, not all on one line."))
    return faults


def _check_breadth(xy_m: Points, where: str) -> list[Fault]:
    """All on one line, whatever the scale: the narrow axis against the long one."""
    if len(xy_m) >= 3:
        spread = np.linalg.svd(xy_m - xy_m.mean(axis=0), compute_uv=False)
        if spread[1] > _LEAST_BREADTH * spread[0]:
            return []
    what = f"the {len(xy_m)} places surveyed lie all on one line."
    return [Fault(where, what, "Add a level to the side of the line.")]


def _merge_points(
    points_m: Points, names: tuple[str, ...], weave: Weave, where: str
) -> tuple[_Levels, list[Fault]]:
    """Break-line vertices, then the loose points, those of one place averaged."""
    loose = np.array(weave.loose_points, dtype=np.int64)
    spots = shapely.points(points_m[loose, :2])
    near = shapely.STRtree(spots).query(spots, predicate="dwithin", distance=SAME_PLACE_M).T
    group = np.arange(len(loose))
    for first, other in sorted(near.tolist()):
        if first < other and group[first] != group[other]:
            group[group == group[other]] = group[first]
    xy, z, shown, faults = [], [], [], []
    for number in sorted(set(group.tolist())):
        members = loose[group == number]
        levels = points_m[members, 2]
        together = ", ".join(f'"{names[i]}"' for i in members)
        if np.ptp(levels) > SAME_LEVEL_M:
            what = (
                f"points {together} are in one place, {place(points_m[members[0]])}, "
                f"but {millimetres(float(np.ptp(levels)))} apart in level."
            )
            faults.append(
                Fault(where, what, "Keep the right one, or name them top and foot of a break line.")
            )
        xy.append(points_m[members, :2].mean(axis=0))
        z.append(float(levels.mean()))
        shown.append(together)
    merged_xy = np.vstack((weave.xy_m, np.array(xy).reshape(-1, 2)))
    merged_z = np.concatenate((np.full(len(weave.xy_m), np.nan), np.array(z)))
    return _Levels(merged_xy, merged_z, (*("of a break line" for _ in weave.xy_m), *shown)), faults


def _check_kept(levels: _Levels, triangles: Triangles, longest_edge_m: float, where: str) -> None:
    """With a stated longest edge, every level must still have ground, in one piece."""
    remedy = "Take levels in between, or state a longer longest edge."
    lost = sorted(set(range(len(levels.xy_m))) - set(triangles.ravel().tolist()))
    faults = [
        Fault(
            where,
            f"the level {levels.names[v]} at {place(levels.xy_m[v])} stands alone: "
            f"its neighbours are further than {longest_edge_m:g} m away.",
            remedy,
        )
        for v in lost
    ]
    parts = count_parts(triangles)
    if parts > 1:
        what = f"the surveyed ground falls into {parts} parts more than {longest_edge_m:g} m apart."
        faults.append(Fault(where, what, remedy))
    if faults:
        raise InputError(*faults)
