"""What a constraint costs is what solving the site again without it saves; never less than nothing."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from optimizer.brief.site import Site
from optimizer.errors import InternalError
from optimizer.search.constraint_prices import (
    ORDER,
    Baseline,
    ConstraintPrice,
    price_constraints,
)
from optimizer.search.plan_records import record_prices
from optimizer.search.solve_shapes import SolvedShapes, solve_shapes
from optimizer.search.trial_solves import on_one_lattice
from optimizer.search.trials import list_constraints, list_groups
from optimizer.search.trials_of_yard import drop_together
from tests.search.flat_yard import (
    at,
    box_at,
    flat_site,
    with_obstacle,
    with_starts,
    with_wishes,
    with_yard,
    with_zone,
)
from tests.validation.small_yards import build_small_yard

#: A box across the way straight out of the flat yard's door, and one where nothing lies.
IN_THE_RUN = (-0.2, 2.6, 0.2, 2.9)
FAR_OFF = (8.0, 8.0, 8.5, 8.5)


def baseline(solved: SolvedShapes) -> Baseline:
    assert solved.best_cents is not None
    return Baseline(solved.best_cents, solved.status == "optimal_on_lattice", solved.lattice_m)


def price(site: Site) -> dict[str, ConstraintPrice]:
    """Prices by subject, with all the time it takes."""
    found = price_constraints(site, baseline(solve_shapes(site)), budget_s=300.0)
    assert not [one for one in found if one.verdict == "not settled"]
    return {one.subject: one for one in found}


def relief_site(cents: int) -> Site:
    """The flat yard whose lot ends within the setback: relief is bought, for so much."""
    near = box_at(-6.0, -3.2, 6.0, 9.0)
    return with_yard(flat_site(), lot_m=near, setback_m=6.5, setback_kind="needs_relief", relief_cents=cents)


def test_the_setback_costs_what_relief_from_it_costs() -> None:
    found = price(relief_site(12_300))["the setback"]
    assert (found.verdict, found.saving_cents) == ("saves", 12_300)
    assert found.granted_by == "the authority having jurisdiction"
    assert price(relief_site(0))["the setback"].verdict == "costs nothing"


def test_what_stands_far_off_costs_nothing() -> None:
    site = with_zone(with_obstacle(flat_site(), box_at(*FAR_OFF), None), "no_build", box_at(*FAR_OFF))
    found = price(site)
    for subject in ("thing 0", "zone no_build 0"):
        assert (found[subject].verdict, found[subject].saving_cents) == ("costs nothing", 0)


def test_every_constraint_that_can_be_dropped_is_priced_once() -> None:
    site = with_obstacle(flat_site(), box_at(*FAR_OFF), None)
    site = with_wishes(
        site,
        must_pass_m=(at([(0.0, 1.0)])[0],),
        landing_at_m=(at([(0.0, 1.0)])[0],),
        slopes="equal",
        longest_between_rests_m=9.0,
        clear_width_m=0.8,
        steepest=1 / 8.5,
        survey_error_m=0.001,
    )
    trials = list_constraints(with_yard(site, setback_m=0.1, arrivals_m=(box_at(-9, 1, 9, 9),)))
    assert [one.subject for one in trials] == [
        "thing 0",
        "the setback",
        "the arrival zones",
        "must_pass, point 1",
        "landing_at, point 1",
        "equal slopes",
        "the longest walk between landings",
        "the sides to leave by",
        "the number of turns",
        "the wish about the slope",
        "the wish about the width",
        "the error of the survey",
    ]


def test_a_wish_that_is_no_stricter_than_the_rules_is_not_priced() -> None:
    subjects = [one.subject for one in list_constraints(with_wishes(flat_site(), steepest=1 / 8))]
    assert "the wish about the slope" not in subjects
    steeper = list_constraints(with_wishes(flat_site(), steepest=1 / 8 - 1e-6))
    assert "the wish about the slope" in [one.subject for one in steeper]


def test_several_things_are_dropped_together_and_each_alone() -> None:
    site = with_obstacle(flat_site(), box_at(*FAR_OFF), None)
    site = with_zone(with_obstacle(site, box_at(*IN_THE_RUN), None), "vehicle", box_at(*FAR_OFF))
    trials = list_constraints(site)
    group = list_groups(site, trials)[0]
    assert [one.subject for one in group] == ["thing 0", "thing 1", "zone vehicle 0"]
    assert [one.name for one in drop_together(site, group[:1]).yard.obstacles] == ["thing 1"]
    dropped = drop_together(site, group).yard
    assert (dropped.obstacles, dropped.zones) == ((), ())


def test_a_slab_to_stand_on_is_never_dropped_together_with_others() -> None:
    site = with_obstacle(flat_site(), box_at(*FAR_OFF), 0.05, may_stand=True)
    groups = list_groups(site, list_constraints(site))
    assert ["thing 0"] in [[one.subject for one in group] for group in groups]
    assert list_constraints(site)[0].nature == "exchange"


def two_doors(second_u: float, second_m: float) -> Site:
    site = flat_site()
    first = site.yard.starts[0]
    second = replace(
        first, name="back door", midpoint_m=at([(second_u, 0.0)])[0], threshold_m=first.threshold_m + second_m
    )
    return with_starts(site, first, second)


def test_each_of_several_doors_is_priced_alone() -> None:
    site = two_doors(0.5, 0.012)
    found = price(site)
    for start in site.yard.starts:
        alone = solve_shapes(with_yard(site, starts=(start,))).best_cents
        one = found[f"{start.name} alone"]
        assert one.cost_cents == alone
        assert one.saving_cents is not None
        assert one.saving_cents <= 0
    assert any(found[f"{start.name} alone"].verdict == "costs nothing" for start in site.yard.starts)


def test_a_door_that_no_ramp_leaves_is_named_so() -> None:
    # From 0.7 m up one section at 1:8 and the plate do not come down.
    assert price(two_doors(0.5, 0.3))["back door alone"].verdict == "no layout"


def test_one_door_is_not_priced_alone() -> None:
    assert not [subject for subject in price(flat_site()) if subject.endswith("alone")]


def test_a_loosening_that_makes_it_dearer_is_a_bug() -> None:
    site = with_obstacle(flat_site(), box_at(*FAR_OFF), None)
    best = baseline(solve_shapes(site))
    wrong = replace(best, cost_cents=best.cost_cents - 1)
    with pytest.raises(InternalError, match="without thing 0"):
        price_constraints(site, wrong)
    assert price_constraints(site, best)


def test_what_is_not_settled_in_time_has_no_price() -> None:
    site = with_obstacle(flat_site(), box_at(*FAR_OFF), None)
    found = price_constraints(site, baseline(solve_shapes(site)), budget_s=0.0)
    assert {one.verdict for one in found} == {"not settled"}
    assert {one.saving_cents for one in found} == {None}


def test_against_a_best_that_is_not_proven_nothing_is_said_to_save() -> None:
    site = relief_site(12_300)
    found = price_constraints(site, replace(baseline(solve_shapes(site)), is_proven=False))
    assert next(one for one in found if one.subject == "the setback").verdict == "not settled"


def test_the_plan_carries_the_prices_in_their_order() -> None:
    site = relief_site(5_000)
    found = price_constraints(site, baseline(solve_shapes(site)))
    assert [(one.subject, one.saving_cents) for one in record_prices(found)] == [
        (one.subject, one.saving_cents) for one in found
    ]
    assert [ORDER.index(one.verdict) for one in found] == sorted(ORDER.index(one.verdict) for one in found)
    savings = [one.saving_cents or 0 for one in found if one.verdict == "saves"]
    assert savings == sorted(savings, reverse=True)


YARDS = range(24)
LEAST_WITH, LEAST_SAVING, LEAST_FREE = 9, 4, 20


@cache
def built_yards() -> tuple[Site, ...]:
    return tuple(site for site in map(build_small_yard, YARDS) if solve_shapes(site).shapes)


@pytest.mark.slow
def test_the_price_of_every_constraint_is_what_solving_without_it_saves() -> None:
    assert len(built_yards()) >= LEAST_WITH
    saving, free = 0, 0
    for site in built_yards():
        solved = solve_shapes(site)
        best = baseline(solved)
        assert best.is_proven
        found = price(site)
        trials = list_constraints(site)
        assert len(found) == len(trials)
        for trial in trials:
            # Solved again alone, without the ceiling of the best.
            again = solve_shapes(on_one_lattice(trial.changed, best.lattice_m))
            assert again.status in ("optimal_on_lattice", "infeasible_on_lattice")
            cost = best.cost_cents if again.best_cents is None else min(again.best_cents, best.cost_cents)
            one = found[trial.subject]
            assert one.saving_cents == best.cost_cents - cost, f"{site.name}: {trial.subject}"
            assert one.verdict == ("saves" if cost < best.cost_cents else "costs nothing")
            if trial.nature == "loosening":
                assert again.best_cents is not None
                assert again.best_cents <= best.cost_cents
            saving += cost < best.cost_cents
            free += cost == best.cost_cents
    assert saving >= LEAST_SAVING
    assert free >= LEAST_FREE
