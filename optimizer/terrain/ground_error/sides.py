"""On which side of the break lines a place lies, as numbers that jump across a line only.

The number of one line is the angle under which its two ends are seen from the place, summed along the
line: it goes from +180 to -180 degrees across the line, is smooth everywhere else and dies away round
the line's ends and far off (the field of a double layer; O. D. Kellogg, 'Foundations of Potential
Theory', 1929, chapter III, from memory).  So ground that joins round the end of a wall stays joined.
Multiplying a correlation by one of the differences of such numbers leaves it a correlation.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.ground import BreakLine
from optimizer.terrain.yard import Points

#: How soon a place counts as fully on one side: own choice, 0.96 where half the horizon is line.
_SHARPNESS: Final = 4.0
#: How hard a line cuts: exp(-4 d^2), 1e-7 across a line (d = 2), 0.02 across a closed ring (d = 1).
_CUT: Final = 4.0
#: A place this near to a line is moved this far to its high side: on the line the upper level holds.
_NUDGE_M: Final = 0.001


def measure_sides(lines: tuple[BreakLine, ...], xy_m: Points) -> NDArray[np.float64]:
    """Numbers (n, lines) between -1 and 1, positive to the left of a line, of places (n, 2)."""
    columns = [np.tanh(_SHARPNESS / math.pi * _measure_angle(line, _nudge(line, xy_m))) for line in lines]
    return np.column_stack(columns) if columns else np.zeros((len(xy_m), 0))


def cut_correlation(first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.float64]:
    """Factors (n, m) on correlations, from ``measure_sides`` of two sets of places."""
    gap = first[:, None, :] - second[None, :, :]
    factors: NDArray[np.float64] = np.exp(-_CUT * np.einsum("nml,nml->nm", gap, gap))
    return factors


def list_line_levels(lines: tuple[BreakLine, ...]) -> NDArray[np.float64]:
    """What the lines' vertices say of the ground beside them (2 k, 3): tops and feet, each on its side."""
    rows = []
    for line in lines:
        along = np.diff(line.xy_m, axis=0)
        along /= np.hypot(along[:, 0], along[:, 1])[:, None]
        at = np.vstack([along[:1], along[:-1] + along[1:], along[-1:]])
        left = np.column_stack([-at[:, 1], at[:, 0]])
        left /= np.maximum(np.hypot(left[:, 0], left[:, 1]), 1e-9)[:, None]
        high = left if line.high_side == "left" else -left
        for levels, off in ((line.top_m, high), (line.foot_m, -high)):
            rows.append(np.column_stack([line.xy_m + 2.0 * _NUDGE_M * off, levels]))
    return np.vstack(rows) if rows else np.zeros((0, 3))


def _measure_angle(line: BreakLine, xy_m: Points) -> NDArray[np.float64]:
    """Signed angle (n,) along the whole line; to the left of it positive."""
    to_vertices = line.xy_m[None, :, :] - xy_m[:, None, :]
    here, after = to_vertices[:, :-1], to_vertices[:, 1:]
    cross = here[..., 0] * after[..., 1] - here[..., 1] * after[..., 0]
    dot = here[..., 0] * after[..., 0] + here[..., 1] * after[..., 1]
    angle: NDArray[np.float64] = np.arctan2(cross, dot).sum(axis=1)
    return angle


def _nudge(line: BreakLine, xy_m: Points) -> Points:
    """The places, those on the line moved off it to its high side."""
    moved = xy_m.copy()
    for start, end in zip(line.xy_m[:-1], line.xy_m[1:], strict=True):
        along = (end - start) / np.hypot(*(end - start))
        left = np.array([-along[1], along[0]])
        on = (xy_m - start) @ along
        off = (xy_m - start) @ left
        near = (np.abs(off) < _NUDGE_M) & (on >= -_NUDGE_M) & (on <= np.hypot(*(end - start)) + _NUDGE_M)
        high = 1.0 if line.high_side == "left" else -1.0
        moved[near] += np.outer(high * _NUDGE_M - off[near], left)
    return moved
