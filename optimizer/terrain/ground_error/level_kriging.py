"""Kriging with an unknown level: the best estimate of a field from a few values, and its error.

Ordinary kriging by Cholesky factors, with the restricted likelihood of the covariance that was used
(D. A. Harville, JASA 72 (1977) 320, from memory).  A plane is part of the covariance (see
``sparse_errors``): its fall is not quite unknown, so shots on one line do no harm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Kriged:
    """Values solved under one covariance.

    ``whitening`` (n, n): inverse of the lower Cholesky factor.  ``ones`` and ``residual`` (n,): a
    column of ones and the values less ``level``, both whitened.  ``log_likelihood``: restricted.
    """

    whitening: NDArray[np.float64]
    ones: NDArray[np.float64]
    residual: NDArray[np.float64]
    level: float
    level_variance: float
    log_likelihood: float

    def whiten(self, across: NDArray[np.float64]) -> NDArray[np.float64]:
        """Whitened covariances (n, m) of the values with m places, from ``across`` (n, m)."""
        whitened: NDArray[np.float64] = self.whitening @ across
        return whitened

    def estimate(self, whitened: NDArray[np.float64]) -> NDArray[np.float64]:
        """Best estimates (m,) at the places."""
        means: NDArray[np.float64] = self.level + whitened.T @ self.residual
        return means

    def explain(self, first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.float64]:
        """What to add to the covariance before any value to have that of the errors, (m, k)."""
        untold_first, untold_second = 1.0 - first.T @ self.ones, 1.0 - second.T @ self.ones
        added: NDArray[np.float64] = self.level_variance * np.outer(untold_first, untold_second)
        added -= first.T @ second
        return added

    def explain_alone(self, whitened: NDArray[np.float64]) -> NDArray[np.float64]:
        """The diagonal (m,) of ``explain`` of places with themselves."""
        untold = 1.0 - whitened.T @ self.ones
        alone: NDArray[np.float64] = self.level_variance * untold**2 - np.einsum(
            "nm,nm->m", whitened, whitened
        )
        return alone


def krige(covariances: NDArray[np.float64], values: NDArray[np.float64]) -> list[Kriged]:
    """Solve values (n,) under each of the covariances (g, n, n), which are positive definite."""
    lowers = np.linalg.cholesky(covariances)
    whitenings = np.linalg.inv(lowers)
    ones = whitenings.sum(axis=2)
    whitened = whitenings @ values
    precision = np.einsum("gn,gn->g", ones, ones)
    levels = np.einsum("gn,gn->g", ones, whitened) / precision
    residuals = whitened - levels[:, None] * ones
    log_volume = np.log(np.diagonal(lowers, axis1=1, axis2=2)).sum(axis=1)
    likely = -log_volume - 0.5 * np.log(precision) - 0.5 * np.einsum("gn,gn->g", residuals, residuals)
    return [
        Kriged(
            whitenings[i],
            ones[i],
            residuals[i],
            float(levels[i]),
            float(1.0 / precision[i]),
            float(likely[i]),
        )
        for i in range(len(levels))
    ]
