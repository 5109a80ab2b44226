from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from optimizer.chance.joint_chance import count_chance, is_near_end, measure_chances
from optimizer.chance.layout_question import SettingErrors
from optimizer.chance.sampled_layout import sample_layout
from optimizer.chance.spare_sets import NoSpareSet, Spare, SpareSet, find_spares, measure_served
from optimizer.errors import InputError
from tests.chance.made_questions import (
    MIDDLE,
    NONE,
    SHORT,
    TALL,
    NormalGround,
    ask,
    lay_feet,
    with_spot,
)

FEET = lay_feet(4)
FLAT = np.zeros(4)


def ground(error_m: float) -> NormalGround:
    return NormalGround(FEET, FLAT, error_m**2 * np.eye(4))


def test_a_share_has_the_binomial_s_error() -> None:
    holds = np.arange(10_000) < 9_000
    chance = count_chance(holds)
    assert chance.share == 0.9
    assert chance.standard_error == pytest.approx(0.003, rel=0.01)


@pytest.mark.parametrize("value", [True, False])
def test_a_share_of_all_or_none_is_not_told_as_certain(*, value: bool) -> None:
    chance = count_chance(np.full(10_000, value))
    assert chance.share == float(value)
    assert 0.5e-4 < chance.standard_error < 2e-4


@pytest.mark.parametrize(
    ("height", "near"),
    [(0.12, True), (0.1200001, False), (0.10, True), (0.05, True), (0.28, True), (0.27999, False)],
)
def test_two_standard_errors_from_an_end_is_near_it(height: float, *, near: bool) -> None:
    assert is_near_end(height, 0.01, 0.10, 0.30) is near


def test_near_ends_are_flagged_leg_by_leg() -> None:
    question = ask(FEET, FLAT, np.array([0.20, 0.31, 0.60, 1.0]))
    legs = measure_chances(sample_layout(question, ground(0.02), NONE, 4000, 1)).legs
    assert [leg.is_near_end for leg in legs] == [False, True, False, False]
    assert [leg.standard_error_m for leg in legs] == pytest.approx([0.02] * 4, rel=0.05)
    assert [leg.height_m for leg in legs] == pytest.approx([leg.planned_m for leg in legs], abs=0.002)


def test_legs_in_the_middle_of_their_ranges_are_sure() -> None:
    question = ask(FEET, FLAT, np.array([0.20, 0.20, 0.53, 1.0]))
    chances = measure_chances(sample_layout(question, ground(0.01), NONE, 2000, 1))
    assert chances.legs_fit is not None
    assert chances.legs_fit.share == 1.0
    assert chances.kinds == ()


def test_a_leg_on_the_end_itself_fits_half_the_time() -> None:
    question = ask(FEET, FLAT, np.array([SHORT.high_m, 0.2, 0.2, 0.2]))
    leg = measure_chances(sample_layout(question, ground(0.01), NONE, 10_000, 1)).legs[0]
    assert leg.chance is not None
    assert leg.chance.share == pytest.approx(0.5, abs=0.018)


def test_the_same_seed_gives_the_same_chances() -> None:
    question = ask(FEET, FLAT, np.array([0.32, 0.31, 0.6, 1.0]))
    first, again, other = (sample_layout(question, ground(0.02), NONE, 500, seed) for seed in (4, 4, 5))
    assert (first.heights_m == again.heights_m).all()
    assert (first.heights_m != other.heights_m).any()


@pytest.mark.parametrize("name", ["bedding_m", "frame_m", "threshold_m", "built_m"])
@pytest.mark.parametrize("value", [-0.001, math.nan, math.inf])
def test_errors_that_are_none_are_refused_by_name(name: str, value: float) -> None:
    question = ask(FEET, FLAT, np.full(4, 0.2))
    with pytest.raises(InputError, match=f"errors.{name}"):
        sample_layout(question, ground(0.01), replace(NONE, **{name: value}), 10, 1)


def test_all_wrong_errors_come_at_once() -> None:
    wrong = SettingErrors(-1.0, math.nan, -1.0, math.inf)
    with pytest.raises(InputError) as raised:
        sample_layout(ask(FEET, FLAT, np.full(4, 0.2)), ground(0.01), wrong, 10, 1)
    assert len(raised.value.faults) == 4


def test_a_foot_on_a_slab_has_the_slab_s_error() -> None:
    question = with_spot(ask(FEET, FLAT, np.full(4, 0.2)), 0, built_level_m=0.05)
    sampled = sample_layout(question, ground(0.02), replace(NONE, built_m=0.001), 4000, 1)
    assert sampled.heights_m[:, 0].mean() == pytest.approx(0.15, abs=1e-3)
    assert sampled.heights_m[:, 0].std() == pytest.approx(0.001, rel=0.05)
    assert sampled.heights_m[:, 1].std() == pytest.approx(0.02, rel=0.05)


def test_legs_that_are_sure_need_no_spares() -> None:
    sampled = sample_layout(ask(FEET, FLAT, np.full(4, 0.2)), ground(0.001), NONE, 200, 1)
    assert find_spares(sampled, 1.0, 1) == SpareSet((), 0, 1.0)


def test_a_leg_at_the_end_of_its_range_asks_for_the_next_type() -> None:
    heights = np.array([SHORT.high_m - 0.001, 0.15, 0.15, 0.15])
    sampled = sample_layout(ask(FEET, FLAT, heights), ground(0.01), NONE, 2000, 1)
    found = find_spares(sampled, 0.95, 1)
    assert isinstance(found, SpareSet)
    assert found.spares == (Spare("middle", 1),)
    assert found.cost_cents == MIDDLE.spare_cents
    assert measure_served(sampled, found.spares).mean() == found.share >= 0.95
    assert measure_served(sampled, ()).mean() < 0.6


def test_types_that_the_piece_does_not_take_do_not_help() -> None:
    heights = np.array([SHORT.high_m - 0.001, 0.15, 0.15, 0.15])
    question = with_spot(ask(FEET, FLAT, heights), 0, options=("short",))
    found = find_spares(sample_layout(question, ground(0.01), NONE, 2000, 1), 0.95, 1)
    assert isinstance(found, NoSpareSet)
    assert found.culprits == ("L01",)
    assert 0.4 < found.best_share < 0.7


def test_a_gap_between_types_is_told_by_its_leg() -> None:
    types = (SHORT, replace(MIDDLE, low_m=0.35), TALL)
    heights = np.array([0.20, 0.34, 0.5, 0.9])
    sampled = sample_layout(ask(FEET, FLAT, heights, types), ground(0.004), NONE, 2000, 1)
    found = find_spares(sampled, 0.95, 1)
    assert isinstance(found, NoSpareSet)
    assert found.culprits == ("L02",)


def test_legs_may_change_places() -> None:
    # One leg grows out of 'short' when the other shrinks out of 'middle': the van needs nothing.
    places = lay_feet(2)
    mirrored = NormalGround(places, np.zeros(2), 0.05**2 * np.array([[1.0, -1.0], [-1.0, 1.0]]))
    types = (replace(SHORT, high_m=0.30), replace(MIDDLE, low_m=0.30))
    question = ask(places, np.zeros(2), np.array([0.2999, 0.3001]), types)
    sampled = sample_layout(question, mirrored, NONE, 1000, 1)
    assert 0.4 < sampled.fits.all(axis=1).mean() < 0.6
    found = find_spares(sampled, 0.99, 1)
    assert isinstance(found, SpareSet)
    assert found.spares == ()


def test_the_answer_is_the_same_every_time() -> None:
    heights = np.array([0.33, 0.30, 0.62, 0.79])
    sampled = sample_layout(ask(FEET, FLAT, heights), ground(0.04), NONE, 3000, 1)
    answers = {repr(find_spares(sampled, 0.95, 7)) for _ in range(5)}
    assert len(answers) == 1


@pytest.mark.parametrize("share", [0.0, -0.1, 1.0001, math.nan])
def test_a_share_that_is_none_is_refused(share: float) -> None:
    sampled = sample_layout(ask(FEET, FLAT, np.full(4, 0.2)), ground(0.001), NONE, 20, 1)
    with pytest.raises(InputError, match="share"):
        find_spares(sampled, share, 1)


def test_spares_over_open_ground_are_refused_by_leg() -> None:
    model = NormalGround(FEET, np.array([0.0, np.nan, 0.0, np.nan]), np.eye(4) * 1e-6)
    sampled = sample_layout(ask(FEET, FLAT, np.full(4, 0.2)), model, NONE, 20, 1)
    with pytest.raises(InputError) as raised:
        find_spares(sampled, 0.95, 1)
    assert [fault.where for fault in raised.value.faults] == ["L02", "L04"]


def test_too_many_types_are_refused() -> None:
    types = tuple(replace(SHORT, id=f"t{i}") for i in range(11))
    sampled = sample_layout(ask(FEET, FLAT, np.full(4, 0.2), types), ground(0.01), NONE, 20, 1)
    with pytest.raises(InputError, match="11 types"):
        find_spares(sampled, 0.95, 1)
