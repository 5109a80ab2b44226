"""Which control point disagrees with the others: standardised residuals.

W. Baarda, 'A testing procedure for use in geodetic networks' (Netherlands Geodetic Commission, 1968): the
residual over its own standard error, from the stated errors, doubted beyond 3.29, which chance passes once
in a thousand (the number from memory; it is the normal quantile).  A position is one test of two numbers:
the root of a chi-square of two degrees, 3.72 at the same chance.  Only the largest is named: one blunder
lifts them all.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.quantiles import chi_limit
from optimizer.survey.placing.weighted_fit import Fit

CHANCE: Final = 0.001
#: Eigenvalues below this share of the rows' own variance are not checked by anything.
_UNCHECKED: Final = 1e-9
#: Largest statistics this close to each other cannot be told apart.
_TIED: Final = 0.01

Part = Literal["plan", "height"]


@dataclass(frozen=True, slots=True)
class PointTest:
    """One point's position or elevation against all the others.

    ``standardised``: its residual in standard errors; ``limit``: what chance exceeds once in a
    thousand.  Both are ``None`` where nothing checks the point.  ``unnoticed_m``: an error of its
    elevation up to this stays within the limit if all else is right; ``None`` for positions, and where
    nothing checks it.
    """

    point: int
    part: Part
    standardised: float | None
    limit: float | None
    unnoticed_m: float | None

    @property
    def share(self) -> float:
        """Of the limit; above 1 it is doubted."""
        if self.standardised is None or self.limit is None:
            return 0.0
        return self.standardised / self.limit


def judge_residuals(fit: Fit) -> tuple[PointTest, ...]:
    """One test for each taped position, then one for each elevation."""
    rows = fit.observations
    is_height = rows.is_height
    tests: list[PointTest] = []
    parts: tuple[tuple[Part, NDArray[np.bool_]], ...] = (("plan", ~is_height), ("height", is_height))
    for part, of_part in parts:
        tests.extend(
            _test(fit, int(point), part, np.flatnonzero(of_part & (rows.points == point)))
            for point in dict.fromkeys(rows.points[of_part].tolist())
        )
    return tuple(tests)


def find_suspects(tests: tuple[PointTest, ...]) -> tuple[PointTest, ...]:
    """The one most doubted, or those that cannot be told from it; empty when none passes its limit."""
    worst = max((test.share for test in tests), default=0.0)
    if worst <= 1.0:
        return ()
    return tuple(test for test in tests if test.share >= (1.0 - _TIED) * worst)


def _test(fit: Fit, point: int, part: Part, at: NDArray[np.intp]) -> PointTest:
    """The statistic of leaving these rows out: v'P (P Q P)^-1 P v for them."""
    pulls = (fit.weights @ fit.residuals_m)[at]
    spread = (fit.weights @ fit.residual_covariance_m2 @ fit.weights)[np.ix_(at, at)]
    values, vectors = np.linalg.eigh(spread)
    checked = values > _UNCHECKED * float(fit.weights[at, at].max())
    if not checked.any():
        return PointTest(point, part, None, None, None)
    along = vectors[:, checked].T @ pulls
    standardised = float(np.sqrt((along**2 / values[checked]).sum()))
    limit = chi_limit(int(checked.sum()), CHANCE)
    # A wrong elevation b lifts the pull by P Q P b, whose share of its own spread is b times its root.
    unnoticed_m = limit / float(np.sqrt(values[0])) if part == "height" else None
    return PointTest(point, part, standardised, limit, unnoticed_m)
