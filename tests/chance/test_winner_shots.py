"""Shots that may change which layout is the one to build, against a closed form for one leg.

The ground under the first layout's one leg is known to ``SIGMA_M``; a second layout always fits.  A shot of
standard error t leaves the height's mean normal about the planned one with the variance s^4 / (s^2 + t^2)
(two normals joined), and the height about that mean with the rest.  The second is clearly the one to build
where the first fits on so much less than half of these grounds that three standard errors of a count of 401
tell them apart: on 42.5 %.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from optimizer.chance.layout_question import LayoutQuestion
from optimizer.chance.winner_shots import find_winner_shots
from optimizer.chance.winners import DrawnWinners, draw_winners
from optimizer.errors import InputError
from tests.chance.made_questions import MIDDLE, NONE, NormalGround, ask, lay_feet

GROUNDS = 10_000
SIGMA_M = 0.010
FEET = lay_feet(3)
APART = NormalGround(FEET, np.zeros(3), SIGMA_M**2 * np.eye(3))


def one_leg(foot: int, height_m: float) -> LayoutQuestion:
    return ask(FEET[[foot]], np.zeros(1), np.array([height_m]), types=(MIDDLE,))


def draw(first_below_end_m: float, model: NormalGround = APART) -> DrawnWinners:
    layouts = [one_leg(0, MIDDLE.high_m - first_below_end_m), one_leg(1, 0.5)]
    return draw_winners(layouts, model, NONE, FEET, GROUNDS, 3)


@pytest.mark.parametrize("shot_error_m", [0.002, 0.006, 0.012])
@pytest.mark.parametrize("below_end_m", [0.004, 0.010])
def test_the_chance_of_a_change_is_the_closed_form(shot_error_m: float, below_end_m: float) -> None:
    found = find_winner_shots(draw(below_end_m), FEET, shot_error_m, 3, 1)
    spread = SIGMA_M**2 / math.hypot(SIGMA_M, shot_error_m)
    left = math.sqrt(SIGMA_M**2 - spread**2)
    clear = 0.5 - 1.5 / math.sqrt(401)
    expected = float(norm.sf((below_end_m - norm.ppf(clear) * left) / spread))
    assert [one.place for one in found] == [0]
    # Where the count crosses over is known to the neighbours' width and the draws' own luck.
    assert found[0].changes == pytest.approx(expected, abs=0.02)


def test_a_blunter_shot_changes_the_choice_less_often() -> None:
    sharp, blunt = (find_winner_shots(draw(0.006), FEET, error, 3, 1)[0].changes for error in (0.002, 0.010))
    assert blunt < 0.8 * sharp


def test_a_shot_elsewhere_tells_through_what_the_ground_shares() -> None:
    matrix = SIGMA_M**2 * np.array([[1.0, 0.0, 0.9], [0.0, 1.0, 0.0], [0.9, 0.0, 1.0]])
    found = find_winner_shots(draw(0.004, replace(APART, matrix=matrix)), FEET, 0.002, 3, 1)
    assert [one.place for one in found] == [0, 2]
    assert found[1].changes < found[0].changes


def test_where_one_always_wins_no_shot_is_named() -> None:
    assert find_winner_shots(draw(0.2), FEET, 0.003, 3, 1) == ()


def test_two_alike_in_chance_are_not_told_apart_by_shots_that_tell_nothing() -> None:
    # First wins on half of the grounds; the third foot has nothing to do with either.
    found = find_winner_shots(draw(0.0), FEET, 0.003, 3, 1)
    assert 2 not in [one.place for one in found]


def test_places_close_together_are_one() -> None:
    feet = np.array([[1.0, 1.0], [1.249, 1.0], [1.25, 1.0], [4.0, 4.0]])
    alike = np.array([1.0, 0.95, 0.90])
    matrix = SIGMA_M**2 * np.diag([1.0, 1.0, 1.0, 1.0])
    matrix[:3, :3] = SIGMA_M**2 * (np.outer(alike, alike) + np.diag(1.0 - alike**2))
    layouts = [
        ask(feet[[at]], np.zeros(1), np.array([height]), types=(MIDDLE,))
        for at, height in ((0, MIDDLE.high_m - 0.004), (3, 0.5))
    ]
    drawn = draw_winners(layouts, NormalGround(feet, np.zeros(4), matrix), NONE, feet, GROUNDS, 3)
    assert [one.place for one in find_winner_shots(drawn, feet, 0.002, 3, 1)] == [0, 2]
    assert find_winner_shots(drawn, feet, 0.002, 1, 1)[0].place == 0


def test_open_places_are_left_out() -> None:
    drawn = draw(0.004)
    levels = drawn.levels_m.copy()
    levels[:, 0] = np.nan
    assert find_winner_shots(replace(drawn, levels_m=levels), FEET, 0.002, 3, 1) == ()


@pytest.mark.parametrize("error_m", [0.0, -0.001, math.nan, math.inf])
def test_a_shot_without_an_error_is_refused(error_m: float) -> None:
    with pytest.raises(InputError, match=r"shot_error_m.*Give metres above zero"):
        find_winner_shots(draw(0.004), FEET, error_m, 3, 1)
