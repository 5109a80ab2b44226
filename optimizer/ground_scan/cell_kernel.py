"""Points sorted into the cells of a grid, and the layers of each cell."""

from __future__ import annotations

import numpy as np

from optimizer.ground_scan.compiled import compiled


@compiled
def find_cells(xyz, west, south, per_m, rows, columns, cell_of, counts):
    """Fill ``cell_of`` (n,) with row-major cell numbers (-1 outside), ``counts`` with points a cell."""
    for p in range(len(xyz)):
        j = int(np.floor((xyz[p, 0] - west) * per_m))
        i = int(np.floor((xyz[p, 1] - south) * per_m))
        if 0 <= i < rows and 0 <= j < columns:
            cell = i * columns + j
            cell_of[p] = cell
            counts[cell] += 1
        else:
            cell_of[p] = -1


@compiled
def sort_heights(xyz, cell_of, starts, filled, heights):
    """Fill ``heights`` with the elevations of each cell in rising order, cells at ``starts``."""
    for p in range(len(xyz)):
        cell = cell_of[p]
        if cell >= 0:
            heights[starts[cell] + filled[cell]] = xyz[p, 2]
            filled[cell] += 1
    for cell in range(len(filled)):
        _sort(heights, starts[cell], starts[cell] + filled[cell])


@compiled
def _sort(values, first, end):
    """Shell sort in place: cells hold tens of points, and it takes no memory."""
    gap = 1
    while gap < (end - first) // 3:
        gap = 3 * gap + 1
    while gap > 0:
        for i in range(first + gap, end):
            value = values[i]
            j = i
            while j >= first + gap and values[j - gap] > value:
                values[j] = values[j - gap]
                j -= gap
            values[j] = value
        gap //= 3


@compiled
def find_layers(heights, starts, thick, least_share, low, low_count, main, main_count):
    """Per cell the lowest layer that enough points share, and the layer that most points share.

    A layer is ``thick`` high; ``low`` and ``main`` are medians, NaN in an empty cell.
    """
    for cell in range(len(low)):
        first, end = starts[cell], starts[cell + 1]
        low[cell] = main[cell] = np.nan
        low_count[cell] = main_count[cell] = 0
        if end == first:
            continue
        count = end - first
        needed = 1 if count < 3 else (2 if count < 6 else max(3, int(least_share * count)))
        best, best_at, found = 0, first, False
        j = first
        for i in range(first, end):
            while j < end and heights[j] <= heights[i] + thick:
                j += 1
            if not found and j - i >= needed:
                found = True
                low[cell], low_count[cell] = _settle(heights, end, i, j, thick)
            if j - i > best:
                best, best_at = j - i, i
        main[cell] = heights[best_at + best // 2]
        main_count[cell] = best


@compiled
def _settle(heights, end, i, j, thick):
    """Median of the points about the median, twice: a stray below does not drag the layer down."""
    level = heights[i + (j - i) // 2]
    for _ in range(2):
        a = i
        while a < end and heights[a] < level - 0.5 * thick:
            a += 1
        b = a
        while b < end and heights[b] <= level + 0.5 * thick:
            b += 1
        i, j = a, b
        level = 0.5 * (heights[a + (b - a) // 2] + heights[a + (b - a - 1) // 2])
    return level, j - i


@compiled
def measure_near(heights, starts, reference, reach, level, counts):
    """Per cell the median of the points within ``reach`` of its ``reference``; NaN and 0 for none."""
    for cell in range(len(reference)):
        level[cell] = np.nan
        counts[cell] = 0
        if not np.isfinite(reference[cell]):
            continue
        a = starts[cell]
        end = starts[cell + 1]
        while a < end and heights[a] < reference[cell] - reach[cell]:
            a += 1
        b = a
        while b < end and heights[b] <= reference[cell] + reach[cell]:
            b += 1
        if b > a:
            level[cell] = 0.5 * (heights[a + (b - a) // 2] + heights[a + (b - a - 1) // 2])
            counts[cell] = b - a


@compiled
def fit_planes(level, weight, radius, reach, slant, rows, columns, fitted, along_x, along_y):
    """Per cell a plane through the levels near it that agree with it.

    Neighbours within ``radius`` cells count when they lie within ``reach`` plus ``slant`` a cell
    of distance of the cell's own level: none are taken from across a kerb.  Gradients are per cell.
    """
    for i in range(rows):
        for j in range(columns):
            own = level[i, j]
            if not np.isfinite(own):
                fitted[i, j] = np.nan
                along_x[i, j] = along_y[i, j] = 0.0
                continue
            s = sx = sy = sxx = sxy = syy = sz = sxz = syz = 0.0
            for a in range(max(0, i - radius), min(rows, i + radius + 1)):
                for b in range(max(0, j - radius), min(columns, j + radius + 1)):
                    z = level[a, b] - own
                    x, y = float(b - j), float(a - i)
                    far = max(abs(x), abs(y))
                    if not np.isfinite(z) or abs(z) > reach + slant * far:
                        continue
                    w = weight[a, b]
                    s += w
                    sx += w * x
                    sy += w * y
                    sxx += w * x * x
                    sxy += w * x * y
                    syy += w * y * y
                    sz += w * z
                    sxz += w * x * z
                    syz += w * y * z
            # A little pull towards level ground decides where the neighbours do not.
            pull = 0.05 * s + 1e-9
            cxx = sxx - sx * sx / s + pull
            cyy = syy - sy * sy / s + pull
            cxy = sxy - sx * sy / s
            cxz = sxz - sx * sz / s
            cyz = syz - sy * sz / s
            det = cxx * cyy - cxy * cxy
            gx = (cxz * cyy - cyz * cxy) / det
            gy = (cyz * cxx - cxz * cxy) / det
            along_x[i, j], along_y[i, j] = gx, gy
            fitted[i, j] = own + (sz - gx * sx - gy * sy) / s


@compiled
def grow_ground(level, kept, fitted, along_x, along_y, reach, sweeps):
    """Take back cells whose level goes on the plane of a kept cell beside them; gives how many.

    The plane is carried along, so that a rounded shrub is not climbed step by step.
    """
    rows, columns = level.shape
    taken = 0
    for sweep in range(sweeps):
        changed = 0
        for a in range(rows):
            i = a if sweep % 2 == 0 else rows - 1 - a
            for b in range(columns):
                j = b if sweep % 2 == 0 else columns - 1 - b
                if kept[i, j] or not np.isfinite(level[i, j]):
                    continue
                best = reach
                for di in range(-1, 2):
                    for dj in range(-1, 2):
                        u, v = i + di, j + dj
                        if not (0 <= u < rows and 0 <= v < columns) or not kept[u, v]:
                            continue
                        told = fitted[u, v] - along_y[u, v] * di - along_x[u, v] * dj
                        off = abs(level[i, j] - told)
                        if off < best:
                            best = off
                            fitted[i, j] = 0.7 * told + 0.3 * level[i, j]
                            along_x[i, j], along_y[i, j] = along_x[u, v], along_y[u, v]
                if best < reach:
                    kept[i, j] = True
                    changed += 1
        taken += changed
        if changed == 0:
            break
    return taken


@compiled
def drop_lonely(low, counts, reach, level):
    """NaN into ``level`` where one or two points stand for a cell and fewer than two cells near agree."""
    rows, columns = low.shape
    for i in range(rows):
        for j in range(columns):
            if counts[i, j] == 0 or counts[i, j] > 2:
                continue
            friends = 0
            for a in range(max(0, i - 2), min(rows, i + 3)):
                for b in range(max(0, j - 2), min(columns, j + 3)):
                    far = max(abs(a - i), abs(b - j))
                    if far > 0 and abs(low[a, b] - low[i, j]) <= reach * (0.5 + 0.35 * far):
                        friends += 1
            if friends < 2:
                level[i, j] = np.nan
