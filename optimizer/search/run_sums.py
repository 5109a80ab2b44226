"""Lengths that sections can add up to, and the least they cost."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.search.kernel_tables import NEVER, SumRow


class RunSums(NamedTuple):
    """Surface lengths that sections can add up to, and how."""

    rows: tuple[SumRow, ...]
    before: NDArray[np.int64]


def build_run_sums(
    pitches: tuple[float, ...],
    costs: tuple[tuple[int, ...], tuple[int, ...]],
    least_pair: int,
    longest_m: float,
) -> RunSums:
    """Every sum of section pitches up to ``longest_m`` (to a nanometre), ascending, with predecessors.

    ``costs``: per section without and with rails; ``least_pair``: the cheapest pair of supports,
    which every inner joint needs at least.
    """
    steps = [round(pitch * 1e9) for pitch in pitches]
    limit = round((longest_m + 1e-6) * 1e9)
    reached = {0}
    frontier = [0]
    while frontier:
        found = {total + step for total in frontier for step in steps if total + step <= limit}
        frontier = sorted(found - reached)
        reached |= found
    totals = sorted(reached)
    index = {total: i for i, total in enumerate(totals)}
    before = np.full((len(totals), len(steps)), -1, dtype=np.int64)
    least = np.full((2, len(totals)), NEVER, dtype=np.int64)
    least[:, 0] = 0
    for i, total in enumerate(totals):
        for s, step in enumerate(steps):
            j = index.get(total - step, -1)
            before[i, s] = j
            for railed in (0, 1):
                if j >= 0:
                    joint = least_pair if j > 0 else 0
                    least[railed, i] = min(least[railed, i], least[railed, j] + costs[railed][s] + joint)
    rows = tuple(SumRow(total / 1e9, int(least[0, i]), int(least[1, i])) for i, total in enumerate(totals))
    return RunSums(rows, before)
