"""How well the height of a place in a placed scan is known, and how two places' errors go together.

Only the placing's part: noise of the cloud, grass and holes are the ground's own.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.placing import Placing, measure_effects
from optimizer.survey.placing.quantiles import t_limit

#: Closer in plan than this, two places are one and share their drift.
_SAME_M: Final = 1e-6
#: Degrees of freedom from which Student's t is the normal distribution to seven digits.
_NORMAL: Final = 1e8


def measure_height_errors(placing: Placing, places_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """Standard errors (n,) in metres of the heights at ``places_m`` (n, 2) or (n, 3), survey's frame.

    Of the placing and of the drift of a single place.  Without heights the places are taken at the
    height of the control points, which matters only where the scale was freed.
    """
    effects = _height_effects(placing, places_m)
    variances = np.einsum("ni,ij,nj->n", effects, placing.covariance, effects)
    errors: NDArray[np.float64] = np.sqrt(np.maximum(0.0, variances) + placing.drift_m**2)
    return errors


def measure_height_covariance(
    placing: Placing, first_m: NDArray[np.float64], second_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Covariances (n, m) in square metres of the heights at two sets of places, as above.

    Drift is shared by a place with itself only.  It is smooth, so close by a difference of heights is
    better known than this says: the safe side.
    """
    first, second = _height_effects(placing, first_m), _height_effects(placing, second_m)
    away = np.linalg.norm(first_m[:, None, :2] - second_m[None, :, :2], axis=2)
    covariance: NDArray[np.float64] = first @ placing.covariance @ second.T
    covariance += placing.drift_m**2 * (away < _SAME_M)
    return covariance


def measure_covariance(
    placing: Placing, first_m: NDArray[np.float64], second_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Covariance (3, 3) in square metres of x, y and z between two places (3,), without drift."""
    first, second = (_effects(placing, np.atleast_2d(place))[0] for place in (first_m, second_m))
    covariance: NDArray[np.float64] = first @ placing.covariance @ second.T
    return covariance


def height_factor(placing: Placing, probability: float) -> float:
    """How many standard errors a height is off at most, ``probability`` of the time (two-sided).

    Student's t with ``Placing.freedom``: residuals that widened the errors are few themselves.
    """
    return t_limit(min(placing.freedom, _NORMAL), 1.0 - probability)


def _height_effects(placing: Placing, places_m: NDArray[np.float64]) -> NDArray[np.float64]:
    if places_m.shape[1] == 2:
        height = float(placing.middle_m[2] + placing.shift_m[2])
        places_m = np.column_stack([places_m, np.full(len(places_m), height)])
    return _effects(placing, places_m)[:, 2, :]


def _effects(placing: Placing, places_m: NDArray[np.float64]) -> NDArray[np.float64]:
    away = placing.to_scan(places_m) - placing.middle_m
    return measure_effects(placing.rotation, placing.scale, away, placing.parameters)
