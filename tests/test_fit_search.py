"""The least width for which the cheapest layouts reach a wished chance."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.fit_search import TRIES, WIDEST, search_for_fit
from optimizer.fit_words import list_fit_lines
from optimizer.pipeline import make_plan
from optimizer.plan import Candidate
from tests.planned_scene import planned, planned_site

STEP_CENTS = 1000


def with_chance(candidate: Candidate, chance: float, cents: int) -> Candidate:
    return candidate.model_copy(update={"fit_chance": chance, "direct_cost_cents": cents})


class Priced:
    """Candidates whose chance and cost grow with the width their supports fit for, until none is left."""

    def __init__(self, needed_m: float, last_m: float) -> None:
        self.needed_m, self.last_m = needed_m, last_m
        self.asked: list[float] = []

    def find(self, site: Site) -> tuple[Candidate, ...]:
        width_m = site.wishes.survey_error_m
        self.asked.append(width_m)
        if width_m > self.last_m:
            return ()
        chance = 0.99 if width_m >= self.needed_m else 0.5
        return (with_chance(planned().candidates[0], chance, round(1e6 * width_m) + STEP_CENTS),)


def widest() -> float:
    return WIDEST * max(leg.height_error_m or 0.0 for one in planned().candidates for leg in one.legs)


@pytest.mark.parametrize("share", [0.1, 0.35, 0.8])
def test_the_cheapest_width_is_found_within_a_halving_of_the_last_try(share: float) -> None:
    priced = Priced(share * widest(), 2.0 * widest())
    found = search_for_fit(planned_site(), planned().candidates, 0.98, priced.find)
    assert found.candidate is not None
    assert found.width_m >= share * widest()
    assert found.width_m - share * widest() <= widest() / 2 ** (TRIES - 1)
    assert len(priced.asked) == TRIES


def test_where_too_wide_leaves_no_layout_a_narrower_one_is_tried() -> None:
    priced = Priced(0.2 * widest(), 0.3 * widest())
    found = search_for_fit(planned_site(), planned().candidates, 0.98, priced.find)
    assert found.candidate is not None
    assert 0.2 * widest() <= found.width_m <= 0.3 * widest()


def test_a_search_that_was_stopped_is_no_answer_and_ends_the_trying() -> None:
    asked: list[float] = []

    def find(site: Site) -> None:
        asked.append(site.wishes.survey_error_m)

    found = search_for_fit(planned_site(), planned().candidates, 0.98, find)
    assert found.candidate is None
    assert len(asked) == 1


def test_where_none_reaches_it_nothing_is_given() -> None:
    priced = Priced(5.0 * widest(), 9.0 * widest())
    found = search_for_fit(planned_site(), planned().candidates, 0.98, priced.find)
    assert found.candidate is None
    assert found.widest_m == pytest.approx(widest())


def test_a_ramp_is_found_that_reaches_a_wish_the_cheapest_does_not_and_its_price_is_told() -> None:
    site = read_site(Path("scenes/phone-scan"))
    plan = make_plan(replace(site, wishes=replace(site.wishes, fit_at_least=0.95)))
    first, rest = plan.candidates[0], plan.candidates[1:]
    assert plan.fit is not None
    assert plan.fit.width_m is not None
    assert first.reaches_fit
    assert first.proof == "found"
    assert (first.fit_chance or 0.0) >= 0.95
    assert all(not one.reaches_fit for one in rest)
    cheapest = min(rest, key=lambda one: one.direct_cost_cents)
    assert cheapest.direct_cost_cents < first.direct_cost_cents
    assert plan.fit.extra_cents == first.price_cents - min(one.price_cents for one in plan.candidates)
    assert not [one for one in first.findings if one.verdict == "fails"]
    assert "was searched for it" in " ".join(list_fit_lines(plan))
    assert first.bound_cents <= first.direct_cost_cents
