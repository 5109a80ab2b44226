"""Spare legs against a brute force, and against 200 invented installations.

Brute force, written here: every number of spares of each type up to four is tried, and on every ground
legs and supports are matched one by one (augmenting paths), so no theorem is shared.  Exact.

Installations: 200 yards of known ground are shot ten times each, spares are loaded for a promise, and
then every leg is set on the true ground.  How often a part is missing from the van must be what was
promised, within the two-sided 99 % binomial interval of 200 trials.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from optimizer.chance.layout_question import LayoutQuestion, SupportType
from optimizer.chance.sampled_layout import SampledLayout, sample_layout
from optimizer.chance.spare_sets import NoSpareSet, Spare, SpareSet, find_spares, measure_served
from optimizer.terrain.ground_error.shots import build_alike_shots
from optimizer.terrain.ground_error.sparse_errors import build_sparse_errors
from tests.chance.made_questions import ERRORS, NONE, TYPES, NormalGround, ask, lay_feet
from tests.terrain.ground_error.trial_surfaces import KINDS, build_trial_yard, shoot

INSTALLATIONS = 200
LEGS = 10
PROMISES = (0.90, 0.95)


def sample_small(
    seed: int, types: tuple[SupportType, ...], legs: int = 5, grounds: int = 60, error_m: float = 0.05
) -> SampledLayout:
    """Legs near the ends of ranges, errors half shared."""
    random = np.random.default_rng(seed)
    feet = lay_feet(legs)
    matrix = error_m**2 * (0.5 * np.eye(legs) + 0.5)
    heights = random.uniform(0.12, 0.9, legs)
    question = ask(feet, np.zeros(legs), heights, types)
    return sample_layout(question, NormalGround(feet, np.zeros(legs), matrix), NONE, grounds, seed)


def is_served(heights: np.ndarray, question: LayoutQuestion, stock: dict[str, int]) -> bool:
    """Whether legs of stock can be given to all supports: augmenting paths, one leg a node."""
    nodes = [one for one in question.types for _ in range(stock[one.id])]
    holder: dict[int, int] = {}

    def place(support: int, seen: set[int]) -> bool:
        for node, one in enumerate(nodes):
            if node in seen or one.id not in question.supports[support].options:
                continue
            if one.low_m <= heights[support] <= one.high_m:
                seen.add(node)
                if node not in holder or place(holder[node], seen):
                    holder[node] = support
                    return True
        return False

    return all(place(support, set()) for support in range(len(question.supports)))


def stock_of(question: LayoutQuestion, extra: tuple[int, ...]) -> dict[str, int]:
    return {
        one.id: more + sum(spot.planned == one.id for spot in question.supports)
        for one, more in zip(question.types, extra, strict=True)
    }


def search_all(sampled: SampledLayout, share: float, most: int = 4) -> int | None:
    """Least cost of spares that serve enough grounds, every number of each type tried."""
    question = sampled.question
    best: int | None = None
    for extra in itertools.product(range(most + 1), repeat=len(question.types)):
        if any(one.most is not None and n > one.most for one, n in zip(question.types, extra, strict=True)):
            continue
        cost = sum(one.spare_cents * n for one, n in zip(question.types, extra, strict=True))
        if best is not None and cost >= best:
            continue
        stock = stock_of(question, extra)
        served = sum(is_served(heights, question, stock) for heights in sampled.heights_m)
        if served >= share * len(sampled.heights_m) - 1e-9:
            best = cost
    return best


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("share", [0.6, 0.8, 0.95])
def test_the_cheapest_spares_are_those_of_the_brute_force(seed: int, share: float) -> None:
    sampled = sample_small(seed, TYPES)
    best = search_all(sampled, share)
    found = find_spares(sampled, share, seed=1)
    if best is None:
        assert isinstance(found, NoSpareSet)
        assert found.best_share < share
    else:
        assert isinstance(found, SpareSet)
        assert found.cost_cents == best
        assert found.share >= share - 1e-12


def test_the_cases_above_are_of_both_kinds_and_not_all_free() -> None:
    found = [
        find_spares(sample_small(seed, TYPES), share, 1) for seed in range(12) for share in (0.6, 0.8, 0.95)
    ]
    sets = [one for one in found if isinstance(one, SpareSet)]
    assert 5 <= len(sets) < len(found)
    assert sum(one.cost_cents > 0 for one in sets) >= 5


@pytest.mark.parametrize("seed", range(20, 26))
def test_a_brute_force_with_stock_that_runs_out_agrees(seed: int) -> None:
    types = tuple(SupportType(t.id, t.low_m, t.high_m, t.spare_cents, 1) for t in TYPES)
    sampled = sample_small(seed, types)
    best = search_all(sampled, 0.7)
    found = find_spares(sampled, 0.7, seed=1)
    assert (found.cost_cents if isinstance(found, SpareSet) else None) == best


@pytest.mark.parametrize("seed", range(8))
def test_who_is_served_ground_by_ground_is_a_matching(seed: int) -> None:
    sampled = sample_small(seed, TYPES, legs=7)
    extra = tuple(np.random.default_rng(seed).integers(0, 3, 3).tolist())
    spares = tuple(Spare(one.id, n) for one, n in zip(TYPES, extra, strict=True))
    stock = stock_of(sampled.question, extra)
    matched = [is_served(heights, sampled.question, stock) for heights in sampled.heights_m]
    assert measure_served(sampled, spares).tolist() == matched
    assert sum(matched) > 0


def install(number: int) -> list[tuple[float, bool]]:
    """One yard: what was promised for the spares of each of ``PROMISES``, and whether a part was missing."""
    random = np.random.default_rng((31, number))
    yard = build_trial_yard(number % len(KINDS), 0, random)
    shots = shoot(yard, 10, 0.003, random)
    names = tuple(f"S{i}" for i in range(10))
    model = build_sparse_errors(build_alike_shots(shots, 0.003, names, "shots"), (), math.inf)
    feet = lay_feet(LEGS)
    question = ask(feet, model.expected(feet), np.linspace(0.72, 0.26, LEGS))
    sampled = sample_layout(question, model, ERRORS, 2000, number)
    fresh = sample_layout(question, model, ERRORS, 1000, 10_000 + number)
    own = np.hypot(ERRORS.bedding_m, ERRORS.frame_m) * random.standard_normal(LEGS)
    threshold = ERRORS.threshold_m * random.standard_normal()
    true = yard.ground(feet)
    heights = np.array([
        spot.steel_m + threshold - level + spot.bedding_m + error
        for spot, level, error in zip(question.supports, true, own, strict=True)
    ])  # fmt: skip
    outcomes = []
    for promise in PROMISES:
        found = find_spares(sampled, promise, seed=1)
        assert isinstance(found, SpareSet)
        counts = {spare.type_id: spare.count for spare in found.spares}
        stock = stock_of(question, tuple(counts.get(one.id, 0) for one in question.types))
        # Promised is what grounds that the spares were not chosen on say of them.
        promised = float(measure_served(fresh, found.spares).mean())
        outcomes.append((promised, not is_served(heights, question, stock)))
    return outcomes


@pytest.fixture(scope="module")
def installations() -> list[list[tuple[float, bool]]]:
    return [install(number) for number in range(INSTALLATIONS)]


@pytest.mark.parametrize("which", range(len(PROMISES)))
def test_200_installations_miss_a_part_as_often_as_promised(
    installations: list[list[tuple[float, bool]]], which: int
) -> None:
    promised = float(np.mean([one[which][0] for one in installations]))
    missing = sum(one[which][1] for one in installations)
    assert promised >= PROMISES[which] - 0.005
    low, high = stats.binom.interval(0.99, INSTALLATIONS, 1.0 - promised)
    assert low <= missing <= high


def test_installations_without_spares_miss_parts_far_more_often(
    installations: list[list[tuple[float, bool]]],
) -> None:
    # Else the test above would pass with any spares at all.
    bare = 0
    for number in range(0, INSTALLATIONS, 4):
        random = np.random.default_rng((31, number))
        yard = build_trial_yard(number % len(KINDS), 0, random)
        shots = shoot(yard, 10, 0.003, random)
        names = tuple(f"S{i}" for i in range(10))
        model = build_sparse_errors(build_alike_shots(shots, 0.003, names, "shots"), (), math.inf)
        feet = lay_feet(LEGS)
        question = ask(feet, model.expected(feet), np.linspace(0.72, 0.26, LEGS))
        heights = question.supports[0].bedding_m - yard.ground(feet)
        heights = heights + np.array([spot.steel_m for spot in question.supports])
        bare += not is_served(heights, question, stock_of(question, (0, 0, 0)))
    assert 4 * bare > 3 * sum(one[-1][1] for one in installations)
