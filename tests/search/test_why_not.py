"""Every remedy that is named really makes room, what would not help is not named, and the smallest is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.brief.site import Site
from optimizer.search.plan_records import record_conflicts, record_trials
from optimizer.search.solve_shapes import solve_shapes
from optimizer.search.trial_records import Family
from optimizer.search.trials import list_trials
from optimizer.search.trials_of_parts import list_gaps
from optimizer.search.trials_of_yard import move_out
from optimizer.search.why_not import Remedy, WhyNot, explain_no_layout, find_remedies
from tests.search.flat_yard import (
    BOTTOM_M,
    HAIR,
    LANDING_FRAME_M,
    OUT,
    RAMP,
    SLOPE,
    THRESHOLD_M,
    at,
    box_at,
    flat_site,
    leg_of,
    with_legs,
    with_obstacle,
    with_parts,
    with_search,
    with_start,
    with_stock,
    with_wishes,
    with_yard,
    with_zone,
)
from tests.validation.small_yards import build_small_yard

#: Where nothing of the flat yard's ramp ever lies.
FAR_POINT = at([(-20.0, -20.0)])[0]
#: What a leg at the door must measure.
LEG_M = THRESHOLD_M - LANDING_FRAME_M


def explain(site: Site) -> WhyNot:
    """Why not, and with all the time it takes."""
    assert solve_shapes(site).status == "infeasible_on_lattice"
    why = explain_no_layout(site, budget_s=300.0, each_s=60.0)
    assert why.open == ()
    return why


def changes(site: Site) -> list[str]:
    return [one.change for one in explain(site).remedies]


def remedy(site: Site, change: str) -> Remedy:
    return next(one for one in explain(site).remedies if one.change == change)


def in_the_run() -> tuple[float, float, float, float]:
    return (-0.2, 2.6, 0.2, 2.9)


def far_off(number: int) -> tuple[float, float, float, float]:
    return (8.0 + number, 8.0, 8.5 + number, 8.5)


def test_the_obstacle_in_the_way_is_named_and_another_is_not() -> None:
    site = with_obstacle(flat_site(), box_at(*far_off(0)), None)
    why = explain(with_obstacle(site, box_at(*in_the_run()), None))
    assert "moving thing 1 out of the way" in [one.change for one in why.remedies]
    assert "moving thing 0 out of the way" in why.useless


def test_the_zone_in_the_way_is_named_with_who_may_waive_it_and_another_is_not() -> None:
    site = with_zone(flat_site(), "no_build", box_at(*far_off(0)))
    site = with_zone(site, "vehicle", box_at(*in_the_run()))
    first, second = site.yard.zones
    site = with_yard(site, zones=(first, replace(second, waived_by="the owner of the drive")))
    assert remedy(site, "a waiver for vehicle 1").granted_by == "the owner of the drive"
    assert "a waiver for no_build 0" in explain(site).useless


def test_of_two_things_in_the_way_neither_alone_is_a_remedy() -> None:
    site = with_zone(flat_site(), "vehicle", box_at(*in_the_run()))
    why = explain(with_obstacle(site, box_at(*in_the_run()), None))
    assert {"moving thing 0 out of the way", "a waiver for vehicle 0"} <= set(why.useless)


def test_relief_from_the_setback_is_named_where_it_makes_room() -> None:
    site = with_yard(flat_site(), lot_m=box_at(-29.0, -29.0, 29.0, RAMP.tip_m + BOTTOM_M + 0.1))
    assert solve_shapes(site).shapes
    found = remedy(with_yard(site, setback_m=1.5), "relief from the setback")
    assert found.granted_by == "the authority having jurisdiction"
    assert found.cost_cents == solve_shapes(site).best_cents


def test_one_run_more_is_named_where_one_run_is_too_few() -> None:
    site = with_start(flat_site(), threshold_m=THRESHOLD_M + SLOPE * RAMP.run_plan_m)
    # Steeper would overshoot: one section at 1:6 leaves the hinge too high for the plate still.
    assert "a layout of 2 runs" in changes(site)
    assert solve_shapes(with_search(site, most_runs=2)).shapes


def test_a_steeper_slope_is_named_where_the_ramp_is_too_short() -> None:
    # 0.5 m of rise on one section: at 1:8 the plate does not reach, at 1:6 it does.
    site = with_start(flat_site(), threshold_m=0.5)
    assert remedy(site, "a slope of 1:6, if the rules and the rider allow it").is_smallest
    steps = [step.change for family in list_trials(site).families for step in family.steps]
    assert [one for one in steps if one.startswith("a slope")] == [
        "a slope of 1:6, if the rules and the rider allow it"
    ]


@pytest.mark.parametrize(
    ("short_m", "needed"),
    [(0.6 - HAIR, "600 mm"), (0.6, "600 mm"), (0.6 + HAIR, "900 mm")],
    ids=["just inside a step", "exactly a step", "just outside a step"],
)
def test_the_least_depth_of_the_lot_that_does_is_named(short_m: float, needed: str) -> None:
    deep = RAMP.tip_m + BOTTOM_M - short_m
    why = explain(with_yard(flat_site(), lot_m=box_at(-29.0, -29.0, 29.0, deep)))
    depth = [one for one in why.remedies if "away from the door" in one.change]
    assert [one.change for one in depth] == [f"{needed} more of the lot away from the door"]
    assert depth[0].is_smallest
    assert {
        f"3000 mm more of the lot to the {side} of the door, looking out" for side in ("left", "right")
    } <= {*why.useless, *(sentence.split(" was not")[0] for sentence in why.cannot_try)} or why.cannot_try


def test_a_lot_is_swept_the_way_it_is_moved_out() -> None:
    site = with_yard(flat_site(), lot_m=box_at(-5.0, -4.0, 5.0, 6.0))
    swept = move_out(site, OUT, 0.9)
    assert swept is not None
    u_v = (swept - at([(0.0, 0.0)])[0]) @ OUT
    assert u_v.min() == pytest.approx(-4.0)
    assert u_v.max() == pytest.approx(6.9)


def test_a_lot_is_not_moved_out_where_nothing_was_surveyed() -> None:
    site = with_yard(flat_site(), lot_m=box_at(-29.0, -29.0, 29.0, 30.0))
    assert move_out(site, OUT, 0.3) is None
    assert any(
        "away from the door" in sentence and "survey" in sentence for sentence in list_trials(site).cannot_try
    )


@pytest.mark.parametrize(
    ("missing_m", "more"), [(0.15 - HAIR, 0.15), (0.15, 0.15), (0.15 + HAIR, 0.3), (0.6 + HAIR, None)]
)
def test_the_least_taller_leg_that_does_is_named(missing_m: float, more: float | None) -> None:
    site = with_legs(flat_site(), flat_site().catalogue.legs[0].id)
    leg = site.catalogue.legs[0]
    tall = LEG_M - missing_m + leg.reserve_m
    site = with_parts(site, legs=(replace(leg, min_m=-2.0, max_m=tall),))
    found = [one for one in changes(site) if one.startswith("a leg to")]
    expected = (
        [] if more is None else [f"a leg to {1000 * (tall + more):.0f} mm (at the price of {leg.name})"]
    )
    assert found == expected


def test_a_leg_for_the_heights_between_two_is_named() -> None:
    whole = flat_site()
    low, high = whole.catalogue.legs[0], whole.catalogue.legs[1]
    legs = (
        replace(low, min_m=0.0, max_m=LEG_M - 0.02 + low.reserve_m),
        replace(high, min_m=LEG_M + 0.02 - high.reserve_m, max_m=2.0),
    )
    site = with_parts(whole, legs=legs)
    assert [(round(a - LEG_M, 9), round(b - LEG_M, 9)) for a, b, _ in list_gaps(legs)] == [(-0.02, 0.02)]
    assert [one for one in changes(site) if one.startswith("a leg for heights from")]


def test_legs_that_meet_have_no_gap_between_them() -> None:
    legs = flat_site().catalogue.legs[:2]
    first = replace(legs[0], min_m=0.1, max_m=0.5)
    second = replace(legs[1], min_m=0.5 - first.reserve_m - legs[1].reserve_m, max_m=0.9)
    assert list_gaps((first, second)) == ()
    assert len(list_gaps((first, replace(second, min_m=second.min_m + HAIR)))) == 1


def test_half_the_survey_s_error_is_named_where_the_whole_is_too_much_for_the_legs() -> None:
    site = with_legs(flat_site(), flat_site().catalogue.legs[0].id)
    leg = site.catalogue.legs[0]
    site = with_parts(
        site,
        legs=(replace(leg, min_m=-2.0, max_m=LEG_M + 0.012 + leg.reserve_m),),
        low_supports=tuple(replace(one, min_m=-1.0, max_m=1.0) for one in site.catalogue.low_supports),
    )
    site = with_wishes(site, survey_error_m=0.02)
    assert "levels good to 10 mm" in changes(site)
    assert "levels good to 13 mm" not in changes(with_wishes(site, survey_error_m=0.026))


@pytest.mark.parametrize("lock", ["must_pass", "landing_at"])
def test_a_lock_that_no_ramp_can_keep_is_named(lock: str) -> None:
    site = with_wishes(flat_site(), **{f"{lock}_m": (FAR_POINT,)})
    words = {
        "must_pass": "a way that leaves out point 1 of must_pass",
        "landing_at": "no landing at point 1 of landing_at",
    }
    found = remedy(site, words[lock])
    assert found.granted_by == "the client"
    assert found.cost_cents == solve_shapes(flat_site()).best_cents


def test_of_two_locks_that_no_ramp_can_keep_neither_alone_is_a_remedy() -> None:
    site = with_wishes(flat_site(), must_pass_m=(FAR_POINT, FAR_POINT))
    assert not [one for one in changes(site) if "must_pass" in one]


def test_a_walk_that_is_wished_too_short_is_named() -> None:
    site = with_wishes(flat_site(), longest_between_rests_m=2.0)
    assert [one for one in changes(site) if one.startswith("walking further than 2000 mm")]


def test_leaving_by_another_side_is_named_where_the_front_is_blocked() -> None:
    site = with_obstacle(flat_site(), box_at(*in_the_run()), None)
    assert "leaving the door's landing by any side" in changes(site)


def test_no_remedy_is_named_that_stock_still_forbids() -> None:
    # Every threshold plate is out: nothing in the yard or the rules brings one back.
    site = with_stock(
        with_obstacle(flat_site(), box_at(*far_off(0)), None), threshold_2=0, threshold_5=0, threshold_9=0
    )
    assert [one.change for one in find_remedies(site)] == ["buying parts beyond the stock"]


def test_stock_that_runs_out_during_naming_is_named_and_nothing_else() -> None:
    site = with_stock(with_zone(flat_site(), "no_build", box_at(*far_off(0))), plate_36=1, rail_post=0)
    post = site.catalogue.rail_posts[0].id
    site = with_stock(site, **{post.replace("-", "_"): 0, "section_96": 0})
    assert "buying parts beyond the stock" in [one.change for one in find_remedies(site)]
    assert "a waiver for no_build 0" not in [one.change for one in find_remedies(site)]


def test_an_arrival_zone_out_of_reach_is_named_as_what_is_in_the_way() -> None:
    site = with_yard(flat_site(), arrivals_m=(box_at(*far_off(0)),))
    assert "landing outside the arrival zones" in changes(site)


def test_what_is_not_tried_in_time_is_said_and_not_called_useless() -> None:
    site = with_obstacle(flat_site(), box_at(*in_the_run()), None)
    why = explain_no_layout(site, budget_s=0.0)
    assert why.remedies == ()
    assert why.useless == ()
    assert len(why.open) == len(list_trials(site).families)
    assert any(sentence.startswith("Not settled in time: moving thing 0") for sentence in record_trials(why))


def test_the_plan_carries_cost_and_grantor_of_every_remedy() -> None:
    why = explain(with_zone(flat_site(), "vehicle", box_at(*in_the_run())))
    conflicts = record_conflicts(why)
    assert [one.cost_cents for one in conflicts] == [one.cost_cents for one in why.remedies]
    assert [one.granted_by for one in conflicts] == [one.granted_by for one in why.remedies]


#: Small yards without a ramp, of those that are searched fastest.
BARE_YARDS = (0, 2, 4, 5, 8, 16, 17, 22)


def named_step(family: Family, why: WhyNot) -> int | None:
    """Which step of a family was named."""
    named = {(one.reason, one.change) for one in why.remedies}
    return next((n for n, step in enumerate(family.steps) if (step.reason, step.change) in named), None)


@pytest.mark.slow
def test_every_remedy_named_makes_a_ramp_and_no_trial_that_was_not_named_does() -> None:
    kinds = set()
    for site in map(build_small_yard, BARE_YARDS):
        why = explain(site)
        families = list_trials(site).families
        assert len(why.remedies) + len(why.useless) == len(families)
        for family in families:
            n = named_step(family, why)
            # Solved again without any budget, coarse look or ceiling.
            solved = [solve_shapes(step.changed) for step in family.steps[: None if n is None else n + 1]]
            failing = solved if n is None else solved[:-1]
            assert {one.status for one in failing} <= {"infeasible_on_lattice"}, family.steps[0].change
            if n is not None:
                found = next(one for one in why.remedies if one.change == family.steps[n].change)
                assert solved[-1].best_cents == found.cost_cents
                assert found.cost_is_least
                assert found.is_smallest
                kinds.add(family.steps[0].subject)
    assert len(kinds) >= 4, f"only {kinds} were ever named"


def test_the_legs_of_a_yard_are_those_that_carry_the_rider() -> None:
    site = flat_site()
    heavy = replace(site, rider=replace(site.rider, total_mass_kg=1e6))
    assert not [
        step
        for family in list_trials(heavy).families
        for step in family.steps
        if step.change.startswith("a leg")
    ]
    assert leg_of(site, site.catalogue.legs[0].id).rated_load_kg < 1e6
