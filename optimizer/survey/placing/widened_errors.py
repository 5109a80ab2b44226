"""Stated errors widened to what the residuals show, and the placing that carries them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.placing import Placing
from optimizer.survey.placing.weighted_fit import Fit


@dataclass(frozen=True, slots=True)
class Widening:
    """Of one part of a fit.  ``factor``: on its standard errors, at least 1.

    ``redundancy``: degrees of freedom behind it; without any the factor is 1, for want of a check.
    ``shown``: root of the residuals' mean square over the stated one, ``None`` without redundancy.
    """

    redundancy: float
    shown: float | None

    @property
    def factor(self) -> float:
        """Stated errors are never narrowed: small residuals of few points are luck."""
        return 1.0 if self.shown is None else max(1.0, self.shown)


def measure_widening(fit: Fit, rows: NDArray[np.bool_]) -> Widening:
    """What the residuals of some rows say of the errors stated for them."""
    redundancy = fit.redundancy(rows)
    if redundancy < 0.5:  # a number of rows less parameters, up to rounding
        return Widening(0.0, None)
    return Widening(redundancy, math.sqrt(fit.misfit(rows) / redundancy))


def build_placing(fit: Fit, plan: Widening, heights: Widening, levelled: int) -> Placing:
    """The placing of a fit, its covariance as the widened errors make it.

    Drift is what the heights scatter beyond their stated errors.  The degrees of freedom are those of
    a sum of a known variance and of one estimated from ``redundancy`` residuals, by the formula of
    Welch and Satterthwaite (F. E. Satterthwaite, Biometrics Bulletin 2(6), 1946, from memory).
    """
    rows = fit.observations
    factors = np.where(rows.is_height, heights.factor, plan.factor)
    widened = rows.covariance_m2 * np.outer(factors, factors)
    # The estimate keeps its stated weights, so this is its covariance whatever the true errors are.
    gain = fit.cofactors @ fit.design.T @ fit.weights
    excess = heights.factor**2 - 1.0
    stated_m2 = float(np.diag(rows.covariance_m2)[rows.is_height].mean())
    return Placing(
        rotation=fit.rotation,
        scale=fit.scale,
        shift_m=fit.shift_m,
        middle_m=fit.middle_m,
        parameters=fit.parameters,
        covariance=gain @ widened @ gain.T,
        drift_m=math.sqrt(excess * stated_m2),
        freedom=heights.redundancy * (heights.factor**2 / excess) ** 2 if excess > 0.0 else math.inf,
        levelled=levelled,
    )
