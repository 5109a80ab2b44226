"""Lengths that sections add up to, against every combination tried."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.search.run_sums import build_run_sums

INCH = 0.0254


def sums_by_hand(pitches: tuple[float, ...], longest_m: float) -> list[float]:
    """Every length of at most ``longest_m`` that whole numbers of sections give, ascending."""
    most = [int((longest_m + 1e-6) / pitch) for pitch in pitches]
    found = {
        round(sum(n * pitch for n, pitch in zip(counts, pitches, strict=True)) * 1e9)
        for counts in product(*(range(n + 1) for n in most))
    }
    return [one / 1e9 for one in sorted(found) if one / 1e9 <= longest_m + 1e-6]


@settings(max_examples=60)
@given(
    pitches_mm=st.lists(st.integers(800, 2600), min_size=1, max_size=3, unique=True),
    longest_mm=st.integers(900, 8000),
)
def test_exactly_the_sums_that_sections_can_make_are_listed(pitches_mm: list[int], longest_mm: int) -> None:
    pitches = tuple(n / 1000 for n in pitches_mm)
    sums = build_run_sums(pitches, longest_mm / 1000)
    assert sums.lengths_m == pytest.approx(sums_by_hand(pitches, longest_mm / 1000), abs=2e-9)
    assert sums.lengths_m[0] == 0.0
    assert sums.before.shape == (len(sums.lengths_m), len(pitches))
    for i, length in enumerate(sums.lengths_m):
        for s, pitch in enumerate(pitches):
            j = int(sums.before[i, s])
            reached = [k for k, other in enumerate(sums.lengths_m) if abs(other + pitch - length) < 1e-8]
            assert reached == ([j] if j >= 0 else [])


def test_a_run_exactly_as_long_as_allowed_is_listed_and_one_hair_longer_is_not() -> None:
    pitches = (48 * INCH, 96 * INCH)
    on = build_run_sums(pitches, 96 * INCH)
    under = build_run_sums(pitches, 96 * INCH - 1e-5)
    assert on.lengths_m == pytest.approx((0.0, 48 * INCH, 96 * INCH), abs=1e-9)
    assert under.lengths_m == pytest.approx((0.0, 48 * INCH), abs=1e-9)
