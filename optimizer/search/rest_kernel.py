"""Compiled: looking up what is left to pay at least (``Bound``)."""

from __future__ import annotations

import math

from numba import njit

from optimizer.search import kernel_cache  # noqa: F401 - must run before anything here is compiled
from optimizer.search.kernel_tables import NEVER


@njit(cache=True, nogil=True)
def least_rest_by_height(bound, runs_left, step):
    """Least cost from a height step on with so many runs left, wherever it is."""
    if step < 0:
        step = 0
    if step >= bound.by_step.shape[1]:
        return NEVER
    return bound.by_step[runs_left, step]


@njit(cache=True, nogil=True)
def least_rest(tables, bound, runs_left, step, u, v, slack):
    """Least cost from a pose within ``slack`` (along the axes) of (u, v) with so many runs left."""
    best = NEVER
    if step >= bound.by_height.shape[2] or bound.by_step[runs_left, step] >= NEVER:
        return best
    numbers = tables.numbers[0]
    column = int(math.floor((u - bound.corner_u) / bound.cell))
    row = int(math.floor((v - bound.corner_v) / bound.cell))
    column = min(max(column, 0), bound.distance.shape[2] - 1)
    row = min(max(row, 0), bound.distance.shape[1] - 1)
    deck = numbers.deck - step * numbers.height_step
    for c in range(bound.by_height.shape[0]):
        cost = bound.by_height[c, runs_left, step]
        if cost >= best:
            continue
        # Two cells of slack: places within the cells at both ends.
        way = bound.distance[c, row, column] - 2.0 * bound.cell - numbers.longest_plate - slack
        bin_of_way = 0
        if way > 0.0:
            bin_of_way = int(way / bound.way_bin)
            if bin_of_way >= bound.by_way.shape[2]:
                continue
        # Drops of the runs that lead to the class, plate left out; a bin below for the rounding.
        least = deck - bound.highest[c] - bound.plate_fall
        bin_of_drop = max(0, int(math.floor(least / bound.drop_bin)) - runs_left)
        if bin_of_drop >= bound.by_way.shape[1]:
            continue
        best = min(best, max(cost, bound.ends[c] + bound.by_way[runs_left, bin_of_drop, bin_of_way]))
    return best
