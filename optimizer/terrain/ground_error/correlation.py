"""How alike the heights of two places are, by their distance.

Matern's functions of half-integer smoothness in closed form (M. L. Stein, 'Interpolation of Spatial
Data', Springer 1999, section 2.7, from memory; C. E. Rasmussen and C. K. I. Williams, 'Gaussian
Processes for Machine Learning', 2006, equations 4.16 and 4.17).
"""

from __future__ import annotations

import math
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.yard import Points

#: Twice the smoothness: 1 is the exponential function, 3 and 5 are smoother ground.
Smoothness = Literal[1, 3, 5]
SMOOTHNESSES: Final[tuple[Smoothness, ...]] = (1, 3, 5)


def measure_distances(first_xy_m: Points, second_xy_m: Points) -> NDArray[np.float64]:
    """Plan distances (n, m) between places (n, 2) and (m, 2)."""
    gap = first_xy_m[:, None, :] - second_xy_m[None, :, :]
    away: NDArray[np.float64] = np.hypot(gap[..., 0], gap[..., 1])
    return away


def correlate(away_m: NDArray[np.float64], length_m: float, smoothness: Smoothness) -> NDArray[np.float64]:
    """Correlations of heights ``away_m`` apart, same shape; 1 at no distance.  ``length_m`` > 0."""
    share = away_m * (math.sqrt(smoothness) / length_m)
    falling: NDArray[np.float64] = np.exp(-share)
    if smoothness == 3:
        falling *= 1.0 + share
    elif smoothness == 5:
        falling *= 1.0 + share + share**2 / 3.0
    return falling
