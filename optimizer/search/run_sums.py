"""Lengths that sections can add up to."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


class RunSums(NamedTuple):
    """Surface lengths that sections can add up to, and how."""

    lengths_m: tuple[float, ...]
    before: NDArray[np.int64]


def build_run_sums(pitches: tuple[float, ...], longest_m: float) -> RunSums:
    """Every sum of section pitches up to ``longest_m`` (to a nanometre), ascending from 0.

    ``before`` (sums, sections): place of the sum less the section, or -1.
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
    before = np.array([[index.get(total - step, -1) for step in steps] for total in totals], dtype=np.int64)
    return RunSums(tuple(total / 1e9 for total in totals), before.reshape(len(totals), len(steps)))
