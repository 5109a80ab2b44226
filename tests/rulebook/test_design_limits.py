"""The strictest of every binding set, as the search and the layout keep it."""

import math
from dataclasses import replace

import pytest

from optimizer.rulebook.bound import BoundSet, Role, Rulings
from optimizer.rulebook.build_design_limits import DEFAULT_BOTTOM_M, build_design_limits
from optimizer.rulebook.design_limits import DesignLimits, LandingNeed
from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.own_limits import OwnLimits, build_own_limits
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.rules import HowKnown, Limit, Place, Quantity, RuleSet

INCH_M = 0.0254
LEAF_M = 0.9


def limit(quantity: Quantity, value_si: float, place: Place = "any", how: HowKnown = "text") -> Limit:
    return Limit(
        id=f"{quantity}-{place}",
        clause="1",
        quantity=quantity,
        operator="<=",
        value=value_si,
        unit="m",
        value_si=value_si,
        source="a page",
        how_known=how,
        note="",
        place=place,
    )


def rule_set(*limits: Limit) -> RuleSet:
    return RuleSet("tiny", "Tiny", "1", limits, (), "")


def bind(*sets: RuleSet, facts: JobFacts | None = None, roles: tuple[Role, ...] = ()) -> Rulings:
    binding: tuple[Role, ...] = tuple("binding" for _ in sets)
    bound = tuple(BoundSet(one, role, "authority") for one, role in zip(sets, roles or binding, strict=True))
    return Rulings(bound, JobFacts() if facts is None else facts)


def design(*limits: Limit, swing: str = "in") -> DesignLimits:
    return build_design_limits(bind(rule_set(*limits)), "out" if swing == "out" else "in", LEAF_M)


def test_without_a_limit_nothing_binds() -> None:
    free = build_design_limits(bind(), "in", LEAF_M)
    nothing = LandingNeed(0.0, 0.0)
    assert (free.steepest, free.laws) == (1 / 6, ())
    assert (free.rise_per_run_m, free.landing_slope) == (math.inf, math.inf)
    assert (free.clear_width_m, free.headroom_m, free.rail_extension_m) == (0.0, 0.0, 0.0)
    assert {free.landing_door, free.landing_door_turn, free.landing_straight} == {nothing}
    assert {free.landing_quarter, free.landing_half} == {nothing}
    assert free.bottom == LandingNeed(DEFAULT_BOTTOM_M, 0.0)
    assert (free.rails_rise_m, free.rails_slope, free.rails_drop_m, free.guard_drop_m) == (math.inf,) * 4
    assert free.doors == ()


def test_ada_new_work() -> None:
    facts = JobFacts(works="new", closer="no", latch="yes")
    ada = build_design_limits(bind(read_rule_set("ada-2010"), facts=facts), "out", LEAF_M)
    sixty = 60 * INCH_M
    assert ada.steepest == 1 / 12
    assert ada.rise_per_run_m == pytest.approx(30 * INCH_M, abs=1e-12)
    assert ada.clear_width_m == pytest.approx(36 * INCH_M, abs=1e-12)
    assert ada.landing_slope == 1 / 48
    assert ada.landing_door == LandingNeed(sixty, 0.0)
    assert ada.landing_door_turn == LandingNeed(sixty, sixty)
    assert ada.landing_straight == LandingNeed(sixty, 0.0)
    assert ada.landing_quarter == ada.landing_half == LandingNeed(sixty, sixty)
    assert ada.bottom == LandingNeed(sixty, sixty)
    assert len(ada.doors) == 1
    assert len(ada.doors[0]) == 7
    assert DoorClearance("front", "pull", 1.524, 0.4572, 0.0) in ada.doors[0]
    assert (ada.closer, ada.latch) == (False, True)
    assert ada.rails_rise_m == pytest.approx(0.1524, abs=1e-12)
    assert (ada.rails_slope, ada.guard_drop_m) == (math.inf, math.inf)
    (law,) = ada.laws
    assert law.allows(30 * INCH_M, 360 * INCH_M)
    assert not law.allows(3 * INCH_M, 24 * INCH_M)


def test_the_short_steep_runs_bind_where_space_is_limited_on_an_existing_site() -> None:
    facts = JobFacts(works="existing", space_limited="yes")
    ada = build_design_limits(bind(read_rule_set("ada-2010"), facts=facts), "in", LEAF_M)
    assert ada.steepest == 1 / 8
    assert ada.laws[0].allows(3 * INCH_M, 24 * INCH_M)
    assert not ada.laws[0].allows(3.1 * INCH_M, 24.8 * INCH_M)


def test_the_strictest_of_two_sets_binds_number_by_number() -> None:
    irc, own = read_rule_set("irc-2015"), build_own_limits(OwnLimits(1 / 16, "mm", clear_width_m=0.8))
    both = build_design_limits(bind(irc, own, facts=JobFacts(egress_door="no")), "in", LEAF_M)
    assert both.steepest == 1 / 16
    assert len(both.laws) == 2
    assert both.clear_width_m == 0.8
    assert both.guard_drop_m == pytest.approx(30 * INCH_M, abs=1e-12)
    assert both.rails_slope == 1 / 12
    assert both.landing_straight == LandingNeed(60 * INCH_M, 36 * INCH_M)


def test_guides_and_wishes_do_not_bind_the_search() -> None:
    loose, strict = rule_set(limit("clear_width", 0.9)), rule_set(limit("clear_width", 1.5))
    others: tuple[Role, ...] = ("guide", "wish")
    for role in others:
        made = build_design_limits(bind(loose, strict, roles=("binding", role)), "in", LEAF_M)
        assert made.clear_width_m == 0.9


def test_a_limit_known_from_memory_binds_too() -> None:
    made = design(limit("clear_width", 0.9), limit("surface_width", 1.2, how="memory"))
    assert made.clear_width_m == 1.2


def test_the_width_between_kerbs_is_kept_between_the_rails() -> None:
    assert build_design_limits(bind(read_rule_set("england-adm-2")), "in", LEAF_M).clear_width_m == 1.5


def test_sizes_hold_at_their_places() -> None:
    made = design(
        limit("landing_length", 1.2),
        limit("landing_length", 1.3, "top"),
        limit("landing_length", 1.8, "bottom"),
        limit("landing_length", 1.5, "between"),
        limit("landing_length", 1.6, "straight"),
        limit("landing_length", 1.9, "turn"),
        limit("landing_length", 2.0, "half_turn"),
        limit("landing_width", 2.07, "half_turn"),
        limit("landing_turn", 1.4, "quarter_turn"),
    )
    assert made.landing_door == LandingNeed(1.3, 0.0)
    assert made.landing_door_turn == LandingNeed(1.9, 1.4)
    assert made.landing_straight == LandingNeed(1.6, 0.0)
    assert made.landing_quarter == LandingNeed(1.9, 1.5)
    assert made.landing_half == LandingNeed(2.0, 2.07)
    assert made.bottom == LandingNeed(1.8, 0.0)


def test_california_asks_72_along_and_60_across_on_a_turn() -> None:
    made = build_design_limits(bind(read_rule_set("california-11b")), "in", LEAF_M)
    assert made.landing_quarter == LandingNeed(72 * INCH_M, 60 * INCH_M)
    assert made.bottom.length_m == 72 * INCH_M
    assert made.landing_straight.length_m == 60 * INCH_M


def test_a_length_clear_of_the_swing_adds_the_leaf_where_it_opens_over_the_landing() -> None:
    clear = limit("swing_clear_length", 1.2, "top")
    assert design(clear, swing="in").landing_door == LandingNeed(1.2, 0.0)
    out = design(clear, swing="out")
    assert out.landing_door == LandingNeed(1.2 + LEAF_M, 0.0)
    assert out.landing_door_turn == LandingNeed(1.2 + LEAF_M, 1.2)


def test_what_an_open_leaf_must_leave_is_depth_where_the_way_leaves_by_a_side() -> None:
    leaves = limit("door_swing_leaves", 1.0668, "top")
    assert design(leaves, swing="in").landing_door_turn.length_m == 0.0
    out = design(leaves, swing="out")
    assert out.landing_door_turn.length_m == pytest.approx(LEAF_M + 1.0668)
    assert out.landing_door == LandingNeed(0.0, 1.0668)


def test_what_an_open_leaf_may_take_comes_off_the_asked_width() -> None:
    made = design(limit("door_swing_takes", 0.0762, "top"), limit("landing_width", 1.524, "top"), swing="out")
    assert made.landing_door_turn.length_m == pytest.approx(LEAF_M + 1.524 - 0.0762)


def test_closer_and_latch_count_as_there_until_somebody_says_no() -> None:
    rules = rule_set()
    for facts, wanted in (
        (JobFacts(), (True, True)),
        (JobFacts(closer="no", latch="no"), (False, False)),
        (JobFacts(closer="yes", latch="no"), (True, False)),
    ):
        made = build_design_limits(bind(rules, facts=facts), "in", LEAF_M)
        assert (made.closer, made.latch) == wanted


def test_the_level_landing_is_the_flattest_of_its_slopes() -> None:
    made = design(limit("landing_slope_along", 1 / 60), limit("landing_slope_across", 1 / 40))
    assert made.landing_slope == 1 / 60


def test_triggers_take_the_smallest() -> None:
    made = build_design_limits(
        bind(
            rule_set(limit("handrail_rise", 0.15), limit("handrail_drop", 0.6), limit("guard_drop", 0.76)),
            rule_set(limit("handrail_rise", 0.0), limit("handrail_slope", 1 / 12), limit("guard_drop", 0.6)),
        ),
        "in",
        LEAF_M,
    )
    assert (made.rails_rise_m, made.rails_slope, made.rails_drop_m) == (0.0, 1 / 12, 0.6)
    assert made.guard_drop_m == 0.6


def test_a_set_is_resolved_with_the_swing_of_this_door() -> None:
    irc = read_rule_set("irc-2015")
    yes = replace(JobFacts(), egress_door="yes")
    assert build_design_limits(bind(irc, facts=yes), "out", LEAF_M).steepest == 1 / 12
    no = replace(JobFacts(), egress_door="no")
    assert build_design_limits(bind(irc, facts=no), "out", LEAF_M).steepest == 1 / 8
