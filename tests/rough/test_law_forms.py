"""Slope by length and rise: the shortest ramp of equal runs, against published figures and a fine scan."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.brief.site import DisplayUnits
from optimizer.errors import InputError
from optimizer.rough.build_limits import build_rough_limits
from optimizer.rough.closed_forms import CornerGround
from optimizer.rough.law_forms import (
    LawLane,
    find_corner_by_law,
    find_folded_by_law,
    find_shortest_run,
    find_straight_by_law,
)
from optimizer.rough.question import Estimate, RoughQuestion
from optimizer.rough.shapes import RoughShape, find_shapes
from optimizer.rough_question import answer_rough
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import list_rule_sets, read_rule_set
from optimizer.rulebook.rules import RuleSet
from optimizer.rulebook.run_law import NO_END_M, Allowance, RunLaw

ENGLAND = build_rough_limits(read_rule_set("england-adm-2"))
LANE = LawLane(ENGLAND.laws, ENGLAND.landing_m)
INCH_M = 0.0254
#: A table in steps: 1:8 up to 75 mm of rise, 1:10 up to 150 mm, else 1:12 up to 760 mm.
STEPS = RunLaw(
    tuple(
        Allowance(0.0, NO_END_M, rise_m, slope, slope, "ratio", is_strict=False)
        for rise_m, slope in ((0.075, 1 / 8), (0.15, 1 / 10), (0.76, 1 / 12))
    ),
    widens=False,
)


def test_450_mm_under_the_english_table_take_two_runs_of_2_90_m_at_1_in_12_9() -> None:
    # Approved Document M volume 2, Table 1, interpolated: 1:n with n = 10 + L between 2 and 10 m, so two
    # runs of 225 mm have L = 2.25 / 0.775 = 2.903 m; one run would take 4.5 / 0.55 = 8.18 m.
    climb = find_straight_by_law(0.45, 0.0, 0.0, LANE)
    assert climb is not None
    assert climb.between == 1
    assert climb.run_plan_m / 2 == pytest.approx(2.25 / 0.775, abs=1e-6)
    assert climb.run_plan_m / climb.rise_m == pytest.approx(12.903, abs=1e-3)
    assert find_shortest_run(0.45, 0.0, 1, ENGLAND.laws) == pytest.approx(4.5 / 0.55, abs=1e-6)


@pytest.mark.parametrize(
    ("rise_m", "length_m"),
    [(0.166, 1.992), (0.333, 4.995), (0.5, 10.0)],
)
def test_the_rows_of_the_english_table_come_back(rise_m: float, length_m: float) -> None:
    # Table 1: 2 m 1:12 (166 mm), 5 m 1:15 (333 mm), 10 m 1:20 (500 mm), rounded to millimetres there.
    assert find_shortest_run(rise_m, 0.0, 1, ENGLAND.laws) == pytest.approx(length_m, abs=0.01)


def test_a_run_higher_than_the_table_goes_must_be_flatter_than_a_ramp() -> None:
    # From 1:20 on the document calls it a level approach, not a ramp, so it has no greatest rise.
    assert find_shortest_run(0.5, 0.0, 1, ENGLAND.laws) == pytest.approx(10.0, abs=1e-6)
    longer_m = find_shortest_run(0.51, 0.0, 1, ENGLAND.laws)
    assert longer_m is not None
    assert longer_m > 20 * 0.51


@pytest.mark.parametrize(
    ("rise_m", "length_m"),
    [(0.075, 0.6), (0.0751, 0.751), (0.15, 1.5), (0.1501, 12 * 0.1501), (0.76, 12 * 0.76)],
)
def test_steps_of_a_table_hold_to_the_limit_and_not_beyond(rise_m: float, length_m: float) -> None:
    assert find_shortest_run(rise_m, 0.0, 1, (STEPS,)) == pytest.approx(length_m, rel=1e-9)


def test_a_slope_that_itself_is_not_allowed_is_kept_away_from() -> None:
    flatter = Allowance(0.0, NO_END_M, NO_END_M, 1 / 12, 1 / 12, "ratio", is_strict=True)
    strict = RunLaw((flatter,), widens=False)
    length_m = find_shortest_run(0.5, 0.0, 1, (strict,))
    assert length_m is not None
    assert 6.0 < length_m < 6.001


def _scan(level_m: float, gain: float, runs: int, laws: tuple[RunLaw, ...]) -> float:
    for step in range(1, 3000):
        length_m = 0.01 * step
        rise_m = (level_m + gain * length_m) / runs
        if rise_m > 0.0 and all(law.allows(rise_m, length_m) for law in laws):
            return length_m
    return math.inf


@settings(max_examples=80, deadline=None)
@given(
    level_m=st.floats(0.05, 1.5),
    fall=st.floats(-0.08, 0.08),
    runs=st.integers(1, 4),
    laws=st.sampled_from([ENGLAND.laws, (STEPS,), (*ENGLAND.laws, STEPS)]),
)
def test_the_shortest_run_is_as_short_as_a_fine_scan_finds(
    level_m: float, fall: float, runs: int, laws: tuple[RunLaw, ...]
) -> None:
    length_m = find_shortest_run(level_m, fall * runs, runs, laws)
    scanned_m = _scan(level_m, fall * runs, runs, laws)
    if length_m is None:
        assert scanned_m == math.inf
        return
    rise_m = (level_m + fall * runs * length_m) / runs
    assert all(law.allows(rise_m, length_m) for law in laws)
    assert length_m <= scanned_m + 1e-6


def test_a_ramp_down_a_fall_meets_the_ground() -> None:
    climb = find_straight_by_law(0.4, 0.02, 1.2, LANE)
    assert climb is not None
    tip_m = 1.2 + climb.run_plan_m + climb.between * LANE.landing_m
    assert climb.rise_m == pytest.approx(0.4 + 0.02 * tip_m, abs=1e-9)


def test_ground_that_falls_as_fast_as_any_run_leaves_none() -> None:
    assert find_straight_by_law(0.4, 1 / 12, 1.2, LANE) is None


def test_a_corner_keeps_within_what_its_legs_may_reach() -> None:
    open_ground = CornerGround(0.01, 0.02, 2.0, 0.6, math.inf, math.inf)
    free = find_corner_by_law(0.6, open_ground, LANE)
    assert free is not None
    bounded = CornerGround(0.01, 0.02, 2.0, 0.6, free.out_m + 0.5, math.inf)
    corner = find_corner_by_law(0.6, bounded, LANE)
    assert corner is not None
    assert corner.out_m + corner.between_out * LANE.landing_m <= bounded.reach_out_m + 1e-6
    assert find_corner_by_law(0.6, CornerGround(0.0, 0.0, 2.0, 0.6, 0.1, 0.1), LANE) is None


def test_a_folded_ramp_halves_its_rise() -> None:
    climb = find_folded_by_law(0.45, LANE)
    assert climb is not None
    assert (climb.between, climb.run_plan_m) == (0, pytest.approx(2 * 2.25 / 0.775, abs=1e-6))
    assert find_folded_by_law(0.0, LANE) is None


def _question(rise_m: float) -> RoughQuestion:
    level = Estimate(0.0, 0.0)
    return RoughQuestion(Estimate(rise_m, 0.0), level, level, None, None, 0.0, DisplayUnits("mm", 0.001))


@pytest.mark.parametrize("rules", list_rule_sets(), ids=lambda rules: rules.id)
def test_every_rule_set_gives_a_rough_answer_that_its_laws_allow(rules: RuleSet) -> None:
    limits = build_rough_limits(rules)
    shapes = [one for one in find_shapes(_question(0.3), limits) if isinstance(one, RoughShape)]
    assert shapes
    for shape in shapes:
        assert shape.rise_m / shape.run_plan_m <= limits.slope + 1e-9
        for law in limits.laws:
            assert law.allows(shape.rise_m / shape.runs, shape.run_plan_m / shape.runs)


def test_what_was_not_asked_is_taken_strictly_and_told() -> None:
    open_limits = build_rough_limits(read_rule_set("irc-2015"))
    assert open_limits.not_asked == ("egress_door",)
    # IRC R311.8.1: 1:12 at the required egress door, else 1:8.
    assert open_limits.slope == pytest.approx(1 / 12, rel=1e-12)
    answered = build_rough_limits(read_rule_set("irc-2015"), JobFacts(egress_door="no"))
    assert answered.not_asked == ()
    assert answered.slope == pytest.approx(1 / 8, rel=1e-12)


def test_short_steep_runs_wait_for_their_answers() -> None:
    ada = read_rule_set("ada-2010")
    assert build_rough_limits(ada).laws == ()
    limited = build_rough_limits(
        ada, JobFacts(works="existing", space_limited="yes", space_limited_reason="a wall")
    )
    # ADA 2010, Table 405.2: 3 in at 1:8.
    assert find_shortest_run(3 * INCH_M, 0.0, 1, limited.laws) == pytest.approx(24 * INCH_M, rel=1e-9)


def test_the_telephone_answer_takes_facts_and_tells_what_is_missing() -> None:
    words = ("0.45 m", None, "7 in", "0 %", "0 %", None, None, "irc-2015")
    assert "Not answered: egress_door" in answer_rough(*words)
    assert "Not answered" not in answer_rough(*words, ("egress_door=no",))
    irish = answer_rough("0.4627 m", None, "7 in", "0 %", "0 %", None, None, "ireland-tgdm-dwellings")
    assert "slope by the length and rise of a run, at most 1:12" in irish
    # TGD M, 3.1.2.4: 1:12 up to 5 m, and 0.45 m are two runs of 2.7 m.
    assert "5400 mm   1:12" in irish
    # No demo section has 1500 mm between its kerbs (1.26e).
    with pytest.raises(InputError, match=r"1\.500 m clear"):
        answer_rough("0.45 m", None, "7 in", "0 %", "0 %", None, None, "england-adm-2")


@pytest.mark.parametrize(
    ("fact", "told"),
    [
        ("egress_door", "has no ="),
        ("egress_dor=no", 'Did you mean "egress_door"?'),
        ("egress_door=perhaps", "Use one of: yes, no."),
    ],
)
def test_an_answer_that_is_none_is_refused(fact: str, told: str) -> None:
    with pytest.raises(InputError, match="--fact") as caught:
        answer_rough("0.45 m", None, "7 in", "0 %", "0 %", None, None, "irc-2015", (fact,))
    assert told in str(caught.value)
