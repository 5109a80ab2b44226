"""Compiled: what supports, runs and landings cost where they stand."""

from __future__ import annotations

import math

from numba import njit

from optimizer.search.geometry_kernel import (
    E,
    first_overhead,
    first_violation,
    foot_level,
    lowest_ground,
)
from optimizer.search.kernel_tables import NEAR_EDGE, NEVER


@njit(cache=True, nogil=True)
def level_under(tables, u, v, reach):
    """Level on which a foot of this reach stands, NaN where it may not stand."""
    return foot_level(
        tables.ground,
        tables.cell_start,
        tables.cell_items,
        tables.grid,
        tables.segments,
        tables.ring_start,
        tables.ring_kind,
        tables.ring_top,
        tables.ring_box,
        u,
        v,
        reach,
    )


@njit(cache=True, nogil=True)
def support_cost_on(tables, kind, level, frame):
    """Cost of support type ``kind`` between a level and a frame, or NEVER when it does not fit."""
    if math.isnan(level):
        return NEVER
    height = frame - (level - tables.numbers.bedding)
    if height < tables.support_min[kind] - E or height > tables.support_max[kind] + E:
        return NEVER
    if height > tables.brace_above[kind] + E:
        return tables.support_cost[kind] + tables.brace_cost[kind]
    return tables.support_cost[kind]


@njit(cache=True, nogil=True)
def support_at(tables, kind, u, v, frame):
    """Cost of support type ``kind`` at a point under ``frame``, or NEVER when it does not fit."""
    return support_cost_on(tables, kind, level_under(tables, u, v, tables.support_reach[kind]), frame)


@njit(cache=True, nogil=True)
def pair_cost(tables, allowed, u, v, hu, hv, frame):
    """Least cost of a pair of supports under a run at (u, v); ``allowed`` (supports,) bool."""
    total = 0
    half = tables.numbers.width / 2.0
    for side in (-1.0, 1.0):
        best = NEVER
        # Types mostly share one foot and one offset: the level under it is looked up once.
        known_lateral = math.inf
        known_reach = math.inf
        level = math.nan
        for kind in range(allowed.shape[0]):
            if not allowed[kind] or tables.support_cost[kind] >= best:
                continue
            lateral = side * (half + tables.support_lateral[kind])
            reach = tables.support_reach[kind]
            if lateral != known_lateral or reach != known_reach:
                level = level_under(tables, u + lateral * hv, v - lateral * hu, reach)
                known_lateral = lateral
                known_reach = reach
            best = min(best, support_cost_on(tables, kind, level, frame))
        if best >= NEVER:
            return NEVER
        total += best
    return total


@njit(cache=True, nogil=True)
def landing_legs_cost(tables, landing, is_half, u, v, hu, hv, frame):
    """Least cost of a landing's legs; (u, v, hu, hv): middle of its entry edge, arriving heading."""
    total = 0
    inset = tables.landing_inset[landing]
    length = tables.landing_length[landing]
    side = tables.landing_width[landing] / 2.0 - inset
    across = 3 if is_half else 2
    for i in range(2):
        t = inset if i == 0 else length - inset
        for j in range(across):
            lateral = (-side, side, 0.0)[j]
            pu = u + t * hu + lateral * hv
            pv = v + t * hv - lateral * hu
            best = NEVER
            known_reach = math.inf
            level = math.nan
            for kind in range(tables.support_cost.shape[0]):
                if not tables.landing_legs[landing, kind] or tables.support_cost[kind] >= best:
                    continue
                if tables.support_reach[kind] != known_reach:
                    known_reach = tables.support_reach[kind]
                    level = level_under(tables, pu, pv, known_reach)
                best = min(best, support_cost_on(tables, kind, level, frame))
            if best >= NEVER:
                return NEVER
            total += best
    return total


@njit(cache=True, nogil=True)
def landing_total(tables, landing, is_half, rail, u, v, hu, hv, deck, rectangle, room):
    """Cost of a landing placed with its entry edge at the pose, or NEVER when it may not lie there.

    Writes its rectangle; earlier pieces are the caller's business.
    """
    length = tables.landing_length[landing]
    half = tables.landing_width[landing] / 2.0
    depth = tables.landing_depth[landing]
    clear = first_violation(
        tables.cover, u, v, hu, hv, half, length, deck, 0.0, depth + tables.numbers.clearance, room
    )
    if clear < length - E:
        return NEVER
    if first_overhead(tables.overhead, u, v, hu, hv, half, length, deck, 0.0, room) < length - E:
        return NEVER
    legs = landing_legs_cost(tables, landing, is_half, u, v, hu, hv, deck - depth)
    if legs >= NEVER:
        return NEVER
    write_rectangle(rectangle, u, v, hu, hv, half, length)
    cost = tables.landing_cost[landing] + legs
    if rail > 0:
        low = lowest_ground(
            tables.ground,
            rectangle[0] - NEAR_EDGE,
            rectangle[1] + NEAR_EDGE,
            rectangle[2] - NEAR_EDGE,
            rectangle[3] + NEAR_EDGE,
            room,
        )
        if deck - low > tables.numbers.landing_rail_above + E:
            cost += rail
    return cost


@njit(cache=True, nogil=True)
def write_rectangle(rectangle, u, v, hu, hv, half_width, length):
    """Write u_min, u_max, v_min, v_max of a strip from a pose."""
    u0 = u - half_width * abs(hv)
    u1 = u + half_width * abs(hv)
    v0 = v - half_width * abs(hu)
    v1 = v + half_width * abs(hu)
    rectangle[0] = min(u0, u0 + length * hu)
    rectangle[1] = max(u1, u1 + length * hu)
    rectangle[2] = min(v0, v0 + length * hv)
    rectangle[3] = max(v1, v1 + length * hv)


@njit(cache=True, nogil=True)
def extend_joints(tables, inner, upto, done, u, v, hu, hv, deck, slope, clear):
    """Fill ``inner`` (2, sums): least cost of sections up to an inner joint and the pair under it.

    Row 0 without rails, row 1 with.  Sums beyond ``clear`` (plan) cannot be inner joints.
    ``done`` sums are filled already; returns the number filled.
    """
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    depth = tables.numbers.depth
    for i in range(done, upto + 1):
        inner[0, i] = NEVER
        inner[1, i] = NEVER
        if i == 0:
            inner[0, 0] = 0
            inner[1, 0] = 0
            continue
        t = tables.sums[i] * cosine
        if t > clear + E:
            continue
        for s in range(tables.section_cost.shape[0]):
            j = tables.before[i, s]
            if j < 0 or inner[0, j] >= NEVER:
                continue
            mid = mids_cost(tables, s, tables.sums[j], u, v, hu, hv, deck, slope)
            if mid >= NEVER:
                continue
            pair = pair_cost(
                tables, tables.section_supports[s], u + t * hu, v + t * hv, hu, hv, deck - slope * t - depth
            )
            if pair >= NEVER:
                continue
            step = tables.section_cost[s] + mid + pair
            inner[0, i] = min(inner[0, i], inner[0, j] + step)
            inner[1, i] = min(inner[1, i], inner[1, j] + step + tables.section_rail[s])
    return max(done, upto + 1)


@njit(cache=True, nogil=True)
def mids_cost(tables, section, upper, u, v, hu, hv, deck, slope):
    """Cost of the mid supports of a section whose upper end lies at surface distance ``upper``."""
    total = 0
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    for k in range(tables.mid_start[section], tables.mid_start[section + 1]):
        t = (upper + tables.mid_at[k]) * cosine
        pair = pair_cost(
            tables,
            tables.section_supports[section],
            u + t * hu,
            v + t * hv,
            hu,
            hv,
            deck - slope * t - tables.numbers.depth,
        )
        if pair >= NEVER:
            return NEVER
        total += pair
    return total


@njit(cache=True, nogil=True)
def run_total(tables, inner, railed, i, is_last, clear, u, v, hu, hv, deck, slope):
    """Least cost of a run of surface ``sums[i]``, or NEVER.

    Its end bears on a landing, or (``is_last``) on a pair of the last section's low supports.
    """
    best = NEVER
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    t = tables.sums[i] * cosine
    for s in range(tables.section_cost.shape[0]):
        j = tables.before[i, s]
        if j < 0 or inner[railed, j] >= NEVER:
            continue
        upper = tables.sums[j] * cosine
        if upper > clear + E or (not is_last and t > clear + E):
            continue
        cost = inner[railed, j] + tables.section_cost[s]
        if railed == 1:
            cost += tables.section_rail[s]
        if cost >= best:
            continue
        mid = mids_cost(tables, s, tables.sums[j], u, v, hu, hv, deck, slope)
        if mid >= NEVER:
            continue
        cost += mid
        if is_last:
            pair = pair_cost(
                tables,
                tables.section_low[s],
                u + t * hu,
                v + t * hv,
                hu,
                hv,
                deck - slope * t - tables.numbers.depth,
            )
            if pair >= NEVER:
                continue
            cost += pair
        best = min(best, cost)
    return best


@njit(cache=True, nogil=True)
def needs_rails(tables, u, v, hu, hv, length, deck, drop, rectangle, room):
    """1 when a run needs rails for its drop or for low ground near it, else 0."""
    if drop > tables.numbers.handrail_rise + E:
        return 1
    write_rectangle(rectangle, u, v, hu, hv, tables.numbers.width / 2.0, length)
    low = lowest_ground(
        tables.ground,
        rectangle[0] - NEAR_EDGE,
        rectangle[1] + NEAR_EDGE,
        rectangle[2] - NEAR_EDGE,
        rectangle[3] + NEAR_EDGE,
        room,
    )
    if deck - low > tables.numbers.guard_above + E:
        return 1
    return 0
