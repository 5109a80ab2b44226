"""The levels on both sides of a step of the ground."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from optimizer.ground_scan.find_ground import GroundPlanes
from optimizer.ground_scan.sorted_scan import Grid, Heights, Mask
from optimizer.ground_scan.step_places import NearPoints, place_on_step
from optimizer.terrain.ground import BreakLine

#: Lower steps are within what a scan's noise and a lawn make.
LEAST_STEP_M: Final = 0.04
#: Shorter lines are left out.
LEAST_LENGTH_M: Final = 0.8
_SPACING_M: Final = 0.5
#: A vertex goes when the line without it stays this near on plan, and half as near in height.
_LOOSE_M: Final = 0.05
_Z_WEIGHT: Final = 2.0


def level_sides(
    path: Heights, planes: GroundPlanes, near: NearPoints, grid: Grid, taken: int
) -> list[BreakLine]:
    """The line with the ground's level on both sides; cut where a side is not seen or the step ends."""
    level = np.where(planes.is_seen, planes.level_m, np.nan)
    line = shapely.LineString(path)
    steps = max(2, int(np.ceil(line.length / _SPACING_M)) + 1)
    places = shapely.get_coordinates(line.interpolate(np.linspace(0.0, line.length, steps)))
    corners = np.asarray(path)[1:-1]
    along = np.concatenate([line.project(shapely.points(places)), line.project(shapely.points(corners))])
    order = np.argsort(along)
    places = np.concatenate([places, corners])[order]
    keep = np.concatenate([[True], np.diff(along[order]) > 0.1])
    keep[-1] = True
    places = places[keep]
    normals = np.array([_normal_at(line, place) for place in places])
    left, right = (_side_level(places, side * normals, level, planes, grid) for side in (1.0, -1.0))
    places = place_on_step(places, normals, left, right, near)
    lines: list[BreakLine] = []
    for high_side, top, foot in (("left", left, right), ("right", right, left)):
        fit = np.isfinite(top) & np.isfinite(foot) & (top - foot >= 0.5 * LEAST_STEP_M)
        edges = np.flatnonzero(np.diff(np.concatenate([[False], fit, [False]]).astype(int)))
        for start, end in zip(edges[::2], edges[1::2], strict=True):
            part = slice(int(start), int(end))
            length = float(np.hypot(*np.diff(places[part], axis=0).T).sum()) if end - start > 1 else 0.0
            if length < LEAST_LENGTH_M or float(np.median((top - foot)[part])) < LEAST_STEP_M:
                continue
            name = f"step {taken + len(lines) + 1}"
            stays = _thin(np.column_stack([places[part], _Z_WEIGHT * top[part], _Z_WEIGHT * foot[part]]))
            lines.append(BreakLine(name, places[part][stays], top[part][stays], foot[part][stays], high_side))
    return lines


def _normal_at(line: shapely.LineString, place: Heights) -> Heights:
    """Unit vector to the left of the line at a place on it."""
    at = float(line.project(shapely.Point(place)))
    ends = shapely.get_coordinates(line.interpolate([max(0.0, at - 0.2), min(line.length, at + 0.2)]))
    way = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    return np.array([-way[1], way[0]])


def _side_level(
    places: Heights, normals: Heights, level: Heights, planes: GroundPlanes, grid: Grid
) -> Heights:
    """Ground at the line as the planes 25 to 45 cm along the normals tell it; NaN where none was seen."""
    told = np.full(len(places), np.nan)
    for n, (place, normal) in enumerate(zip(places, normals, strict=True)):
        way = np.array([-normal[1], normal[0]])
        values = []
        for out in (0.25, 0.30, 0.35, 0.40, 0.45):
            for shift in (-0.2, -0.1, 0.0, 0.1, 0.2):
                spot = place + out * normal + shift * way
                u = (spot[0] - grid.west_m) / grid.cell_m
                v = (spot[1] - grid.south_m) / grid.cell_m
                i, j = int(np.floor(v)), int(np.floor(u))
                if not (0 <= i < grid.rows and 0 <= j < grid.columns) or not np.isfinite(level[i, j]):
                    continue
                x, y = (place + shift * way - spot) / grid.cell_m + [u - j - 0.5, v - i - 0.5]
                values.append(level[i, j] + planes.along_x[i, j] * x + planes.along_y[i, j] * y)
        if len(values) >= 3:
            told[n] = float(np.median(values))
    return told


def _thin(vertices: Heights) -> Mask:
    """Which vertices (k, 4) stay: Douglas and Peucker 1973 on place, top and foot at once."""
    stays = np.zeros(len(vertices), dtype=np.bool_)
    stays[[0, -1]] = True
    waiting = [(0, len(vertices) - 1)]
    while waiting:
        start, end = waiting.pop()
        if end - start < 2:
            continue
        along = vertices[end] - vertices[start]
        between = vertices[start + 1 : end] - vertices[start]
        share = np.clip(between @ along / max(float(along @ along), 1e-12), 0.0, 1.0)
        off = np.linalg.norm(between - share[:, None] * along, axis=1)
        worst = int(off.argmax())
        if off[worst] > _LOOSE_M:
            at = start + 1 + worst
            stays[at] = True
            waiting += [(start, at), (at, end)]
    return stays
