"""The cheapest layout that fits, ground by ground."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from optimizer.chance.winners import count_winners, draw_winners
from tests.chance.made_questions import MIDDLE, NONE, NormalGround, ask, lay_feet

GROUNDS = 40_000
SIGMA_M = 0.010
NOWHERE = np.zeros((0, 2))


def fits(height_m: float) -> float:
    """Chance that one leg of the middle type planned at a height fits, its ground known to 10 mm."""
    low, high = (MIDDLE.low_m - height_m) / SIGMA_M, (MIDDLE.high_m - height_m) / SIGMA_M
    return float(norm.cdf(high) - norm.cdf(low))


def test_independent_layouts_win_as_the_product_says() -> None:
    """Closed form: the first wins with p, the second with q (1 - p), none with (1 - p) (1 - q)."""
    feet = lay_feet(2)
    model = NormalGround(feet, np.zeros(2), SIGMA_M**2 * np.eye(2))
    heights = (MIDDLE.high_m - 0.005, MIDDLE.high_m + 0.004)
    layouts = [ask(feet[[i]], np.zeros(1), np.array([heights[i]]), types=(MIDDLE,)) for i in range(2)]
    told = count_winners(draw_winners(layouts, model, NONE, NOWHERE, GROUNDS, 3))
    p, q = fits(heights[0]), fits(heights[1])
    for found, expected in ((told.first[0], p), (told.first[1], q * (1 - p)), (told.none, (1 - p) * (1 - q))):
        assert found.share == pytest.approx(expected, abs=4.0 * found.standard_error)


def test_on_shared_ground_a_shorter_leg_wins_only_where_the_first_is_too_long() -> None:
    """One ground under both: the second's leg, 6 mm shorter, fits where the first misses by up to 6 mm."""
    feet = lay_feet(2)
    model = NormalGround(feet, np.zeros(2), SIGMA_M**2 * np.ones((2, 2)))
    heights = (MIDDLE.high_m - 0.002, MIDDLE.high_m - 0.008)
    layouts = [ask(feet[[i]], np.zeros(1), np.array([heights[i]]), types=(MIDDLE,)) for i in range(2)]
    told = count_winners(draw_winners(layouts, model, NONE, NOWHERE, GROUNDS, 3))
    expected = float(norm.cdf(0.8) - norm.cdf(0.2))
    assert told.first[1].share == pytest.approx(expected, abs=4.0 * told.first[1].standard_error)
    assert sum(one.share for one in told.first) + told.none.share == pytest.approx(1.0)


def test_a_layout_over_open_ground_never_wins() -> None:
    feet = lay_feet(2)
    model = NormalGround(feet, np.array([np.nan, 0.0]), SIGMA_M**2 * np.eye(2))
    heights = (0.5, 0.5)
    layouts = [ask(feet[[i]], np.zeros(1), np.array([heights[i]]), types=(MIDDLE,)) for i in range(2)]
    told = count_winners(draw_winners(layouts, model, NONE, NOWHERE, GROUNDS, 3))
    assert told.open_ones == (0,)
    assert told.first[0].share == 0.0
    assert told.first[1].share == 1.0
