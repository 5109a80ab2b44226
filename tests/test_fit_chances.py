"""Chances of the legs in a plan: told for every leg, ordered by the wish, printed with what they rest on."""

from __future__ import annotations

import math
import time
from dataclasses import replace

import numpy as np
import pytest

from optimizer.brief.site import DisplayUnits, Site
from optimizer.fit_chances import gather_feet, reaches, tell_fit
from optimizer.fit_words import (
    list_fit_lines,
    list_near_ends,
    show_chance,
    show_height,
    show_leg_height,
    show_rise,
    show_tallest_leg,
)
from optimizer.pipeline import name_cheapest
from optimizer.plan import Candidate, Plan
from optimizer.plan_file import format_plan
from optimizer.plan_table import draw_plan, name_baseline, show_tallest
from optimizer.schedule_tables import SHOOT_AGAIN, mark_leg
from tests.planned_scene import planned, planned_site


def wish(at_least: float | None) -> Site:
    return replace(planned_site(), wishes=replace(planned_site().wishes, fit_at_least=at_least))


def plan_with(at_least: float | None) -> Plan:
    told = tell_fit(wish(at_least), by_cost())
    return planned().model_copy(update={"candidates": told.candidates, "fit": told.record})


def by_cost() -> tuple[Candidate, ...]:
    return tuple(sorted(planned().candidates, key=lambda one: one.direct_cost_cents))


class TestInThePlan:
    def test_every_leg_and_candidate_is_told_its_chance_and_how_it_was_counted(self) -> None:
        fit = planned().fit
        assert fit is not None
        assert (fit.grounds, fit.seed, fit.at_least, fit.extra_cents) == (10_000, 1, None, None)
        for candidate in planned().candidates:
            assert candidate.fit_chance is not None
            assert candidate.fit_standard_error is not None
            assert 0.0 < candidate.fit_standard_error <= 0.5 / math.sqrt(fit.grounds)
            assert candidate.reaches_fit is None
            for leg in candidate.legs:
                assert leg.fit_chance is not None
                assert leg.height_error_m is not None
                assert candidate.fit_chance <= leg.fit_chance <= 1.0
                assert leg.height_error_m >= math.hypot(fit.bedding_m, fit.frame_m)

    def test_all_that_holds_is_no_likelier_than_its_parts_and_counted_on_the_same_grounds(self) -> None:
        for one in planned().candidates:
            assert one.holds_chance is not None
            assert one.fit_chance is not None
            kinds = {kind.kind: kind.chance for kind in one.hold_chances}
            assert set(kinds) == {"plate", "clearance", "bottom"}
            assert one.holds_chance <= min(one.fit_chance, *kinds.values()) + 1e-12
            # At least what is left when every part fails on grounds of its own (Bonferroni's bound).
            assert one.holds_chance >= 1.0 - (1.0 - one.fit_chance) - sum(
                1.0 - share for share in kinds.values()
            )

    def test_a_leg_is_flagged_within_two_standard_errors_of_an_end_and_not_beyond(self) -> None:
        legs = [leg for candidate in planned().candidates for leg in candidate.legs]
        flagged = [leg for leg in legs if leg.is_near_end]
        assert 0 < len(flagged) < len(legs)
        # A normal height two errors from an end misses it 2.3 % of the time.
        assert all((leg.fit_chance or 0.0) < 0.985 for leg in flagged)
        assert all((leg.fit_chance or 0.0) > 0.97 for leg in legs if not leg.is_near_end)
        assert {mark_leg(leg, None) for leg in flagged} == {SHOOT_AGAIN}

    def test_the_same_site_gives_the_same_bytes(self) -> None:
        assert format_plan(plan_with(0.98)) == format_plan(plan_with(0.98))

    def test_a_site_whose_errors_are_not_known_tells_nothing(self) -> None:
        site = replace(planned_site(), height_errors=None)
        bare = tuple(one.model_copy(update={"fit_chance": None}) for one in by_cost())
        told = tell_fit(site, bare)
        assert told.record is None
        assert told.candidates == bare

    def test_chances_take_less_than_half_a_second(self) -> None:
        tell_fit(planned_site(), by_cost())
        times = []
        for _ in range(5):
            start = time.process_time()
            tell_fit(planned_site(), by_cost())
            times.append(time.process_time() - start)
        assert min(times) < 0.5

    def test_a_worse_reading_gives_a_worse_chance(self) -> None:
        site = planned_site()
        assert site.spreads is not None
        worse = replace(site, spreads=replace(site.spreads, frame_m=0.03, bedding_m=0.03))
        good, bad = (tell_fit(one, by_cost()).candidates[0].fit_chance for one in (site, worse))
        assert good is not None
        assert bad is not None
        assert bad < good - 0.1


class TestWish:
    def test_those_that_reach_it_stand_first_and_the_price_of_the_wish_is_told(self) -> None:
        wished = 0.98
        plan = plan_with(wished)
        marks = [one.reaches_fit is True for one in plan.candidates]
        assert marks == sorted(marks, reverse=True)
        assert set(marks) == {True, False}
        assert [one.name for one in plan.candidates] == [f"candidate {n + 1}" for n in range(len(marks))]
        for one in plan.candidates:
            assert one.reaches_fit is (one.fit_chance is not None and one.fit_chance >= wished)
        cheapest = min(one.price_cents for one in plan.candidates)
        assert plan.candidates[0].price_cents > cheapest
        assert plan.fit is not None
        assert plan.fit.extra_cents == plan.candidates[0].price_cents - cheapest
        page = draw_plan(plan, wish(wished), 110)
        words = " ".join(page.split())
        told = (
            f"{plan.fit.extra_cents / 100:,.2f} {plan.currency} more than the cheapest, among the candidates"
        )
        assert told in words

    def test_where_the_cheapest_is_not_first_it_is_named(self) -> None:
        assert name_cheapest(by_cost()) == "The first"
        assert name_cheapest(plan_with(0.98).candidates) == "Candidate 3"
        assert name_cheapest(()) == "The first"
        assert name_baseline(planned()) == "first candidate"
        assert name_baseline(plan_with(0.98)) == "cheapest candidate"

    def test_a_wish_that_none_reaches_says_so_and_keeps_the_order(self) -> None:
        plan = plan_with(0.999999)
        assert [one.direct_cost_cents for one in plan.candidates] == [
            one.direct_cost_cents for one in by_cost()
        ]
        assert plan.fit is not None
        assert plan.fit.extra_cents is None
        assert "none of the candidates found reaches it" in " ".join(list_fit_lines(plan))

    def test_a_wish_that_the_cheapest_reaches_costs_nothing(self) -> None:
        plan = plan_with(0.5)
        assert plan.fit is not None
        assert plan.fit.extra_cents == 0
        assert "the cheapest of the candidates found reaches it" in " ".join(list_fit_lines(plan))

    def test_as_much_as_wished_reaches_it_and_less_or_unknown_does_not(self) -> None:
        first = planned().candidates[0]
        for share, is_reached in ((0.98, True), (0.9799, False), (None, False)):
            assert reaches(first.model_copy(update={"fit_chance": share}), 0.98) is is_reached


class TestWords:
    @pytest.mark.parametrize(
        ("share", "shown"),
        [(1.0, "100.0"), (0.9999, ">99.9"), (0.9994, "99.9"), (0.0, "0.0"), (0.0001, "<0.1"), (None, "open")],
    )
    def test_what_is_not_certain_is_not_printed_as_such(self, share: float | None, shown: str) -> None:
        assert show_chance(share) == shown

    @pytest.mark.parametrize(
        ("display", "error_m", "shown"),
        [
            (DisplayUnits("mm", 0.001), 0.0061, ("803 mm", "13 mm")),
            (DisplayUnits("mm", 0.001), 0.026, ("805 mm", "55 mm")),
            (DisplayUnits("in", 0.003175), 0.006, ("31 5/8 in", "1/2 in")),
            (DisplayUnits("mm", 0.001), None, ("803 mm", "open")),
        ],
    )
    def test_a_height_is_rounded_to_its_plus_minus(
        self, display: DisplayUnits, error_m: float | None, shown: tuple[str, str]
    ) -> None:
        leg = planned().candidates[0].legs[0]
        one = leg.model_copy(update={"height_m": 0.8032, "height_error_m": error_m})
        assert show_height(replace(planned_site(), display=display), one) == shown

    def test_one_line_carries_the_height_with_its_plus_minus(self) -> None:
        leg = planned().candidates[0].legs[0].model_copy(update={"height_m": 0.8032, "height_error_m": 0.026})
        site = replace(planned_site(), display=DisplayUnits("mm", 0.001))
        assert show_leg_height(site, leg) == "805 mm ± 55 mm"
        assert show_leg_height(site, leg.model_copy(update={"height_error_m": None})) == "803 mm"

    def test_the_rise_carries_twice_the_rough_error_rounded_up(self) -> None:
        site = replace(planned_site(), display=DisplayUnits("mm", 0.001))
        candidate = planned().candidates[0].model_copy(update={"rise_m": 0.8032})
        ground = planned().ground
        for error_m, shown in (
            (0.00551, "12 mm"),
            (0.0055, "11 mm"),
            (0.0, "1 mm"),
        ):
            plan = planned().model_copy(
                update={"ground": ground.model_copy(update={"leave_one_out_m": error_m})}
            )
            assert show_rise(plan, site, candidate) == f"803 mm ± {shown}"
        plan = planned().model_copy(update={"ground": ground.model_copy(update={"leave_one_out_m": None})})
        assert show_rise(plan, site, candidate) == "803 mm"

    def test_the_tallest_leg_of_a_comparison_is_the_one_of_the_plans_table(self) -> None:
        for one in planned().candidates:
            assert show_tallest_leg(planned(), one) == show_tallest(planned_site(), one).replace("\n", " ")
        first = planned().candidates[0]
        assert show_tallest_leg(planned(), first.model_copy(update={"legs": ()})) == "none"

    def test_legs_near_the_end_of_their_range_are_named(self) -> None:
        first = planned().candidates[0]
        legs = tuple(
            leg.model_copy(update={"is_near_end": number in {1, 3}}) for number, leg in enumerate(first.legs)
        )
        told = list_near_ends(first.model_copy(update={"legs": legs}))
        assert f": {legs[1].id}, {legs[3].id}; shoot again" in told
        calm = tuple(leg.model_copy(update={"is_near_end": False}) for leg in legs)
        assert list_near_ends(first.model_copy(update={"legs": calm})) == ""

    def test_a_wish_that_is_not_reached_names_the_least_sure_legs(self) -> None:
        first = planned().candidates[0]
        chances = (0.91, 0.97, 0.9949, 0.80, *(0.996 for _ in first.legs[4:]))
        legs = tuple(
            leg.model_copy(update={"fit_chance": chance})
            for leg, chance in zip(first.legs, chances, strict=True)
        )
        one = first.model_copy(update={"legs": legs, "fit_chance": 0.7, "reaches_fit": False})
        fit = planned().fit
        assert fit is not None
        record = fit.model_copy(update={"at_least": 0.98, "extra_cents": None})
        last = list_fit_lines(planned().model_copy(update={"candidates": (one,), "fit": record}))[-1]
        worst = ", ".join(f"{legs[n].id} ({shown} %)" for n, shown in ((3, "80.0"), (0, "91.0"), (1, "97.0")))
        assert last.startswith(f"Its least sure: {worst}. Shoot again")

    def test_open_ground_is_told_as_open(self) -> None:
        first = planned().candidates[0].model_copy(update={"fit_chance": None, "fit_standard_error": None})
        lines = list_fit_lines(planned().model_copy(update={"candidates": (first,)}))
        assert any("was not surveyed" in line for line in lines)

    def test_a_plan_without_chances_prints_the_rough_error_and_the_spare(self) -> None:
        page = draw_plan(planned().model_copy(update={"fit": None}), planned_site(), 110)
        assert "least spare" in page
        assert "possible grounds" not in page


def test_feet_are_gathered_in_plan() -> None:
    feet = gather_feet(planned().candidates[:1])
    leg = planned().candidates[0].legs[0]
    assert feet.shape == (len(planned().candidates[0].legs), 2)
    assert np.array_equal(feet[0], [leg.x_m, leg.y_m])
    assert gather_feet(()).shape == (0, 2)
