"""Compiled: looking up what is left to pay at least (``Bound``)."""

from __future__ import annotations

import math

from optimizer.search.compiled import compiled, inlined
from optimizer.search.kernel_tables import NEVER


@inlined
def least_rest_by_height(bound, runs_left, step):
    """Least cost from a height step on with so many runs left, wherever it is."""
    if step < 0:
        step = 0
    if step >= bound.by_step.shape[1]:
        return NEVER
    return bound.by_step[runs_left, step]


@compiled
def least_rest_landed(tables, bound, due, runs_left, step, u, v, slack):
    """Least cost from a pose within ``slack`` (along the axes) of (u, v), over ``due`` landings or more."""
    best = NEVER
    if step >= bound.landed.shape[3] or runs_left < 2:
        return best
    numbers = tables.numbers[0]
    column = int(math.floor((u - bound.corner_u) / bound.cell))
    row = int(math.floor((v - bound.corner_v) / bound.cell))
    column = min(max(column, 0), bound.distance.shape[2] - 1)
    row = min(max(row, 0), bound.distance.shape[1] - 1)
    deck = numbers.deck - step * numbers.height_step
    m = min(due, bound.landed.shape[0] - 1)
    for c in range(bound.landed.shape[1]):
        cost = bound.landed[m, c, runs_left, step]
        if cost >= best:
            continue
        # Two cells of slack: places within the cells at both ends.
        way = bound.distance[c, row, column] - 2.0 * bound.cell - numbers.longest_plate - slack
        bin_of_way = 0
        if way > 0.0:
            bin_of_way = int(way / bound.way_bin)
            if bin_of_way >= bound.by_way.shape[3]:
                continue
        # Drops of the runs that lead to the class, plate left out; a bin a run below for the rounding.
        least = deck - bound.highest[c] - bound.plate_fall
        bin_of_drop = max(0, int(math.floor(least / bound.drop_bin)) - runs_left)
        if bin_of_drop >= bound.by_way.shape[2]:
            continue
        best = min(best, max(cost, bound.ends[c] + bound.by_way[m, runs_left, bin_of_drop, bin_of_way]))
    return best


@compiled
def least_rest_ahead(tables, raster, bound, step, column, row, hu, hv, budget):
    """Least cost from somewhere in a raster cell straight ahead to the ground without a landing.

    Beyond ``budget`` the answer is only some lower bound above it.
    """
    numbers = tables.numbers[0]
    deck = numbers.deck - step * numbers.height_step
    steepest = numbers.steepest
    along_u = abs(hu) > 0.5
    sign = hu if along_u else hv
    far = raster.cell
    best = NEVER
    sums = bound.by_length.shape[0]
    i = 1
    least = bound.ends[0]
    while 0 <= column < raster.columns and 0 <= row < raster.rows:
        # Somewhere in this cell, at most ``far`` ahead and at least two cells less (from anywhere in the
        # first cell): high enough for the steepest way down?
        if raster.ground_high[row, column] >= deck - steepest * far - 1e-6 and raster.ends[row, column] > 0:
            near = far - 2.0 * raster.cell - numbers.longest_plate
            while i < sums and bound.by_length[i] < near - 1e-6:
                i += 1
            if i >= sums:
                return best
            cost = bound.by_length_cost[i] + least
            if cost > budget:
                return min(best, cost)
            if raster.ends[row, column] == 1:
                cost += numbers.pad_cost
            best = min(best, cost)
            if raster.ends[row, column] == 2:
                return best
        if along_u:
            column += 1 if sign > 0.0 else -1
        else:
            row += 1 if sign > 0.0 else -1
        far += raster.cell
    return best


@inlined
def least_rest(tables, raster, bound, room, due, runs_left, step, u, v, heading, hu, hv, limit):
    """Least cost from a pose on with so many runs left, ``due`` turns still to make.

    Some bound above ``limit`` when it is dearer.

    The answer is the same for all poses of a raster cell: it is remembered by cell, heading, height
    step and runs left; a room serves one ``limit``.
    """
    column = int(math.floor((u - raster.corner_u) / raster.cell))
    row = int(math.floor((v - raster.corner_v) / raster.cell))
    if column < 0 or row < 0 or column >= raster.columns or row >= raster.rows:
        return NEVER
    due = min(due, 7)
    key = ((((row * raster.columns + column) * 4 + heading) * 8 + due) * 16 + runs_left) * 8192 + step
    size = room.memo.shape[0]
    slot = (key ^ (key >> 17) ^ (key >> 31)) * 2654435761 & (size - 1)
    if room.memo_key[slot] == key:
        return room.memo[slot]
    middle_u = raster.corner_u + (column + 0.5) * raster.cell
    middle_v = raster.corner_v + (row + 0.5) * raster.cell
    best = least_rest_landed(tables, bound, max(1, due), runs_left, step, middle_u, middle_v, raster.cell)
    if due == 0:
        best = min(best, least_rest_ahead(tables, raster, bound, step, column, row, hu, hv, limit))
    room.memo_key[slot] = key
    room.memo[slot] = best
    return best
