"""What each point is, against the planes of the cells."""

from __future__ import annotations

import numpy as np

from optimizer.ground_scan.compiled import compiled
from optimizer.ground_scan.sorted_scan import GROUND, LOW, OBJECT, UNKNOWN


@compiled
def sort_points(
    xyz,
    cell_of,
    west,
    south,
    per_m,
    rows,
    columns,
    level,
    along_x,
    along_y,
    reach,
    slack,
    kinds,
    counts,
    squares,
):
    """Fill ``kinds`` (n,): ground within ``reach`` of the plane of the point's cell or of one beside it.

    ``counts``, ``squares``: of the ground points of each cell how many, and the sum of their squared
    distances from the plane that made them ground.
    ``slack`` a cell: how much further the ground may be from its plane; infinite where nothing is known.
    """
    for p in range(len(xyz)):
        cell = cell_of[p]
        if cell < 0 or slack[cell] > 1e3:
            kinds[p] = UNKNOWN
            continue
        i, j = cell // columns, cell % columns
        x = (xyz[p, 0] - west) * per_m - j - 0.5
        y = (xyz[p, 1] - south) * per_m - i - 0.5
        off = xyz[p, 2] - (level[cell] + along_x[cell] * x + along_y[cell] * y)
        if abs(off) <= reach[cell] + slack[cell]:
            kinds[p] = UNKNOWN
            if slack[cell] == 0.0:
                kinds[p] = GROUND
                counts[cell] += 1
                squares[cell] += off * off
            continue
        kinds[p] = OBJECT if off > 0 else LOW
        for k in range(4):
            di = (k == 0) - (k == 1)
            dj = (k == 2) - (k == 3)
            if not (0 <= i + di < rows and 0 <= j + dj < columns):
                continue
            other = cell + di * columns + dj
            if slack[other] > 0.0:
                continue
            away = xyz[p, 2] - (level[other] + along_x[other] * (x - dj) + along_y[other] * (y - di))
            if abs(away) <= reach[other]:
                kinds[p] = GROUND
                counts[cell] += 1
                squares[cell] += away * away
                break
            if off < 0 < away or away < 0 < off:
                kinds[p] = OBJECT  # between the two sides of a step


@compiled
def gather_objects(
    xyz, cell_of, kinds, level, headroom, low_count, high_count, top, bottom, high_top, high_bottom
):
    """Per cell: object points below ``headroom`` over the ground and those above it, each with their span.

    ``top`` is the second highest, so that one stray point makes nothing higher; fill with NaN before.
    """
    first = np.full(len(level), -np.inf)
    high_first = np.full(len(level), -np.inf)
    for p in range(len(xyz)):
        cell = cell_of[p]
        if cell < 0 or kinds[p] != OBJECT:
            continue
        z = xyz[p, 2]
        if z - level[cell] <= headroom:
            low_count[cell] += 1
            if z > first[cell]:
                top[cell] = first[cell]
                first[cell] = z
            elif z > top[cell]:
                top[cell] = z
            if not bottom[cell] <= z:
                bottom[cell] = z
        else:
            high_count[cell] += 1
            if z > high_first[cell]:
                high_top[cell] = high_first[cell]
                high_first[cell] = z
            elif z > high_top[cell]:
                high_top[cell] = z
            if not high_bottom[cell] <= z:
                high_bottom[cell] = z
