"""Compiled: what supports, runs and landings cost where they stand."""

from __future__ import annotations

import math

from optimizer.search.compiled import compiled
from optimizer.search.geometry_kernel import (
    E,
    first_overhead,
    first_violation,
    foot_level,
    lowest_ground,
)
from optimizer.search.kernel_tables import NEAR_EDGE, NEVER
from optimizer.search.law_kernel import asks_rails


@compiled
def support_cost_on(tables, kind, level, frame):
    """Cost of support type ``kind`` between a level and a frame, or NEVER when it does not fit."""
    if math.isnan(level):
        return NEVER
    height = frame - (level - tables.numbers[0].bedding)
    if height < tables.supports[kind].low - E or height > tables.supports[kind].high + E:
        return NEVER
    if height > tables.supports[kind].brace_above + E:
        return tables.supports[kind].cost + tables.supports[kind].brace_cost
    return tables.supports[kind].cost


@compiled
def support_at(tables, kind, u, v, frame):
    """Cost of support type ``kind`` at a point under ``frame``, or NEVER when it does not fit."""
    return support_cost_on(tables, kind, foot_level(tables, u, v, tables.supports[kind].reach), frame)


@compiled
def pair_cost(tables, allowed, u, v, hu, hv, frame):
    """Least cost of a pair of supports under a run at (u, v); ``allowed``: bit n for support n."""
    total = 0
    half = tables.numbers[0].width / 2.0
    for side in (-1.0, 1.0):
        best = NEVER
        # Types mostly share one foot and one offset: the level under it is looked up once.
        known_lateral = math.inf
        known_reach = math.inf
        level = math.nan
        for kind in range(tables.supports.shape[0]):
            if (allowed >> kind) & 1 == 0 or tables.supports[kind].cost >= best:
                continue
            lateral = side * (half + tables.supports[kind].lateral)
            reach = tables.supports[kind].reach
            if lateral != known_lateral or reach != known_reach:
                level = foot_level(tables, u + lateral * hv, v - lateral * hu, reach)
                known_lateral = lateral
                known_reach = reach
            best = min(best, support_cost_on(tables, kind, level, frame))
        if best >= NEVER:
            return NEVER
        total += best
    return total


@compiled
def landing_legs_cost(tables, landing, is_half, u, v, hu, hv, frame):
    """Least cost of a landing's legs; (u, v, hu, hv): middle of its entry edge, arriving heading."""
    total = 0
    inset = tables.landings[landing].inset
    length = tables.landings[landing].length
    side = tables.landings[landing].width / 2.0 - inset
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
            for kind in range(tables.supports.shape[0]):
                if (tables.landings[landing].legs >> kind) & 1 == 0 or tables.supports[kind].cost >= best:
                    continue
                if tables.supports[kind].reach != known_reach:
                    known_reach = tables.supports[kind].reach
                    level = foot_level(tables, pu, pv, known_reach)
                best = min(best, support_cost_on(tables, kind, level, frame))
            if best >= NEVER:
                return NEVER
            total += best
    return total


@compiled
def landing_total(tables, landing, is_half, rail, u, v, hu, hv, deck, rectangle, room):
    """Cost of a landing placed with its entry edge at the pose, or NEVER when it may not lie there.

    Writes its rectangle; earlier pieces are the caller's business.
    """
    numbers = tables.numbers[0]
    length = tables.landings[landing].length
    half = tables.landings[landing].width / 2.0
    depth = tables.landings[landing].depth
    clear = first_violation(
        tables.triangles,
        numbers.start,
        numbers.solid_end,
        u,
        v,
        hu,
        hv,
        half,
        length,
        deck,
        0.0,
        depth + tables.numbers[0].clearance,
        room,
    )
    if clear < length - E:
        return NEVER
    if (
        first_overhead(
            tables.triangles,
            numbers.dig_end,
            numbers.overhead_end,
            u,
            v,
            hu,
            hv,
            half,
            length,
            deck,
            0.0,
            room,
        )
        < length - E
    ):
        return NEVER
    legs = landing_legs_cost(tables, landing, is_half, u, v, hu, hv, deck - depth)
    if legs >= NEVER:
        return NEVER
    write_rectangle(rectangle, u, v, hu, hv, half, length)
    cost = tables.landings[landing].cost + legs
    if rail > 0:
        low = lowest_ground(
            tables.triangles,
            tables.numbers[0].ground_end,
            rectangle[0] - NEAR_EDGE,
            rectangle[1] + NEAR_EDGE,
            rectangle[2] - NEAR_EDGE,
            rectangle[3] + NEAR_EDGE,
            room,
        )
        if deck - low > tables.numbers[0].landing_rail_above + E:
            cost += rail
    return cost


@compiled
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


@compiled
def extend_joints(tables, inner, upto, done, u, v, hu, hv, deck, slope, clear):
    """Fill ``inner`` (2, sums): least cost of sections up to an inner joint and the pair under it.

    Row 0 without rails, row 1 with.  Sums beyond ``clear`` (plan) cannot be inner joints.
    ``done`` sums are filled already; returns the number filled.
    """
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    depth = tables.numbers[0].depth
    for i in range(done, upto + 1):
        inner[0, i] = NEVER
        inner[1, i] = NEVER
        if i == 0:
            inner[0, 0] = 0
            inner[1, 0] = 0
            continue
        t = tables.sums[i].length * cosine
        if t > clear + E:
            continue
        for s in range(tables.sections.shape[0]):
            j = tables.before[i, s]
            if j < 0 or inner[0, j] >= NEVER:
                continue
            mid = mids_cost(tables, s, tables.sums[j].length, u, v, hu, hv, deck, slope)
            if mid >= NEVER:
                continue
            pair = pair_cost(
                tables, tables.sections[s].supports, u + t * hu, v + t * hv, hu, hv, deck - slope * t - depth
            )
            if pair >= NEVER:
                continue
            step = tables.sections[s].cost + mid + pair
            inner[0, i] = min(inner[0, i], inner[0, j] + step)
            inner[1, i] = min(inner[1, i], inner[1, j] + step + tables.sections[s].rail)
    return max(done, upto + 1)


@compiled
def mids_cost(tables, section, upper, u, v, hu, hv, deck, slope):
    """Cost of the mid supports of a section whose upper end lies at surface distance ``upper``."""
    total = 0
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    for k in range(tables.sections[section].mid_first, tables.sections[section].mid_last):
        t = (upper + tables.mids[k]) * cosine
        pair = pair_cost(
            tables,
            tables.sections[section].supports,
            u + t * hu,
            v + t * hv,
            hu,
            hv,
            deck - slope * t - tables.numbers[0].depth,
        )
        if pair >= NEVER:
            return NEVER
        total += pair
    return total


@compiled
def run_total(tables, inner, railed, i, is_last, clear, u, v, hu, hv, deck, slope):
    """Least cost of a run of surface ``sums[i]``, or NEVER.

    Its end bears on a landing, or (``is_last`` 1) on a pair of the last section's low supports.
    """
    best = NEVER
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    t = tables.sums[i].length * cosine
    for s in range(tables.sections.shape[0]):
        j = tables.before[i, s]
        if j < 0 or inner[railed, j] >= NEVER:
            continue
        upper = tables.sums[j].length * cosine
        if upper > clear + E or (is_last == 0 and t > clear + E):
            continue
        cost = inner[railed, j] + tables.sections[s].cost
        if railed == 1:
            cost += tables.sections[s].rail
        if cost >= best:
            continue
        mid = mids_cost(tables, s, tables.sums[j].length, u, v, hu, hv, deck, slope)
        if mid >= NEVER:
            continue
        cost += mid
        if is_last == 1:
            pair = pair_cost(
                tables,
                tables.sections[s].low_supports,
                u + t * hu,
                v + t * hv,
                hu,
                hv,
                deck - slope * t - tables.numbers[0].depth,
            )
            if pair >= NEVER:
                continue
            cost += pair
        best = min(best, cost)
    return best


@compiled
def needs_rails(tables, u, v, hu, hv, length, deck, drop, fall, reach, rectangle, room):
    """1 when a run needs rails for its drop or slope or for low ground near it, else 0.

    ``length``, ``drop``: of the sections; ``reach``, ``fall``: of the plate, 0 where there is none.
    """
    if asks_rails(tables.numbers[0], drop, length, fall, reach):
        return 1
    write_rectangle(rectangle, u, v, hu, hv, tables.numbers[0].width / 2.0, length + reach)
    low = lowest_ground(
        tables.triangles,
        tables.numbers[0].ground_end,
        rectangle[0] - NEAR_EDGE,
        rectangle[1] + NEAR_EDGE,
        rectangle[2] - NEAR_EDGE,
        rectangle[3] + NEAR_EDGE,
        room,
    )
    if deck - low > tables.numbers[0].guard_above + E:
        return 1
    return 0
