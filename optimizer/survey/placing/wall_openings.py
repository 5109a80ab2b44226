"""Gaps of the size of a door in a wall's plane."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.find_walls import CELL_M, Wall

#: What counts as a door's opening (our choice): no less tall, between these widths.
SHORTEST_OPENING_M: Final = 1.8
NARROWEST_M: Final = 0.65
WIDEST_M: Final = 2.0
#: Share of a column's cells filled at most in an opening, at least beside it.
_EMPTY: Final = 0.10
_SOLID: Final = 0.50
#: Cells beside a gap by which its jambs are judged, and above it its lintel.
_JAMB_CELLS: Final = 4
#: A leaf stands back so far at most; what hides a wall stands in front so far at most.
_DEEPEST_M: Final = 0.40
_FARTHEST_M: Final = 2.5


@dataclass(frozen=True, slots=True)
class Opening:
    """A gap.  ``left_m`` and ``right_m`` along the wall from its start; heights stay inside this room.

    ``lintel``: share of the cells above it that are wall, ``None`` where the scan ends there.
    ``behind`` and ``before``: shares of its cells with points up to 0.4 m on one side of the plane
    or 0.1 to 2.5 m on the other, the first being the wall's ``across`` side turned inward.
    """

    left_m: float
    right_m: float
    jambs: float
    lintel: float | None
    behind: float
    before: float

    @property
    def width_m(self) -> float:
        """Between the jambs."""
        return self.right_m - self.left_m


@dataclass(frozen=True, slots=True)
class _Face:
    """The wall seen square on: cells along (columns) and up (rows), from ``bottom_m``."""

    filled: NDArray[np.bool_]
    where_m: NDArray[np.float64]
    up_m: NDArray[np.float64]
    off_m: NDArray[np.float64]
    tolerance_m: float


@dataclass(frozen=True, slots=True)
class _Gap:
    first: int
    last: int
    row: int
    jambs: float
    contrast: float


def find_openings(
    points_m: NDArray[np.float64], wall: Wall, outward: NDArray[np.float64]
) -> tuple[Opening, ...]:
    """Openings of a wall, the clearest first; ``points_m`` (n, 3) around it, ``outward`` (2,) of length 1.

    A window is too low for one, a gap that reaches the end of the wall has no second jamb, and a door
    flush with the wall shows none.
    """
    face = _look_at(points_m, wall, outward)
    gaps: list[_Gap] = []
    for gap in sorted(_find_gaps(face.filled), key=lambda gap: (-gap.contrast, gap.row, gap.first)):
        if all(gap.last < other.first or gap.first > other.last for other in gaps):
            gaps.append(gap)
    return tuple(_measure(face, gap) for gap in gaps)


def _look_at(points_m: NDArray[np.float64], wall: Wall, outward: NDArray[np.float64]) -> _Face:
    away = points_m[:, :2] - wall.start_m
    where, up = away @ wall.along, points_m[:, 2] - wall.bottom_m
    # Across the plane itself, which leans with the scan.
    off = wall.plane.distances_m(points_m)
    if float(wall.plane.normal[:2] @ outward) < 0.0:
        off = -off
    tolerance = max(0.03, 3.0 * wall.noise_m)
    columns = max(1, math.ceil(wall.length_m / CELL_M))
    rows = max(1, math.ceil((wall.top_m - wall.bottom_m) / CELL_M))
    inside = (np.abs(off) <= tolerance) & (where >= 0.0) & (up >= 0.0)
    column, row = (where[inside] / CELL_M).astype(np.int64), (up[inside] / CELL_M).astype(np.int64)
    seen = (column < columns) & (row < rows)
    counts = np.bincount(row[seen] * columns + column[seen], minlength=rows * columns).reshape(rows, columns)
    usual = float(np.median(counts[counts > 0])) if (counts > 0).any() else 1.0
    # A stray point or two does not fill a cell in which the wall has dozens.
    filled = counts >= max(1.0, 0.15 * usual)
    return _Face(filled, where, up, off, tolerance)


def _find_gaps(filled: NDArray[np.bool_]) -> list[_Gap]:
    """Runs of empty columns between solid ones, in bands as tall as a door at every height."""
    tall = round(SHORTEST_OPENING_M / CELL_M)
    rows, columns = filled.shape
    gaps = []
    sums = np.concatenate([np.zeros((1, columns)), np.cumsum(filled, axis=0)])
    for row in range(rows - tall + 1):
        share = (sums[row + tall] - sums[row]) / tall
        edges = np.diff(np.concatenate(([0], (share <= _EMPTY).astype(np.int8), [0])))
        for first, end in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
            if not NARROWEST_M - CELL_M <= (end - first) * CELL_M <= WIDEST_M + CELL_M:
                continue
            # The cell of the jamb itself is half wall.
            left, right = (
                share[max(0, first - 1 - _JAMB_CELLS) : max(0, first - 1)],
                share[end + 1 :][:_JAMB_CELLS],
            )
            if len(left) < _JAMB_CELLS or len(right) < _JAMB_CELLS:
                continue
            jambs = min(float(left.mean()), float(right.mean()))
            if jambs >= _SOLID:
                contrast = jambs - float(share[first:end].mean())
                gaps.append(_Gap(int(first), int(end) - 1, row, jambs, contrast))
    return gaps


def _measure(face: _Face, gap: _Gap) -> Opening:
    tall = round(SHORTEST_OPENING_M / CELL_M)
    bottom = gap.row * CELL_M
    band = (face.up_m >= bottom) & (face.up_m < bottom + tall * CELL_M)
    middle = 0.5 * (gap.first + gap.last + 1) * CELL_M
    left, right = (_find_jamb(face, band, middle, gap, side) for side in (-1, 1))
    return Opening(
        left_m=left,
        right_m=right,
        jambs=gap.jambs,
        lintel=_find_lintel(face.filled, gap, tall),
        behind=_share_seen(face, band, gap, (-_DEEPEST_M, -face.tolerance_m)),
        before=_share_seen(face, band, gap, (0.1, _FARTHEST_M)),
    )


def _find_jamb(face: _Face, band: NDArray[np.bool_], middle: float, gap: _Gap, side: int) -> float:
    """Where the wall ends towards the gap: in each row its nearest point, and of these the middle one."""
    width = (gap.last - gap.first + 1) * CELL_M
    away = side * (face.where_m - middle)
    near = band & (np.abs(face.off_m) <= face.tolerance_m)
    # Strays inside the gap are not the jamb; they lie nearer to its middle than its edge cells.
    near &= (away > 0.5 * width - 1.5 * CELL_M) & (away < 0.5 * width + 2.0 * CELL_M)
    row = (face.up_m[near] / CELL_M).astype(np.int64)
    order = np.lexsort((away[near], row))
    firsts = np.unique(row[order], return_index=True)[1]
    nearest = away[near][order][firsts]
    return middle + side * (float(np.median(nearest)) if len(nearest) else 0.5 * width)


def _find_lintel(filled: NDArray[np.bool_], gap: _Gap, tall: int) -> float | None:
    """Share of wall in the four cells above the gap, wherever it ends above the band."""
    inner = filled[:, gap.first + 1 : gap.last]
    rows = np.flatnonzero(inner[gap.row + tall :].mean(axis=1) >= _SOLID) + gap.row + tall
    if len(rows) == 0:
        return None
    return float(inner[rows[0] : rows[0] + _JAMB_CELLS].mean())


def _share_seen(face: _Face, band: NDArray[np.bool_], gap: _Gap, between_m: tuple[float, float]) -> float:
    """Share of the gap's cells with a point so far from the plane."""
    tall = round(SHORTEST_OPENING_M / CELL_M)
    inside = band & (face.off_m >= between_m[0]) & (face.off_m <= between_m[1])
    column = np.floor(face.where_m[inside] / CELL_M).astype(np.int64) - gap.first
    row = np.floor(face.up_m[inside] / CELL_M).astype(np.int64) - gap.row
    wide = gap.last - gap.first + 1
    seen = (column >= 0) & (column < wide) & (row >= 0) & (row < tall)
    return len(np.unique(row[seen] * wide + column[seen])) / (tall * wide)
