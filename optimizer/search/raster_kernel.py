"""Compiled: what is certain of every place in a cell (``Raster``), and looking it up."""

from __future__ import annotations

import math

from optimizer.search.compiled import compiled, inlined
from optimizer.search.geometry_kernel import HIGH, E, clip, top_under
from optimizer.search.kernel_tables import LIP, NEVER

#: Cells of the ground are enlarged by this on all sides: joints are looked up a little beside their place.
BESIDE_M = 0.003
#: Heights of supports in bins, metres: the first and their width.
LOWEST_M, HEIGHT_BIN_M = -0.2, 0.004


@compiled
def cells_of(raster, triangles, n, grown):
    """First and last column and row that a triangle, enlarged a little, can touch."""
    u0 = min(triangles[n, 0, 0], triangles[n, 1, 0], triangles[n, 2, 0]) - grown
    u1 = max(triangles[n, 0, 0], triangles[n, 1, 0], triangles[n, 2, 0]) + grown
    v0 = min(triangles[n, 0, 1], triangles[n, 1, 1], triangles[n, 2, 1]) - grown
    v1 = max(triangles[n, 0, 1], triangles[n, 1, 1], triangles[n, 2, 1]) + grown
    first_column = max(0, int(math.floor((u0 - raster.corner_u) / raster.cell)))
    last_column = min(raster.columns - 1, int(math.floor((u1 - raster.corner_u) / raster.cell)))
    first_row = max(0, int(math.floor((v0 - raster.corner_v) / raster.cell)))
    last_row = min(raster.rows - 1, int(math.floor((v1 - raster.corner_v) / raster.cell)))
    return first_column, last_column, first_row, last_row


@compiled
def clip_to_cell(raster, triangles, n, column, row, grown, room):
    """Clip a triangle to a cell enlarged by ``grown``; vertices in ``room[0]``, returns how many."""
    u0 = raster.corner_u + column * raster.cell - grown
    u1 = u0 + raster.cell + 2.0 * grown
    v0 = raster.corner_v + row * raster.cell - grown
    v1 = v0 + raster.cell + 2.0 * grown
    for i in range(3):
        for k in range(3):
            room[0, i, k] = triangles[n, i, k]
    count = clip(room[0], 3, 1.0, 0.0, 0.0, -u0, room[1])
    count = clip(room[1], count, -1.0, 0.0, 0.0, u1, room[0])
    count = clip(room[0], count, 0.0, 1.0, 0.0, -v0, room[1])
    return clip(room[1], count, 0.0, -1.0, 0.0, v1, room[0])


@compiled
def row_span(triangles, n, v0, v1):
    """The stretch of u in which a triangle meets the band between two v; empty: high below low."""
    low = math.inf
    high = -math.inf
    for i in range(3):
        j = i + 1 if i < 2 else 0
        a_u = triangles[n, i, 0]
        a_v = triangles[n, i, 1]
        b_u = triangles[n, j, 0]
        b_v = triangles[n, j, 1]
        if v0 <= a_v <= v1:
            low = min(low, a_u)
            high = max(high, a_u)
        for v in (v0, v1):
            if (a_v - v) * (b_v - v) < 0.0:
                u = a_u + (v - a_v) * (b_u - a_u) / (b_v - a_v)
                low = min(low, u)
                high = max(high, u)
    return low, high


@compiled
def is_cell_inside(triangles, n, u0, u1, v0, v1):
    """Whether a triangle, either way round, holds a whole rectangle."""
    for i in range(3):
        j = i + 1 if i < 2 else 0
        k = j + 1 if j < 2 else 0
        du = triangles[n, j, 0] - triangles[n, i, 0]
        dv = triangles[n, j, 1] - triangles[n, i, 1]
        side = du * (triangles[n, k, 1] - triangles[n, i, 1]) - dv * (triangles[n, k, 0] - triangles[n, i, 0])
        for corner in range(4):
            pu = (u0 if corner < 2 else u1) - triangles[n, i, 0]
            pv = (v0 if corner % 2 == 0 else v1) - triangles[n, i, 1]
            if (du * pv - dv * pu) * side < 0.0:
                return False
    return True


@compiled
def lay_ground(raster, triangles, count, room):
    """Fill ``ground_low``, ``ground_high`` and ``cover`` from the ground triangles."""
    for n in range(count):
        _, _, first_row, last_row = cells_of(raster, triangles, n, BESIDE_M)
        x0 = triangles[n, 0, 0]
        y0 = triangles[n, 0, 1]
        x1 = triangles[n, 1, 0] - x0
        y1 = triangles[n, 1, 1] - y0
        x2 = triangles[n, 2, 0] - x0
        y2 = triangles[n, 2, 1] - y0
        area = x1 * y2 - x2 * y1
        z1 = triangles[n, 1, 2] - triangles[n, 0, 2]
        z2 = triangles[n, 2, 2] - triangles[n, 0, 2]
        a = (z1 * y2 - z2 * y1) / area
        b = (z2 * x1 - z1 * x2) / area
        half = raster.cell / 2.0
        swing = (abs(a) + abs(b)) * half
        wide = (abs(a) + abs(b)) * (half + BESIDE_M)
        for row in range(first_row, last_row + 1):
            v0 = raster.corner_v + row * raster.cell
            low, high = row_span(triangles, n, v0 - BESIDE_M, v0 + raster.cell + BESIDE_M)
            if high < low:
                continue
            first = max(0, int(math.floor((low - BESIDE_M - raster.corner_u) / raster.cell)))
            last = min(raster.columns - 1, int(math.floor((high + BESIDE_M - raster.corner_u) / raster.cell)))
            for column in range(first, last + 1):
                u0 = raster.corner_u + column * raster.cell
                if is_cell_inside(
                    triangles,
                    n,
                    u0 - BESIDE_M,
                    u0 + raster.cell + BESIDE_M,
                    v0 - BESIDE_M,
                    v0 + raster.cell + BESIDE_M,
                ):
                    middle = triangles[n, 0, 2] + a * (u0 + half - x0) + b * (v0 + half - y0)
                    raster.ground_low[row, column] = min(raster.ground_low[row, column], middle - wide)
                    raster.ground_high[row, column] = max(raster.ground_high[row, column], middle + wide)
                    raster.cover[row, column] = max(raster.cover[row, column], middle + swing)
                    continue
                count_in = clip_to_cell(raster, triangles, n, column, row, BESIDE_M, room)
                for i in range(count_in):
                    z = room[0, i, 2]
                    raster.ground_low[row, column] = min(raster.ground_low[row, column], z)
                    raster.ground_high[row, column] = max(raster.ground_high[row, column], z)
                # A little inside the cell: touching along an edge is not covering.
                count_in = clip_to_cell(raster, triangles, n, column, row, -2.0 * E, room)
                for i in range(count_in):
                    raster.cover[row, column] = max(raster.cover[row, column], room[0, i, 2])


@compiled
def lay_cover(raster, triangles, first, last, room):
    """Raise ``cover`` by triangles of a constant height (tops of obstacles, what nothing may overlap)."""
    for n in range(first, last):
        height = triangles[n, 0, 2]
        _, _, first_row, last_row = cells_of(raster, triangles, n, 0.0)
        for row in range(first_row, last_row + 1):
            v0 = raster.corner_v + row * raster.cell + 2.0 * E
            low, high = row_span(triangles, n, v0, v0 + raster.cell - 4.0 * E)
            if high < low:
                continue
            first_column = max(0, int(math.floor((low - raster.corner_u) / raster.cell)))
            last_column = min(raster.columns - 1, int(math.floor((high - raster.corner_u) / raster.cell)))
            for column in range(first_column, last_column + 1):
                if raster.cover[row, column] >= height:
                    continue
                if clip_to_cell(raster, triangles, n, column, row, -2.0 * E, room) >= 3:
                    raster.cover[row, column] = height


@compiled
def lay_ceiling(raster, triangles, first, last, room):
    """Lower ``ceiling`` by overhead zones."""
    for n in range(first, last):
        first_column, last_column, first_row, last_row = cells_of(raster, triangles, n, 0.0)
        for row in range(first_row, last_row + 1):
            for column in range(first_column, last_column + 1):
                if clip_to_cell(raster, triangles, n, column, row, -2.0 * E, room) >= 3:
                    raster.ceiling[row, column] = min(raster.ceiling[row, column], triangles[n, 0, 2])


@compiled
def lay_strips(raster):
    """Greatest cover of ``strip`` cells side by side, along both axes; cells without ground are blocked."""
    rows = raster.rows
    columns = raster.columns
    for row in range(rows):
        for column in range(columns):
            if raster.ground_low[row, column] == math.inf:
                raster.cover[row, column] = HIGH
    for row in range(rows):
        for column in range(columns):
            best = -math.inf
            for k in range(raster.strip):
                if row + k >= rows:
                    best = HIGH
                    break
                best = max(best, raster.cover[row + k, column])
            raster.strip_u[row, column] = best
            best = -math.inf
            for k in range(raster.strip):
                if column + k >= columns:
                    best = HIGH
                    break
                best = max(best, raster.cover[row, column + k])
            raster.strip_v[row, column] = best


@compiled
def lay_near_low(raster, scratch, distance):
    """``near_low``: least of ``ground_high`` less a cell's own fall over all cells within ``distance``."""
    reach = int(math.floor(distance / raster.cell)) - 1
    rows = raster.rows
    columns = raster.columns
    for row in range(rows):
        for column in range(columns):
            best = math.inf
            for k in range(max(0, column - reach), min(columns, column + reach + 1)):
                # The lowest ground of a cell lies nowhere above its highest.
                if raster.ground_low[row, k] < math.inf:
                    best = min(best, raster.ground_high[row, k])
            scratch[row, column] = best
    for row in range(rows):
        for column in range(columns):
            best = math.inf
            for k in range(max(0, row - reach), min(rows, row + reach + 1)):
                best = min(best, scratch[k, column])
            raster.near_low[row, column] = best


@compiled
def lay_ends(tables, raster, tips, ends):
    """Fill ``ends``: 0 no ramp can end in a cell, 1 only with a pad, 2 perhaps without (a relaxation).

    ``tips``: cells worth a look.  Levels are known to within a cell's own fall; what is not
    certain counts as possible.
    """
    numbers = tables.numbers[0]
    length = numbers.bottom_length
    wide = numbers.bottom_width / 2.0
    half = numbers.width / 2.0
    for row in range(raster.rows):
        for column in range(raster.columns):
            ends[row, column] = 0
            if not tips[row, column]:
                continue
            u = raster.corner_u + (column + 0.5) * raster.cell
            v = raster.corner_v + (row + 0.5) * raster.cell
            for heading in range(4):
                hu = (0.0, 1.0, 0.0, -1.0)[heading]
                hv = (1.0, 0.0, -1.0, 0.0)[heading]
                best = end_of(tables, raster, u, v, hu, hv, length, wide, half)
                ends[row, column] = max(ends[row, column], best)
                if best == 2:
                    break


@compiled
def level_near(raster, u, v):
    """Middle and half spread of the ground within half a cell of a point; NaN where some is not surveyed."""
    half = raster.cell / 2.0
    first_column = int(math.floor((u - half - raster.corner_u) / raster.cell))
    last_column = int(math.floor((u + half - raster.corner_u) / raster.cell))
    first_row = int(math.floor((v - half - raster.corner_v) / raster.cell))
    last_row = int(math.floor((v + half - raster.corner_v) / raster.cell))
    if first_column < 0 or first_row < 0 or last_column >= raster.columns or last_row >= raster.rows:
        return math.nan, math.nan
    low = math.inf
    high = -math.inf
    for row in range(first_row, last_row + 1):
        for column in range(first_column, last_column + 1):
            if raster.ground_low[row, column] == math.inf:
                return math.nan, math.nan
            low = min(low, raster.ground_low[row, column])
            high = max(high, raster.ground_high[row, column])
    return (low + high) / 2.0, (high - low) / 2.0


@compiled
def end_of(tables, raster, u, v, hu, hv, length, wide, half):
    """What ``lay_ends`` asks of one cell and heading."""
    numbers = tables.numbers[0]
    tip, loose = level_near(raster, u, v)
    if math.isnan(tip):
        return 2
    needs_pad = False
    for side in (-half, half):
        z, swing = level_near(raster, u + side * hv, v - side * hu)
        if not math.isnan(z) and abs(z - tip) - swing - loose > LIP + E:
            needs_pad = True
    along = 0.0
    along_loose = 0.0
    across = 0.0
    across_loose = 0.0
    spread = 0.0
    for i in range(3):
        for j in range(3):
            t = length * 0.5 * i
            side = wide * (j - 1)
            z, swing = level_near(raster, u + t * hu + side * hv, v + t * hv - side * hu)
            if math.isnan(z):
                # Perhaps surveyed in a neighbouring part of the cell: nothing is certain.
                return 2
            spread = max(spread, abs(z - tip) - swing - loose)
            along += (i - 1) * z / (3.0 * length)
            along_loose += abs(i - 1) * swing / (3.0 * length)
            across += (j - 1) * z / (6.0 * wide)
            across_loose += abs(j - 1) * swing / (6.0 * wide)
    steepest = math.hypot(max(0.0, abs(along) - along_loose), max(0.0, abs(across) - across_loose))
    if steepest > numbers.level_limit + 1e-9:
        needs_pad = True
    if not needs_pad:
        return 2
    if numbers.pad_cost >= NEVER or spread > numbers.pad_difference + E:
        return 0
    return 1


@compiled
def look_at_feet(tables, raster):
    """Look at every cell for every kind of foot."""
    for group in range(raster.groups.shape[0]):
        for row in range(raster.rows):
            for column in range(raster.columns):
                look_at_foot(tables, raster, group, row, column)


@compiled
def look_at_foot(tables, raster, group, row, column):
    """Work out whether a foot of a group may stand somewhere in a cell (a relaxation), and keep it."""
    if raster.ground_low[row, column] == math.inf:
        raster.allowed[group, row, column] = 1
        return
    u = raster.corner_u + (column + 0.5) * raster.cell
    v = raster.corner_v + (row + 0.5) * raster.cell
    r = raster.groups[group, 1] - (raster.cell / 2.0 + BESIDE_M) * math.sqrt(2.0)
    top = top_under(tables, u, v, r)
    if math.isnan(top):
        raster.allowed[group, row, column] = 1
    elif top > -math.inf:
        raster.tops[group, row, column] = top
        raster.allowed[group, row, column] = 3
    else:
        raster.allowed[group, row, column] = 2


@inlined
def foot_cell(tables, raster, group, u, v):
    """Least and greatest level under a foot of a group near a point; NaN where none may stand."""
    column = int(math.floor((u - raster.corner_u) / raster.cell))
    row = int(math.floor((v - raster.corner_v) / raster.cell))
    if column < 0 or row < 0 or column >= raster.columns or row >= raster.rows:
        return math.nan, math.nan
    state = raster.allowed[group, row, column]
    if state == 0:
        look_at_foot(tables, raster, group, row, column)
        state = raster.allowed[group, row, column]
    if state == 1:
        return math.nan, math.nan
    if state == 3:
        return raster.tops[group, row, column], raster.tops[group, row, column]
    return raster.ground_low[row, column], raster.ground_high[row, column]
