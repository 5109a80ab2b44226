"""Compiled: lower bounds on what pieces cost at a pose, read from the raster.

Each function answers for the page's exact question with 'never dearer than': a height known to
within a cell may take the cheapest support that could fit, cover counts only where a piece
covers a whole cell, rails only where they are certain.
"""

from __future__ import annotations

import math

from optimizer.search.compiled import compiled, inlined
from optimizer.search.geometry_kernel import HIGH, E
from optimizer.search.kernel_tables import NEVER
from optimizer.search.raster_kernel import HEIGHT_BIN_M, LOWEST_M, foot_cell
from optimizer.search.rest_kernel import least_rest_by_height


@inlined
def least_between(raster, supports, group, least, greatest):
    """Least cost of a support of a set and group at some height between two."""
    first = int((least - LOWEST_M) / HEIGHT_BIN_M)
    last = int((greatest - LOWEST_M) / HEIGHT_BIN_M)
    best = NEVER
    bins = raster.least_at.shape[2]
    if last < 0 or first >= bins or greatest < LOWEST_M:
        return best
    for k in range(max(first, 0), min(last, bins - 1) + 1):
        best = min(best, raster.least_at[supports, group, k])
    return best


@inlined
def least_foot(tables, raster, supports, u, v, lateral, hu, hv, frame, spare):
    """Least cost of one support of a set at (u, v), or ``lateral`` to the right of it where that is not 0.

    ``lateral``: sign and half the run's width; the kinds of feet add their own offset.
    """
    bedding = tables.numbers[0].bedding
    best = NEVER
    for group in range(raster.groups.shape[0]):
        side = 0.0
        if lateral > 0.0:
            side = lateral + raster.groups[group, 0]
        elif lateral < 0.0:
            side = lateral - raster.groups[group, 0]
        low, high = foot_cell(tables, raster, group, u + side * hv, v - side * hu)
        if math.isnan(low):
            continue
        least = frame - (high - bedding)
        greatest = frame + spare - (low - bedding)
        best = min(best, least_between(raster, supports, group, least, greatest))
    return best


@inlined
def least_pair(tables, raster, supports, u, v, hu, hv, frame, spare):
    """Least cost of a pair of supports of a set under a run at (u, v)."""
    half = tables.numbers[0].width / 2.0
    left = least_foot(tables, raster, supports, u, v, -half, hu, hv, frame, spare)
    if left >= NEVER:
        return NEVER
    right = least_foot(tables, raster, supports, u, v, half, hu, hv, frame, spare)
    return min(NEVER, left + right)


@compiled
def least_landing_legs(tables, raster, landing, is_half, u, v, hu, hv, frame):
    """Least cost of a landing's legs; the pose is the middle of its entry edge."""
    total = 0
    inset = tables.landings[landing].inset
    length = tables.landings[landing].length
    side = tables.landings[landing].width / 2.0 - inset
    across = 3 if is_half else 2
    for i in range(2):
        t = inset if i == 0 else length - inset
        for j in range(across):
            lateral = (-side, side, 0.0)[j]
            best = least_foot(
                tables, raster, raster.landing_set[landing],
                u + t * hu + lateral * hv, v + t * hv - lateral * hu, 0.0, hu, hv, frame, 0.0,
            )  # fmt: skip
            if best >= NEVER:
                return NEVER
            total += best
    return total


@inlined
def strip_range(raster, along_u, middle, half):
    """First row (or column) of the first and of the last window of ``strip`` cells under a strip."""
    corner = raster.corner_v if along_u else raster.corner_u
    first = int(math.ceil((middle - half - corner) / raster.cell - 1e-9))
    last = int(math.floor((middle + half - corner) / raster.cell + 1e-9)) - raster.strip
    return first, last


@inlined
def cover_at(raster, along_u, first, last, k):
    """Greatest cover of the windows from ``first`` to ``last`` at cell ``k`` along the strip."""
    sides = raster.rows if along_u else raster.columns
    cells = raster.columns if along_u else raster.rows
    if k < 0 or k >= cells or first < 0 or last >= sides:
        return HIGH
    best = -math.inf
    w = first
    while True:
        best = max(best, raster.strip_u[w, k] if along_u else raster.strip_v[k, w])
        if w >= last:
            return best
        w = min(last, w + raster.strip)


@inlined
def ceiling_at(raster, along_u, middle, half, k):
    """Least ceiling over the cells across a strip at cell ``k``; only where something hangs."""
    first, last = strip_range(raster, along_u, middle, half)
    best = math.inf
    for w in range(first, last + raster.strip):
        best = min(best, raster.ceiling[w, k] if along_u else raster.ceiling[k, w])
    return best


@compiled
def look_along(raster, u, v, hu, hv, half, reach, deck, slope, spare, offset, low_offset):
    """How far from a pose a strip may run with the full offset and with the low one above the cover.

    The deck lies at most ``spare`` above ``deck - slope t``.
    """
    along_u = abs(hu) > 0.5
    middle = v if along_u else u
    start = u if along_u else v
    sign = hu if along_u else hv
    corner = raster.corner_u if along_u else raster.corner_v
    first, last = strip_range(raster, along_u, middle, half)
    hangs = raster.ceiling.shape[0] > 1
    place = (start - corner) / raster.cell
    k = int(math.ceil(place - 1e-9)) if sign > 0.0 else int(math.floor(place + 1e-9)) - 1
    clear = math.inf
    while True:
        near = (k - place) * raster.cell if sign > 0.0 else (place - k - 1) * raster.cell
        far = near + raster.cell
        if far > reach:
            return min(clear, reach), reach
        top = deck - slope * near + spare
        cover = cover_at(raster, along_u, first, last, k)
        if cover + low_offset > top + E:
            return min(clear, far - 2.0 * E), far - 2.0 * E
        if hangs and deck - slope * far > ceiling_at(raster, along_u, middle, half, k) + E:
            return min(clear, far - 2.0 * E), far - 2.0 * E
        if cover + offset > top + E:
            clear = min(clear, far - 2.0 * E)
        k += 1 if sign > 0.0 else -1


@inlined
def low_near(raster, u, v):
    """Ground within 36 in of a point is at least as low as this; inf where nothing is known."""
    column = int(math.floor((u - raster.corner_u) / raster.cell))
    row = int(math.floor((v - raster.corner_v) / raster.cell))
    if column < 0 or row < 0 or column >= raster.columns or row >= raster.rows:
        return math.inf
    return raster.near_low[row, column]


@compiled
def least_landing(tables, raster, landing, kind, u, v, hu, hv, deck):
    """Least cost of a landing with its entry edge's middle at (u, v), or NEVER."""
    row = tables.landings[landing]
    numbers = tables.numbers[0]
    half = row.width / 2.0
    offset = row.depth + numbers.clearance
    clear, _ = look_along(raster, u, v, hu, hv, half, row.length, deck, 0.0, 0.0, offset, offset)
    if clear < row.length:
        return NEVER
    legs = least_landing_legs(tables, raster, landing, kind >= 3, u, v, hu, hv, deck - row.depth)
    if legs >= NEVER:
        return NEVER
    cost = row.cost + legs
    rail = tables.kinds[landing, kind]
    if rail > 0:
        low = math.inf
        for i in range(2):
            t = i * row.length
            for side in (-half, half):
                low = min(low, low_near(raster, u + t * hu + side * hv, v + t * hv - side * hu))
        if deck - low > numbers.landing_rail_above + E:
            cost += rail
    return cost


@compiled
def fill_runs(
    tables, raster, bound, room, row, clear, low_clear, u, v, hu, hv, deck, step, runs_left, budget,
    count,
):  # fmt: skip
    """Least cost of the runs of the first ``count`` sums from a pose at a slope; returns sums filled.

    Rows of ``room.runs``: bare, railed, as the last run bare, railed (rail ends, end posts and plate
    left out).
    Joints are judged at the slope row's sine; a run drops at most its ``spare`` less.  Runs
    that cannot end within ``budget`` are left out; ``room.aside`` keeps the least that was.
    """
    numbers = tables.numbers[0]
    sine = row.sine
    cosine = math.sqrt(1.0 - sine * sine)
    spare = row.spare
    inner = room.inner
    runs = room.runs
    ends = 2 * numbers.end_cost + 2 * numbers.post_cost
    inner[0, 0] = 0
    inner[1, 0] = 0
    filled = 1
    for i in range(1, count):
        t = tables.sums[i].length * cosine
        # Plan lengths at whole height steps are a little longer than at the level's sine.
        if t > low_clear + E:
            break
        filled = i + 1
        inner[0, i] = NEVER
        inner[1, i] = NEVER
        for k in range(4):
            runs[k, i] = NEVER
        frame = deck - sine * tables.sums[i].length - numbers.depth
        # What must follow a joint here costs at least as much as a run that starts here, less its ends.
        # It may start one height step lower, because the drops of both are rounded down.
        onward = step + int(math.floor(sine * tables.sums[i].length / numbers.height_step + 1e-9))
        rest = least_rest_by_height(bound, runs_left, onward)
        rest = min(rest, least_rest_by_height(bound, runs_left, onward + 1)) - ends
        least = NEVER
        for s in range(tables.sections.shape[0]):
            j = tables.before[i, s]
            if j >= 0:
                least = min(least, inner[0, j] + tables.sections[s].cost)
        if least > budget:
            if least < NEVER:
                room.aside[0] = min(room.aside[0], least)
            continue
        goes_on = bound.tells_rests == 0 or least + rest <= budget
        if not goes_on and rest < NEVER // 2:
            room.aside[0] = min(room.aside[0], least + rest)
        joint = NEVER
        joint_set = -1
        hinge = NEVER
        hinge_set = -1
        for s in range(tables.sections.shape[0]):
            j = tables.before[i, s]
            if j < 0 or inner[0, j] >= NEVER:
                continue
            section = tables.sections[s]
            upper = tables.sums[j].length
            if upper * cosine > clear + E:
                continue
            mids = 0
            for k in range(section.mid_first, section.mid_last):
                a = upper + tables.mids[k]
                mids += least_pair(
                    tables,
                    raster,
                    raster.joint_set[s],
                    u + a * cosine * hu,
                    v + a * cosine * hv,
                    hu,
                    hv,
                    deck - sine * a - numbers.depth,
                    spare,
                )
                if mids >= NEVER:
                    break
            if mids >= NEVER:
                continue
            bare = inner[0, j] + section.cost + mids
            railed = inner[1, j] + section.cost + section.rail + mids
            if hinge_set != raster.hinge_set[s]:
                hinge_set = raster.hinge_set[s]
                hinge = least_pair(tables, raster, hinge_set, u + t * hu, v + t * hv, hu, hv, frame, spare)
            if hinge < NEVER:
                runs[2, i] = min(runs[2, i], bare + hinge)
                runs[3, i] = min(runs[3, i], railed + hinge)
            if t > clear + E:
                continue
            runs[0, i] = min(runs[0, i], bare)
            runs[1, i] = min(runs[1, i], railed)
            if not goes_on:
                continue
            if joint_set != raster.joint_set[s]:
                joint_set = raster.joint_set[s]
                joint = least_pair(tables, raster, joint_set, u + t * hu, v + t * hv, hu, hv, frame, spare)
            if joint < NEVER:
                inner[0, i] = min(inner[0, i], bare + joint)
                inner[1, i] = min(inner[1, i], railed + joint)
    return filled
