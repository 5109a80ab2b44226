"""Compiled: what an arc costs exactly, and the cheapest layouts of one shape with all their pieces apart.

The arcs' lower bounds order a depth-first branch and bound; an arc is priced exactly the first
time a layout within the limit would use it, and only here pieces are tested against each other.
"""

from __future__ import annotations

import math

from optimizer.search.arc_kernel import landing_shift
from optimizer.search.compiled import compiled
from optimizer.search.geometry_kernel import (
    E,
    first_overhead,
    first_piece,
    first_violation,
    ground_elevation,
    plate_reach,
)
from optimizer.search.kernel_tables import HALF_LEFT, NEVER, STRAIGHT
from optimizer.search.state_kernel import KIND_AT, LAST, LEVEL_AT, PART_AT, SUMS_AT, TURNED_BIT, heading_of
from optimizer.search.support_kernel import (
    extend_joints,
    landing_total,
    needs_rails,
    run_total,
    write_rectangle,
)
from optimizer.search.toe_kernel import toe_cost


@compiled
def exact_cost(tables, room, u, v, step, hu, hv, turned, choice):
    """Exact cost of an arc, other pieces left out, or NEVER when some rule stands against it."""
    numbers = tables.numbers[0]
    i = choice // SUMS_AT
    level = choice % SUMS_AT // LEVEL_AT
    part = choice % LEVEL_AT // PART_AT
    kind = choice % PART_AT // KIND_AT
    place = choice % KIND_AT
    deck = numbers.deck - step * numbers.height_step
    drop = tables.drops[level, i] * numbers.height_step
    plan = tables.plans[level, i]
    slope = drop / plan
    width = numbers.width
    reach = plan + E
    low_clear = first_overhead(
        tables.triangles, numbers.dig_end, numbers.overhead_end,
        u, v, hu, hv, width / 2.0, reach, deck, slope, room.clip,
    )  # fmt: skip
    low_clear = first_violation(
        tables.triangles, numbers.start, numbers.solid_end,
        u, v, hu, hv, width / 2.0, low_clear, deck, slope, numbers.depth + numbers.low_clearance, room.clip,
    )  # fmt: skip
    if plan > low_clear + E:
        return NEVER
    clear = first_violation(
        tables.triangles, numbers.start, numbers.solid_end,
        u, v, hu, hv, width / 2.0, low_clear, deck, slope, numbers.depth + numbers.clearance, room.clip,
    )  # fmt: skip
    if kind != LAST and plan > clear + E:
        return NEVER
    eu = u + plan * hu
    ev = v + plan * hv
    end = deck - drop
    fall = 0.0
    extra = 0
    plate = 0.0
    if kind == LAST:
        plate = plate_reach(tables, eu, ev, hu, hv, end, tables.plates[part].length)
        if math.isnan(plate):
            return NEVER
        tip = ground_elevation(tables, eu + plate * hu, ev + plate * hv)
        fall = end - tip
        over = first_overhead(
            tables.triangles, numbers.dig_end, numbers.overhead_end,
            eu, ev, hu, hv, width / 2.0, plate, end, fall / plate, room.clip,
        )  # fmt: skip
        if over < plate - E:
            return NEVER
        toe = toe_cost(
            tables, room.rectangles, 0, eu + plate * hu, ev + plate * hv, hu, hv, end,
            numbers.steepest, plate, tip, room.clip,
        )  # fmt: skip
        if toe >= NEVER:
            return NEVER
        extra = tables.plates[part].cost + toe
    railed = needs_rails(
        tables,
        u,
        v,
        hu,
        hv,
        plan,
        deck,
        drop,
        fall,
        plate,
        room.rectangles[room.rectangles.shape[0] - 1],
        room.clip,
    )
    if railed == 1:
        ends = 4 - turned - (0 if kind in (STRAIGHT, LAST) else 1)
        extra += ends * numbers.end_cost + 2 * numbers.post_cost
        if kind == LAST:
            extra += tables.plates[part].rail
    if kind != LAST:
        shift = landing_shift(tables, part, kind, place)
        made = landing_total(
            tables, part, kind >= HALF_LEFT, tables.kinds[part, kind], eu + shift * hv, ev - shift * hu,
            hu, hv, end, room.rectangles[room.rectangles.shape[0] - 1], room.clip,
        )  # fmt: skip
        if made >= NEVER:
            return NEVER
        extra += made
    extend_joints(tables, room.inner, i - 1, 0, u, v, hu, hv, deck, slope, clear)
    run = run_total(tables, room.inner, railed, i, 1 if kind == LAST else 0, clear, u, v, hu, hv, deck, slope)
    if run >= NEVER:
        return NEVER
    return run + extra


@compiled
def limit_of(pool):
    """Cost above which nothing new is kept."""
    if pool.kept[0] < pool.cost.shape[0]:
        return pool.ceiling[0]
    return min(pool.ceiling[0], pool.cost[pool.kept[0] - 1] - 1)


@compiled
def note_aside(pool, cost):
    """Remember the least cost that was left aside for the ceiling."""
    if cost < pool.aside[0]:
        pool.aside[0] = cost


@compiled
def keep(pool, cost, walk, path, depth):
    """Put a finished layout in its place; the worst falls out when the pool is full."""
    size = pool.cost.shape[0]
    place = pool.kept[0]
    while place > 0 and (
        pool.cost[place - 1] > cost or (pool.cost[place - 1] == cost and pool.walk[place - 1] > walk + E)
    ):
        place -= 1
    if place >= size:
        return
    for k in range(min(pool.kept[0], size - 1), place, -1):
        pool.cost[k] = pool.cost[k - 1]
        pool.walk[k] = pool.walk[k - 1]
        for word in range(pool.record.shape[1]):
            pool.record[k, word] = pool.record[k - 1, word]
    pool.cost[place] = cost
    pool.walk[place] = walk
    for word in range(pool.record.shape[1]):
        pool.record[place, word] = path[word] if word <= depth else -1
    pool.kept[0] = min(size, pool.kept[0] + 1)


@compiled
def place_in(shape, turned):
    """Place of the turns so far in a shape's beginnings, or -1."""
    for k in range(shape.shape[0]):
        if shape[k] == turned:
            return k
    return -1


@compiled
def price_onward(states, shape, place, a):
    """Least cost along an arc to the end of a shape, or NEVER when the arc leads elsewhere."""
    to = states.arc_to[a]
    last = shape.shape[0] - 1
    if to < 0:
        return states.arc_cost[a] if place == last else NEVER
    if states.turned[to] == shape[place] or (place < last and states.turned[to] == shape[place + 1]):
        return min(NEVER, states.arc_cost[a] + states.rest[to])
    return NEVER


@compiled
def sweep(states, levels, shape):
    """Least cost from every state on the way to a shape to its end, into ``rest``.

    ``levels``: first state of every count of runs behind, and the end; ``shape``: the turns of its
    beginnings, from none to all (see ``add_turn``).
    """
    for k in range(levels.shape[0] - 2, -1, -1):
        for n in range(levels[k], levels[k + 1]):
            place = place_in(shape, states.turned[n])
            best = NEVER
            if place >= 0:
                for a in range(states.arc_first[n], states.arc_last[n]):
                    best = min(best, price_onward(states, shape, place, a))
            states.rest[n] = best


@compiled
def sort_arcs(price, order, count):
    """Sort arcs by price, then by number (shell sort: in place, the same every time)."""
    gap = 1
    while 3 * gap + 1 < count:
        gap = 3 * gap + 1
    while gap > 0:
        for i in range(gap, count):
            p = price[i]
            o = order[i]
            j = i
            while j >= gap and (price[j - gap] > p or (price[j - gap] == p and order[j - gap] > o)):
                price[j] = price[j - gap]
                order[j] = order[j - gap]
                j -= gap
            price[j] = p
            order[j] = o
        gap //= 3


@compiled
def list_onward(states, pool, room, shape, n, depth, cost):
    """Arcs of a shape out of a state within the limit, the most promising first; returns how many."""
    mine = place_in(shape, states.turned[n])
    limit = limit_of(pool)
    count = 0
    for a in range(states.arc_first[n], states.arc_last[n]):
        price = price_onward(states, shape, mine, a)
        if price >= NEVER:
            continue
        if cost + price > limit:
            note_aside(pool, cost + price)
            continue
        room.order[depth, count] = a
        room.price[depth, count] = price
        count += 1
    sort_arcs(room.price[depth], room.order[depth], count)
    return count


@compiled
def lay_arc(tables, states, room, n, a, pieces):
    """Lay an arc's run (and landing) if earlier pieces leave it free, into ``room.rectangles``.

    ``pieces``: earlier rectangles, the last is the landing being left (none at an edge).  Returns
    how far the run, or run and plate, reach in plan; NaN when something is in the way.
    """
    numbers = tables.numbers[0]
    hu, hv = heading_of(states.heading[n])
    u = states.u[n]
    v = states.v[n]
    half = numbers.width / 2.0
    choice = states.arc_choice[a]
    i = choice // SUMS_AT
    level = choice % SUMS_AT // LEVEL_AT
    part = choice % LEVEL_AT // PART_AT
    plan = tables.plans[level, i]
    eu = u + plan * hu
    ev = v + plan * hv
    ahead = plan
    end = 0.0
    if states.arc_to[a] < 0:
        end = numbers.deck - (states.step[n] + tables.drops[level, i]) * numbers.height_step
        ahead = plan + plate_reach(tables, eu, ev, hu, hv, end, tables.plates[part].length)
    free = first_piece(room.rectangles, pieces, pieces - 1, numbers.gap, u, v, hu, hv, half, ahead)
    if free < ahead - E:
        return math.nan
    write_rectangle(room.rectangles[pieces], u, v, hu, hv, half, plan)
    if states.arc_to[a] < 0:
        # Feet stand beside the pieces; none may stand where people arrive, nor on a pad.
        tu = u + ahead * hu
        tv = v + ahead * hv
        length = numbers.bottom_length
        beside = numbers.bottom_width / 2.0
        if first_piece(
            room.rectangles, pieces, -1, numbers.foot_room, tu, tv, hu, hv, beside, length
        ) < length - E:  # fmt: skip
            return math.nan
        length = numbers.apron_length
        beside = numbers.apron_width / 2.0
        if first_piece(
            room.rectangles, pieces, -1, numbers.foot_room, tu, tv, hu, hv, beside, length
        ) >= length - E:  # fmt: skip
            return ahead
        pad = toe_cost(
            tables, room.rectangles, 0, tu, tv, hu, hv, end, numbers.steepest, ahead - plan,
            ground_elevation(tables, tu, tv), room.clip,
        )  # fmt: skip
        return ahead if pad == 0 else math.nan
    shift = landing_shift(tables, part, choice % PART_AT // KIND_AT, choice % KIND_AT)
    wide = tables.landings[part].width / 2.0
    long = tables.landings[part].length
    lu = eu + shift * hv
    lv = ev - shift * hu
    # The run just laid is not among the earlier pieces: a landing may touch the run that arrives on it.
    if first_piece(room.rectangles, pieces, -1, numbers.gap, lu, lv, hu, hv, wide, long) < long - E:
        return math.nan
    write_rectangle(room.rectangles[pieces + 1], lu, lv, hu, hv, wide, long)
    return ahead


@compiled
def dive(tables, states, pool, room, shape, first, pieces, cost, walk, stop):
    """Every layout of a shape from a first state on that is worth keeping, cheapest first.

    ``pieces`` 1 when ``room.rectangles`` holds a door landing.  Returns 1 when stopped early.
    """
    depth = 1
    room.at[1] = first
    room.cost[1] = cost
    room.walk[1] = walk
    room.cursor[1] = 0
    room.listed[1] = list_onward(states, pool, room, shape, first, 1, cost)
    while depth > 0:
        k = room.cursor[depth]
        if k >= room.listed[depth] or room.cost[depth] + room.price[depth, k] > limit_of(pool):
            depth -= 1
            continue
        if stop[0] != 0:
            return 1
        room.cursor[depth] = k + 1
        a = room.order[depth, k]
        n = room.at[depth]
        to = states.arc_to[a]
        laid = pieces + 2 * (depth - 1)
        room.pops[0] += 1
        # Pieces against each other first: it is cheaper than pricing.
        ahead = lay_arc(tables, states, room, n, a, laid)
        if math.isnan(ahead):
            continue
        if states.arc_exact[a] == 0:
            room.pops[1] += 1
            turned = 1 if states.flag[n] & TURNED_BIT else 0
            hu, hv = heading_of(states.heading[n])
            states.arc_cost[a] = exact_cost(
                tables, room, states.u[n], states.v[n], states.step[n], hu, hv, turned, states.arc_choice[a]
            )
            states.arc_exact[a] = 1
        if states.arc_cost[a] >= NEVER:
            continue
        total = room.cost[depth] + states.arc_cost[a]
        rest = states.rest[to] if to >= 0 else 0
        if total + rest > limit_of(pool):
            note_aside(pool, total + rest)
            continue
        room.path[depth] = a
        choice = states.arc_choice[a]
        onward = room.walk[depth] + tables.sums[choice // SUMS_AT].length
        if to < 0:
            onward += tables.plates[choice % LEVEL_AT // PART_AT].length
            keep(pool, total, onward, room.path, depth)
            continue
        onward += abs(states.u[to] - states.u[n]) + abs(states.v[to] - states.v[n]) - ahead
        depth += 1
        room.at[depth] = to
        room.cost[depth] = total
        room.walk[depth] = onward
        room.cursor[depth] = 0
        room.listed[depth] = list_onward(states, pool, room, shape, to, depth, total)
    return 0
