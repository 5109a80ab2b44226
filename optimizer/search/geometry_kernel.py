"""Compiled geometry of the search, in the door frame.

Plain scalar code over flat arrays; every function states one question of the page
'The discrete problem' in DEVELOPERS.md.  Poses are ``(u, v, hu, hv)``: a point and a unit
heading; ``t`` runs along the heading, ``l`` to its right.
"""

from __future__ import annotations

import math

import numpy as np

from optimizer.search.compiled import compiled

#: Two lengths closer than this are equal (the page's ``e``), metres.
E = 1e-6
#: Height that stands for 'infinitely high', metres.
HIGH = 1.0e6
#: More vertices than a triangle clipped by five half-planes can have.
CLIP_ROOM = 16


@compiled
def clip(source, count, a, b, c, d, target):
    """Keep the part of a polygon of (t, l, z) vertices where ``a t + b l + c z + d >= 0``.

    ``source`` and ``target`` are (CLIP_ROOM, 3); returns the number of vertices kept.
    """
    kept = 0
    for i in range(count):
        j = i + 1 if i + 1 < count else 0
        p = a * source[i, 0] + b * source[i, 1] + c * source[i, 2] + d
        q = a * source[j, 0] + b * source[j, 1] + c * source[j, 2] + d
        if p >= 0.0:
            for k in range(3):
                target[kept, k] = source[i, k]
            kept += 1
        if (p > 0.0 and q < 0.0) or (p < 0.0 and q > 0.0):
            share = p / (p - q)
            for k in range(3):
                target[kept, k] = source[i, k] + share * (source[j, k] - source[i, k])
            kept += 1
    return kept


@compiled
def first_violation(triangles, first, last, u, v, hu, hv, half_width, reach, deck, slope, offset, room):
    """Least ``t`` in (0, reach] at which something under a strip comes too high.

    The strip starts at the pose, is ``2 half_width`` wide and its deck lies at
    ``deck - slope t``.  Something is too high where ``height + offset > deck(t) + E``.
    ``triangles[first:last]`` (n, 3, 3) hold u, v, height; ``room`` is (2, CLIP_ROOM, 3) scratch.
    Returns ``reach`` when nothing is.
    """
    best = reach
    side = half_width - E
    for n in range(first, last):
        low_t = math.inf
        high_t = -math.inf
        low_l = math.inf
        high_l = -math.inf
        for i in range(3):
            du = triangles[n, i, 0] - u
            dv = triangles[n, i, 1] - v
            t = du * hu + dv * hv
            side_l = du * hv - dv * hu
            room[0, i, 0] = t
            room[0, i, 1] = side_l
            room[0, i, 2] = triangles[n, i, 2]
            low_t = min(low_t, t)
            high_t = max(high_t, t)
            low_l = min(low_l, side_l)
            high_l = max(high_l, side_l)
        if high_t <= E or low_t >= best or high_l <= -side or low_l >= side:
            continue
        count = clip(room[0], 3, 1.0, 0.0, 0.0, -E, room[1])
        count = clip(room[1], count, 0.0, 1.0, 0.0, side, room[0])
        count = clip(room[0], count, 0.0, -1.0, 0.0, side, room[1])
        count = clip(room[1], count, slope, 0.0, 1.0, offset - deck - E, room[0])
        for i in range(count):
            best = min(best, room[0, i, 0])
    return best


@compiled
def first_overhead(overhead, first, last, u, v, hu, hv, half_width, reach, deck, slope, room):
    """Least ``t`` at which the strip enters an overhead zone whose allowed deck level it exceeds.

    ``overhead[first:last]`` (n, 3, 3): u, v and the highest deck elevation allowed.
    """
    best = reach
    side = half_width - E
    for n in range(first, last):
        for i in range(3):
            du = overhead[n, i, 0] - u
            dv = overhead[n, i, 1] - v
            room[0, i, 0] = du * hu + dv * hv
            room[0, i, 1] = du * hv - dv * hu
            room[0, i, 2] = overhead[n, i, 2]
        count = clip(room[0], 3, 1.0, 0.0, 0.0, -E, room[1])
        count = clip(room[1], count, 0.0, 1.0, 0.0, side, room[0])
        count = clip(room[0], count, 0.0, -1.0, 0.0, side, room[1])
        enter = math.inf
        for i in range(count):
            enter = min(enter, room[1, i, 0])
        if enter < best and deck - slope * enter > overhead[n, 0, 2] + E:
            best = enter
    return best


@compiled
def first_piece(rectangles, count, skipped, grown, u, v, hu, hv, half_width, reach):
    """Least ``t`` at which the strip meets one of ``count`` earlier pieces, each enlarged by ``grown``.

    ``rectangles`` (n, 4): u_min, u_max, v_min, v_max.  ``skipped`` is left out (-1: none).
    """
    best = reach
    side = half_width - E
    for n in range(count):
        if n == skipped:
            continue
        t0 = math.inf
        t1 = -math.inf
        l0 = math.inf
        l1 = -math.inf
        for i in range(2):
            for j in range(2):
                du = (rectangles[n, 0] - grown if i == 0 else rectangles[n, 1] + grown) - u
                dv = (rectangles[n, 2] - grown if j == 0 else rectangles[n, 3] + grown) - v
                t = du * hu + dv * hv
                side_l = du * hv - dv * hu
                t0 = min(t0, t)
                t1 = max(t1, t)
                l0 = min(l0, side_l)
                l1 = max(l1, side_l)
        if l1 > -side and l0 < side and t1 > E:
            best = min(best, max(t0, 0.0))
    return best


@compiled
def ground_elevation(tables, u, v):
    """Ground elevation at a point (the upper one at a break line); NaN outside the survey."""
    numbers = tables.numbers[0]
    triangles = tables.triangles
    column = int(math.floor((u - numbers.grid_u) / numbers.grid_cell))
    row = int(math.floor((v - numbers.grid_v) / numbers.grid_cell))
    if column < 0 or row < 0 or column >= numbers.grid_columns or row >= numbers.grid_rows:
        return math.nan
    cell = row * numbers.grid_columns + column
    answer = math.nan
    for k in range(tables.cell_start[cell], tables.cell_start[cell + 1]):
        n = tables.cell_items[k]
        x0 = triangles[n, 0, 0]
        y0 = triangles[n, 0, 1]
        x1 = triangles[n, 1, 0] - x0
        y1 = triangles[n, 1, 1] - y0
        x2 = triangles[n, 2, 0] - x0
        y2 = triangles[n, 2, 1] - y0
        area = x1 * y2 - x2 * y1
        b = ((u - x0) * y2 - (v - y0) * x2) / area
        c = ((v - y0) * x1 - (u - x0) * y1) / area
        if b >= -1e-9 and c >= -1e-9 and b + c <= 1.0 + 1e-9:
            z = triangles[n, 0, 2] * (1.0 - b - c) + triangles[n, 1, 2] * b + triangles[n, 2, 2] * c
            if math.isnan(answer) or z > answer:
                answer = z
    return answer


@compiled
def lowest_ground(triangles, count, u0, u1, v0, v1, room):
    """Least ground elevation in an axis-parallel rectangle, as far as surveyed; inf if nowhere."""
    lowest = math.inf
    for n in range(count):
        for i in range(3):
            for k in range(3):
                room[0, i, k] = triangles[n, i, k]
        if (
            max(room[0, 0, 0], room[0, 1, 0], room[0, 2, 0]) < u0
            or min(room[0, 0, 0], room[0, 1, 0], room[0, 2, 0]) > u1
            or max(room[0, 0, 1], room[0, 1, 1], room[0, 2, 1]) < v0
            or min(room[0, 0, 1], room[0, 1, 1], room[0, 2, 1]) > v1
        ):
            continue
        count = clip(room[0], 3, 1.0, 0.0, 0.0, -u0, room[1])
        count = clip(room[1], count, -1.0, 0.0, 0.0, u1, room[0])
        count = clip(room[0], count, 0.0, 1.0, 0.0, -v0, room[1])
        count = clip(room[1], count, 0.0, -1.0, 0.0, v1, room[0])
        for i in range(count):
            lowest = min(lowest, room[0, i, 2])
    return lowest


@compiled
def is_inside(segments, first, last, u, v):
    """Whether a point lies inside the ring made of ``segments[first:last]`` (even-odd rule)."""
    inside = False
    for k in range(first, last):
        u0 = segments[k, 0]
        v0 = segments[k, 1]
        u1 = segments[k, 2]
        v1 = segments[k, 3]
        if (v0 > v) != (v1 > v) and u < u0 + (v - v0) * (u1 - u0) / (v1 - v0):
            inside = not inside
    return inside


@compiled
def distance_to_ring(segments, first, last, u, v):
    """Least distance from a point to ``segments[first:last]``."""
    best = math.inf
    for k in range(first, last):
        u0 = segments[k, 0]
        v0 = segments[k, 1]
        du = segments[k, 2] - u0
        dv = segments[k, 3] - v0
        length2 = du * du + dv * dv
        share = 0.0
        if length2 > 0.0:
            share = ((u - u0) * du + (v - v0) * dv) / length2
            share = min(1.0, max(0.0, share))
        best = min(best, math.hypot(u - u0 - share * du, v - v0 - share * dv))
    return best


#: What a ring asks of a foot (an arrival zone asks nothing of feet).
STAND_INSIDE, KEEP_OFF, MAY_STAND, KEEP_CLEAR, ARRIVAL = 0, 1, 2, 3, 4


@compiled
def top_under(tables, u, v, r):
    """Top that a foot of reach ``r`` stands on at a point; -inf on the ground, NaN where it may not stand."""
    top = -math.inf
    for n in range(tables.rings.shape[0]):
        ring = tables.rings[n]
        if ring.kind == ARRIVAL:
            continue
        if ring.kind != STAND_INSIDE and (
            u < ring.u_low - r or u > ring.u_high + r or v < ring.v_low - r or v > ring.v_high + r
        ):
            continue
        if distance_to_ring(tables.segments, ring.first, ring.last, u, v) < r - E:
            return math.nan
        if ring.kind == KEEP_CLEAR:
            continue
        inside = is_inside(tables.segments, ring.first, ring.last, u, v)
        if (ring.kind == STAND_INSIDE and not inside) or (ring.kind == KEEP_OFF and inside):
            return math.nan
        if ring.kind == MAY_STAND and inside:
            top = max(top, ring.top)
    return top


@compiled
def foot_level(tables, u, v, r):
    """Level on which a foot of reach ``r`` stands at a point, or NaN where it may not stand."""
    level = ground_elevation(tables, u, v)
    if math.isnan(level):
        return level
    top = top_under(tables, u, v, r)
    return level if top == -math.inf else top


@compiled
def plate_reach(tables, u, v, hu, hv, hinge, length):
    """Plan length of a plate of surface ``length`` hinged at elevation ``hinge`` whose tip meets the ground.

    The hinge's middle is at (u, v).  NaN when it leaves the survey, hangs vertical or does not settle.
    """
    reach = length
    moved = math.inf
    for _ in range(12):
        tip = ground_elevation(tables, u + reach * hu, v + reach * hv)
        if math.isnan(tip):
            return math.nan
        below = length * length - (hinge - tip) * (hinge - tip)
        if below <= 0.0:
            return math.nan
        nearer = math.sqrt(below)
        moved = abs(nearer - reach)
        reach = nearer
    if moved >= 1e-7:
        return math.nan
    return reach


def scratch() -> np.ndarray:
    """Scratch space for the clipping functions."""
    return np.empty((2, CLIP_ROOM, 3))
