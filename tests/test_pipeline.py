"""The whole flow: what a plan says of itself agrees with the search, the prices and the checker."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.brief.read_site import read_site
from optimizer.errors import InternalError
from optimizer.pipeline import build_candidate, check_again, limit_search_time, make_plan
from optimizer.search.find_layouts import SearchEvent
from optimizer.search.solve import solve_site
from tests.planned_scene import SCENES, planned, planned_site


def test_candidates_come_in_order_of_cost_and_none_fails() -> None:
    plan = planned()
    costs = [candidate.direct_cost_cents for candidate in plan.candidates]
    assert costs == sorted(costs)
    assert len(costs) == 2
    assert [candidate.name for candidate in plan.candidates] == ["candidate 1", "candidate 2"]
    assert all(finding.verdict != "fails" for one in plan.candidates for finding in one.findings)


def test_what_is_proven_is_said_alike_everywhere() -> None:
    plan = planned()
    assert plan.status == "optimal_on_lattice"
    assert plan.gap == 0.0
    assert plan.bound_cents == plan.candidates[0].direct_cost_cents
    assert {candidate.proof for candidate in plan.candidates} == {"proven"}
    assert all(one.bound_cents == one.direct_cost_cents for one in plan.candidates)
    assert plan.search.classes_open == 0
    assert plan.search.height_step_m == plan.search.guard_m == 0.0
    assert plan.conflicts == ()


def test_the_direct_cost_is_what_the_price_lines_add_up_to() -> None:
    for one in planned().candidates:
        direct = sum(line.total_cents for line in one.price_lines if line.group == "direct")
        assert one.direct_cost_cents == direct
        assert one.price_cents == sum(line.total_cents for line in one.price_lines)


def test_the_findings_of_a_plan_are_those_of_a_second_look() -> None:
    for one in planned().candidates:
        assert check_again(one, planned_site()) == one.findings


def test_a_layout_priced_otherwise_than_it_was_searched_stops_the_program() -> None:
    site = planned_site()
    found = solve_site(site).shown[0]
    with pytest.raises(InternalError, match="searched at"):
        build_candidate(site, replace(found, cost_cents=found.cost_cents + 1), "candidate 1")


@pytest.mark.slow
def test_the_time_limit_ends_the_search_and_the_best_so_far_is_given_with_its_gap() -> None:
    site = read_site(SCENES / "rise-away")
    events: list[SearchEvent] = []
    plan = make_plan(limit_search_time(site, 1e-6), events.append)
    assert plan.status in ("feasible", "unknown")
    assert plan.search.classes_open > 0
    assert any(not event.proven for event in events)
    for one in plan.candidates:
        assert one.bound_cents <= one.direct_cost_cents
    if plan.status == "unknown":
        assert plan.candidates == ()
    else:
        assert plan.gap is not None
        assert plan.gap >= 0.0


def test_a_site_for_which_the_catalogue_has_no_part_says_so() -> None:
    site = planned_site()
    heavy = replace(site, rider=replace(site.rider, total_mass_kg=5000.0))
    plan = make_plan(heavy)
    assert plan.candidates == ()
    assert plan.status == "infeasible_on_lattice"
    assert plan.bound_cents is None
    assert plan.gap is None
    assert plan.conflicts
    assert all(conflict.reason and conflict.remedy for conflict in plan.conflicts)
