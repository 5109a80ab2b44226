"""Rays of a scanner through a made-up yard, compiled."""

from __future__ import annotations

import numpy as np
from numba import njit

RASTER_M = 0.02
_FARTHEST = 1e30


@njit(cache=True)
def height_at(x, y, smooth, sides, rises):
    rows, columns = smooth.shape
    u = min(max(x / RASTER_M, 0.0), columns - 1.001)
    v = min(max(y / RASTER_M, 0.0), rows - 1.001)
    j, i = int(u), int(v)
    s, t = u - j, v - i
    low = (1 - s) * smooth[i, j] + s * smooth[i, j + 1]
    high = (1 - s) * smooth[i + 1, j] + s * smooth[i + 1, j + 1]
    z = (1 - t) * low + t * high
    for k in range(len(rises)):
        raised = True
        for m in range(sides.shape[1]):
            # Sides that are not used are (0, 0, -1) and always hold.
            if sides[k, m, 0] * x + sides[k, m, 1] * y - sides[k, m, 2] <= 0.0:
                raised = False
                break
        if raised:
            z += rises[k]
    return z


@njit(cache=True)
def _enter_block(o, d, block):
    """Where a ray enters and leaves: an empty stretch when it misses."""
    cx, cy, c, s = block[0], block[1], block[2], block[3]
    ox, oy = o[0] - cx, o[1] - cy
    origin = (c * ox + s * oy, -s * ox + c * oy, o[2])
    slant = (c * d[0] + s * d[1], -s * d[0] + c * d[1], d[2])
    low = (-block[4], -block[5], block[6])
    high = (block[4], block[5], block[7])
    first, last = -_FARTHEST, _FARTHEST
    for axis in range(3):
        if abs(slant[axis]) < 1e-12:
            if origin[axis] < low[axis] or origin[axis] > high[axis]:
                return 1.0, 0.0
            continue
        one = (low[axis] - origin[axis]) / slant[axis]
        other = (high[axis] - origin[axis]) / slant[axis]
        first = max(first, min(one, other))
        last = min(last, max(one, other))
    return first, last


@njit(cache=True)
def _enter_blob(o, d, blob):
    a = b = c = 0.0
    for axis in range(3):
        p = (o[axis] - blob[axis]) / blob[3 + axis]
        q = d[axis] / blob[3 + axis]
        a += q * q
        b += p * q
        c += p * p
    root = b * b - a * (c - 1.0)
    if root <= 0.0:
        return 1.0, 0.0
    half = np.sqrt(root)
    return (-b - half) / a, (-b + half) / a


@njit(cache=True)
def _stop_in(first, last, density, reach, lot):
    """How far the ray gets; beyond ``reach`` when it is let through."""
    if last <= first or last <= 0.0 or first >= reach:
        return reach
    first = max(first, 0.0)
    at = first if density > 1e6 else first - np.log(1.0 - lot) / density
    return at if at < min(last, reach) else reach


@njit(cache=True)
def _march(o, d, reach, smooth, sides, rises):
    """Distance to the ground, or ``reach``."""
    before, at = 0.0, 0.05
    while at < reach:
        over = o[2] + at * d[2] - height_at(o[0] + at * d[0], o[1] + at * d[1], smooth, sides, rises)
        if over <= 0.0:
            for _ in range(14):
                middle = 0.5 * (before + at)
                h = height_at(o[0] + middle * d[0], o[1] + middle * d[1], smooth, sides, rises)
                if o[2] + middle * d[2] <= h:
                    at = middle
                else:
                    before = middle
            return at
        before = at
        at += min(max(0.4 * over, 0.015), 0.10)
    return reach


@njit(cache=True)
def cast(origins, slants, lots, reach_m, smooth, sides, rises, blocks, blobs, hit_m, label):
    """Fill ``hit_m`` (n,) with distances (``reach_m``: nothing met) and ``label`` (n,)."""
    for ray in range(len(origins)):
        o, d = origins[ray], slants[ray]
        best = _march(o, d, reach_m, smooth, sides, rises)
        kind = 0
        if best < reach_m:
            x, y = o[0] + best * d[0], o[1] + best * d[1]
            back = height_at(x - 0.01 * d[0], y - 0.01 * d[1], smooth, sides, rises)
            on = height_at(x + 0.003 * d[0], y + 0.003 * d[1], smooth, sides, rises)
            if on - back > 0.03:
                kind = 3
        for k in range(len(blocks)):
            first, last = _enter_block(o, d, blocks[k])
            if first < 0.0 < last and blocks[k, 8] > 1e6:
                best = reach_m  # the scanner would stand inside a solid
                break
            at = _stop_in(first, last, blocks[k, 8], best, lots[ray, k])
            if at < best:
                best, kind = at, 1
        for k in range(len(blobs)):
            first, last = _enter_blob(o, d, blobs[k])
            at = _stop_in(first, last, blobs[k, 6], best, lots[ray, len(blocks) + k])
            if at < best:
                best, kind = at, 1
        hit_m[ray] = best
        label[ray] = kind
