"""Compiled: whether a ramp may land at a place, and what that costs."""

from __future__ import annotations

import math

from numba import njit

from optimizer.search.geometry_kernel import (
    E,
    first_piece,
    first_violation,
    ground_elevation,
    is_inside,
)
from optimizer.search.kernel_tables import LIP, NEVER


@njit(cache=True, nogil=True)
def toe_cost(tables, rectangles, count, u, v, hu, hv, hinge, slope_limit, reach, tip, room):
    """Extra cost at the tip (0, or the pad), or NEVER when the ramp may not land there.

    (u, v): the tip's middle; ``tip`` its elevation; ``reach`` the plate's plan length.
    """
    numbers = tables.numbers
    drop = hinge - tip
    if drop < -E or drop > slope_limit * reach + E:
        return NEVER
    half = numbers.width / 2.0
    slope = drop / reach
    under = first_violation(
        tables.plate_cover, u - reach * hu, v - reach * hv, hu, hv, half, reach, hinge, slope, -LIP, room
    )
    if under < reach - E:
        return NEVER
    arrivals = tables.arrival_start.shape[0] - 1
    if arrivals > 0:
        arrived = False
        for n in range(arrivals):
            if is_inside(tables.arrival_segments, tables.arrival_start[n], tables.arrival_start[n + 1], u, v):
                arrived = True
        if not arrived:
            return NEVER
    length = numbers.bottom_length
    wide = numbers.bottom_width / 2.0
    clear = first_violation(tables.bottom_cover, u, v, hu, hv, wide, length, 0.0, 0.0, 0.0, room)
    if clear < length - E:
        return NEVER
    if first_piece(rectangles, count, -1, 0.0, u, v, hu, hv, wide, length) < length - E:
        return NEVER
    rows = (0.0, 0.0, 0.0)
    first_row = 0.0
    last_row = 0.0
    left = 0.0
    right = 0.0
    spread = 0.0
    for i in range(3):
        for j in range(3):
            t = length * 0.5 * i
            side = wide * (j - 1)
            z = ground_elevation(
                tables.ground,
                tables.cell_start,
                tables.cell_items,
                tables.grid,
                u + t * hu + side * hv,
                v + t * hv - side * hu,
            )
            if math.isnan(z):
                return NEVER
            spread = max(spread, abs(z - tip))
            if i == 0:
                first_row += z / 3.0
            if i == 2:
                last_row += z / 3.0
            if j == 0:
                left += z / 3.0
            if j == 2:
                right += z / 3.0
    steepest = math.hypot((last_row - first_row) / length, (right - left) / (2.0 * wide))
    needs_pad = steepest > numbers.level_limit + 1e-9
    for side in (-half, half):
        z = ground_elevation(
            tables.ground, tables.cell_start, tables.cell_items, tables.grid, u + side * hv, v - side * hu
        )
        if math.isnan(z):
            return NEVER
        if abs(z - tip) > LIP + E:
            needs_pad = True
    if not needs_pad:
        return 0
    if numbers.pad_cost >= NEVER or spread > numbers.pad_difference + E:
        return NEVER
    if first_violation(tables.dig_cover, u, v, hu, hv, wide, length, 0.0, 0.0, 0.0, room) < length - E:
        return NEVER
    return numbers.pad_cost
