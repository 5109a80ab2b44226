"""How likely each unit makes the sizes that were measured in a scan.

The sizes of a yard are rules of thumb: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.scan.file_frame import ScanUnit, metres_in
from optimizer.survey.scan.patches import Patches

#: Candidates; the US survey foot cannot be told from the foot by size.
CANDIDATES: Final[tuple[ScanUnit, ...]] = ("m", "cm", "mm", "ft", "in")
#: Middle size in metres, and the factor within which two of three yards lie.
_WIDTH: Final = (20.0, 2.2)
_WALL: Final = (3.2, 1.55)
_HEIGHT: Final = (4.5, 2.2)
_FEWEST_WALL_PATCHES: Final = 12
#: A normal is level, so its patch stands upright, within 5 degrees.
_UPRIGHT_SINE: Final = float(np.sin(np.radians(5.0)))


@dataclass(frozen=True, slots=True)
class Sizes:
    """In the file's units: the wider level side, the height, and how high walls stand, if there are any."""

    width: float
    height: float
    wall: float | None


def measure_sizes(points: NDArray[np.float64], patches: Patches, up: NDArray[np.float64]) -> Sizes:
    """Sizes of a scan that is ``up`` along the unit vector (3,) of one axis."""
    axis = int(np.argmax(np.abs(up)))
    low, high = np.percentile(points, (1.0, 99.0), axis=0)
    sides = high - low
    level = [side for i, side in enumerate(sides) if i != axis]
    return Sizes(float(max(level)), float(sides[axis]), _measure_wall(patches, up))


def _measure_wall(patches: Patches, up: NDArray[np.float64]) -> float | None:
    """Top of the upright patches above the ground patches near them."""
    steepness = np.abs(patches.normals @ up)
    walls = patches.centres[steepness <= _UPRIGHT_SINE]
    ground = patches.centres[steepness >= np.cos(np.radians(15.0))]
    if len(walls) < _FEWEST_WALL_PATCHES or len(ground) == 0:
        return None
    level = np.argsort(np.abs(up))[:2]
    heights = []
    for wall in walls:
        away = np.abs(ground[:, level] - wall[level]).max(axis=1)
        near = ground[away <= max(float(away.min()), 4.0 * patches.edge)]
        heights.append(float((wall - np.median(near, axis=0)) @ up))
    # Half a patch more: the centre of the topmost lies so much below the top.
    return float(np.percentile(heights, 95.0)) + 0.5 * patches.edge


def weigh_units(sizes: Sizes) -> tuple[tuple[ScanUnit, float], ...]:
    """Natural logarithm of how likely each unit is, up to a constant, the likeliest first."""
    weights = [(unit, _weigh(sizes, metres_in(unit))) for unit in CANDIDATES]
    return tuple(sorted(weights, key=lambda one: -one[1]))


def _weigh(sizes: Sizes, metres: float) -> float:
    weight = _log_likelihood(sizes.width * metres, _WIDTH)
    if sizes.wall is not None and sizes.wall > 0.0:
        return weight + _log_likelihood(sizes.wall * metres, _WALL)
    return weight + _log_likelihood(sizes.height * metres, _HEIGHT)


def _log_likelihood(size_m: float, prior: tuple[float, float]) -> float:
    middle, factor = prior
    return -0.5 * (math.log(max(size_m, 1e-12) / middle) / math.log(factor)) ** 2
