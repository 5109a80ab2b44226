"""The figures of the first screen, against the plan and against hand counts."""

from __future__ import annotations

import math

import pytest

from optimizer.plan import Piece
from tests.viewer.page.made_job import made_plan, made_site
from viewer.page.key_figures import (
    EASY_SLOPE,
    STEADY_SLOPE,
    format_long,
    format_run,
    list_key_figures,
    measure_longest_stretch,
)


def test_the_figures_are_the_plans() -> None:
    plan = made_plan()
    for figures, candidate in zip(list_key_figures(plan, made_site()), plan.candidates, strict=True):
        assert figures.price_cents == candidate.price_cents
        assert figures.walk_m == candidate.walking_length_m
        assert figures.slope == candidate.steepest_slope
        assert figures.tallest is not None
        assert figures.tallest.height_m == max(leg.height_m for leg in candidate.legs if leg.kind == "leg")
        assert figures.tax_cents == next(
            line.total_cents for line in candidate.price_lines if line.part == "tax"
        )
        assert figures.has_delivery


def test_shapes_are_told_in_plain_words() -> None:
    straight, folded, turned = list_key_figures(made_plan(), made_site())
    assert [one.shape for one in (straight, folded, turned)] == ["straight", "folded", "one_turn"]
    assert folded.way == ("exit_right", "then_half_left")
    assert [one.landings for one in (straight, folded, turned)] == [1, 2, 2]
    assert {one.steps for one in (straight, folded, turned)} == {"steps_none"}


def test_limits_that_are_missed_are_counted_for_the_client() -> None:
    plan = made_plan()
    fails = [sum(one.verdict == "fails" for one in candidate.findings) for candidate in plan.candidates]
    assert [one.unmet for one in list_key_figures(plan, made_site())] == fails
    assert fails[0] == 0
    assert fails[1] > 0


@pytest.mark.parametrize(
    ("slope", "shown"),
    [
        (1 / 12, "12"),
        (1 / 12 + 1e-4, "11"),  # a hair steeper is never told as 1 in 12
        (0.0832, "12"),
        (1 / 20, "20"),
        (1 / 8, "8"),
        (2 / 17, "8.5"),
        (0.118, "8.4"),
        (-1 / 12, "12"),
        (0.0, ""),
    ],
)
def test_a_slope_in_words_is_never_told_flatter_than_it_is(slope: float, shown: str) -> None:
    assert format_run(slope) == shown


@pytest.mark.parametrize(
    ("slope", "push"),
    [
        (EASY_SLOPE, "push_easy"),
        (EASY_SLOPE + 1e-4, "push_steady"),
        (STEADY_SLOPE, "push_steady"),
        (STEADY_SLOPE + 1e-4, "push_helper"),
    ],
)
def test_what_is_said_of_pushing_goes_by_the_steepest_slope(slope: float, push: str) -> None:
    plan = made_plan()
    first = plan.candidates[0].model_copy(update={"steepest_slope": slope})
    (figures,) = list_key_figures(plan.model_copy(update={"candidates": (first,)}), made_site())
    assert figures.push == push


def _lay(kind: str, start_m: float, length_m: float) -> Piece:
    corners = [(start_m, 0, 0), (start_m, 1, 0), (start_m + length_m, 1, -0.1), (start_m + length_m, 0, -0.1)]
    values = {"id": "P", "catalogue_id": "x", "kind": kind, "use": None, "run": None}
    return Piece.model_validate({**values, "corners_m": tuple(corners), "slope": 0.1})


def test_the_longest_slope_without_a_rest_starts_anew_at_each_landing() -> None:
    row = (
        _lay("landing", 0, 1.5),
        _lay("section", 1.5, 2.0),
        _lay("section", 3.5, 1.0),
        _lay("landing", 4.5, 1.5),
        _lay("section", 6.0, 2.5),
        _lay("transition_plate", 8.5, 0.9),
        _lay("bottom_pad", 9.4, 1.5),
    )
    assert math.isclose(measure_longest_stretch(row), 3.4)
    assert math.isclose(measure_longest_stretch(row[:5]), 3.0)


def test_lengths_that_are_paced_are_told_without_small_change() -> None:
    assert format_long(9.4932, made_site()) == "9.5 m"
