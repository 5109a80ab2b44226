"""What rough ground is like before it is shot: a grid of roughnesses and how likely each is.

Six to twenty shots cannot tell how far bumps reach, so no single answer is believed: every one of
the grid is kept with the weight that the shots leave it.  The numbers are our own choice, from trial
surfaces between a rolled lawn and tussocks; they are told here because with few shots they count.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.terrain.ground_error.correlation import SMOOTHNESSES, Smoothness

#: Standard deviation of the fall of a yard in any direction, rise over run.
FALL: Final = 0.15
#: Standard deviation of half the step at a break line.
HALF_STEP_M: Final = 0.4
#: Reach of the relief within a foot's breadth.
MICRO_REACH_M: Final = 0.08

_SILLS_M: Final = np.geomspace(0.002, 0.4, 11)
_SILL_MIDDLE_M: Final = 0.03
_LENGTHS_M: Final = np.geomspace(0.3, 9.6, 8)
_LENGTH_MIDDLE_M: Final = 1.5
#: Both are log-normal, spread by this factor at one standard deviation.
_SPREAD: Final = 2.5
_MICROS_M: Final = ((0.002, 0.3), (0.005, 0.4), (0.010, 0.3))


@dataclass(frozen=True, slots=True)
class Shape:
    """How bumps are alike: over ``length_m``, and how smooth they are."""

    length_m: float
    smoothness: Smoothness


@dataclass(frozen=True, slots=True)
class Roughness:
    """Ground that leaves its plane by bumps of standard deviation ``sill_m`` and of a shape.

    ``micro_m``: relief within a foot's breadth.  ``likelihood``: before any shot, not normed.
    """

    shape: Shape
    sill_m: float
    micro_m: float
    likelihood: float


def list_shapes() -> tuple[Shape, ...]:
    """All shapes of the grid."""
    return tuple(Shape(*one) for one in itertools.product(_LENGTHS_M.tolist(), SMOOTHNESSES))


def list_roughnesses(shape: Shape) -> Iterator[Roughness]:
    """All of the grid that have this shape."""
    for sill, (micro, share) in itertools.product(_SILLS_M.tolist(), _MICROS_M):
        likely = share * _bell(sill / _SILL_MIDDLE_M) * _bell(shape.length_m / _LENGTH_MIDDLE_M)
        yield Roughness(shape, sill, micro, likely)


def _bell(ratio: float) -> float:
    return math.exp(-0.5 * (math.log(ratio) / math.log(_SPREAD)) ** 2)
