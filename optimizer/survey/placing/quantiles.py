"""Values that a test statistic passes by chance with a stated probability."""

from __future__ import annotations

import math


def f_limit(numerator: int, denominator: int, probability: float) -> float:
    """F that is exceeded with ``probability``; degrees of freedom from 1."""
    # No type information in this distribution.
    from scipy import special

    return float(special.fdtri(numerator, denominator, 1.0 - probability))


def chi_limit(freedom: float, probability: float) -> float:
    """Root of the chi-square that is exceeded with ``probability``: 1.96 for one degree and 5 %."""
    # No type information in this distribution.
    from scipy import special

    return math.sqrt(float(special.chdtri(freedom, probability)))


def t_limit(freedom: float, probability: float) -> float:
    """Student's t that is exceeded on either side with ``probability`` in all."""
    # No type information in this distribution.
    from scipy import special

    return float(special.stdtrit(freedom, 1.0 - 0.5 * probability))
