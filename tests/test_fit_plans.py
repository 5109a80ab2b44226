"""``evenfall spares`` and ``evenfall measure-here``: spares that keep their promise, shots in the yard."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optimizer.brief.read_site import read_site
from optimizer.catalogue.parts import Leg, LowSupport
from optimizer.chance.spare_sets import NoSpareSet, SpareSet
from optimizer.cli import run_command
from optimizer.cli_words import Exit
from optimizer.errors import InputError
from optimizer.fit_plans import (
    SHOTS,
    FitQuestion,
    ask_plan,
    find_plan_shots,
    find_plan_spares,
    find_plan_winners,
)
from optimizer.fit_tables import draw_shots, draw_spares
from optimizer.pipeline import make_plan
from optimizer.plan import Plan
from optimizer.plan_file import write_plan
from tests.planned_scene import NAME, SCENES, planned

SITE, BOOK = SCENES / NAME, SCENES / "level-book"
#: The candidates whose legs fit least often, and most often, counted from 1.
_CHANCES = [one.fit_chance or 0.0 for one in planned().candidates]
WORST, BEST = 1 + _CHANCES.index(min(_CHANCES)), 1 + _CHANCES.index(max(_CHANCES))


@cache
def plan_of_a_book() -> Plan:
    """Its sections take several types of support, so there is something to load."""
    return make_plan(read_site(BOOK))


@pytest.fixture
def booked(tmp_path: Path) -> FitQuestion:
    write_plan(plan_of_a_book(), tmp_path / "book.json")
    return ask_plan(tmp_path / "book.json", BOOK, 1)


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    path = tmp_path / "plan.json"
    write_plan(planned(), path)
    return path


@pytest.fixture
def asked(saved: Path) -> FitQuestion:
    return ask_plan(saved, SITE, WORST)


def run(*words: object) -> int:
    return run_command([str(word) for word in words])


class TestSpares:
    @pytest.mark.parametrize("share", [0.8, 0.95])
    def test_the_promise_holds_on_grounds_that_did_not_choose_them(
        self, booked: FitQuestion, share: float
    ) -> None:
        spares = find_plan_spares(booked, share)
        assert isinstance(spares.found, SpareSet)
        assert spares.promised is not None
        assert spares.promised.share >= share - 4.0 * spares.promised.standard_error
        assert spares.bare.share < spares.promised.share
        catalogue = booked.site.catalogue
        prices: dict[str, Leg | LowSupport] = {one.id: one for one in catalogue.legs}
        prices |= {one.id: one for one in catalogue.low_supports}
        cost = 0
        for one in spares.found.spares:
            part = prices[one.type_id]
            cost += one.count * (part.price_cents + catalogue.part(part.foot).price_cents)
        assert spares.found.cost_cents == cost > 0
        page = draw_spares(booked, spares, 100)
        assert f"Together {cost / 100:,.2f} {booked.plan.currency}" in page
        assert "Promised:" in page

    def test_more_certainty_costs_no_less(self, booked: FitQuestion) -> None:
        found = [find_plan_spares(booked, share).found for share in (0.5, 0.95, 0.96)]
        costs = [one.cost_cents for one in found if isinstance(one, SpareSet)]
        assert len(costs) == 3
        assert costs == sorted(costs)

    def test_what_no_spares_reach_is_said_with_the_legs_that_are_to_blame(self, asked: FitQuestion) -> None:
        # Its yard's sections take one type of leg alone.
        spares = find_plan_spares(asked, 0.95)
        assert isinstance(spares.found, NoSpareSet)
        assert spares.promised is None
        page = draw_spares(asked, spares, 100)
        assert "No spares reach 95.0 %" in page
        assert spares.found.culprits[0] in page

    def test_the_leg_that_no_type_serves_often_enough_is_named(self, booked: FitQuestion) -> None:
        spares = find_plan_spares(booked, 0.99)
        assert isinstance(spares.found, NoSpareSet)
        worst = min(booked.candidate.legs, key=lambda leg: leg.fit_chance or 0.0)
        assert spares.found.culprits == (worst.id,)

    def test_a_ramp_that_fits_without_spares_needs_none(self, saved: Path) -> None:
        asked = ask_plan(saved, SITE, BEST)
        spares = find_plan_spares(asked, 0.95)
        assert isinstance(spares.found, SpareSet)
        assert (spares.found.spares, spares.found.cost_cents) == ((), 0)
        assert spares.promised == spares.bare
        assert "No spare is needed" in draw_spares(asked, spares, 100)

    @pytest.mark.parametrize("share", ["0", "1", "1.2", "-0.5", "nan"])
    def test_a_share_that_is_no_chance_is_refused(
        self, saved: Path, share: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert run("spares", saved, "--site", SITE, f"--share={share}") == Exit.BAD_INPUT
        assert "--share: " in capsys.readouterr().err


class TestMeasureHere:
    def test_shots_lie_on_known_ground_apart_and_each_tells_more(self, asked: FitQuestion) -> None:
        shots = find_plan_shots(asked)
        assert 0 < len(shots.useful) <= SHOTS
        told = [one.removes for one in shots.useful]
        assert told == sorted(told)
        assert all(0.0 < one <= 1.0 for one in told)
        places = np.array([one.xy_m for one in shots.useful])
        assert np.isfinite(asked.model.errors.expected(places)).all()
        away = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
        assert away[~np.eye(len(places), dtype=bool)].min(initial=np.inf) >= 0.25

    def test_there_is_one_shot_for_each_leg_that_stands_on_ground(self, asked: FitQuestion) -> None:
        shots = find_plan_shots(asked)
        feet = {leg.id: (leg.x_m, leg.y_m) for leg in asked.candidate.legs}
        assert {one.leg: one.xy_m for one in shots.at_legs} == feet
        winners = find_plan_winners(asked).winners
        assert sum(one.share for one in winners.first) + winners.none.share == pytest.approx(1.0)
        assert "The cheapest whose legs all fit as planned: candidate" in " ".join(
            draw_shots(asked, shots, find_plan_winners(asked), 100).split()
        )
        page = draw_shots(asked, shots, find_plan_winners(asked), 100)
        assert all(name in page for name in feet)
        assert max(map(len, page.splitlines())) <= 100

    def test_shots_that_may_change_the_winner_are_at_feet_and_on_the_page(self, booked: FitQuestion) -> None:
        found = find_plan_winners(booked)
        feet = {(one.name, leg.id): (leg.x_m, leg.y_m) for one in found.candidates for leg in one.legs}
        assert found.shots
        assert all(feet[one.candidate, one.leg] == one.xy_m for one in found.shots)
        changes = [one.changes for one in found.shots]
        assert changes == sorted(changes, reverse=True)
        # What is not the first now can come out no oftener than it is the first, twice over.
        assert changes[0] <= 2.0 * (1.0 - max(one.share for one in found.winners.first))
        page = draw_shots(booked, find_plan_shots(booked), found, 110)
        assert f"{found.shots[0].candidate} {found.shots[0].leg} " in page.split("may change that")[1]
        none = draw_shots(booked, find_plan_shots(booked), replace(found, shots=()), 110)
        assert "No single shot at a foot is likely to change that." in none

    def test_places_are_told_in_the_surveys_own_coordinates(self, asked: FitQuestion) -> None:
        shots = find_plan_shots(asked)
        x, y = np.array(shots.useful[0].xy_m) + asked.site.origin_shift_m[:2]
        page = draw_shots(asked, shots, find_plan_winners(asked), 100)
        assert f"{1000 * x:.0f} mm" in page
        assert f"{1000 * y:.0f} mm" in page


@pytest.mark.parametrize("verb", ["spares", "measure-here"])
class TestCommands:
    def test_it_prints_the_same_each_time(
        self, saved: Path, verb: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        pages = []
        for _ in range(2):
            assert run(verb, saved, "--site", SITE, "--candidate", WORST) == Exit.ALLOWED
            pages.append(capsys.readouterr().out)
        assert pages[0] == pages[1]
        assert f"candidate {WORST}" in pages[0]

    @pytest.mark.parametrize("number", [0, 9])
    def test_a_candidate_that_is_not_there_is_refused(
        self, saved: Path, verb: str, number: int, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert run(verb, saved, "--site", SITE, "--candidate", number) == Exit.BAD_INPUT
        assert f"--candidate: {number} is not a candidate. The plan has 1 to" in capsys.readouterr().err

    def test_another_site_is_refused(
        self, saved: Path, verb: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert run(verb, saved, "--site", SCENES / "side-yard") == Exit.BAD_INPUT
        assert "was made for" in capsys.readouterr().err

    def test_a_file_that_is_no_plan_is_refused(
        self, tmp_path: Path, verb: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        (tmp_path / "plan.json").write_text("{}")
        assert run(verb, tmp_path / "plan.json", "--site", SITE) == Exit.BAD_INPUT
        assert "is not a plan of this version" in capsys.readouterr().err


def test_a_plan_without_a_layout_has_nothing_to_ask(tmp_path: Path) -> None:
    write_plan(planned().model_copy(update={"candidates": ()}), tmp_path / "plan.json")
    with pytest.raises(InputError, match="there is nothing to ask"):
        ask_plan(tmp_path / "plan.json", SITE, 1)
