"""Generated ground: a plane, five smooth bumps, maybe a retaining step; measured as a grid of spots.

Drawn in the door's frame (u along the wall, v out, origin at the sill), metres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.triangulate import build_ground
from optimizer.terrain.yard import Points
from tests.benchmarks.yard_families import Span

BUMPS = 5
#: Spots this near a retaining step would make slivers along it.
CLEAR_OF_STEP_M = 0.35
#: Levels are taken this far beyond lot and wall.
BEYOND_M = 0.3


@dataclass(frozen=True, slots=True)
class Bump:
    """A smooth rise of ``height_m`` at a place, ``reach_m`` its standard deviation."""

    u: float
    v: float
    height_m: float
    reach_m: float


@dataclass(frozen=True, slots=True)
class Surface:
    """The ground as a formula; 0 at the door."""

    fall_u: float
    fall_v: float
    bumps: tuple[Bump, ...]

    def level(self, u: float, v: float) -> float:
        """Elevation at one place."""
        return self._raw(u, v) - self._raw(0.0, 0.0)

    def _raw(self, u: float, v: float) -> float:
        z = -self.fall_u * u - self.fall_v * v
        for one in self.bumps:
            z += one.height_m * math.exp(-((u - one.u) ** 2 + (v - one.v) ** 2) / (2 * one.reach_m**2))
        return z

    def flattened(self, share: float) -> Surface:
        """The same ground with all its heights times ``share``."""
        bumps = tuple(replace(one, height_m=one.height_m * share) for one in self.bumps)
        return Surface(self.fall_u * share, self.fall_v * share, bumps)


@dataclass(frozen=True, slots=True)
class Step:
    """A retaining step right across the yard: from (u0, at - tilt) to (u1, at + tilt)."""

    at: float
    tilt: float
    height_m: float
    is_down: bool

    def v_at(self, u: float, u0: float, u1: float) -> float:
        """Where the step lies on the line u."""
        return self.at + self.tilt * (2 * (u - u0) / (u1 - u0) - 1)


def build_surface(random: Random, fall: Span, bump: Span, left: float, right: float, deep: float) -> Surface:
    """Unequal falls in u and v and five bumps, some of them hollows."""
    fall_v = random.uniform(*fall)
    fall_u = random.choice((-1, 1)) * random.uniform(0.3, 0.8) * max(abs(fall[0]), abs(fall[1]))
    size = math.sqrt((left + right) * deep)
    bumps = tuple(
        Bump(
            random.uniform(-left, right),
            random.uniform(0.0, deep),
            random.choice((-1, 1)) * random.uniform(*bump),
            random.uniform(0.12, 0.3) * size,
        )
        for _ in range(BUMPS)
    )
    return Surface(fall_u, fall_v, bumps)


def measure_spots(
    random: Random, surface: Surface, step: Step | None, left: float, right: float, deep: float
) -> tuple[Points, tuple[BreakLine, ...]]:
    """40 to 150 spots ``(n, 3)`` on a shaken grid, and the step as a break line, in the door's frame."""
    u0, u1, v0, v1 = -left - BEYOND_M, right + BEYOND_M, -BEYOND_M, deep + BEYOND_M
    wanted = min(144.0, max(49.0, 40.0 + (left + right) * deep / 6))
    spacing = math.sqrt((u1 - u0) * (v1 - v0) / wanted)
    columns, rows = max(5, round((u1 - u0) / spacing)), max(5, round((v1 - v0) / spacing))
    spots = []
    for i, j in np.ndindex(columns, rows):
        # The rim stays straight, so that the surveyed area is the whole rectangle.
        shake_u = random.uniform(-0.3, 0.3) if 0 < i < columns - 1 else 0.0
        shake_v = random.uniform(-0.3, 0.3) if 0 < j < rows - 1 else 0.0
        u = u0 + (u1 - u0) * (i + shake_u) / (columns - 1)
        v = v0 + (v1 - v0) * (j + shake_v) / (rows - 1)
        z = surface.level(u, v)
        if step is not None:
            beyond = v - step.v_at(u, u0, u1)
            if abs(beyond) < CLEAR_OF_STEP_M:
                continue
            z += _step_up(step) if beyond > 0 else 0.0
        spots.append((u, v, z))
    return np.array(spots), () if step is None else (_break_line(surface, step, u0, u1),)


def _step_up(step: Step) -> float:
    return -step.height_m if step.is_down else step.height_m


def _break_line(surface: Surface, step: Step, u0: float, u1: float) -> BreakLine:
    us = np.linspace(u0, u1, 6)
    xy = np.array([(u, step.v_at(u, u0, u1)) for u in us])
    near = np.array([surface.level(u, v) for u, v in xy])
    far = near + _step_up(step)
    # Walked from left to right, the door lies on the right hand.
    side = "right" if step.is_down else "left"
    return BreakLine("retaining wall", xy, np.maximum(near, far), np.minimum(near, far), side)


def triangulate(spots: Points, lines: tuple[BreakLine, ...], name: str) -> Ground:
    """Ground of spots ``(n, 3)`` and break lines, both in the site frame."""
    names = tuple(f"P{number}" for number in range(len(spots)))
    return build_ground(spots, names, lines, None, None, name)
