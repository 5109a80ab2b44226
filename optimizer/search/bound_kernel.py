"""Compiled: what is left to pay at least, by height above where a tip may lie and by the way there."""

from __future__ import annotations

import math

from optimizer.search.compiled import compiled
from optimizer.search.geometry_kernel import E
from optimizer.search.kernel_tables import NEVER, TURN_COUNT
from optimizer.search.law_kernel import asks_rails


@compiled
def least_support(tables, kind, low, high, frame, spare):
    """Least cost of one support type between levels low..high and a frame at frame..frame + spare."""
    support = tables.supports[kind]
    bedding = tables.numbers[0].bedding
    least = frame - (high - bedding)
    greatest = frame + spare - (low - bedding)
    if greatest < support.low - E or least > support.high + E:
        return NEVER
    if max(least, support.low) > support.brace_above + E:
        return support.cost + support.brace_cost
    return support.cost


@compiled
def least_anywhere(tables, allowed, low, high, frame, spare):
    """Least cost of one support of the ``allowed`` types on any level between low and high."""
    best = NEVER
    for kind in range(tables.supports.shape[0]):
        if (allowed >> kind) & 1:
            best = min(best, least_support(tables, kind, low, high, frame, spare))
    return best


@compiled
def least_landing_anywhere(tables, low, high, deck):
    """Least cost of any landing between two runs at a deck elevation, wherever it stands."""
    best = NEVER
    for n in range(tables.landings.shape[0]):
        row = tables.landings[n]
        legs = least_anywhere(tables, row.legs, low, high, deck - row.depth, 0.0)
        if legs >= NEVER:
            continue
        for kind in range(TURN_COUNT):
            rail = tables.kinds[n, kind]
            if rail >= NEVER:
                continue
            cost = row.cost + (6 if kind >= 3 else 4) * legs
            if deck - high > tables.numbers[0].landing_rail_above + E:
                cost += rail
            best = min(best, cost)
    return best


@compiled
def fill_runs_anywhere(tables, row, low, high, deck, inner, runs):
    """Least cost of every run from a deck elevation at a slope, wherever it lies (see ``fill_runs``).

    Frames may lie a height step lower and some higher, so that the rest of a longer run, whose
    joints lie between height steps, costs no less than a run that starts at the step above or below.
    """
    numbers = tables.numbers[0]
    sine = row.sine
    spare = 3.0 * numbers.height_step + row.spare
    inner[0, 0] = 0
    inner[1, 0] = 0
    for i in range(1, tables.sums.shape[0]):
        inner[0, i] = NEVER
        inner[1, i] = NEVER
        for k in range(4):
            runs[k, i] = NEVER
        frame = deck - sine * tables.sums[i].length - numbers.depth - numbers.height_step
        for s in range(tables.sections.shape[0]):
            j = tables.before[i, s]
            if j < 0 or inner[0, j] >= NEVER:
                continue
            section = tables.sections[s]
            mids = 0
            for k in range(section.mid_first, section.mid_last):
                at = deck - sine * (tables.sums[j].length + tables.mids[k]) - numbers.depth
                at -= numbers.height_step
                mids += 2 * least_anywhere(tables, section.supports, low, high, at, spare)
            if mids >= NEVER:
                continue
            bare = inner[0, j] + section.cost + mids
            railed = inner[1, j] + section.cost + section.rail + mids
            runs[0, i] = min(runs[0, i], bare)
            runs[1, i] = min(runs[1, i], railed)
            hinge = 2 * least_anywhere(tables, section.low_supports, low, high, frame, spare)
            if hinge < NEVER:
                runs[2, i] = min(runs[2, i], bare + hinge)
                runs[3, i] = min(runs[3, i], railed + hinge)
            joint = 2 * least_anywhere(tables, section.supports, low, high, frame, spare)
            if joint < NEVER:
                inner[0, i] = min(inner[0, i], bare + joint)
                inner[1, i] = min(inner[1, i], railed + joint)


@compiled
def lay_by_height(tables, by_height, landed, low, high, tip_low, tip_high, pads, inner, runs):
    """Fill ``by_height`` (classes, runs + 1, steps) and ``landed`` from the lowest step upwards.

    ``low``, ``high``: least and greatest level a foot can stand on anywhere; ``tip_low[c]``,
    ``tip_high[c]``: levels a tip of class c can lie on; ``pads[c]``: what its pad costs.
    No runs left: nothing can follow.
    """
    numbers = tables.numbers[0]
    classes = by_height.shape[0]
    most = by_height.shape[1] - 1
    steps = by_height.shape[2]
    ends = 2 * numbers.end_cost + 2 * numbers.post_cost
    for n in range(steps - 1, -1, -1):
        deck = numbers.deck - n * numbers.height_step
        for c in range(classes):
            for r in range(most + 1):
                by_height[c, r, n] = NEVER
                for m in range(landed.shape[0]):
                    landed[m, c, r, n] = NEVER
        for n_slope in range(tables.slopes.shape[0]):
            row = tables.slopes[n_slope]
            fill_runs_anywhere(tables, row, low, high, deck, inner, runs)
            for k in range(row.first, row.last):
                i = tables.laid[k].at_sum
                level = tables.laid[k].level
                fall = tables.drops[level, i]
                drop = fall * numbers.height_step
                railed = 1 if asks_rails(numbers, drop, tables.plans[level, i], 0.0, 0.0) else 0
                end = deck - drop
                # --- as the last run
                last = runs[2 + railed, i]
                if last < NEVER:
                    last += railed * ends
                    for p in range(tables.plates.shape[0]):
                        plate = tables.plates[p]
                        sine = numbers.steepest / math.sqrt(1.0 + numbers.steepest * numbers.steepest)
                        cost = last + plate.cost + railed * plate.rail
                        for c in range(classes):
                            if tip_low[c] - E <= end <= tip_high[c] + plate.length * sine + 1e-3:
                                for r in range(1, most + 1):
                                    by_height[c, r, n] = min(by_height[c, r, n], cost + pads[c])
                # --- followed by a landing
                if runs[railed, i] >= NEVER or n + fall >= steps or most < 2:
                    continue
                landing = least_landing_anywhere(tables, low, high, end)
                if landing >= NEVER:
                    continue
                cost = runs[railed, i] + railed * ends + landing
                for c in range(classes):
                    for r in range(2, most + 1):
                        rest = by_height[c, r - 1, n + fall]
                        if rest < NEVER:
                            landed[0, c, r, n] = min(landed[0, c, r, n], cost + rest)
                            landed[1, c, r, n] = min(landed[1, c, r, n], cost + rest)
                            by_height[c, r, n] = min(by_height[c, r, n], cost + rest)
                            for m in range(2, landed.shape[0]):
                                due = landed[m - 1, c, r - 1, n + fall]
                                if due < NEVER:
                                    landed[m, c, r, n] = min(landed[m, c, r, n], cost + due)


@compiled
def spread_distance(distance, cell):
    """Least way along the axes from every cell to one that holds 0, in place (two sweeps)."""
    rows = distance.shape[0]
    columns = distance.shape[1]
    for row in range(rows):
        for column in range(columns):
            if row > 0:
                distance[row, column] = min(distance[row, column], distance[row - 1, column] + cell)
            if column > 0:
                distance[row, column] = min(distance[row, column], distance[row, column - 1] + cell)
    for row in range(rows - 1, -1, -1):
        for column in range(columns - 1, -1, -1):
            if row + 1 < rows:
                distance[row, column] = min(distance[row, column], distance[row + 1, column] + cell)
            if column + 1 < columns:
                distance[row, column] = min(distance[row, column], distance[row, column + 1] + cell)


@compiled
def lay_by_way(tables, by_way, landed, by_sum, drop_bin, way_bin, advance):
    """Fill ``by_way`` (runs + 1, drops, ways): least cost of runs that drop by so much and go so far.

    ``landed``: the same with at least so many landings (0 as 1).

    ``by_sum`` (levels, sums): least cost of a run wherever it lies.  A drop bin holds all drops that
    round down to it, less one bin a run for the rounding; a way bin all ways at least as long.
    """
    numbers = tables.numbers[0]
    drops = by_way.shape[1]
    ways = by_way.shape[2]
    for r in range(by_way.shape[0]):
        for d in range(drops):
            for w in range(ways):
                by_way[r, d, w] = NEVER
                for m in range(landed.shape[0]):
                    landed[m, r, d, w] = NEVER
    for r in range(1, by_way.shape[0]):
        for level in range(tables.drops.shape[0]):
            for i in range(1, tables.sums.shape[0]):
                cost = by_sum[level, i]
                if cost >= NEVER:
                    continue
                fall = tables.drops[level, i] * numbers.height_step
                first = int(math.floor(fall / drop_bin))
                plan = int(math.ceil(tables.sums[i].length / way_bin))
                # As the last run.
                for d in range(first, min(drops, first + 2)):
                    for w in range(min(ways, plan + 1)):
                        by_way[r, d, w] = min(by_way[r, d, w], cost)
                if r < 2:
                    continue
                on = int(math.ceil((tables.sums[i].length + advance) / way_bin))
                for d in range(first, drops):
                    for w in range(ways):
                        left = max(0, w - on)
                        rest = by_way[r - 1, d - first, left]
                        if d - first > 0:
                            rest = min(rest, by_way[r - 1, d - first - 1, left])
                        if rest < NEVER:
                            total = cost + numbers.least_landing + rest
                            by_way[r, d, w] = min(by_way[r, d, w], total)
                            landed[0, r, d, w] = min(landed[0, r, d, w], total)
                            landed[1, r, d, w] = min(landed[1, r, d, w], total)
                        for m in range(2, landed.shape[0]):
                            due = landed[m - 1, r - 1, d - first, left]
                            if d - first > 0:
                                due = min(due, landed[m - 1, r - 1, d - first - 1, left])
                            if due < NEVER:
                                due += cost + numbers.least_landing
                                landed[m, r, d, w] = min(landed[m, r, d, w], due)


@compiled
def lay_sums_anywhere(tables, by_sum, inner):
    """Least cost of a run of every sum at every level, wherever it lies: sections, joints, rails."""
    numbers = tables.numbers[0]
    pair = 2 * tables.supports[0].cost
    for kind in range(tables.supports.shape[0]):
        pair = min(pair, 2 * tables.supports[kind].cost)
    ends = 2 * numbers.end_cost + 2 * numbers.post_cost
    inner[0, 0] = 0
    inner[1, 0] = 0
    for i in range(1, tables.sums.shape[0]):
        for railed in range(2):
            inner[railed, i] = NEVER
            for s in range(tables.sections.shape[0]):
                j = tables.before[i, s]
                if j < 0 or inner[railed, j] >= NEVER:
                    continue
                step = tables.sections[s].cost + railed * tables.sections[s].rail
                if j > 0:
                    step += pair
                inner[railed, i] = min(inner[railed, i], inner[railed, j] + step)
        for level in range(tables.drops.shape[0]):
            by_sum[level, i] = NEVER
            if tables.drops[level, i] == 0:
                continue
            drop = tables.drops[level, i] * numbers.height_step
            railed = 1 if asks_rails(numbers, drop, tables.plans[level, i], 0.0, 0.0) else 0
            by_sum[level, i] = inner[railed, i] + railed * ends


@compiled
def widen_drops(by_way, band):
    """Replace every entry by the least over the ``band`` drop bins from it on, in place."""
    drops = by_way.shape[1]
    for r in range(by_way.shape[0]):
        for w in range(by_way.shape[2]):
            for d in range(drops):
                best = by_way[r, d, w]
                for k in range(d + 1, min(drops, d + band)):
                    best = min(best, by_way[r, k, w])
                by_way[r, d, w] = best
