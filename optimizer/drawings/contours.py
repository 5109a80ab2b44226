"""Contour lines of the ground as lines in plan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.terrain.ground import Ground
from optimizer.terrain.yard import Points
from optimizer.units import LengthSystem

_INCH_M = 0.0254
#: Ends that lie closer are one point.
_SAME_M = 1e-6


@dataclass(frozen=True, slots=True)
class ContourEvery:
    """A line every ``step_m``, counted from ``zero_m``; each ``index_every``-th is stronger."""

    zero_m: float
    step_m: float
    index_every: int


@dataclass(frozen=True, slots=True)
class Contour:
    """``level_m`` against the zero; ``line_m`` (n, 2) in the site frame, the first point again for a ring."""

    level_m: float
    is_index: bool
    line_m: Points


def choose_every(zero_m: float, system: LengthSystem) -> ContourEvery:
    """0.1 m and 0.5 m for metric readers, 4 in and 1 ft for the others."""
    if system in ("ft-in", "in"):
        return ContourEvery(zero_m, 4 * _INCH_M, 3)
    return ContourEvery(zero_m, 0.1, 5)


def trace_contours(ground: Ground, every: ContourEvery) -> tuple[Contour, ...]:
    """All contour lines, low ones first; a wall's upright face cuts them."""
    heights = ground.triangles_z - every.zero_m
    first = int(np.ceil(heights.min() / every.step_m))
    last = int(np.floor(heights.max() / every.step_m))
    found = []
    for number in range(first, last + 1):
        lines = _join(_cut(ground.triangles_xy, heights, number * every.step_m))
        found += [Contour(number * every.step_m, number % every.index_every == 0, one) for one in lines]
    return tuple(found)


def _cut(corners: Points, heights: Points, level_m: float) -> Points:
    """Pieces (k, 2, 2) in which the level cuts the triangles."""
    above = heights >= level_m
    rows = np.nonzero(above.any(axis=1) & ~above.all(axis=1))[0]
    lone = np.where(above.sum(axis=1) == 1, above.argmax(axis=1), (~above).argmax(axis=1))[rows]
    apex, apex_z = corners[rows, lone], heights[rows, lone]
    ends = []
    for step in (1, 2):
        other = (lone + step) % 3
        share = (level_m - apex_z) / (heights[rows, other] - apex_z)
        ends.append(apex + share[:, None] * (corners[rows, other] - apex))
    pieces = np.stack(ends, axis=1)
    return np.asarray(pieces[np.hypot(*(pieces[:, 1] - pieces[:, 0]).T) > _SAME_M])


def _join(pieces: Points) -> list[Points]:
    """Pieces strung into lines, each as long as it goes."""
    keys = np.round(pieces / _SAME_M).astype(np.int64)
    ends: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for row in range(len(pieces)):
        for side in (0, 1):
            ends.setdefault((int(keys[row, side, 0]), int(keys[row, side, 1])), []).append((row, side))
    used = np.zeros(len(pieces), dtype=bool)
    lines = []
    # Open lines from an end first: a ring may be begun anywhere.
    starts = [owners[0] for owners in ends.values() if len(owners) == 1]
    for row, side in [*starts, *((row, 0) for row in range(len(pieces)))]:
        if used[row]:
            continue
        points = [pieces[row, side]]
        while not used[row]:
            used[row] = True
            points.append(pieces[row, 1 - side])
            key = (int(keys[row, 1 - side, 0]), int(keys[row, 1 - side, 1]))
            following = [one for one in ends[key] if not used[one[0]]]
            if following:
                row, side = following[0]  # noqa: PLW2901 - the walk goes on from here
        lines.append(np.array(points))
    return lines
