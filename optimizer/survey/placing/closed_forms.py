"""Rigid and similarity transformations between matched points, in closed form.

S. Umeyama, 'Least-squares estimation of transformation parameters between two point patterns', IEEE
Transactions on Pattern Analysis and Machine Intelligence 13(4), 1991: the singular values of the
covariance between the patterns, the least of them with its sign turned where the best orthogonal matrix
would be a reflection.  Weights enter as repeated points would.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Similarity:
    """``to = shift + scale * rotation @ from``.

    ``rotation`` (d, d) with determinant +1, ``shift`` (d,).  ``mean_square``: weighted mean of the
    squared distances that remain.
    """

    rotation: NDArray[np.float64]
    scale: float
    shift: NDArray[np.float64]
    mean_square: float


def fit_rigid(
    start: NDArray[np.float64], end: NDArray[np.float64], weights: NDArray[np.float64]
) -> Similarity:
    """Best rotation and shift of ``start`` onto ``end``, (n, d) each; ``weights`` (n,) above 0."""
    return _finish(_turn(start, end, weights), 1.0)


def fit_similarity(
    start: NDArray[np.float64], end: NDArray[np.float64], weights: NDArray[np.float64]
) -> Similarity:
    """Best rotation, scale and shift of ``start`` onto ``end``; the points of ``start`` must differ."""
    turned = _turn(start, end, weights)
    return _finish(turned, turned.signed_sum / turned.start_variance)


@dataclass(frozen=True, slots=True)
class _Turned:
    """The rotation, and the moments that give scale and error: the latter is quadratic in the scale."""

    rotation: NDArray[np.float64]
    start_mean: NDArray[np.float64]
    end_mean: NDArray[np.float64]
    start_variance: float
    end_variance: float
    signed_sum: float


def _turn(start: NDArray[np.float64], end: NDArray[np.float64], weights: NDArray[np.float64]) -> _Turned:
    share = weights / weights.sum()
    start_mean, end_mean = share @ start, share @ end
    from_mean, to_mean = start - start_mean, end - end_mean
    covariance = (to_mean * share[:, None]).T @ from_mean
    left, values, right = np.linalg.svd(covariance)
    signs = np.ones(len(values))
    # Also where the covariance has no full rank: then the determinant of the factors decides.
    signs[-1] = 1.0 if np.linalg.det(left) * np.linalg.det(right) > 0.0 else -1.0
    return _Turned(
        rotation=(left * signs) @ right,
        start_mean=start_mean,
        end_mean=end_mean,
        start_variance=float(share @ (from_mean**2).sum(axis=1)),
        end_variance=float(share @ (to_mean**2).sum(axis=1)),
        signed_sum=float(signs @ values),
    )


def _finish(turned: _Turned, scale: float) -> Similarity:
    shift = turned.end_mean - scale * turned.rotation @ turned.start_mean
    error = turned.end_variance - 2.0 * scale * turned.signed_sum + scale**2 * turned.start_variance
    return Similarity(turned.rotation, scale, shift, max(0.0, error))
