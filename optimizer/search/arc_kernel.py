"""Compiled: from a pose where a run may start to every pose where the next may, at least cost.

An *arc* is a run with the landing after it, or the last run with its plate; its choice is one
number: surface sum, level, landing (or plate), kind of turn, and the place of the landing
against the run.  Costs here are lower bounds from the raster; poses and heights are exact.
"""

from __future__ import annotations

import math

from optimizer.search.compiled import compiled, inlined
from optimizer.search.geometry_kernel import E, ground_elevation, plate_reach
from optimizer.search.kernel_tables import (
    HALF_RIGHT,
    LEFT,
    NEVER,
    RIGHT,
    STRAIGHT,
)
from optimizer.search.law_kernel import allows_last, asks_rails
from optimizer.search.relaxed_kernel import fill_runs, least_landing, look_along, low_near
from optimizer.search.rest_kernel import least_rest, least_rest_by_height, least_rest_landed
from optimizer.search.state_kernel import (
    ANY_LEVEL,
    LAST,
    LEVEL_BIT,
    ROOM,
    TURNED_BIT,
    add_arc,
    add_state,
    add_turn,
    count_turns,
    encode,
    heading_of,
    leads_on,
    locks_met,
    note_dearer,
    turn_heading,
    turns_due,
)
from optimizer.search.toe_kernel import toe_cost


@inlined
def first_line(start, sign, least, anchor, pitch):
    """Least way ``t >= least`` from ``start`` along an axis (``sign``) to a lattice line."""
    place = (start + sign * (least - E) - anchor) / pitch
    k = math.ceil(place - 1e-12) if sign > 0.0 else math.floor(place + 1e-12)
    return (anchor + k * pitch - start) * sign


@inlined
def is_surely_railed(tables, raster, u, v, hu, hv, plan, deck, drop, fall, reach):
    """1 when a run needs rails for its drop or slope, or for ground that certainly lies low near it."""
    numbers = tables.numbers[0]
    if asks_rails(numbers, drop, plan, fall, reach):
        return 1
    half = numbers.width / 2.0
    low = math.inf
    for k in range(3):
        t = plan * k / 2.0
        for side in (-half, half):
            low = min(low, low_near(raster, u + t * hu + side * hv, v + t * hv - side * hu))
    return 1 if deck - low > numbers.guard_above + E else 0


@compiled
def expand(tables, raster, bound, states, room, shape, first, last, runs_left, most_turns, limit, stop):
    """Expand states ``first``..``last``, all with ``runs_left``; nothing dearer than ``limit`` is wanted.

    ``shape``: the beginnings of the only shape asked for (see ``exact_kernel.sweep``), or nothing.

    Returns the first state not expanded: when the arrays are nearly full, or stopped.
    """
    for n in range(first, last):
        if stop[0] != 0:
            return n
        states.arc_first[n] = states.sizes[1]
        if expand_one(tables, raster, bound, states, room, shape, n, runs_left, most_turns, limit) == 1:
            # Its arcs are made again in larger arrays; states found meanwhile are found again.
            states.sizes[1] = states.arc_first[n]
            return n
        states.arc_last[n] = states.sizes[1]
    return last


@compiled
def expand_one(tables, raster, bound, states, room, shape, n, runs_left, most_turns, limit):
    """Every arc out of one state that may be part of a layout within the limit; 1 when there is no room."""
    numbers = tables.numbers[0]
    u = states.u[n]
    v = states.v[n]
    step = states.step[n]
    so_far = states.cost[n]
    hu, hv = heading_of(states.heading[n])
    due = turns_due(shape, states.turned[n])
    least = so_far + least_rest(
        tables, raster, bound, room, due, runs_left, step, u, v, states.heading[n], hu, hv, limit
    )
    if least > limit:
        note_dearer(states, least)
        return 0
    deck = numbers.deck - step * numbers.height_step
    width = numbers.width
    pitch = numbers.pitch
    # Longest run that could be paid, with the cheapest end there is.
    budget = limit - so_far - bound.ends[0]
    count = tables.sums.shape[0]
    while count > 1 and bound.by_length_cost[count - 1] > budget:
        count -= 1
    if count < tables.sums.shape[0] and bound.by_length_cost[count] < NEVER:
        note_dearer(states, so_far + bound.ends[0] + bound.by_length_cost[count])
    if count < 2:
        return 0
    longest = tables.sums[count - 1].length
    only = states.flag[n] // LEVEL_BIT - 1
    turned = 1 if states.flag[n] & TURNED_BIT else 0
    locks = states.flag[n] % TURNED_BIT
    can_turn = count_turns(states.turned[n]) < most_turns
    for n_slope in range(tables.slopes.shape[0]):
        row = tables.slopes[n_slope]
        if 0 <= only < ANY_LEVEL and row.level >= 0 and row.level != only:
            continue
        slope = row.sine / math.sqrt(1.0 - row.sine * row.sine)
        clear, low_clear = look_along(
            raster,
            u,
            v,
            hu,
            hv,
            width / 2.0,
            longest,
            deck,
            slope,
            1.03 * row.spare,
            numbers.depth + numbers.clearance,
            numbers.depth + numbers.low_clearance,
        )
        room.aside[0] = NEVER
        filled = fill_runs(
            tables, raster, bound, room, row, clear, low_clear, u, v, hu, hv, deck, step, runs_left,
            limit - so_far, count,
        )  # fmt: skip
        if room.aside[0] < NEVER:
            note_dearer(states, so_far + room.aside[0])
        for k in range(row.first, row.last):
            i = tables.laid[k].at_sum
            level = tables.laid[k].level
            if i >= filled:
                break
            if 0 <= only < ANY_LEVEL and level != only:
                continue
            keeps = LEVEL_BIT * (level + 1) if only >= 0 else 0
            fall = tables.drops[level, i]
            drop = fall * numbers.height_step
            plan = tables.plans[level, i]
            if room.runs[0, i] >= NEVER and room.runs[2, i] >= NEVER:
                continue
            if states.sizes[0] + ROOM > states.u.shape[0] or states.sizes[1] + ROOM > states.arc_to.shape[0]:
                return 1
            eu = u + plan * hu
            ev = v + plan * hv
            met = locks_met(tables, locks, False, u, v, hu, hv, width / 2.0, plan)
            if room.runs[2, i] < NEVER and due == 0:
                end_here(
                    tables, raster, states, room, i, level, u, v, hu, hv, eu, ev, plan, deck, drop, turned,
                    met, so_far, limit,
                )  # fmt: skip
            if runs_left < 2 or room.runs[0, i] >= NEVER:
                continue
            railed = is_surely_railed(tables, raster, u, v, hu, hv, plan, deck, drop, 0.0, 0.0)
            run = so_far + room.runs[railed, i]
            if railed == 1:
                run += (3 - turned) * numbers.end_cost + 2 * numbers.post_cost
            rest = least_rest_by_height(bound, runs_left - 1, step + fall)
            # Straight on to the end, or over another landing: both from anywhere a landing could lead.
            over = least_rest_landed(
                tables, bound, max(1, due - 1), runs_left - 1, step + fall, eu, ev, bound.advance + pitch
            )
            if due < 2:
                over = min(over, least_rest_by_height(bound, 1, step + fall))
            rest = max(rest, over)
            if run + numbers.least_landing + rest > limit:
                note_dearer(states, run + numbers.least_landing + rest)
                continue
            for landing in range(tables.landings.shape[0]):
                for kind in range(5):
                    if tables.kinds[landing, kind] >= NEVER:
                        continue
                    if kind != STRAIGHT and not (can_turn and leads_on(shape, states.turned[n], kind)):
                        continue
                    ends = numbers.end_cost if railed == 1 and kind == STRAIGHT else 0
                    if run + ends + tables.landings[landing].least + rest > limit:
                        note_dearer(states, run + ends + tables.landings[landing].least + rest)
                        continue
                    lay_landings(
                        tables, raster, bound, room, shape, states, n, i, level, landing, kind,
                        eu, ev, hu, hv, step + fall, met, keeps, run + ends, so_far, runs_left - 1, limit,
                    )  # fmt: skip

    return 0


@inlined
def landing_shift(tables, landing, kind, place):
    """How far a landing's middle lies to the right of the arriving run's middle line."""
    numbers = tables.numbers[0]
    spare = tables.landings[landing].width - numbers.width
    if kind == RIGHT:
        return place * numbers.pitch - spare / 2.0
    if kind == LEFT:
        return spare / 2.0 - place * numbers.pitch
    if kind == HALF_RIGHT or (kind == STRAIGHT and place == 0):
        return spare / 2.0
    return -spare / 2.0


@compiled
def lay_landings(
    tables, raster, bound, room, shape, states, n, i, level, landing, kind, eu, ev, hu, hv,
    step, locks, keeps, run, so_far, runs_left, limit,
):  # fmt: skip
    """Every place of one landing in one use after a run to (eu, ev), with the runs that may leave."""
    numbers = tables.numbers[0]
    row = tables.landings[landing]
    pitch = numbers.pitch
    width = numbers.width
    spare = row.width - width
    deck = numbers.deck - step * numbers.height_step
    heading = turn_heading(states.heading[n], kind)
    due = turns_due(shape, add_turn(states.turned[n], kind))
    places = 1
    if kind in (LEFT, RIGHT):
        places = int(math.floor((spare + E) / pitch)) + 1
    elif kind == STRAIGHT and spare > E:
        places = 2
    for place in range(places):
        shift = landing_shift(tables, landing, kind, place)
        lu = eu + shift * hv
        lv = ev - shift * hu
        made = -1
        t = row.length
        side = 0.0
        nhu = hu
        nhv = hv
        more = 0.0
        until = 0.0
        if kind == STRAIGHT:
            until = spare + E
        elif kind in (LEFT, RIGHT):
            sign = 1.0 if kind == RIGHT else -1.0
            nhu = sign * hv
            nhv = -sign * hu
            side = sign * (width / 2.0 + place * pitch)
            if abs(hu) > 0.5:
                t = first_line(eu, hu, width / 2.0, 0.0, pitch)
            else:
                t = first_line(ev, hv, width / 2.0, numbers.line_v, pitch)
            until = row.length - width / 2.0 - t + E
        else:
            t = 0.0
            nhu = -hu
            nhv = -hv
            side = spare if kind == HALF_RIGHT else -spare
        while more <= until:
            if kind == STRAIGHT:
                side = more if place == 0 else -more
                along = t
            elif kind in (LEFT, RIGHT):
                along = t + more
            else:
                along = t
            nu = eu + along * hu + side * hv
            nv = ev + along * hv - side * hu
            more += pitch
            least = run + row.least
            rest = least_rest(
                tables, raster, bound, room, due, runs_left, step, nu, nv, heading, nhu, nhv, limit
            )
            if least + rest > limit:
                note_dearer(states, least + rest)
                continue
            if made < 0:
                made = least_landing(tables, raster, landing, kind, lu, lv, hu, hv, deck)
                if made >= NEVER:
                    break
            total = run + made
            if total + rest > limit:
                note_dearer(states, total + rest)
                continue
            flag = keeps + locks_met(tables, locks, True, lu, lv, hu, hv, row.width / 2.0, row.length)
            if kind != STRAIGHT:
                flag += TURNED_BIT
            to = add_state(states, nu, nv, step, heading, add_turn(states.turned[n], kind), flag, total)
            add_arc(states, to, total - so_far, encode(i, level, landing, kind, place), 0)


@compiled
def end_here(
    tables, raster, states, room, i, level, u, v, hu, hv, eu, ev, plan, deck, drop, turned,
    locks, so_far, limit,
):  # fmt: skip
    """Arcs that end the ramp after this run, one a transition plate that may lie here."""
    numbers = tables.numbers[0]
    if math.isnan(ground_elevation(tables, eu, ev)):
        return
    hinge = deck - drop
    for p in range(tables.plates.shape[0]):
        if so_far + room.runs[2, i] + tables.plates[p].cost > limit:
            note_dearer(states, so_far + room.runs[2, i] + tables.plates[p].cost)
            continue
        reach = plate_reach(tables, eu, ev, hu, hv, hinge, tables.plates[p].length)
        if math.isnan(reach):
            continue
        tu = eu + reach * hu
        tv = ev + reach * hv
        tip = ground_elevation(tables, tu, tv)
        fall = hinge - tip
        if fall < -E or fall > numbers.steepest * reach + E:
            continue
        if not allows_last(tables.laws, drop, plan, fall, reach):
            continue
        met = locks_met(tables, locks, False, eu, ev, hu, hv, numbers.width / 2.0, reach)
        if met != (1 << tables.locks.shape[0]) - 1:
            continue
        railed = is_surely_railed(tables, raster, u, v, hu, hv, plan, deck, drop, fall, reach)
        cost = room.runs[2 + railed, i] + tables.plates[p].cost
        if railed == 1:
            cost += (4 - turned) * numbers.end_cost + 2 * numbers.post_cost + tables.plates[p].rail
        if so_far + cost > limit:
            note_dearer(states, so_far + cost)
            continue
        toe = toe_cost(
            tables, room.rectangles, 0, tu, tv, hu, hv, hinge, numbers.steepest, reach, tip, room.clip
        )
        if toe >= NEVER:
            continue
        if so_far + cost + toe > limit:
            note_dearer(states, so_far + cost + toe)
            continue
        add_arc(states, -1, cost + toe, encode(i, level, p, LAST, 0), 0)
