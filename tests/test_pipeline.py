"""The whole flow: what a plan says of itself agrees with the search, the prices and the checker."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.errors import InternalError
from optimizer.pipeline import build_candidate, check_again, limit_search_time, make_plan
from optimizer.search.answers import SearchEvent
from optimizer.search.solve import solve_site
from optimizer.search.solve_shapes import Stop
from tests.planned_scene import planned, planned_site


def test_candidates_come_in_order_of_cost_and_none_fails() -> None:
    plan = planned()
    costs = [candidate.direct_cost_cents for candidate in plan.candidates]
    assert costs == sorted(costs)
    assert 2 <= len(costs) <= planned_site().wishes.shown
    names = [candidate.name for candidate in plan.candidates]
    assert names == [f"candidate {n + 1}" for n in range(len(costs))]
    assert all(finding.verdict != "fails" for one in plan.candidates for finding in one.findings)


def test_what_is_proven_is_said_alike_everywhere() -> None:
    plan = planned()
    assert plan.status == "optimal_on_lattice"
    assert plan.gap == 0.0
    assert plan.bound_cents == plan.candidates[0].direct_cost_cents
    assert plan.candidates[0].proof == "proven"
    for one in plan.candidates:
        assert (one.proof == "proven") is (one.bound_cents == one.direct_cost_cents)
        if one.proof != "proven":
            gap = 100.0 * (one.direct_cost_cents - one.bound_cents) / one.direct_cost_cents
            assert one.proof == f"gap {gap:.1f} %"
        # No layout of any shape costs less than the cheapest of all.
        assert plan.bound_cents <= one.bound_cents <= one.direct_cost_cents
    assert plan.conflicts == ()


def test_the_certificate_says_what_was_searched_and_how() -> None:
    record, site = planned().search, planned_site()
    assert record.lattice_m == site.search.lattice_m
    assert record.height_step_m == site.search.height_step_m
    assert record.guard_m == 0.0
    assert len(record.slopes) == site.search.slope_levels
    assert record.longest_run_m == site.search.longest_run_m
    assert record.shapes_found >= len(planned().candidates)
    assert record.rounds
    assert record.rounds[-1].lattice_m == record.lattice_m
    for text in (f"at most {record.most_runs} runs", f"every {record.lattice_m:.3f} m", "proven cheapest"):
        assert text in record.statement


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


def test_the_time_limit_ends_the_search_and_the_best_so_far_is_given_with_its_gap() -> None:
    events: list[SearchEvent] = []
    plan = make_plan(limit_search_time(planned_site(), 1e-6), events.append)
    assert plan.status in ("feasible", "unknown")
    assert planned().bound_cents is not None
    assert plan.bound_cents is None or plan.bound_cents <= planned().bound_cents
    for one in plan.candidates:
        assert one.bound_cents <= one.direct_cost_cents
    if plan.status == "unknown":
        assert plan.candidates == ()
        assert plan.gap is None
        assert "time limit" in plan.conflicts[0].reason
    else:
        assert plan.gap is not None
        assert plan.gap >= 0.0


def test_a_cancelled_plan_is_no_proof() -> None:
    stop = Stop()
    stop.cancel()
    plan = make_plan(planned_site(), None, stop)
    assert (plan.status, plan.candidates) == ("unknown", ())
    assert "cancelled" in plan.conflicts[0].reason


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
