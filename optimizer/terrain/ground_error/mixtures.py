"""Mixtures of normal distributions: moments, bounds, and how many draws each part gets."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_HALVINGS = 60


def measure_deviation(
    weights: NDArray[np.float64], means: NDArray[np.float64], variances: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Standard deviations (n,) of mixtures of g normals: weights (g,), means and variances (g, n)."""
    middle = weights @ means
    deviation: NDArray[np.float64] = np.sqrt(np.maximum(0.0, weights @ (variances + (means - middle) ** 2)))
    return deviation


def find_quantile(
    weights: NDArray[np.float64],
    means: NDArray[np.float64],
    variances: NDArray[np.float64],
    probability: float,
) -> NDArray[np.float64]:
    """Values (n,) below which the mixtures lie with ``probability``; by halving, to rounding."""
    # No type information in this distribution.
    from scipy import special

    deviations = np.sqrt(np.maximum(variances, 1e-300))
    each = means + deviations * special.ndtri(probability)
    low, high = each.min(axis=0), each.max(axis=0)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        below = weights @ special.ndtr((middle - means) / deviations) < probability
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    found: NDArray[np.float64] = 0.5 * (low + high)
    return found


def share_draws(weights: NDArray[np.float64], count: int, random: np.random.Generator) -> NDArray[np.int64]:
    """How many of ``count`` draws each part gets, (g,): evenly over the weights, from a random start."""
    marks = (np.arange(count) + random.random()) / count
    ends = np.cumsum(weights) / weights.sum()
    upto = np.searchsorted(marks, ends, side="right")
    upto[-1] = count
    shares: NDArray[np.int64] = np.diff(upto, prepend=0).astype(np.int64)
    return shares


def draw_normals(
    mean: NDArray[np.float64], covariance: NDArray[np.float64], count: int, random: np.random.Generator
) -> NDArray[np.float64]:
    """``count`` draws (count, n) of normals with mean (n,) and covariance (n, n).

    0.03 mm is added to every place's own error, so that one place asked about twice does no harm.
    """
    lower = np.linalg.cholesky(covariance + np.eye(len(mean)) * 1e-9)
    drawn: NDArray[np.float64] = random.standard_normal((count, len(mean))) @ lower.T
    drawn += mean
    return drawn
