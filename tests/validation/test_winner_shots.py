"""Shots that may change the layout to build, against taking the shot: 120 readings, each put to the survey.

A yard of known roughness is shot ten times.  Two layouts of six legs are asked which of them is most often
the cheapest that fits.  Then a reading at one foot is drawn, the whole error model is built anew with it as
an eleventh shot, and the question is asked again.  How often another layout, or none, is clearly the one to
build must be what was told beforehand, within the two-sided 99.9 % binomial interval.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from optimizer.chance.layout_question import LayoutQuestion, SettingErrors
from optimizer.chance.winner_shots import find_winner_shots
from optimizer.chance.winners import count_winners, draw_winners
from optimizer.terrain.ground_error.shots import build_alike_shots
from optimizer.terrain.ground_error.sparse_errors import SparseErrors, build_sparse_errors
from tests.chance.made_questions import MIDDLE, ask, lay_feet
from tests.terrain.ground_error.trial_surfaces import build_trial_yard, shoot

READING_M = 0.003
ERRORS = SettingErrors(0.002, 0.002, 0.002, 0.002)
READINGS = 120
#: The lead, in share of the grounds, from which on another one is clearly to build (see ``winner_shots``).
CLEAR = 3.0 / math.sqrt(401)


def build_model(shots: np.ndarray) -> SparseErrors:
    names = tuple(f"S{i}" for i in range(len(shots)))
    return build_sparse_errors(build_alike_shots(shots, READING_M, names, "shots"), (), math.inf)


def ask_two(model: SparseErrors) -> tuple[list[LayoutQuestion], np.ndarray]:
    """The first has one leg near the end of its type's heights; the second, beside it, has none."""
    feet = np.vstack([lay_feet(6), lay_feet(6) + np.array([2.5, 0.3])])
    heights = np.full(12, 0.5)
    heights[2] = MIDDLE.high_m - 0.006
    ground = model.expected(feet)
    types = (MIDDLE,)
    return [ask(feet[at], ground[at], heights[at], types) for at in (slice(0, 6), slice(6, 12))], feet


@pytest.mark.parametrize("kind", [0, 2])
def test_readings_change_the_choice_as_often_as_told(kind: int) -> None:
    random = np.random.default_rng((19, kind))
    shots = shoot(build_trial_yard(kind, 0, random), 10, READING_M, random)
    model = build_model(shots)
    layouts, feet = ask_two(model)
    drawn = draw_winners(layouts, model, ERRORS, feet, 10_000, 1)
    (told, *_) = find_winner_shots(drawn, feet, READING_M, 1, 1)
    assert told.place == 2
    assert 0.05 < told.changes < 0.6

    before = count_winners(drawn)
    shares = [*(one.share for one in before.first), before.none.share]
    now = int(np.argmax(shares))
    levels = model.sample(feet[told.place][None], READINGS, 77)[:, 0]
    changed = 0
    for level, noise in zip(levels, READING_M * random.standard_normal(READINGS), strict=True):
        again = build_model(np.vstack([shots, [*feet[told.place], level + noise]]))
        after = count_winners(draw_winners(layouts, again, ERRORS, np.zeros((0, 2)), 2000, 1))
        shares = [*(one.share for one in after.first), after.none.share]
        best = max(shares)
        # As counted beforehand: a lead by three standard errors of the lead.
        changed += best - shares[now] > CLEAR * math.sqrt(best + shares[now])
    low, high = stats.binom.interval(0.999, READINGS, told.changes)
    assert low <= changed <= high, (told.changes, changed)
