from __future__ import annotations

import math

import numpy as np
import pytest

from optimizer.chance.ask_layout import LandingLimits
from optimizer.chance.measure_here import find_useful_shots, spread_places
from optimizer.chance.spare_sets import NoSpareSet, SpareSet, find_spares, measure_served
from optimizer.chance.tell_chances import GROUNDS, ToldCandidate, tell_chances
from optimizer.terrain.ground_error.ground_shots import build_ground_errors
from optimizer.terrain.ground_error.sparse_errors import SparseErrors
from optimizer.terrain.triangulate import build_ground
from tests.chance.made_questions import ERRORS
from tests.standards.ramp_on_a_plane import build_ramp

LIMITS = LandingLimits(1 / 12, 1 / 48, 0.00635)


def tell(reading_m: float, shots: int = 12) -> tuple[ToldCandidate, SparseErrors]:
    """A ramp on a plane, the plane shot at random over the yard."""
    candidate, case = build_ramp()
    corners = np.array([c[:2] for piece in candidate.pieces for c in piece.corners_m])
    low, high = corners.min(axis=0) - 1.0, corners.max(axis=0) + 1.0
    xy = np.vstack([
        [low, [low[0], high[1]], high, [high[0], low[1]]],
        np.random.default_rng(2).uniform(low, high, (shots - 4, 2)),
    ])  # fmt: skip
    plane = np.linalg.lstsq(
        np.column_stack([case.ground.points_m[:, :2], np.ones(4)]), case.ground.points_m[:, 2], rcond=None
    )[0]
    levels = np.column_stack([xy, np.ones(shots)]) @ plane
    ground = build_ground(
        np.column_stack([xy, levels]), tuple(f"S{i}" for i in range(shots)), (), None, None, "spots.csv"
    )
    model = build_ground_errors(ground, np.eye(shots) * reading_m**2, reading_m, math.inf, "spots.csv")
    told = tell_chances(candidate, case.catalogue, ground, model, ERRORS, LIMITS, 1)
    return told, model


def test_a_plan_is_told_its_chances_from_its_own_shots() -> None:
    told, _ = tell(0.003)
    assert len(told.sampled.heights_m) == GROUNDS
    assert told.chances.open_ids == ()
    joint, least = told.candidate.fit_chance, min(leg.fit_chance or 0.0 for leg in told.candidate.legs)
    assert joint is not None
    assert told.chances.all_holds is not None
    assert 0.0 < told.chances.all_holds.share <= joint <= least <= 1.0
    # Legs share errors, so all fit together more often than if each failed by itself.
    assert joint >= np.prod([leg.fit_chance or 0.0 for leg in told.candidate.legs])


def test_a_better_survey_gives_a_better_chance() -> None:
    rough, good = (tell(reading)[0].candidate.fit_chance for reading in (0.03, 0.002))
    assert rough is not None
    assert good is not None
    assert good > rough


def test_spares_and_shots_follow_from_what_was_told() -> None:
    told, model = tell(0.003)
    found = find_spares(told.sampled, 0.95, 1)
    assert isinstance(found, SpareSet | NoSpareSet)
    bare = float(measure_served(told.sampled, ()).mean())
    best = found.share if isinstance(found, SpareSet) else found.best_share
    assert best >= bare >= (told.candidate.fit_chance or 0.0)
    question = told.sampled.question
    shots = find_useful_shots(question, model, ERRORS, spread_places(question, 0.5, 0.5), 0.003, 3)
    assert len(shots) == 3


def test_the_same_input_gives_the_same_chances() -> None:
    first, again = tell(0.003)[0], tell(0.003)[0]
    assert first.candidate == again.candidate
    assert first.chances == again.chances


def test_errors_of_a_ground_need_one_row_a_level() -> None:
    from optimizer.errors import InputError

    _, case = build_ramp()
    with pytest.raises(InputError, match="4 levels"):
        build_ground_errors(case.ground, np.eye(3), 0.003, math.inf, "spots.csv")
