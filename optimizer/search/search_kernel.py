"""The plain exact search over the discrete problem (DEVELOPERS.md), compiled.

One call explores everything behind one start pose of one class by depth-first branch and
bound: every slope level, every run length, every turn, every transition plate.  Nothing is
sampled; a branch is left only when a lower bound on its cost exceeds the worst layout kept.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from optimizer.search.geometry_kernel import (
    E,
    first_overhead,
    first_piece,
    first_violation,
    foot_level,
    ground_elevation,
    is_inside,
    lowest_ground,
    plate_reach,
)

#: A cost that no layout has, cents.
NEVER = 1 << 50
#: Reach within which low ground asks for rails: 36 in, metres.
NEAR_EDGE = 0.9144
#: How far a plate's surface may lie below the ground, and a tip corner off it: 1/4 in, metres.
LIP = 0.00635


class Tables(NamedTuple):
    """Everything the kernel reads: arrays in the door frame and whole-cent costs."""

    # surfaces: (n, 3, 3) triangles of u, v, height
    cover: np.ndarray
    plate_cover: np.ndarray
    bottom_cover: np.ndarray
    solid: np.ndarray  # what is infinitely high in ``cover``
    dig_cover: np.ndarray
    overhead: np.ndarray
    ground: np.ndarray
    cell_start: np.ndarray
    cell_items: np.ndarray
    grid: np.ndarray
    # what feet keep off: ring segments (m, 4)
    segments: np.ndarray
    ring_start: np.ndarray
    ring_kind: np.ndarray
    ring_top: np.ndarray
    ring_box: np.ndarray  # (rings, 4): u_min, u_max, v_min, v_max
    arrival_segments: np.ndarray
    arrival_start: np.ndarray
    # supports: legs, then low supports
    support_min: np.ndarray
    support_max: np.ndarray
    support_lateral: np.ndarray
    support_reach: np.ndarray
    support_cost: np.ndarray
    brace_above: np.ndarray
    brace_cost: np.ndarray
    # sections
    section_cost: np.ndarray
    section_rail: np.ndarray
    section_supports: np.ndarray  # (sections, supports) bool
    section_low: np.ndarray  # (sections, supports) bool: low supports only
    mid_start: np.ndarray
    mid_at: np.ndarray
    sums: np.ndarray  # surface lengths reachable by sections, ascending, first 0
    before: np.ndarray  # (sums, sections) index of sum - pitch, or -1
    least_cost: np.ndarray  # (2, sums) least cost without and with rails, cheapest supports assumed
    # landings
    landing_cost: np.ndarray
    landing_length: np.ndarray
    landing_width: np.ndarray
    landing_depth: np.ndarray
    landing_inset: np.ndarray
    landing_legs: np.ndarray  # (landings, supports) bool
    # turn options: landing, kind, then geometry relative to the arriving run
    turn_landing: np.ndarray
    turn_kind: np.ndarray
    turn_shift: np.ndarray  # lateral of the landing's middle from the run's middle
    turn_leave: np.ndarray  # (turns, 2): t, l of the leaving pose
    turn_heading: np.ndarray  # (turns, 2): leaving heading as (along, right) of the arriving one
    turn_rail: np.ndarray
    turn_walk: np.ndarray
    # plates
    plate_length: np.ndarray
    plate_cost: np.ndarray
    plate_rail: np.ndarray
    slopes: np.ndarray
    numbers: np.ndarray  # see NUMBER names below


# Places in ``Tables.numbers``.
(
    WIDTH,
    DEPTH,
    CLEARANCE,
    LOW_CLEARANCE,
    GAP,
    BEDDING,
    STEEPEST,
    RISE_LIMIT,
    LENGTH_LIMIT,
    HANDRAIL_RISE,
    GUARD_ABOVE,
    LANDING_RAIL_ABOVE,
    BOTTOM_LENGTH,
    BOTTOM_WIDTH,
    LEVEL_LIMIT,
    PAD_COST,
    PAD_DIFFERENCE,
    POST_COST,
    END_COST,
    MOST_RUNS,
    HIGHEST_TIP,
    LEAST_LANDING,
    LEAST_LOW_PAIR,
    RATE_BARE,
    RATE_RAILED,
    LEAST_SECTION,
    LOW_MIN,
    LOW_MAX,
    GROUND_SPREAD,
    STRAIGHT_SHIFT,
    U_LOW,
    U_HIGH,
    V_LOW,
    V_HIGH,
    COUNT_OF_NUMBERS,
) = range(35)

STRAIGHT, LEFT, RIGHT, HALF_LEFT, HALF_RIGHT = 0, 1, 2, 3, 4
#: Words of one kept layout: opening, slope level, runs, plate; then (sum, turn) per run.
RECORD_HEAD = 4


class Pool(NamedTuple):
    """The cheapest layouts kept so far, ascending: cost, walking length, choices."""

    cost: np.ndarray
    walk: np.ndarray
    record: np.ndarray
    count: np.ndarray  # (1,)
    ceiling: np.ndarray  # (1,) no layout above this is wanted


class Room(NamedTuple):
    """Scratch space of one worker."""

    clip: np.ndarray
    inner: np.ndarray  # (levels, 2, sums): bare and railed cost of reaching an inner joint
    rectangles: np.ndarray
    path: np.ndarray
    nodes: np.ndarray  # (1,)


@njit(cache=True, nogil=True)
def limit_of(pool):
    """Cost above which nothing new is kept."""
    if pool.count[0] < pool.cost.shape[0]:
        return pool.ceiling[0]
    return min(pool.ceiling[0], pool.cost[pool.count[0] - 1])


@njit(cache=True, nogil=True)
def keep(pool, cost, walk, path):
    """Put a finished layout in its place; the worst falls out when the pool is full."""
    size = pool.cost.shape[0]
    place = pool.count[0]
    while place > 0 and (
        pool.cost[place - 1] > cost or (pool.cost[place - 1] == cost and pool.walk[place - 1] > walk + E)
    ):
        place -= 1
    if place >= size:
        return
    last = min(pool.count[0], size - 1)
    for k in range(last, place, -1):
        pool.cost[k] = pool.cost[k - 1]
        pool.walk[k] = pool.walk[k - 1]
        pool.record[k, :] = pool.record[k - 1, :]
    pool.cost[place] = cost
    pool.walk[place] = walk
    pool.record[place, :] = path
    pool.count[0] = min(size, pool.count[0] + 1)


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
    height = frame - (level - tables.numbers[BEDDING])
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
    half = tables.numbers[WIDTH] / 2.0
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
        tables.cover, u, v, hu, hv, half, length, deck, 0.0, depth + tables.numbers[CLEARANCE], room
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
        if deck - low > tables.numbers[LANDING_RAIL_ABOVE] + E:
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
def least_to_finish(tables, slope, deck, runs_left, landings_due):
    """Lower bound on what a layout still costs whose next run starts at ``deck``.

    Every metre of drop needs section surface at the layout's slope; beyond the free rise of
    each run that section carries rails; a limit on the rise of one run forces landings.
    """
    numbers = tables.numbers
    drop = deck - numbers[HIGHEST_TIP]
    if drop < 0.0:
        drop = 0.0
    landings = landings_due
    if numbers[RISE_LIMIT] < 1e5:
        runs = int(math.ceil((drop - E) / numbers[RISE_LIMIT] - 1e-9))
        if runs > runs_left:
            return NEVER
        landings = max(landings, runs - 1)
    if landings > runs_left - 1:
        return NEVER
    steepest = numbers[STEEPEST] / math.sqrt(1.0 + numbers[STEEPEST] * numbers[STEEPEST])
    sine = slope / math.sqrt(1.0 + slope * slope)
    best = float(NEVER)
    for p in range(tables.plate_length.shape[0]):
        need = max(0.0, drop - tables.plate_length[p] * steepest)
        free = min(need, runs_left * numbers[HANDRAIL_RISE])
        cost = (numbers[RATE_BARE] * free + numbers[RATE_RAILED] * (need - free)) / sine
        best = min(best, max(cost, numbers[LEAST_SECTION]) + tables.plate_cost[p])
    return int(best + landings * numbers[LEAST_LANDING] + numbers[LEAST_LOW_PAIR] - 1e-6)


@njit(cache=True, nogil=True)
def toe_cost(tables, rectangles, count, u, v, hu, hv, hinge, slope_limit, reach, tip, room):
    """Extra cost at the tip (0, or the pad), or NEVER when the ramp may not land there.

    (u, v): the tip's middle; ``tip`` its elevation; ``reach`` the plate's plan length.
    """
    numbers = tables.numbers
    drop = hinge - tip
    if drop < -E or drop > slope_limit * reach + E:
        return NEVER
    half = numbers[WIDTH] / 2.0
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
            if is_inside(
                tables.arrival_segments, tables.arrival_start[n], tables.arrival_start[n + 1], u, v
            ):
                arrived = True
        if not arrived:
            return NEVER
    length = numbers[BOTTOM_LENGTH]
    wide = numbers[BOTTOM_WIDTH] / 2.0
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
    needs_pad = steepest > numbers[LEVEL_LIMIT] + 1e-9
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
    if numbers[PAD_COST] >= NEVER or spread > numbers[PAD_DIFFERENCE] + E:
        return NEVER
    if first_violation(tables.dig_cover, u, v, hu, hv, wide, length, 0.0, 0.0, 0.0, room) < length - E:
        return NEVER
    return int(numbers[PAD_COST])


@njit(cache=True, nogil=True)
def extend_joints(tables, inner, upto, done, u, v, hu, hv, deck, slope, clear):
    """Fill ``inner`` (2, sums): least cost of sections up to an inner joint and the pair under it.

    Row 0 without rails, row 1 with.  Sums beyond ``clear`` (plan) cannot be inner joints.
    ``done`` sums are filled already; returns the number filled.
    """
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    depth = tables.numbers[DEPTH]
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
            deck - slope * t - tables.numbers[DEPTH],
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
                deck - slope * t - tables.numbers[DEPTH],
            )
            if pair >= NEVER:
                continue
            cost += pair
        best = min(best, cost)
    return best


@njit(cache=True, nogil=True)
def needs_rails(tables, u, v, hu, hv, length, deck, drop, rectangle, room):
    """1 when a run needs rails for its drop or for low ground near it, else 0."""
    if drop > tables.numbers[HANDRAIL_RISE] + E:
        return 1
    write_rectangle(rectangle, u, v, hu, hv, tables.numbers[WIDTH] / 2.0, length)
    low = lowest_ground(
        tables.ground,
        rectangle[0] - NEAR_EDGE,
        rectangle[1] + NEAR_EDGE,
        rectangle[2] - NEAR_EDGE,
        rectangle[3] + NEAR_EDGE,
        room,
    )
    if deck - low > tables.numbers[GUARD_ABOVE] + E:
        return 1
    return 0


@njit(cache=True, nogil=True)
def can_land(tables, slope, u, v, hu, hv, deck, runs_left, room):
    """Whether straight on from a pose the deck could come down to the ground before the site ends.

    A relaxation: landings, supports and clearances are left out, and straight landings may shift
    the path sideways as far as they ever could.
    """
    numbers = tables.numbers
    shift = (runs_left - 1) * numbers[STRAIGHT_SHIFT]
    steepest = numbers[STEEPEST] / math.sqrt(1.0 + numbers[STEEPEST] * numbers[STEEPEST])
    fall = tables.plate_length.max() * steepest
    if hu > 0.5:
        reach = numbers[U_HIGH] - u
    elif hu < -0.5:
        reach = u - numbers[U_LOW]
    elif hv > 0.5:
        reach = numbers[V_HIGH] - v
    else:
        reach = v - numbers[V_LOW]
    if reach <= 0.0:
        return False
    if shift <= E:
        reach = first_violation(
            tables.solid, u, v, hu, hv, numbers[WIDTH] / 2.0, reach, 0.0, 0.0, 0.0, room
        )
    reach += E
    half = shift + 1e-3
    down = first_violation(tables.ground, u, v, hu, hv, half, reach, deck, slope, fall + 3.0 * E, room)
    if down >= reach:
        return False
    # Beyond that point the ground must also lie within the rise the runs may still take.
    rise = runs_left * numbers[RISE_LIMIT] + 3.0 * E
    down -= 3.0 * E
    u += down * hu
    v += down * hv
    return first_violation(tables.ground, u, v, hu, hv, half, reach - down, deck, 0.0, rise, room) < reach - down


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
    numbers = tables.numbers
    runs_left = int(numbers[MOST_RUNS]) - level
    due = 0 if turned == 1 or turn == STRAIGHT else 1
    if cost + least_to_finish(tables, slope, deck, runs_left, due) > limit_of(pool):
        return 0
    if level == 0 and due == 0 and not can_land(tables, slope, u, v, hu, hv, deck, runs_left, room.clip):
        return 0
    room.nodes[0] += 1
    width = numbers[WIDTH]
    cosine = 1.0 / math.sqrt(1.0 + slope * slope)
    reach = tables.sums[tables.sums.shape[0] - 1] + tables.plate_length.max() + 1.0
    # The landing a run leaves is always the last piece placed; a start at an edge has none.
    by_piece = first_piece(
        room.rectangles, pieces, pieces - 1, numbers[GAP], u, v, hu, hv, width / 2.0, reach
    )
    low_clear = first_overhead(
        tables.overhead, u, v, hu, hv, width / 2.0, by_piece, deck, slope, room.clip
    )
    low_clear = first_violation(
        tables.cover, u, v, hu, hv, width / 2.0, low_clear, deck, slope,
        numbers[DEPTH] + numbers[LOW_CLEARANCE], room.clip,
    )
    if low_clear + E < tables.sums[1] * cosine:
        return 0
    clear = first_violation(
        tables.cover, u, v, hu, hv, width / 2.0, low_clear, deck, slope,
        numbers[DEPTH] + numbers[CLEARANCE], room.clip,
    )
    inner = room.inner[level]
    filled = 0
    for i in range(1, tables.sums.shape[0]):
        plan = tables.sums[i] * cosine
        drop = plan * slope
        if plan > low_clear + E or drop > numbers[RISE_LIMIT] + E or plan > numbers[LENGTH_LIMIT] + E:
            break
        eu = u + plan * hu
        ev = v + plan * hv
        end = deck - drop
        room.path[RECORD_HEAD + 2 * level] = i
        # --- as the last run
        if due == 0 and cost + tables.least_cost[0, i] + numbers[LEAST_LOW_PAIR] <= limit_of(pool):
            filled = finish(
                tables, pool, room, level, i, u, v, hu, hv, eu, ev, deck, end, slope, plan, drop,
                cost, walk, pieces, half, clear, by_piece, filled,
            )
        # --- followed by a landing
        if runs_left < 2 or plan > clear + E:
            continue
        rest = least_to_finish(tables, slope, end, runs_left - 1, 0) + int(numbers[LEAST_LANDING])
        if cost + tables.least_cost[0, i] + rest > limit_of(pool):
            continue
        railed = needs_rails(tables, u, v, hu, hv, plan, deck, drop, room.rectangles[pieces], room.clip)
        write_rectangle(room.rectangles[pieces], u, v, hu, hv, width / 2.0, plan)
        run = tables.least_cost[railed, i]
        is_exact = 0
        for o in range(tables.turn_kind.shape[0]):
            kind = tables.turn_kind[o]
            if kind != STRAIGHT and (kind != turn or turned == 1):
                continue
            if kind == STRAIGHT and due == 1 and runs_left < 3:
                continue
            ends = 0
            if railed == 1:
                ends = 4 - half - (1 if kind >= HALF_LEFT else 0)
            total = cost + run + ends * int(numbers[END_COST]) + railed * 2 * int(numbers[POST_COST])
            if total + rest > limit_of(pool):
                continue
            t = tables.turn_leave[o, 0]
            side = tables.turn_leave[o, 1]
            along = tables.turn_heading[o, 0]
            right = tables.turn_heading[o, 1]
            nu = eu + t * hu + side * hv
            nv = ev + t * hv - side * hu
            nhu = along * hu + right * hv
            nhv = along * hv - right * hu
            if (due == 0 or kind != STRAIGHT) and not can_land(
                tables, slope, nu, nv, nhu, nhv, end, runs_left - 1, room.clip
            ):
                continue
            landing = tables.turn_landing[o]
            lu = eu + tables.turn_shift[o] * hv
            lv = ev - tables.turn_shift[o] * hu
            long = tables.landing_length[landing]
            half_wide = tables.landing_width[landing] / 2.0
            if (
                first_piece(room.rectangles, pieces, -1, numbers[GAP], lu, lv, hu, hv, half_wide, long)
                < long - E
            ):
                continue
            made = landing_total(
                tables, landing, kind >= HALF_LEFT, tables.turn_rail[o], lu, lv, hu, hv, end,
                room.rectangles[pieces + 1], room.clip,
            )
            if made >= NEVER:
                continue
            # The supports of the run are dear to work out: only once some landing may follow it.
            if is_exact == 0:
                filled = extend_joints(tables, inner, i - 1, filled, u, v, hu, hv, deck, slope, clear)
                exact = run_total(tables, inner, railed, i, False, clear, u, v, hu, hv, deck, slope)
                if exact >= NEVER:
                    break
                total += exact - run
                run = exact
                is_exact = 1
                if total + rest > limit_of(pool):
                    continue
            room.path[RECORD_HEAD + 2 * level + 1] = o
            stopped = explore(
                tables, pool, room, slope, level + 1, turn, 1 if kind != STRAIGHT else turned,
                nu, nv, nhu, nhv, end, total + made, walk + tables.sums[i] + tables.turn_walk[o], pieces + 2,
                1 if kind >= HALF_LEFT else 0, stop,
            )
            if stopped == 1:
                return 1
    return 0


@njit(cache=True, nogil=True)
def finish(
    tables, pool, room, level, i, u, v, hu, hv, eu, ev, deck, end, slope, plan, drop,
    cost, walk, pieces, half, clear, by_piece, filled,
):
    """Try every transition plate at the end of a run; keep what is feasible and cheap enough.

    Returns how many inner joints are filled now.
    """
    numbers = tables.numbers
    under = ground_elevation(tables.ground, tables.cell_start, tables.cell_items, tables.grid, eu, ev)
    if math.isnan(under):
        return filled
    # No low support can be right here when the hinge stands far too high or too low over its middle.
    height = end - numbers[DEPTH] - under + numbers[BEDDING]
    if height < numbers[LOW_MIN] - numbers[GROUND_SPREAD] or height > numbers[LOW_MAX] + numbers[GROUND_SPREAD]:
        return filled
    for p in range(tables.plate_length.shape[0]):
        length = tables.plate_length[p]
        sine = numbers[STEEPEST] / math.sqrt(1.0 + numbers[STEEPEST] * numbers[STEEPEST])
        least = cost + tables.least_cost[0, i] + tables.plate_cost[p] + int(numbers[LEAST_LOW_PAIR])
        if least > limit_of(pool):
            continue
        reach = plate_reach(
            tables.ground, tables.cell_start, tables.cell_items, tables.grid, eu, ev, hu, hv, end, length
        )
        if math.isnan(reach) or plan + reach > by_piece + E or plan + reach > numbers[LENGTH_LIMIT] + E:
            continue
        tu = eu + reach * hu
        tv = ev + reach * hv
        tip = ground_elevation(tables.ground, tables.cell_start, tables.cell_items, tables.grid, tu, tv)
        fall = end - tip
        if fall < -E or fall > numbers[STEEPEST] * reach + E or fall > length * sine + 1e-3:
            continue
        if drop + fall > numbers[RISE_LIMIT] + E:
            continue
        if (
            first_overhead(
                tables.overhead, eu, ev, hu, hv, numbers[WIDTH] / 2.0, reach, end, fall / reach, room.clip
            )
            < reach - E
        ):
            continue
        railed = needs_rails(
            tables, u, v, hu, hv, plan, deck, drop + fall, room.rectangles[pieces], room.clip
        )
        rest = cost + tables.plate_cost[p]
        if railed == 1:
            rest += (4 - half) * int(numbers[END_COST]) + 2 * int(numbers[POST_COST])
            rest += tables.plate_rail[p]
        if rest + tables.least_cost[railed, i] + int(numbers[LEAST_LOW_PAIR]) > limit_of(pool):
            continue
        write_rectangle(room.rectangles[pieces], u, v, hu, hv, numbers[WIDTH] / 2.0, plan)
        toe = toe_cost(
            tables, room.rectangles, pieces + 1, tu, tv, hu, hv, end, numbers[STEEPEST], reach, tip,
            room.clip,
        )
        if toe >= NEVER or rest + toe + tables.least_cost[railed, i] > limit_of(pool):
            continue
        filled = extend_joints(
            tables, room.inner[level], i - 1, filled, u, v, hu, hv, deck, slope, clear
        )
        run = run_total(
            tables, room.inner[level], railed, i, True, clear, u, v, hu, hv, deck, slope
        )
        total = rest + run + toe
        if run >= NEVER or total > limit_of(pool):
            continue
        room.path[2] = level + 1
        room.path[3] = p
        keep(pool, total, walk + tables.sums[i] + length, room.path)
    return filled
