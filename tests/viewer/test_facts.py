"""What a window, a model file and a still say of a leg's height."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.brief.site import DisplayUnits, Site
from optimizer.plan import Candidate, SupportLeg
from viewer.facts import build_words, list_leg_facts


@pytest.fixture
def leg(candidate: Candidate) -> SupportLeg:
    first = candidate.legs[0]
    return first.model_copy(update={"height_m": 0.8032, "fit_chance": 0.9999, "height_error_m": 0.0061})


def facts_of(site: Site, candidate: Candidate, leg: SupportLeg) -> dict[str, str]:
    shown = replace(site, display=DisplayUnits("mm", 0.001))
    return dict(list_leg_facts(build_words(shown, candidate), leg))


def test_a_height_carries_its_plus_minus(site: Site, candidate: Candidate, leg: SupportLeg) -> None:
    assert facts_of(site, candidate, leg)["height"] == "803 mm ± 13 mm"


def test_a_height_without_an_error_stands_alone(site: Site, candidate: Candidate, leg: SupportLeg) -> None:
    bare = leg.model_copy(update={"height_error_m": None})
    assert facts_of(site, candidate, bare)["height"] == "803 mm"


def test_a_chance_that_is_not_certain_is_not_told_as_such(
    site: Site, candidate: Candidate, leg: SupportLeg
) -> None:
    assert facts_of(site, candidate, leg)["chance that it fits"] == ">99.9 %"


def test_a_leg_near_the_end_of_its_range_says_so(site: Site, candidate: Candidate, leg: SupportLeg) -> None:
    near = leg.model_copy(update={"is_near_end": True})
    assert "shoot again" in facts_of(site, candidate, near)
    assert "shoot again" not in facts_of(site, candidate, leg.model_copy(update={"is_near_end": False}))
