"""Compiled: whether a ramp may land at a place, and what that costs."""

from __future__ import annotations

import math

from optimizer.search.compiled import compiled
from optimizer.search.geometry_kernel import (
    ARRIVAL,
    E,
    first_piece,
    first_violation,
    ground_elevation,
    is_inside,
)
from optimizer.search.kernel_tables import LIP, NEVER


@compiled
def toe_cost(tables, rectangles, count, u, v, hu, hv, hinge, slope_limit, reach, tip, room):
    """Extra cost at the tip (0, or the pad), or NEVER when the ramp may not land there.

    (u, v): the tip's middle; ``tip`` its elevation; ``reach`` the plate's plan length; ``count``
    earlier pieces, the run that bears the plate left out.
    """
    numbers = tables.numbers[0]
    drop = hinge - tip
    if drop < -E or drop > slope_limit * reach + E:
        return NEVER
    half = numbers.width / 2.0
    slope = drop / reach
    hinge_u = u - reach * hu
    hinge_v = v - reach * hv
    solid = first_violation(
        tables.triangles,
        numbers.solid_end,
        numbers.plate_end,
        hinge_u,
        hinge_v,
        hu,
        hv,
        half,
        reach,
        hinge,
        slope,
        -LIP,
        room,
    )
    if solid < reach - E:
        return NEVER
    buried = first_violation(
        tables.triangles,
        numbers.start,
        numbers.ground_end,
        hinge_u,
        hinge_v,
        hu,
        hv,
        half,
        reach,
        hinge,
        slope,
        -LIP,
        room,
    )
    asks_arrival = False
    has_arrived = False
    for n in range(tables.rings.shape[0]):
        ring = tables.rings[n]
        if ring.kind == ARRIVAL:
            asks_arrival = True
            if is_inside(tables.segments, ring.first, ring.last, u, v):
                has_arrived = True
    if asks_arrival and not has_arrived:
        return NEVER
    length = numbers.bottom_length
    wide = numbers.bottom_width / 2.0
    clear = first_violation(
        tables.triangles,
        numbers.plate_end,
        numbers.bottom_end,
        u,
        v,
        hu,
        hv,
        wide,
        length,
        0.0,
        0.0,
        0.0,
        room,
    )
    if clear < length - E:
        return NEVER
    if first_piece(rectangles, count, -1, numbers.foot_room, u, v, hu, hv, wide, length) < length - E:
        return NEVER
    first_row = 0.0
    last_row = 0.0
    left = 0.0
    right = 0.0
    spread = 0.0
    middle = 0.0
    for i in range(3):
        for j in range(3):
            t = length * 0.5 * i
            side = wide * (j - 1)
            z = ground_elevation(
                tables,
                u + t * hu + side * hv,
                v + t * hv - side * hu,
            )
            if math.isnan(z):
                return NEVER
            spread = max(spread, abs(z - tip))
            room[1, i, j] = z
            middle += z / 9.0
            if i == 0:
                first_row += z / 3.0
            if i == 2:
                last_row += z / 3.0
            if j == 0:
                left += z / 3.0
            if j == 2:
                right += z / 3.0
    along = (last_row - first_row) / length
    across = (right - left) / (2.0 * wide)
    steepest = math.hypot(along, across)
    uneven = 0.0
    for i in range(3):
        for j in range(3):
            plane = middle + along * length * 0.5 * (i - 1) + across * wide * (j - 1)
            uneven = max(uneven, abs(room[1, i, j] - plane))
    needs_pad = steepest > numbers.level_limit + 1e-9 or buried < reach - E or uneven > LIP + E
    for side in (-half, half):
        z = ground_elevation(tables, u + side * hv, v - side * hu)
        if math.isnan(z):
            return NEVER
        if abs(z - tip) > LIP + E:
            needs_pad = True
    if not needs_pad:
        return 0
    if numbers.pad_cost >= NEVER or spread > numbers.pad_difference + E:
        return NEVER
    # No foot on the pad, which may be larger than the space asked.
    apron = numbers.apron_length
    beside = numbers.apron_width / 2.0
    if first_piece(rectangles, count, -1, numbers.foot_room, u, v, hu, hv, beside, apron) < apron - E:
        return NEVER
    # With a pad the ground beside the plate is cut too, as deep as under the pad.
    too_deep = first_violation(
        tables.triangles,
        numbers.start,
        numbers.ground_end,
        hinge_u,
        hinge_v,
        hu,
        hv,
        half,
        reach,
        hinge,
        slope,
        -numbers.pad_difference,
        room,
    )
    plate_dig = first_violation(
        tables.triangles,
        numbers.bottom_end,
        numbers.dig_end,
        hinge_u,
        hinge_v,
        hu,
        hv,
        half,
        reach,
        0.0,
        0.0,
        0.0,
        room,
    )
    pad_dig = first_violation(
        tables.triangles,
        numbers.bottom_end,
        numbers.dig_end,
        u,
        v,
        hu,
        hv,
        wide,
        length,
        0.0,
        0.0,
        0.0,
        room,
    )
    if too_deep < reach - E or plate_dig < reach - E or pad_dig < length - E:
        return NEVER
    return numbers.pad_cost
