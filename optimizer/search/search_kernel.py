"""The plain exact search over the discrete problem (DEVELOPERS.md), compiled.

One call explores everything behind one start pose of one class at one slope, by depth-first
branch and bound: every run length, every turn, every transition plate.  Nothing is sampled; a
branch is left only when a lower bound on its cost exceeds the worst layout kept, or when it
provably cannot come down to the ground.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from optimizer.search.bound_kernel import can_land, least_to_finish
from optimizer.search.geometry_kernel import (
    E,
    first_overhead,
    first_piece,
    first_violation,
    ground_elevation,
    plate_reach,
)
from optimizer.search.kernel_tables import HALF_LEFT, NEVER, RECORD_HEAD, STRAIGHT
from optimizer.search.support_kernel import (
    extend_joints,
    landing_total,
    least_of_run,
    needs_rails,
    run_total,
    write_rectangle,
)
from optimizer.search.toe_kernel import toe_cost


@njit(cache=True, nogil=True)
def limit_of(pool):
    """Cost above which nothing new is kept."""
    if pool.kept[0] < pool.cost.shape[0]:
        return pool.ceiling[0]
    return min(pool.ceiling[0], pool.cost[pool.kept[0] - 1])


@njit(cache=True, nogil=True)
def keep(pool, cost, walk, path):
    """Put a finished layout in its place; the worst falls out when the pool is full."""
    size = pool.cost.shape[0]
    place = pool.kept[0]
    while place > 0 and (
        pool.cost[place - 1] > cost or (pool.cost[place - 1] == cost and pool.walk[place - 1] > walk + E)
    ):
        place -= 1
    if place >= size:
        return
    last = min(pool.kept[0], size - 1)
    for k in range(last, place, -1):
        pool.cost[k] = pool.cost[k - 1]
        pool.walk[k] = pool.walk[k - 1]
        for word in range(path.shape[0]):
            pool.record[k, word] = pool.record[k - 1, word]
    pool.cost[place] = cost
    pool.walk[place] = walk
    for word in range(path.shape[0]):
        pool.record[place, word] = path[word]
    pool.kept[0] = min(size, pool.kept[0] + 1)


@njit(cache=True, nogil=True)
def explore(
    tables, pool, room, slope, level, turn, turned, u, v, hu, hv, deck, cost, walk, pieces, half, stop
):
    """Explore every run at ``slope`` that can start at a pose, and all that can follow it.

    ``turn``: the class's turn; ``turned``: whether it has been made; ``pieces``: earlier
    rectangles in ``room.rectangles`` (the last is the landing being left, if any);
    ``half``: 1 when the run starts at a half turn.  Returns 1 when stopped early.
    """
    if stop[0] != 0:
        return 1
    numbers = tables.numbers[0]
    runs_left = numbers.most_runs - level
    due = 0 if turned == 1 or turn == STRAIGHT else 1
    if cost + least_to_finish(tables, slope, deck, runs_left, due) > limit_of(pool):
        return 0
    if level == 0 and due == 0 and not can_land(tables, slope, u, v, hu, hv, deck, runs_left, room.clip):
        return 0
    room.nodes[0] += 1
    width = numbers.width
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    reach = tables.sums[tables.sums.shape[0] - 1].length + numbers.longest_plate + 1.0
    # The landing a run leaves is always the last piece placed; a start at an edge has none.
    by_piece = first_piece(room.rectangles, pieces, pieces - 1, numbers.gap, u, v, hu, hv, width / 2.0, reach)
    low_clear = first_overhead(
        tables.triangles,
        numbers.dig_end,
        numbers.overhead_end,
        u,
        v,
        hu,
        hv,
        width / 2.0,
        by_piece,
        deck,
        slope,
        room.clip,
    )
    low_clear = first_violation(
        tables.triangles,
        numbers.start,
        numbers.solid_end,
        u,
        v,
        hu,
        hv,
        width / 2.0,
        low_clear,
        deck,
        slope,
        numbers.depth + numbers.low_clearance,
        room.clip,
    )
    if low_clear + E < tables.sums[1].length * cosine:
        return 0
    clear = first_violation(
        tables.triangles,
        numbers.start,
        numbers.solid_end,
        u,
        v,
        hu,
        hv,
        width / 2.0,
        low_clear,
        deck,
        slope,
        numbers.depth + numbers.clearance,
        room.clip,
    )
    inner = room.inner[level]
    filled = np.int64(0)  # a literal 0 would be compiled for a second time
    for i in range(1, tables.sums.shape[0]):
        plan = tables.sums[i].length * cosine
        drop = plan * slope
        if plan > low_clear + E or drop > numbers.rise_limit + E or plan > numbers.length_limit + E:
            break
        eu = u + plan * hu
        ev = v + plan * hv
        end = deck - drop
        room.path[RECORD_HEAD + 2 * level] = i
        # --- as the last run
        if due == 0 and cost + tables.sums[i].least_bare + numbers.least_low_pair <= limit_of(pool):
            filled = finish(
                tables,
                pool,
                room,
                level,
                i,
                u,
                v,
                hu,
                hv,
                eu,
                ev,
                deck,
                end,
                slope,
                plan,
                drop,
                cost,
                walk,
                pieces,
                half,
                clear,
                by_piece,
                filled,
            )
        # --- followed by a landing
        if runs_left < 2 or plan > clear + E:
            continue
        rest = least_to_finish(tables, slope, end, runs_left - 1, 0) + numbers.least_landing
        if cost + tables.sums[i].least_bare + rest > limit_of(pool):
            continue
        railed = needs_rails(tables, u, v, hu, hv, plan, deck, drop, room.rectangles[pieces], room.clip)
        write_rectangle(room.rectangles[pieces], u, v, hu, hv, width / 2.0, plan)
        run = least_of_run(tables, railed, i)
        is_exact = 0
        for o in range(tables.turns.shape[0]):
            kind = tables.turns[o].kind
            if kind != STRAIGHT and (kind != turn or turned == 1):
                continue
            if kind == STRAIGHT and due == 1 and runs_left < 3:
                continue
            ends = 0
            if railed == 1:
                ends = 4 - half - (1 if kind >= HALF_LEFT else 0)
            total = cost + run + ends * numbers.end_cost + railed * 2 * numbers.post_cost
            if total + rest > limit_of(pool):
                continue
            t = tables.turns[o].along
            side = tables.turns[o].side
            along = tables.turns[o].heading_along
            right = tables.turns[o].heading_side
            nu = eu + t * hu + side * hv
            nv = ev + t * hv - side * hu
            nhu = along * hu + right * hv
            nhv = along * hv - right * hu
            if (due == 0 or kind != STRAIGHT) and not can_land(
                tables, slope, nu, nv, nhu, nhv, end, runs_left - 1, room.clip
            ):
                continue
            landing = tables.turns[o].landing
            lu = eu + tables.turns[o].shift * hv
            lv = ev - tables.turns[o].shift * hu
            long = tables.landings[landing].length
            half_wide = tables.landings[landing].width / 2.0
            if (
                first_piece(room.rectangles, pieces, -1, numbers.gap, lu, lv, hu, hv, half_wide, long)
                < long - E
            ):
                continue
            made = landing_total(
                tables,
                landing,
                kind >= HALF_LEFT,
                tables.turns[o].rail,
                lu,
                lv,
                hu,
                hv,
                end,
                room.rectangles[pieces + 1],
                room.clip,
            )
            if made >= NEVER:
                continue
            # The supports of the run are dear to work out: only once some landing may follow it.
            if is_exact == 0:
                filled = extend_joints(tables, inner, i - 1, filled, u, v, hu, hv, deck, slope, clear)
                exact = run_total(tables, inner, railed, i, 0, clear, u, v, hu, hv, deck, slope)
                if exact >= NEVER:
                    break
                total += exact - run
                run = exact
                is_exact = 1
                if total + rest > limit_of(pool):
                    continue
            room.path[RECORD_HEAD + 2 * level + 1] = o
            stopped = explore(
                tables,
                pool,
                room,
                slope,
                level + 1,
                turn,
                1 if kind != STRAIGHT else turned,
                nu,
                nv,
                nhu,
                nhv,
                end,
                total + made,
                walk + tables.sums[i].length + tables.turns[o].walk,
                pieces + 2,
                1 if kind >= HALF_LEFT else 0,
                stop,
            )
            if stopped == 1:
                return 1
    return 0


@njit(cache=True, nogil=True)
def finish(
    tables,
    pool,
    room,
    level,
    i,
    u,
    v,
    hu,
    hv,
    eu,
    ev,
    deck,
    end,
    slope,
    plan,
    drop,
    cost,
    walk,
    pieces,
    half,
    clear,
    by_piece,
    filled,
):
    """Try every transition plate at the end of a run; keep what is feasible and cheap enough.

    Returns how many inner joints are filled now.
    """
    numbers = tables.numbers[0]
    under = ground_elevation(tables, eu, ev)
    if math.isnan(under):
        return filled
    # No low support can be right here when the hinge stands far too high or too low over its middle.
    height = end - numbers.depth - under + numbers.bedding
    if height < numbers.low_min - numbers.ground_spread or height > numbers.low_max + numbers.ground_spread:
        return filled
    for p in range(tables.plates.shape[0]):
        length = tables.plates[p].length
        sine = numbers.steepest / math.sqrt(1.0 + numbers.steepest * numbers.steepest)
        least = cost + tables.sums[i].least_bare + tables.plates[p].cost + numbers.least_low_pair
        if least > limit_of(pool):
            continue
        reach = plate_reach(tables, eu, ev, hu, hv, end, length)
        if math.isnan(reach) or plan + reach > by_piece + E or plan + reach > numbers.length_limit + E:
            continue
        tu = eu + reach * hu
        tv = ev + reach * hv
        tip = ground_elevation(tables, tu, tv)
        fall = end - tip
        if fall < -E or fall > numbers.steepest * reach + E or fall > length * sine + 1e-3:
            continue
        if drop + fall > numbers.rise_limit + E:
            continue
        if (
            first_overhead(
                tables.triangles,
                numbers.dig_end,
                numbers.overhead_end,
                eu,
                ev,
                hu,
                hv,
                numbers.width / 2.0,
                reach,
                end,
                fall / reach,
                room.clip,
            )
            < reach - E
        ):
            continue
        railed = needs_rails(
            tables, u, v, hu, hv, plan, deck, drop + fall, room.rectangles[pieces], room.clip
        )
        rest = cost + tables.plates[p].cost
        if railed == 1:
            rest += (4 - half) * numbers.end_cost + 2 * numbers.post_cost
            rest += tables.plates[p].rail
        if rest + least_of_run(tables, railed, i) + numbers.least_low_pair > limit_of(pool):
            continue
        write_rectangle(room.rectangles[pieces], u, v, hu, hv, numbers.width / 2.0, plan)
        toe = toe_cost(
            tables,
            room.rectangles,
            pieces + 1,
            tu,
            tv,
            hu,
            hv,
            end,
            numbers.steepest,
            reach,
            tip,
            room.clip,
        )
        if toe >= NEVER or rest + toe + least_of_run(tables, railed, i) > limit_of(pool):
            continue
        filled = extend_joints(tables, room.inner[level], i - 1, filled, u, v, hu, hv, deck, slope, clear)
        run = run_total(tables, room.inner[level], railed, i, 1, clear, u, v, hu, hv, deck, slope)
        total = rest + run + toe
        if run >= NEVER or total > limit_of(pool):
            continue
        room.path[2] = level + 1
        room.path[3] = p
        keep(pool, total, walk + tables.sums[i].length + length, room.path)
    return filled
