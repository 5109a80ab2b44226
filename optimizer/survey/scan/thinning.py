"""One point a cell, the same point in whatever order the points come."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

#: Points gathered before they are thinned: half a gigabyte, and about 2 GB while they are sorted.
BUFFER_POINTS: Final = 20_000_000

_GOLDEN: Final = np.uint64(0x9E3779B97F4A7C15)
_MIX_A: Final = np.uint64(0xBF58476D1CE4E5B9)
_MIX_B: Final = np.uint64(0x94D049BB133111EB)


class Thinner:
    """Takes points in pieces and keeps one of each cell of a cubic grid.

    The grid is fixed in the file's coordinates (a corner at their origin).  The point kept is
    drawn by a fixed mixing of its own coordinates: neither the order of the file nor the place in
    the cell favours one, so heights are not drawn towards a cell's middle or floor.
    ``cell`` is the edge in the file's units; ``None`` keeps every point, in file order.
    """

    __slots__ = ("_cell", "_heap", "_held", "_kept")

    def __init__(self, cell: float | None) -> None:
        self._cell = cell
        self._heap: list[NDArray[np.float64]] = []
        self._held = 0
        self._kept = 0

    def add(self, xyz: NDArray[np.float64]) -> None:
        """Take finite points (n, 3)."""
        self._heap.append(xyz)
        self._held += len(xyz)
        # At least doubled since the last time, so that the sorting stays a small multiple of the whole.
        if self._cell is not None and self._held > max(BUFFER_POINTS, 2 * self._kept):
            self._thin(self._cell)

    def finish(self) -> NDArray[np.float64]:
        """What is kept, (n, 3), ordered by cell (x slowest); without a cell in file order."""
        if self._cell is not None:
            self._thin(self._cell)
        if not self._heap:
            return np.empty((0, 3))
        if len(self._heap) > 1:
            self._heap = [np.concatenate(self._heap)]
        return self._heap[0]

    def _thin(self, cell: float) -> None:
        if not self._heap:
            return
        together = np.concatenate(self._heap) if len(self._heap) > 1 else self._heap[0]
        self._heap = []
        kept = keep_one_a_cell(together, cell)
        self._heap = [kept]
        self._held = self._kept = len(kept)


def keep_one_a_cell(xyz: NDArray[np.float64], cell: float) -> NDArray[np.float64]:
    """One point of each cell, ordered by cell; ``xyz`` (n, 3) finite, ``cell`` the edge."""
    if len(xyz) == 0:
        return xyz
    order, starts = _order_by_cell(xyz, cell)
    lots = _mix(xyz)[order]
    least = np.minimum.reduceat(lots, starts)
    lengths = np.diff(starts, append=len(xyz))
    chosen = np.flatnonzero(lots == np.repeat(least, lengths))
    del lots
    if len(chosen) > len(starts):  # the same point stands twice in the file
        cell_of = np.searchsorted(starts, chosen, side="right")
        chosen = chosen[np.diff(cell_of, prepend=0) > 0]
    return xyz[order[chosen]]


def _order_by_cell(xyz: NDArray[np.float64], cell: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Points in the order of their cells, and where in that order each cell starts."""
    columns = [_column(xyz, axis, cell) for axis in range(3)]
    spans = [int(column.max()) + 1 for column in columns]
    if spans[0] * spans[1] * spans[2] < 2**63:
        key = columns[0]
        key *= spans[1]
        key += columns[1]
        key *= spans[2]
        key += columns[2]
        order = np.argsort(key)
        key = key[order]
        is_new = key[1:] != key[:-1]
    else:  # a stray point far away, or a cell far below what the unit means
        order = np.lexsort(columns[::-1])
        is_new = np.any([column[order[1:]] != column[order[:-1]] for column in columns], axis=0)
    return order, np.concatenate(([0], np.flatnonzero(is_new) + 1))


def _column(xyz: NDArray[np.float64], axis: int, cell: float) -> NDArray[np.int64]:
    """Numbers of the cells along one axis, from 0."""
    numbers = np.floor(xyz[:, axis] / cell)
    numbers -= numbers.min()
    return numbers.astype(np.int64)


def _mix(xyz: NDArray[np.float64]) -> NDArray[np.uint64]:
    """A number that looks drawn by lot, from the bits of the coordinates alone, (n,).

    The finalizer of SplitMix64 (Steele, Lea and Flood, OOPSLA 2014), once an axis.  Two different
    points share a number once in 2^64.
    """
    mixed = np.zeros(len(xyz), dtype=np.uint64)
    for axis in range(3):
        # Adding zero makes one number of 0.0 and -0.0.
        mixed ^= (xyz[:, axis] + 0.0).view(np.uint64)
        mixed += _GOLDEN
        mixed ^= mixed >> np.uint64(30)
        mixed *= _MIX_A
        mixed ^= mixed >> np.uint64(27)
        mixed *= _MIX_B
        mixed ^= mixed >> np.uint64(31)
    return mixed
