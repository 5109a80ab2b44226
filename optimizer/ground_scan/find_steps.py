"""Kerbs, retaining walls and terraces: where the ground on two sides does not meet."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from scipy import ndimage
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components, dijkstra, minimum_spanning_tree
from scipy.spatial import cKDTree

from optimizer.ground_scan.cells import Cells
from optimizer.ground_scan.find_ground import GroundPlanes
from optimizer.ground_scan.outlines import label_patches
from optimizer.ground_scan.sorted_scan import Heights, Mask
from optimizer.ground_scan.step_levels import LEAST_LENGTH_M, LEAST_STEP_M, level_sides
from optimizer.ground_scan.step_places import gather_near
from optimizer.terrain.ground import BreakLine

_SIDE_CELLS: Final = 2  # the two sides are compared this far from the step
_SLOPE_CELLS: Final = 15  # wider than a step, narrower than a hollow
_LOOSE_M: Final = 0.04


def find_steps(cells: Cells, planes: GroundPlanes) -> tuple[tuple[BreakLine, ...], Mask]:
    """Break lines, and the cells along them."""
    grid = cells.grid
    level = np.where(planes.is_seen, planes.level_m, np.nan)
    jump = _measure_jumps(level, planes.along_x, planes.along_y)
    marked = jump > LEAST_STEP_M
    labels, count = label_patches(marked)
    lines: list[BreakLine] = []
    near = gather_near(cells, marked)
    for number in range(1, count + 1):
        patch = labels == number
        if patch.sum() * grid.cell_m**2 < LEAST_LENGTH_M * 2 * grid.cell_m:
            continue
        for path in _trace(grid.middles(patch), jump[patch], grid.cell_m):
            lines.extend(level_sides(path, planes, near, grid, len(lines)))
    return tuple(lines), marked


def _measure_jumps(level: Heights, along_x: Heights, along_y: Heights) -> Heights:
    """Per cell the largest fall between opposite sides, less what the slope round about accounts for."""
    k = _SIDE_CELLS
    rows, columns = level.shape
    padded = np.pad(level, k, constant_values=np.nan)
    slope_x, slope_y = (ndimage.median_filter(each, _SLOPE_CELLS) for each in (along_x, along_y))

    def seen_from(di: int, dj: int) -> Heights:
        return padded[k + di : k + di + rows, k + dj : k + dj + columns]

    jump = np.zeros(level.shape)
    for di, dj in ((0, k), (k, 0), (k, k), (k, -k)):
        fall = seen_from(di, dj) - seen_from(-di, -dj) - 2 * (di * slope_y + dj * slope_x)
        jump = np.fmax(jump, np.abs(fall))
    return jump


def _trace(places: Heights, weight: Heights, cell_m: float) -> list[Heights]:
    """Places about a line drawn together onto it and put in order; several lines where it branches."""
    middle = places
    for _ in range(3):
        middle = _draw_together(middle, places, weight, 4.0 * cell_m)
    lines = []
    left = np.ones(len(middle), dtype=np.bool_)
    while left.sum() >= 4:
        path = _longest_path(middle[left], 2.2 * cell_m)
        line = shapely.LineString(path) if len(path) > 1 else None
        if line is None or line.length < LEAST_LENGTH_M:
            break
        lines.append(path)
        left &= shapely.distance(shapely.points(middle), line) > 3.0 * cell_m
    return lines


def _draw_together(middle: Heights, places: Heights, weight: Heights, reach_m: float) -> Heights:
    """Each middle (k, 2) moved across the line through the places near it, onto that line."""
    groups = cKDTree(places).query_ball_point(middle, reach_m)
    counts = [len(group) for group in groups]
    of = np.repeat(np.arange(len(middle)), counts)
    near = np.concatenate(groups).astype(np.int64)
    w = weight[near]

    def total(values: Heights) -> Heights:
        return np.asarray(np.bincount(of, weights=w * values, minlength=len(middle)), dtype=np.float64)

    means = np.column_stack([total(places[near, axis]) for axis in (0, 1)]) / total(np.ones(len(w)))[:, None]
    off = places[near] - means[of]
    xy = total(off[:, 0] * off[:, 1])
    spread = np.stack([total(off[:, 0] ** 2), xy, xy, total(off[:, 1] ** 2)], axis=-1).reshape(-1, 2, 2)
    across = np.linalg.eigh(spread)[1][:, :, 0]
    return np.asarray(middle + across * (across * (means - middle)).sum(axis=1)[:, None])


def _longest_path(places: Heights, reach_m: float) -> Heights:
    """The longest way through a tree over the places, thinned to a few vertices."""
    pairs = cKDTree(places).query_pairs(reach_m, output_type="ndarray")
    if len(pairs) == 0:
        return places[:1]
    length = np.hypot(*(places[pairs[:, 0]] - places[pairs[:, 1]]).T) + 1e-6
    tree = minimum_spanning_tree(coo_array((length, pairs.T), shape=(len(places), len(places))).tocsr())
    _, part_of = connected_components(tree, directed=False)
    in_largest = np.flatnonzero(part_of == np.bincount(part_of).argmax())
    start = _farthest(dijkstra(tree, directed=False, indices=int(in_largest[0])))
    away, before = dijkstra(tree, directed=False, indices=start, return_predecessors=True)
    at = _farthest(away)
    path = [at]
    while at != start:
        at = int(before[at])
        path.append(at)
    if len(path) < 2:
        return places[:1]
    # The way zigzags by millimetres: even steps, then straight stretches as one.
    line = shapely.LineString(places[path])
    steps = max(2, int(line.length / 0.15) + 1)
    even = shapely.get_coordinates(line.interpolate(np.linspace(0.0, line.length, steps)))
    return np.asarray(shapely.LineString(even).simplify(_LOOSE_M).coords)


def _farthest(away: Heights) -> int:
    return int(np.where(np.isfinite(away), away, -1.0).argmax())
