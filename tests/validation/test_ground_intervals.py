"""How often the ground lies where its stated interval says, over surfaces that are known everywhere.

60 invented yards of five kinds of roughness, half of them with a retaining wall right across, shot 6 to
20 times with a staff error of 3 mm.  Stated 95 % must hold 93 to 99 %, stated 68 % must hold 65 to 85 %,
pooled over all yards (bounds of the project's own: a few shots cannot tell their own roughness, so the
pooled share is promised and a single yard's is not; three yards of the 60 may hold less than 80 %).  The
seed is other than those that the grid of roughnesses was looked at with.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

import numpy as np
import pytest

from optimizer.terrain.ground_error.shots import build_alike_shots, build_shots
from optimizer.terrain.ground_error.sides import list_line_levels
from optimizer.terrain.ground_error.sparse_errors import SparseErrors, build_sparse_errors
from tests.terrain.ground_error.trial_surfaces import KINDS, TrialYard, build_trial_yard, pick_inside, shoot

READING_M = 0.003
COUNTS = (6, 8, 10, 12, 16, 20)
SEED = 70_401
PLACES = 60


@dataclass(frozen=True, slots=True)
class Held:
    """Shares of places where the true ground lay inside, of one yard."""

    kind: int
    has_wall: int
    count: int
    in_95: float
    in_68: float
    root_mean_square_m: float
    stated_m: float


def survey(yard: TrialYard, count: int, random: np.random.Generator) -> tuple[SparseErrors, np.ndarray]:
    shots = shoot(yard, count, READING_M, random)
    beside = list_line_levels(yard.lines)
    whole = np.vstack([shots, beside])
    names = tuple(f"S{i}" for i in range(len(whole)))
    model = build_sparse_errors(build_alike_shots(whole, READING_M, names, "shots"), yard.lines, math.inf)
    return model, shots


def try_yard(kind: int, has_wall: int, count: int, seed: int) -> Held:
    random = np.random.default_rng((seed, kind, has_wall, count))
    yard = build_trial_yard(kind, has_wall, random)
    model, shots = survey(yard, count, random)
    places = pick_inside(shots, PLACES, random)
    true = yard.ground(places)
    shares = []
    for share in (0.95, 0.68):
        ends = model.interval(places, share)
        shares.append(float(((true >= ends[:, 0]) & (true <= ends[:, 1])).mean()))
    off = model.expected(places) - true
    stated = float(np.sqrt((model.standard_error(places) ** 2).mean()))
    return Held(kind, has_wall, count, shares[0], shares[1], float(np.sqrt((off**2).mean())), stated)


def try_all(seed: int) -> list[Held]:
    return [try_yard(k, wall, n, seed) for k, wall, n in itertools.product(range(len(KINDS)), (0, 1), COUNTS)]


@pytest.fixture(scope="module")
def held() -> list[Held]:
    return try_all(SEED)


def test_95_percent_intervals_hold_93_to_99_percent(held: list[Held]) -> None:
    assert len(held) == 60
    assert 0.93 <= np.mean([one.in_95 for one in held]) <= 0.99


def test_68_percent_intervals_hold_65_to_85_percent(held: list[Held]) -> None:
    assert 0.65 <= np.mean([one.in_68 for one in held]) <= 0.85


@pytest.mark.parametrize("has_wall", [0, 1])
def test_walls_do_not_spoil_the_promise(held: list[Held], has_wall: int) -> None:
    assert 0.92 <= np.mean([one.in_95 for one in held if one.has_wall == has_wall]) <= 0.995


@pytest.mark.parametrize("kind", range(len(KINDS)))
def test_every_roughness_is_covered(held: list[Held], kind: int) -> None:
    assert np.mean([one.in_95 for one in held if one.kind == kind]) >= 0.90


def test_few_yards_are_rougher_than_their_shots_could_show(held: list[Held]) -> None:
    assert sum(one.in_95 < 0.80 for one in held) <= 3


def test_stated_errors_are_not_wide_out_of_caution(held: list[Held]) -> None:
    stated = math.sqrt(np.mean([one.stated_m**2 for one in held]))
    true = math.sqrt(np.mean([one.root_mean_square_m**2 for one in held]))
    assert 0.8 <= stated / true <= 1.6


def test_stated_errors_follow_the_roughness(held: list[Held]) -> None:
    # With 20 shots a rolled lawn must be told from tussocks.
    rolled, tussocks = (
        np.mean([one.stated_m for one in held if one.kind == kind and one.count == 20]) for kind in (0, 3)
    )
    assert tussocks > 2.0 * rolled


def test_ignoring_the_wall_would_break_the_promise() -> None:
    # The same shots without the break line: the plane between two terraces misses by decimetres, and
    # what is then stated is several times what it need be.
    random = np.random.default_rng(SEED)
    yard = build_trial_yard(0, 1, random)
    model, shots = survey(yard, 16, random)
    blind = build_sparse_errors(
        build_shots(shots, np.eye(16) * READING_M**2, tuple(f"S{i}" for i in range(16)), "shots"),
        (),
        math.inf,
    )
    places = pick_inside(shots, 200, random)
    off = np.abs(model.expected(places) - yard.ground(places))
    blind_off = np.abs(blind.expected(places) - yard.ground(places))
    assert np.percentile(blind_off, 90) > 3.0 * np.percentile(off, 90)
    assert blind.standard_error(places).mean() > 2.0 * model.standard_error(places).mean()


def test_believing_the_likeliest_roughness_alone_would_break_the_promise() -> None:
    inside = []
    for kind, count in itertools.product(range(len(KINDS)), COUNTS):
        random = np.random.default_rng((SEED, kind, 0, count))
        yard = build_trial_yard(kind, 0, random)
        model, shots = survey(yard, count, random)
        alone = replace(model, weights=np.ones(1), _parts=model._parts[:1])
        places = pick_inside(shots, PLACES, random)
        low, high = alone.interval(places, 0.95).T
        inside.append(float(((yard.ground(places) >= low) & (yard.ground(places) <= high)).mean()))
    assert np.mean(inside) < 0.93
