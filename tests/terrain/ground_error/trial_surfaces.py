"""Yards whose ground is known everywhere: planes with bumps, waves, relief underfoot and steps.

Made of bumps and cosines, not of the correlations that the model fits, so that the model is tried on
ground it was not written for.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.ground import BreakLine
from optimizer.terrain.yard import Points

YARD_M = 9.0
#: Height of bumps, their radius, relief underfoot: rolled, lawn, meadow, tussocks, and worn ground with
#: bumps of every size, the smaller the lower.
KINDS = (
    (0.010, 1.6, 0.002),
    (0.030, 1.0, 0.004),
    (0.050, 1.8, 0.006),
    (0.060, 0.9, 0.010),
    (0.045, 1.5, 0.006),
)
_EVERY_SIZE = 4


@dataclass(frozen=True, slots=True)
class TrialYard:
    """One yard, 9 m square, with its true ground."""

    fall: NDArray[np.float64]
    bumps: NDArray[np.float64]  # (k, 4): x, y, radius, height
    waves: NDArray[np.float64]  # (k, 4): x and y frequency, phase, height
    lines: tuple[BreakLine, ...]
    step_m: float

    def ground(self, xy_m: Points) -> NDArray[np.float64]:
        """True elevations (n,)."""
        z = 1.0 - xy_m @ self.fall
        for x, y, radius, height in self.bumps:
            z += height * np.exp(-0.5 * ((xy_m[:, 0] - x) ** 2 + (xy_m[:, 1] - y) ** 2) / radius**2)
        for along_x, along_y, phase, height in self.waves:
            z += height * np.cos(along_x * xy_m[:, 0] + along_y * xy_m[:, 1] + phase)
        return z - self.step_m * self.is_low(xy_m)

    def is_low(self, xy_m: Points) -> NDArray[np.bool_]:
        """Whether places lie below the wall."""
        if not self.lines:
            return np.zeros(len(xy_m), dtype=np.bool_)
        start, end = self.lines[0].xy_m[0], self.lines[0].xy_m[-1]
        along, to = end - start, xy_m - start
        low: NDArray[np.bool_] = along[0] * to[:, 1] - along[1] * to[:, 0] < 0.0
        return low


def build_trial_yard(kind: int, has_wall: int, random: np.random.Generator) -> TrialYard:
    """A yard of one of ``KINDS``; a wall through all of it when ``has_wall`` is 1."""
    height, radius, relief = KINDS[kind]
    count = 40
    bumps = np.column_stack([
        random.uniform(-1.0, YARD_M + 1.0, (count, 2)),
        radius * random.uniform(0.6, 1.5, count),
        height * random.standard_normal(count),
    ])  # fmt: skip
    if kind == _EVERY_SIZE:
        sizes = np.geomspace(1.5, 0.1, 400)
        # As many of each size as fill the yard alike: far more small ones than large.
        sizes = random.choice(sizes, 400, p=sizes**-1.0 / (sizes**-1.0).sum())
        heights = height * sizes**0.8 * random.standard_normal(400)
        middles = random.uniform(-1.0, YARD_M + 1.0, (400, 2))
        bumps = np.column_stack([middles, radius * sizes, heights])
    waves = np.column_stack([
        random.uniform(-25.0, 25.0, (60, 2)),
        random.uniform(0.0, 6.3, 60),
        np.full(60, relief * np.sqrt(2.0 / 60.0)),
    ])  # fmt: skip
    fall = random.uniform(0.0, 0.09, 2)
    smooth = TrialYard(fall, bumps, waves, (), 0.0)
    if not has_wall:
        return smooth
    ends = np.array([[-0.5, random.uniform(3.0, 6.0)], [YARD_M + 0.5, random.uniform(3.0, 6.0)]])
    xy = ends[0] + np.linspace(0.0, 1.0, 3)[:, None] * (ends[1] - ends[0])
    step = random.uniform(0.2, 0.6)
    top = smooth.ground(xy)
    return TrialYard(fall, bumps, waves, (BreakLine("wall", xy, top, top - step, "left"),), step)


def shoot(yard: TrialYard, count: int, reading_m: float, random: np.random.Generator) -> Points:
    """``count`` shots (n, 3) spread over the yard, read with a normal error."""
    places = [random.uniform(0.0, YARD_M, 2)]
    while len(places) < count:
        # The farthest of a few: people spread their shots, though not evenly.
        tries = random.uniform(0.0, YARD_M, (4, 2))
        away = np.hypot(*(tries[:, None] - np.array(places)[None]).transpose(2, 0, 1)).min(axis=1)
        places.append(tries[away.argmax()])
    xy = np.array(places)
    return np.column_stack([xy, yard.ground(xy) + reading_m * random.standard_normal(count)])


def pick_inside(shots: Points, count: int, random: np.random.Generator) -> Points:
    """Places (count, 2) between the shots: random mixtures of three of them."""
    chosen = np.array([random.choice(len(shots), 3, replace=False) for _ in range(count)])
    shares = random.dirichlet(np.ones(3), count)
    inside: Points = np.einsum("nk,nkd->nd", shares, shots[chosen, :2])
    return inside
