from __future__ import annotations

import math

import numpy as np
import pytest

from optimizer.errors import InputError
from optimizer.terrain.ground import BreakLine
from optimizer.terrain.ground_error.error_model import measure_error_about
from optimizer.terrain.ground_error.ground_shots import gather_shots
from optimizer.terrain.ground_error.shots import build_alike_shots, build_shots
from optimizer.terrain.ground_error.sides import list_line_levels, measure_sides
from optimizer.terrain.ground_error.sparse_errors import SparseErrors, build_sparse_errors
from optimizer.terrain.yard import Points
from tests.terrain.ground_samples import build, grid, line, plane, turn

RANDOM = np.random.default_rng(11)
SHOTS = np.column_stack([RANDOM.random((12, 2)) * 8.0, 0.04 * RANDOM.standard_normal(12)])
PLACES = RANDOM.random((9, 2)) * 8.0


def names(count: int) -> tuple[str, ...]:
    return tuple(f"P{i + 1}" for i in range(count))


def model_of(
    points: Points, lines: tuple[BreakLine, ...] = (), error_m: float = 0.003, open_m: float = math.inf
) -> SparseErrors:
    shots = build_alike_shots(np.asarray(points, dtype=np.float64), error_m, names(len(points)), "book.csv")
    return build_sparse_errors(shots, lines, open_m)


def test_answers_agree_with_each_other() -> None:
    model = model_of(SHOTS)
    covariance = model.covariance(PLACES, PLACES)
    error = model.standard_error(PLACES)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(error, rel=1e-9)
    assert covariance == pytest.approx(covariance.T, abs=1e-12)
    assert np.linalg.eigvalsh(covariance).min() > 0.0
    both = model.covariance(PLACES[:3], PLACES[3:])
    assert both == pytest.approx(covariance[:3, 3:], abs=1e-12)


def test_samples_have_the_moments_and_the_intervals_that_are_told() -> None:
    model = model_of(SHOTS)
    grounds = model.sample(PLACES, 40_000, 5)
    error = model.standard_error(PLACES)
    assert (np.abs(grounds.mean(axis=0) - model.expected(PLACES)) < 4.0 * error / 200.0).all()
    told = model.covariance(PLACES, PLACES) / np.outer(error, error)
    assert np.abs(np.corrcoef(grounds.T) - told).max() < 0.05
    assert grounds.std(axis=0) == pytest.approx(error, rel=0.04)
    for share in (0.68, 0.95):
        low, high = model.interval(PLACES, share).T
        inside = ((grounds >= low) & (grounds <= high)).mean(axis=0)
        assert inside == pytest.approx(np.full(9, share), abs=0.012)


def test_the_same_seed_gives_the_same_grounds() -> None:
    model = model_of(SHOTS)
    assert (model.sample(PLACES, 50, 3) == model.sample(PLACES, 50, 3)).all()
    assert (model.sample(PLACES, 50, 3) != model.sample(PLACES, 50, 4)).any()


def test_the_first_grounds_are_a_sample_like_all() -> None:
    model = model_of(SHOTS)
    grounds = model.sample(PLACES, 8000, 3)
    assert grounds[:2000].std(axis=0) == pytest.approx(grounds.std(axis=0), rel=0.12)


def test_a_turned_and_moved_yard_is_known_as_well() -> None:
    moved = np.column_stack([turn(SHOTS[:, :2], 0.7) + np.array([300.0, -80.0]), SHOTS[:, 2] + 50.0])
    there = model_of(moved)
    places = turn(PLACES, 0.7) + np.array([300.0, -80.0])
    here = model_of(SHOTS)
    assert there.standard_error(places) == pytest.approx(here.standard_error(PLACES), rel=1e-6)
    assert there.expected(places) - 50.0 == pytest.approx(here.expected(PLACES), abs=1e-7)


def test_errors_grow_away_from_the_shots_and_with_the_staff_s_error() -> None:
    model = model_of(SHOTS)
    assert (model.standard_error(SHOTS[:, :2] + 0.001) < 0.6 * model.standard_error(PLACES).max()).all()
    rough_reading = model_of(SHOTS, error_m=0.02)
    at_shots = SHOTS[:, :2]
    assert (rough_reading.standard_error(at_shots) > model.standard_error(at_shots)).all()


def test_errors_common_to_all_shots_do_not_cancel_in_a_level_but_in_a_difference() -> None:
    common = np.eye(12) * 0.003**2 + 0.02**2
    shared = build_sparse_errors(build_shots(SHOTS, common, names(12), "b"), (), math.inf)
    alone = model_of(SHOTS)
    first, second = PLACES[:1], PLACES[1:2]

    def difference(model: SparseErrors) -> float:
        both = np.vstack([first, second])
        covariance = model.covariance(both, both)
        return math.sqrt(covariance[0, 0] + covariance[1, 1] - 2.0 * covariance[0, 1])

    rise = shared.standard_error(first) ** 2 - alone.standard_error(first) ** 2
    assert rise[0] == pytest.approx(0.02**2, rel=1e-3)
    assert difference(shared) == pytest.approx(difference(alone), rel=1e-3)


def test_a_step_cuts_what_shots_tell_of_each_other() -> None:
    wall = line([(4.0, -1.0), (4.0, 5.0), (4.0, 11.0)], [0.4] * 3, [0.0] * 3, "right")
    xy = grid(5, 5, 2.0)
    levels = np.where(xy[:, 0] > 4.0, 0.4, 0.0)
    kept = xy[:, 0] != 4.0
    points = np.column_stack([xy, levels])[kept]
    whole = np.vstack([points, list_line_levels((wall,))])
    model = model_of(whole, (wall,))
    beside = np.array([[3.8, 3.0], [4.2, 3.0]])
    assert model.expected(beside) == pytest.approx([0.0, 0.4], abs=0.02)
    covariance = model.covariance(beside, beside)
    across = abs(covariance[0, 1]) / math.sqrt(covariance[0, 0] * covariance[1, 1])
    along = model.covariance(beside[:1], beside[:1] + np.array([0.0, 0.4]))[0, 0] / covariance[0, 0]
    assert across < 0.1 < 0.3 < along
    # On the line itself the upper of the two levels.
    assert model.expected(np.array([[4.0, 3.0]])) == pytest.approx([0.4], abs=0.02)


def test_ground_joins_round_the_end_of_a_wall() -> None:
    wall = line([(0.0, 0.0), (3.0, 0.0)], [0.3, 0.0], [0.0, 0.0], "left")
    far, near = np.array([[9.0, 0.3], [9.0, -0.3]]), np.array([[1.5, 0.3], [1.5, -0.3]])
    gap_far, gap_near = (abs(float(np.diff(measure_sides((wall,), at)[:, 0])[0])) for at in (far, near))
    assert gap_near > 1.9
    assert gap_far < 0.1


def test_sides_are_signed_by_the_line_s_left() -> None:
    wall = line([(0.0, 0.0), (3.0, 0.0)], [0.3, 0.3], [0.0, 0.0], "left")
    sides = measure_sides((wall,), np.array([[1.0, 0.2], [1.0, -0.2], [1.0, 0.0]]))[:, 0]
    assert sides == pytest.approx([1.0, -1.0, 1.0], abs=0.01)
    low = line([(0.0, 0.0), (3.0, 0.0)], [0.3, 0.3], [0.0, 0.0], "right")
    assert measure_sides((low,), np.array([[1.0, 0.0]]))[0, 0] < 0.0


def test_gaps_beyond_the_limit_are_left_open() -> None:
    model = model_of(SHOTS, open_m=1.5)
    places = np.array([[100.0, 100.0], SHOTS[0, :2] + np.array([0.1, 0.0])])
    for answer in (
        model.expected(places),
        model.standard_error(places),
        model.interval(places, 0.95)[:, 0],
        model.sample(places, 3, 1)[0],
        np.diag(model.covariance(places, places)),
    ):
        assert np.isnan(answer[0])
        assert np.isfinite(answer[1])


def test_the_limit_of_a_gap_itself_is_closed() -> None:
    points = np.array([[0.0, 0.0, 0.0], [-4.0, 0.0, 0.0], [0.0, -4.0, 0.1]])
    model = model_of(points, open_m=1.5)
    told = model.standard_error(np.array([[1.5, 0.0], [1.500001, 0.0]]))
    assert np.isfinite(told[0])
    assert np.isnan(told[1])


def test_three_shots_are_answered_with_wide_errors() -> None:
    three = np.array([[0.0, 0.0, 0.0], [4.0, 0.0, -0.1], [0.0, 4.0, 0.05]])
    model = model_of(three)
    middle = np.array([[1.3, 1.3]])
    assert model.expected(middle)[0] == pytest.approx(-0.1 * 1.3 / 4 + 0.05 * 1.3 / 4, abs=0.015)
    assert 0.015 < model.standard_error(middle)[0] < 0.2


def test_shots_on_one_line_tell_the_fall_along_it_and_not_across() -> None:
    along = np.arange(8.0)
    points = np.column_stack([along, np.zeros(8), -0.05 * along])
    shots = build_alike_shots(points, 0.003, names(8), "b")
    assert shots.is_on_one_line
    model = build_sparse_errors(shots, (), math.inf)
    on_line, near, far = model.standard_error(np.array([[3.5, 0.0], [3.5, 1.0], [3.5, 3.0]]))
    assert on_line < 0.02
    # A fall of 15 % at one standard deviation: 15 cm a metre off the line.
    assert near > 0.14
    assert far > 0.44
    assert model.expected(np.array([[3.5, 0.0]]))[0] == pytest.approx(-0.175, abs=0.01)
    assert not build_alike_shots(SHOTS, 0.003, names(12), "b").is_on_one_line


def test_a_place_shot_twice_is_known_better() -> None:
    twice = np.vstack([SHOTS, SHOTS[:1] + np.array([0.0, 0.0, 0.002])])
    at = SHOTS[:1, :2]
    assert model_of(twice, error_m=0.01).standard_error(at) < model_of(SHOTS, error_m=0.01).standard_error(at)


def test_another_surface_is_off_by_what_it_lies_away_too() -> None:
    model = model_of(SHOTS)
    expected, error = model.expected(PLACES), model.standard_error(PLACES)
    assert measure_error_about(model, PLACES, expected) == pytest.approx(error)
    assert measure_error_about(model, PLACES, expected + 0.3) == pytest.approx(np.hypot(error, 0.3))


def test_a_ground_hands_on_its_levels_and_both_sides_of_its_lines() -> None:
    xy = grid(4, 4)
    wall = line([(1.0, 0.0), (1.0, 3.0)], [2.0, 2.0], [1.0, 1.0], "left")
    points = np.column_stack([xy, plane(xy)])
    points = points[xy[:, 0] != 1.0]
    ground = build(points, (wall,))
    shots = gather_shots(ground, np.eye(12) * 0.002**2, 0.005, "yard")
    assert len(shots.names) == 12 + 4
    assert shots.names[-1] == "wall foot 2"
    left = shots.xyz_m[12:14]
    assert (left[:, 0] < 1.0).all()
    assert left[:, 2].tolist() == [2.0, 2.0]
    assert np.sqrt(np.diag(shots.covariance_m2))[[0, -1]] == pytest.approx([0.002, 0.005])


@pytest.mark.parametrize(
    ("points", "covariance", "said"),
    [
        (SHOTS[:2], np.eye(2), "there are 2 shots"),
        (np.repeat(SHOTS[:1], 5, axis=0), np.eye(5), "in one place"),
        (np.vstack([SHOTS[:3], [[1.0, np.nan, 2.0]]]), np.eye(4), '"P4" is at [1.0, nan, 2.0]'),
        (SHOTS[:4], np.eye(3), "shape (3, 3) for 4 shots"),
        (SHOTS[:4], np.full((4, 4), np.nan), "not finite"),
        (SHOTS[:4], np.triu(np.ones((4, 4))), "not symmetric"),
        (SHOTS[:4], np.eye(4) - 0.9, "below zero"),
        (np.zeros((401, 3)), np.eye(401), "there are 401 shots"),
    ],
)
def test_shots_that_say_nothing_are_refused(points: Points, covariance: Points, said: str) -> None:
    with pytest.raises(InputError, match=r"book\.csv") as raised:
        build_shots(points, covariance, names(len(points)), "book.csv")
    assert said in str(raised.value)


def test_all_faults_come_at_once() -> None:
    points = SHOTS[:5].copy()
    points[[1, 3], 2] = np.nan
    with pytest.raises(InputError) as raised:
        build_shots(points, np.full((5, 5), np.nan), names(5), "book.csv")
    assert len(raised.value.faults) == 3


@pytest.mark.parametrize(
    "places", [np.zeros(2), np.zeros((3, 3)), np.array([[0.0, np.nan]]), np.array([[np.inf, 0.0]])]
)
def test_places_that_are_none_are_refused(places: Points) -> None:
    with pytest.raises(InputError, match="places"):
        model_of(SHOTS).standard_error(places)


def test_questions_that_make_no_sense_are_refused() -> None:
    model = model_of(SHOTS)
    with pytest.raises(InputError, match="0 grounds"):
        model.sample(PLACES, 0, 1)
    with pytest.raises(InputError, match="share"):
        model.interval(PLACES, 1.0)
    with pytest.raises(InputError, match="open"):
        model_of(SHOTS, open_m=0.0)
    with pytest.raises(InputError, match="standard error"):
        build_alike_shots(SHOTS, -0.001, names(12), "b")


def test_no_places_give_no_answers() -> None:
    none = np.zeros((0, 2))
    model = model_of(SHOTS)
    assert model.standard_error(none).shape == (0,)
    assert model.sample(none, 4, 1).shape == (4, 0)
