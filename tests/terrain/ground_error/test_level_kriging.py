"""Kriging against a published worked example, closed forms, and a bordered system solved here.

E. H. Isaaks and R. M. Srivastava, 'An Introduction to Applied Geostatistics', Oxford 1989, chapter 12:
seven samples, covariance 10 exp(-0.3 h), estimate 592.7 at (65, 137) and error variance 8.96.  Samples
and results from memory; that all of it fits together is what the test shows.  Tolerance: the last digit.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from optimizer.terrain.ground_error.correlation import Smoothness, correlate, measure_distances
from optimizer.terrain.ground_error.level_kriging import krige
from optimizer.terrain.ground_error.mixtures import find_quantile, measure_deviation, share_draws

SAMPLES = np.array([
    (61, 139, 477), (63, 140, 696), (64, 129, 227), (68, 128, 646),
    (71, 140, 606), (73, 141, 791), (75, 128, 783),
], dtype=np.float64)  # fmt: skip
PLACE = np.array([[65.0, 137.0]])
WEIGHTS = (0.173, 0.318, 0.129, 0.086, 0.151, 0.057, 0.086)


def covary(first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.float64]:
    return 10.0 * np.exp(-0.3 * measure_distances(first, second))


def test_the_worked_example_of_seven_samples() -> None:
    solved = krige(covary(SAMPLES[:, :2], SAMPLES[:, :2])[None], SAMPLES[:, 2])[0]
    whitened = solved.whiten(covary(SAMPLES[:, :2], PLACE))
    assert solved.estimate(whitened)[0] == pytest.approx(592.7, abs=0.05)
    assert 10.0 + solved.explain_alone(whitened)[0] == pytest.approx(8.96, abs=0.005)


def test_the_worked_example_gives_its_printed_weights() -> None:
    # The weight of a sample is the estimate when it alone is 1 and all others are 0.
    across = covary(SAMPLES[:, :2], PLACE)
    weights = []
    for values in np.eye(7):
        solved = krige(covary(SAMPLES[:, :2], SAMPLES[:, :2])[None], values)[0]
        weights.append(float(solved.estimate(solved.whiten(across))[0]))
    assert weights == pytest.approx(WEIGHTS, abs=0.0006)
    assert sum(weights) == pytest.approx(1.0, abs=1e-12)


def test_estimates_and_errors_of_several_places_as_a_bordered_system_has_them() -> None:
    random = np.random.default_rng(4)
    xy, places, values = random.random((11, 2)) * 20, random.random((5, 2)) * 20, random.standard_normal(11)
    known, across, own = covary(xy, xy), covary(xy, places), covary(places, places)
    border = np.block([[known, np.ones((11, 1))], [np.ones((1, 11)), np.zeros((1, 1))]])
    right = np.vstack([across, np.ones((1, 5))])
    weights = np.linalg.solve(border, right)
    solved = krige(known[None], values)[0]
    whitened = solved.whiten(across)
    assert solved.estimate(whitened) == pytest.approx(weights[:11].T @ values, abs=1e-10)
    assert own + solved.explain(whitened, whitened) == pytest.approx(own - right.T @ weights, abs=1e-9)
    assert solved.explain_alone(whitened) == pytest.approx(np.diag(-right.T @ weights), abs=1e-9)


def test_a_place_that_was_shot_without_error_is_known() -> None:
    solved = krige(covary(SAMPLES[:, :2], SAMPLES[:, :2])[None], SAMPLES[:, 2])[0]
    whitened = solved.whiten(covary(SAMPLES[:, :2], SAMPLES[:1, :2]))
    assert solved.estimate(whitened)[0] == pytest.approx(477.0)
    assert 10.0 + solved.explain_alone(whitened)[0] == pytest.approx(0.0, abs=1e-9)


def test_values_that_have_nothing_in_common_give_their_mean() -> None:
    values = np.array([3.0, 5.0, 10.0, 2.0])
    solved = krige(4.0 * np.eye(4)[None], values)[0]
    nothing = solved.whiten(np.zeros((4, 1)))
    assert solved.estimate(nothing)[0] == pytest.approx(5.0)
    assert 4.0 + solved.explain_alone(nothing)[0] == pytest.approx(4.0 * (1.0 + 1.0 / 4.0))


def test_mixing_over_sills_is_student_s_t() -> None:
    # Independent values, sill unknown and flat in its logarithm: the next value has the predictive t
    # with n - 1 degrees of freedom and scale s sqrt(1 + 1/n), in every textbook.
    values = np.array([0.3, -1.1, 2.0, 0.4, 0.9, -0.2])
    sills = np.geomspace(0.05, 200.0, 1500)
    solved = krige(sills[:, None, None] ** 2 * np.eye(6), values)
    likely = np.array([one.log_likelihood for one in solved])
    weights = np.exp(likely - likely.max())
    weights /= weights.sum()
    means = np.array([[one.level] for one in solved])
    variances = np.array([[sill**2 + one.level_variance] for sill, one in zip(sills, solved, strict=True)])
    scale = values.std(ddof=1) * math.sqrt(1.0 + 1.0 / 6.0)
    for tail in (0.025, 0.16, 0.84, 0.975):
        told = float(find_quantile(weights, means, variances, tail)[0])
        assert told == pytest.approx(values.mean() + scale * stats.t.ppf(tail, 5), rel=2e-4)
    deviation = measure_deviation(weights, means, variances)[0]
    assert deviation == pytest.approx(scale * math.sqrt(5.0 / 3.0), rel=5e-3)


@pytest.mark.parametrize(("smoothness", "order"), [(1, 0.5), (3, 1.5), (5, 2.5)])
def test_correlations_are_matern_s(smoothness: Smoothness, order: float) -> None:
    from scipy import special

    away = np.array([0.01, 0.3, 1.0, 2.7, 8.0])
    z = math.sqrt(2.0 * order) * away / 1.3
    general = 2.0 ** (1.0 - order) / special.gamma(order) * z**order * special.kv(order, z)
    assert correlate(away, 1.3, smoothness) == pytest.approx(general, rel=1e-12)
    assert correlate(np.zeros(1), 1.3, smoothness)[0] == 1.0


@pytest.mark.parametrize("count", [1, 7, 10_000])
def test_draws_are_shared_by_weight(count: int) -> None:
    weights = np.array([0.5, 0.3, 0.1999, 0.0001])
    shares = share_draws(weights, count, np.random.default_rng(3))
    assert shares.sum() == count
    assert (np.abs(shares - count * weights) < 1.0 + 1e-9).all()
