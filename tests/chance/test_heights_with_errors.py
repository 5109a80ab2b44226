from __future__ import annotations

import math
from fractions import Fraction
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.chance.heights_with_errors import find_step, format_with_error, round_to_step
from optimizer.errors import InputError

INCH = 0.0254


@pytest.mark.parametrize(
    ("height", "error", "system", "shown"),
    [
        (31.61 * INCH, 0.5 * INCH, "in", "31 5/8 in +/- 1/2 in"),
        (0.8032, 0.012, "mm", "803 mm +/- 12 mm"),
        (0.8032, 0.0121, "mm", "803 mm +/- 13 mm"),
        (0.8032, 0.0, "mm", "803 mm +/- 1 mm"),
        (0.8032, 0.049, "mm", "803 mm +/- 49 mm"),
        (0.8032, 0.050, "mm", "805 mm +/- 50 mm"),
        (0.8032, 0.052, "mm", "805 mm +/- 55 mm"),
        (0.8032, 0.100, "mm", "800 mm +/- 100 mm"),
        (0.8032, 0.493, "mm", "800 mm +/- 500 mm"),
        (31.61 * INCH, 0.51 * INCH, "in", "31 5/8 in +/- 5/8 in"),
        (31.61 * INCH, 1.24 * INCH, "in", "31 5/8 in +/- 1 1/4 in"),
        (31.61 * INCH, 2.5 * INCH, "in", "31 1/2 in +/- 2 1/2 in"),
        (31.61 * INCH, 5.1 * INCH, "in", "31 1/2 in +/- 5 1/2 in"),
        (31.61 * INCH, 11 * INCH, "in", "32 in +/- 11 in"),
        (-0.0123, 0.004, "mm", "-12 mm +/- 4 mm"),
        (0.0001, 0.004, "mm", "0 mm +/- 4 mm"),
        (0.0005, 0.004, "mm", "1 mm +/- 4 mm"),
        (math.nan, 0.004, "mm", "unknown"),
        (0.5, math.nan, "in", "unknown"),
        (0.5, math.inf, "in", "unknown"),
    ],
)
def test_heights_are_printed_with_what_they_carry(
    height: float, error: float, system: Literal["in", "mm"], shown: str
) -> None:
    assert format_with_error(height, error, system) == shown


def test_a_plus_minus_below_zero_is_refused() -> None:
    with pytest.raises(InputError, match="plus_minus_m"):
        format_with_error(0.5, -0.001, "mm")


@given(st.floats(-5.0, 5.0), st.floats(0.0, 1.0), st.sampled_from(("in", "mm")))
def test_rounding_hides_no_more_than_a_twentieth_of_the_plus_minus(
    height: float, error: float, system: Literal["in", "mm"]
) -> None:
    step = find_step(error, system)
    finest = Fraction(1, 1000) if system == "mm" else Fraction(254, 80000)
    away = abs(round_to_step(height, step) - height)
    assert away <= max(error / 20 + 1e-6, float(finest) / 2 + 1e-12)
    assert step >= finest
