from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from optimizer.chance.measure_here import find_useful_shots, list_leg_shots, spread_places
from optimizer.errors import InputError
from optimizer.terrain.ground_error.shots import build_alike_shots
from optimizer.terrain.ground_error.sparse_errors import build_sparse_errors
from optimizer.terrain.yard import Points
from tests.chance.made_questions import ERRORS, MIDDLE, NONE, SHORT, NormalGround, ask, lay_feet, with_spot

FEET = lay_feet(6)
SHOT_M = 0.003
#: One leg near an end of its range, the others far from any.
HEIGHTS = np.array([0.20, 0.20, 0.20, SHORT.high_m - 0.002, 0.5, 0.5])


def field(places: Points, reach_m: float = 1.0, error_m: float = 0.02) -> NormalGround:
    away = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    return NormalGround(places, np.zeros(len(places)), error_m**2 * np.exp(-away / reach_m))


def test_the_first_shot_goes_under_the_leg_that_may_fail() -> None:
    question = ask(FEET, np.zeros(6), HEIGHTS)
    places = np.vstack([FEET, FEET + np.array([0.3, 0.2])])
    shots = find_useful_shots(question, field(places), NONE, places, SHOT_M, 3)
    assert shots[0].xy_m == tuple(FEET[3].tolist())
    assert shots[0].near == "L04"
    assert shots[0].removes > 0.8


def test_each_further_shot_removes_more_and_never_all() -> None:
    heights = np.array([0.32, 0.20, 0.335, SHORT.high_m, 0.79, 0.5])
    question = ask(FEET, np.zeros(6), heights)
    shots = find_useful_shots(question, field(FEET), NONE, FEET, SHOT_M, 6)
    removed = [shot.removes for shot in shots]
    assert len(shots) >= 3
    assert removed == sorted(removed)
    assert 0.0 < removed[0] < removed[-1] < 1.0
    assert len({shot.xy_m for shot in shots}) == len(shots)


def test_a_shot_is_not_listed_again_as_one_beside_it() -> None:
    question = ask(FEET, np.zeros(6), HEIGHTS)
    places = np.vstack([FEET, FEET[3:4] + np.array([[0.0, 0.249], [0.0, 0.251], [0.1, 0.0]])])
    shots = find_useful_shots(question, field(places), NONE, places, 0.01, 2)
    assert [shot.xy_m for shot in shots] == [tuple(FEET[3].tolist()), tuple(places[7].tolist())]


def test_shots_that_tell_next_to_nothing_are_not_listed() -> None:
    # Errors are alike over 10 cm only, so a shot 2 m off says nothing of the one leg that may fail.
    question = ask(FEET, np.zeros(6), HEIGHTS)
    places = np.vstack([FEET, [[4.5, 1.8]]])
    shots = find_useful_shots(question, field(places, reach_m=0.1), NONE, places, SHOT_M, 3)
    assert [shot.xy_m for shot in shots] == [tuple(FEET[3].tolist())]


def test_what_a_shot_removes_is_what_happens_when_it_is_shot() -> None:
    # Outside the sum over a grid: draw the shot's reading, condition on it, and look at the chance then.
    from scipy import special

    question = ask(FEET, np.zeros(6), HEIGHTS)
    places = np.vstack([FEET, [[2.9, 2.0]]])
    model = field(places)
    shot = find_useful_shots(question, model, ERRORS, places[6:], SHOT_M, 1)[0]
    random = np.random.default_rng(8)
    at, matrix = 6, model.matrix
    readings = random.normal(0.0, math.sqrt(matrix[at, at] + SHOT_M**2), 40_000)
    other = ERRORS.bedding_m**2 + ERRORS.frame_m**2 + ERRORS.threshold_m**2
    before = after = 0.0
    for i, spot in enumerate(question.supports):
        gain = matrix[i, at] / (matrix[at, at] + SHOT_M**2)
        left = math.sqrt(matrix[i, i] - gain * matrix[i, at] + other)
        now = math.sqrt(matrix[i, i] + other)

        def fail(middle: np.ndarray, spread: float, low: float, high: float) -> np.ndarray:
            return special.ndtr((low - middle) / spread) + special.ndtr((middle - high) / spread)

        planned = np.array([spot.steel_m + spot.bedding_m])
        first = float(fail(planned, now, spot.low_m, spot.high_m)[0])
        later = fail(planned[0] - gain * readings, left, spot.low_m, spot.high_m)
        before += first * (1.0 - first)
        after += float((later * (1.0 - later)).mean())
    assert shot.removes == pytest.approx((before - after) / before, abs=0.01)


def test_greedy_is_not_far_from_the_best_three_of_all() -> None:
    import itertools

    heights = np.array([0.32, 0.20, 0.335, SHORT.high_m, 0.79, 0.5])
    question = ask(FEET, np.zeros(6), heights)
    model = field(FEET)
    greedy = find_useful_shots(question, model, NONE, FEET, SHOT_M, 3)[-1].removes

    def removed_by(chosen: tuple[int, ...]) -> float:
        # Shooting these alone, in the one order that the greedy choice among them takes.
        return find_useful_shots(question, model, NONE, FEET[list(chosen)], SHOT_M, 3)[-1].removes

    best = max(removed_by(chosen) for chosen in itertools.combinations(range(6), 3))
    assert greedy >= 0.97 * best


def test_two_shots_at_once_remove_what_conditioning_on_both_does() -> None:
    places = np.vstack([FEET[:1] + np.array([0.3, 0.0]), FEET[:1] - np.array([0.2, 0.1])])
    model = field(np.vstack([FEET, places]))
    heights = np.array([SHORT.high_m - 0.002, 0.2, 0.2, 0.2, 0.5, 0.5])
    question = ask(FEET, np.zeros(6), heights)
    shots = find_useful_shots(question, model, NONE, places, SHOT_M, 2)
    across, both = model.matrix[0, 6:], model.matrix[6:, 6:] + SHOT_M**2 * np.eye(2)
    removed = float(across @ np.linalg.solve(both, across))
    # A single place that removes as much variance of the leg must be worth as much.
    alone = NormalGround(np.vstack([FEET, [[9.0, 9.0]]]), np.zeros(7), np.zeros((7, 7)))
    alone.matrix[:6, :6] = model.matrix[:6, :6]
    alone.matrix[6, 6] = 1.0
    alone.matrix[0, 6] = alone.matrix[6, 0] = math.sqrt(removed * (1.0 + SHOT_M**2))
    same = find_useful_shots(question, alone, NONE, np.array([[9.0, 9.0]]), SHOT_M, 1)
    assert len(shots) == 2
    assert shots[1].removes == pytest.approx(same[0].removes, rel=2e-3)


def test_one_shot_a_leg_lists_all_legs_the_most_telling_first() -> None:
    question = ask(FEET, np.zeros(6), HEIGHTS)
    shots = list_leg_shots(question, field(FEET), NONE, SHOT_M)
    assert sorted(shot.leg for shot in shots) == [spot.id for spot in question.supports]
    assert shots[0].leg == "L04"
    assert shots[0].xy_m == tuple(FEET[3].tolist())
    assert shots[0].fails == pytest.approx(0.46, abs=0.01)
    assert 0.8 < shots[0].removes < 1.0


def test_shots_raise_the_chance_on_a_true_survey() -> None:
    # After the three shots the legs' own chances are nearer to 0 or 1 than before, on a real model.
    random = np.random.default_rng(5)
    xyz = np.column_stack([random.uniform(0, 6, (8, 2)), 0.03 * random.standard_normal(8)])
    model = build_sparse_errors(build_alike_shots(xyz, 0.003, tuple("abcdefgh"), "s"), (), math.inf)
    heights = np.array([0.32, 0.20, 0.335, 0.33, 0.79, 0.5])
    question = ask(FEET, model.expected(FEET), heights)
    places = spread_places(question, 1.0, 0.5)
    shots = find_useful_shots(question, model, ERRORS, places, SHOT_M, 3)
    assert len(shots) == 3
    ground = model.sample(np.array([shot.xy_m for shot in shots]), 40, 3)
    before = np.array(
        [one.fails for one in sorted(list_leg_shots(question, model, ERRORS, SHOT_M), key=lambda s: s.leg)]
    )
    later = []
    for levels in ground:
        more = np.column_stack([np.array([shot.xy_m for shot in shots]), levels])
        known = build_alike_shots(np.vstack([xyz, more]), 0.003, tuple("abcdefghijk"), "s")
        told = list_leg_shots(question, build_sparse_errors(known, (), math.inf), ERRORS, SHOT_M)
        fails = np.array([one.fails for one in sorted(told, key=lambda s: s.leg)])
        later.append(float((fails * (1 - fails)).sum()))
    now = float((before * (1 - before)).sum())
    assert np.mean(later) == pytest.approx(now * (1.0 - shots[-1].removes), rel=0.25)
    assert np.mean(later) < 0.85 * now


def test_when_nothing_can_fail_nothing_need_be_shot() -> None:
    question = ask(FEET, np.zeros(6), np.full(6, 0.2))
    assert find_useful_shots(question, field(FEET, error_m=0.001), NONE, FEET, SHOT_M, 3) == ()


def test_legs_on_slabs_and_over_open_ground_are_left_out() -> None:
    question = with_spot(ask(FEET, np.zeros(6), HEIGHTS), 3, built_level_m=0.0)
    assert "L04" not in {shot.leg for shot in list_leg_shots(question, field(FEET), NONE, SHOT_M)}
    whole = field(FEET)
    holed = NormalGround(FEET, np.where(np.arange(6) == 3, np.nan, 0.0), whole.matrix)
    open_one = ask(FEET, np.zeros(6), HEIGHTS)
    assert len(list_leg_shots(open_one, holed, NONE, SHOT_M)) == 5
    shots = find_useful_shots(open_one, holed, NONE, FEET, SHOT_M, 3)
    assert all(shot.xy_m != tuple(FEET[3].tolist()) for shot in shots)


def test_places_lie_at_the_feet_and_near_them() -> None:
    question = ask(FEET, np.zeros(6), HEIGHTS)
    places = spread_places(question, 0.8, 0.4)
    assert (places[:6] == FEET).all()
    away = np.hypot(*(places[:, None] - FEET[None]).transpose(2, 0, 1)).min(axis=1)
    assert away.max() <= 0.8 + 1e-12
    assert len(places) > 20


@pytest.mark.parametrize("error", [0.0, -0.1, math.nan])
def test_a_shot_without_error_is_refused(error: float) -> None:
    question = ask(FEET, np.zeros(6), HEIGHTS)
    with pytest.raises(InputError, match="shot_error_m"):
        find_useful_shots(question, field(FEET), NONE, FEET, error, 3)
    with pytest.raises(InputError, match="shot_error_m"):
        list_leg_shots(question, field(FEET), NONE, error)


def test_places_that_are_none_are_refused() -> None:
    question = ask(FEET, np.zeros(6), HEIGHTS, (replace(SHORT), replace(MIDDLE)))
    with pytest.raises(InputError, match=r"places\[0\]"):
        find_useful_shots(question, field(FEET), NONE, np.array([[0.0, np.nan]]), SHOT_M, 3)
