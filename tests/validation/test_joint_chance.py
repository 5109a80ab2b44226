"""The chance that all legs fit, against closed forms and a second Monte Carlo written here.

Closed forms: independent legs (a product); legs alike in every pair, whose joint chance is one integral
over what they share (e.g. Y. L. Tong, 'The Multivariate Normal Distribution', 1990, section 5.3, from
memory), here by the trapezoid rule.  The second Monte Carlo, of legs alone and
with clearance, plate and bottom, draws 20,000 grounds from the same shots by conditioning the whole field,
level included, under each roughness drawn by its weight; it shares the grid of roughnesses with the program
and no algebra.  Tolerance: three and a half standard errors of the difference.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import special, stats

from optimizer.chance.joint_chance import measure_chances
from optimizer.chance.layout_question import LayoutQuestion, SettingErrors, Window
from optimizer.chance.sampled_layout import sample_layout
from optimizer.terrain.ground_error.roughness import FALL, MICRO_REACH_M, list_roughnesses, list_shapes
from optimizer.terrain.ground_error.shots import build_alike_shots
from optimizer.terrain.ground_error.sparse_errors import SparseErrors, build_sparse_errors
from tests.chance.made_questions import ERRORS, NONE, NormalGround, ask, lay_feet
from tests.terrain.ground_error.trial_surfaces import build_trial_yard, shoot

COUNT = 10_000
READING_M = 0.003


def ask_of_normals(correlation: float, legs: int = 12) -> tuple[LayoutQuestion, NormalGround, np.ndarray]:
    """Legs at unlike distances from the ends of their ranges; errors of 15 mm alike in every pair."""
    feet = lay_feet(legs)
    heights = np.linspace(0.30, 0.34, legs)
    matrix = 0.015**2 * ((1.0 - correlation) * np.eye(legs) + correlation)
    return ask(feet, np.zeros(legs), heights), NormalGround(feet, np.zeros(legs), matrix), heights


def bounds_of(question: LayoutQuestion) -> tuple[np.ndarray, np.ndarray]:
    low, high = (
        np.array([getattr(spot, name) for spot in question.supports]) for name in ("low_m", "high_m")
    )
    return low, high


def test_independent_legs_multiply() -> None:
    question, model, heights = ask_of_normals(0.0)
    low, high = bounds_of(question)
    each = special.ndtr((high - heights) / 0.015) - special.ndtr((low - heights) / 0.015)
    chances = measure_chances(sample_layout(question, model, NONE, COUNT, 3))
    assert chances.legs_fit is not None
    assert chances.legs_fit.share == pytest.approx(each.prod(), abs=3.5 * chances.legs_fit.standard_error)
    for leg, chance in zip(chances.legs, each, strict=True):
        assert leg.chance is not None
        assert leg.chance.share == pytest.approx(chance, abs=3.5 * leg.chance.standard_error)


@pytest.mark.parametrize("correlation", [0.3, 0.7, 0.97])
def test_legs_that_share_an_error_have_the_integral_s_chance(correlation: float) -> None:
    question, model, heights = ask_of_normals(correlation)
    low, high = bounds_of(question)
    shared = np.linspace(-7.0, 7.0, 4001)
    own = 0.015 * math.sqrt(1.0 - correlation)
    middle = heights[None] - 0.015 * math.sqrt(correlation) * shared[:, None]
    inside = special.ndtr((high - middle) / own) - special.ndtr((low - middle) / own)
    exact = float(np.trapezoid(stats.norm.pdf(shared) * inside.prod(axis=1), shared))
    chances = measure_chances(sample_layout(question, model, NONE, COUNT, 3))
    assert chances.legs_fit is not None
    assert chances.legs_fit.share == pytest.approx(exact, abs=3.5 * chances.legs_fit.standard_error)


def test_errors_of_threshold_bedding_and_frame_are_in_it() -> None:
    # No error of the ground: the threshold's is shared by all, the others are each leg's own.
    errors = SettingErrors(0.006, 0.008, 0.012, 0.0)
    question, model, heights = ask_of_normals(0.0)
    model = NormalGround(model.places, model.mean, np.zeros((12, 12)))
    low, high = bounds_of(question)
    shared = np.linspace(-7.0, 7.0, 4001)
    middle = heights[None] + 0.012 * shared[:, None]
    inside = special.ndtr((high - middle) / 0.010) - special.ndtr((low - middle) / 0.010)
    exact = float(np.trapezoid(stats.norm.pdf(shared) * inside.prod(axis=1), shared))
    chances = measure_chances(sample_layout(question, model, errors, COUNT, 8))
    assert chances.legs_fit is not None
    assert chances.legs_fit.share == pytest.approx(exact, abs=3.5 * chances.legs_fit.standard_error)


@pytest.mark.parametrize("kind", [0, 1, 3])
def test_a_second_monte_carlo_agrees(kind: int) -> None:
    random = np.random.default_rng((77, kind))
    yard = build_trial_yard(kind, 0, random)
    shots = shoot(yard, 10, READING_M, random)
    model = build_sparse_errors(
        build_alike_shots(shots, READING_M, tuple("abcdefghij"), "shots"), (), math.inf
    )
    feet = lay_feet(14)
    windows = around_the_feet(model, feet)
    question = ask(feet, model.expected(feet), np.linspace(0.75, 0.15, 14), windows=windows)
    chances = measure_chances(sample_layout(question, model, ERRORS, COUNT, 3))
    again = draw_again(shots, question, 20_000)
    for mine, other in zip((chances.legs_fit, chances.all_holds), again, strict=True):
        assert mine is not None
        error = math.hypot(mine.standard_error, math.sqrt(other * (1.0 - other) / 20_000))
        assert 0.005 < other < 0.995
        assert mine.share == pytest.approx(other, abs=3.5 * error)
    # Clearance, plate and bottom count: with them the chance is another.
    assert again[0] - again[1] > 0.02


def around_the_feet(model: SparseErrors, feet: np.ndarray) -> tuple[Window, ...]:
    """A clearance under the deck, a plate that meets the ground beside the last legs, a place beyond them."""
    under = feet[[4, 5]].mean(axis=0)[None]
    tip = feet[[12, 13]].mean(axis=0) + np.array([0.1, 0.5])
    place = tip + np.array([[0.0, 0.0], [0.0, 1.2]])
    clear = float(model.expected(under)[0]) + 0.058
    plate = float(model.expected(tip[None])[0]) + 0.1
    fall = np.array([1.0, -1.0])
    level = float(fall @ model.expected(place))
    return (
        Window("S3", "clearance", under, np.ones(1), clear, 0.05, math.inf, 1.0),
        Window("T1", "plate", tip[None], np.ones(1), plate, 0.08, 0.12, 1.0),
        Window("T1", "bottom", place, fall, level, -0.025, 0.025, 0.0),
    )


def draw_again(shots: np.ndarray, question: LayoutQuestion, count: int) -> tuple[float, float]:
    """The chances that all legs fit, and that all holds, by conditioning one great normal field of shots,
    feet and the windows' places, level and all.
    """
    feet = np.array([spot.xy_m[0] for spot in question.supports])
    asked = np.vstack([feet, *(window.xy_m for window in question.windows)])
    every = np.vstack([shots[:, :2], asked])
    known, n = shots[:, 2], len(shots)
    centred = every - shots[:, :2].mean(axis=0)
    apart = np.sqrt(((every[:, None] - every[None]) ** 2).sum(axis=2))
    readings = np.diag(np.where(np.arange(len(every)) < n, READING_M**2, 0.0))
    fields, likely = [], []
    for rough in itertools.chain.from_iterable(map(list_roughnesses, list_shapes())):
        z = math.sqrt(rough.shape.smoothness) * apart / rough.shape.length_m
        alike = np.exp(-z) * {1: 1.0, 3: 1.0 + z, 5: 1.0 + z + z * z / 3.0}[rough.shape.smoothness]
        field = rough.sill_m**2 * alike + rough.micro_m**2 * np.exp(-apart / MICRO_REACH_M)
        field += FALL**2 * (centred @ centred.T) + readings
        field += 100.0  # a level known to 10 m is as good as unknown
        fields.append(field)
        density = stats.multivariate_normal(np.full(n, known.mean()), field[:n, :n]).logpdf(known)
        likely.append(math.log(rough.likelihood) + density)
    weights = np.exp(np.array(likely) - max(likely))
    random = np.random.default_rng(2024)
    drawn = random.multinomial(count, weights / weights.sum())
    fit = hold = 0
    for field, draws in zip(fields, drawn.tolist(), strict=True):
        if not draws:
            continue
        gain = field[n:, :n] @ np.linalg.inv(field[:n, :n])
        mean = known.mean() + gain @ (known - known.mean())
        rest = field[n:, n:] - gain @ field[:n, n:]
        ground = random.multivariate_normal(mean, 0.5 * (rest + rest.T), draws, method="eigh")
        threshold = random.normal(0.0, ERRORS.threshold_m, draws)
        ok = np.ones(draws, dtype=bool)
        for i, spot in enumerate(question.supports):
            own = random.normal(0.0, ERRORS.bedding_m, draws) + random.normal(0.0, ERRORS.frame_m, draws)
            height = spot.steel_m + threshold - ground[:, i] + spot.bedding_m + own
            ok &= (height >= spot.low_m) & (height <= spot.high_m)
        fit += int(ok.sum())
        column = len(feet)
        for window in question.windows:
            under = ground[:, column : column + len(window.xy_m)] @ window.weights
            column += len(window.xy_m)
            value = window.steel_m + window.hung * threshold - under
            ok &= (value >= window.low_m) & (value <= window.high_m)
        hold += int(ok.sum())
    return fit / count, hold / count


def test_the_stated_monte_carlo_error_is_that_of_repeated_runs() -> None:
    question, model, _ = ask_of_normals(0.7)
    runs = [measure_chances(sample_layout(question, model, NONE, 2000, seed)).legs_fit for seed in range(120)]
    shares = [one.share for one in runs if one is not None]
    assert len(shares) == 120
    stated = np.mean([one.standard_error for one in runs if one is not None])
    # Scatter of 120 runs: 13 % at two standard errors.
    assert np.std(shares, ddof=1) == pytest.approx(stated, rel=0.2)
