"""One law from slope, rows, rise and length."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.rulebook.combine_law import combine_laws, cut_length, cut_slope
from optimizer.rulebook.rules import Limit, Operator, Quantity, RuleSet
from optimizer.rulebook.run_law import NO_END_M, Allowance, Between, RunLaw

SETTLED_M = 1e-5


def limit(quantity: Quantity, value_si: float, operator: Operator = "<=", law: RunLaw | None = None) -> Limit:
    name = f"{quantity}-{value_si}"
    return Limit(name, "1", quantity, operator, value_si, "m", value_si, "a page", "text", "", law=law)


def rule_set(*limits: Limit) -> RuleSet:
    return RuleSet("tiny", "Tiny", "1", limits, (), "")


def row(longest_m: float, slope: float, rise_m: float = NO_END_M) -> Allowance:
    return Allowance(0.0, longest_m, rise_m, slope, slope, "ratio", is_strict=False)


def falling(above_m: float, longest_m: float, steep: float, flat: float, between: Between) -> Allowance:
    return Allowance(above_m, longest_m, NO_END_M, steep, flat, between, is_strict=False)


def test_slope_rise_and_length_bind_at_once() -> None:
    rules = rule_set(limit("running_slope", 1 / 12), limit("rise_per_run", 0.5), limit("length_per_run", 9.0))
    (law,) = combine_laws(rules)
    assert law.allows(0.5, 6.0)
    assert not law.allows(0.5, 5.99)
    assert not law.allows(0.501, 8.0)
    assert law.allows(0.4, 9.0)
    assert not law.allows(0.4, 9.01)


def test_a_set_without_a_slope_leaves_what_nobody_may_exceed() -> None:
    (law,) = combine_laws(rule_set())
    assert law.steepest() == 1 / 6
    assert law.allows(1.0, 6.0)
    assert not law.allows(1.0, 5.99)


def test_a_strict_slope_itself_is_not_allowed() -> None:
    (law,) = combine_laws(rule_set(limit("running_slope", 1 / 12, "<")))
    assert not law.allows(0.5, 6.0)
    assert law.allows(0.5, 6.001)
    (both,) = combine_laws(rule_set(limit("running_slope", 1 / 12, "<"), limit("running_slope", 1 / 14)))
    assert both.allows(0.5, 7.0)


def test_rows_that_widen_stand_beside_the_slope_but_not_beside_the_rise() -> None:
    wide = RunLaw((row(NO_END_M, 1 / 8, 0.075),), widens=True)
    rules = rule_set(
        limit("running_slope", 1 / 12), limit("rise_per_run", 0.05), limit("run_law", 1 / 8, law=wide)
    )
    (law,) = combine_laws(rules)
    assert law.allows(0.05, 0.4)
    assert not law.allows(0.06, 0.48)
    assert law.steepest() == 1 / 8


def test_rows_that_do_not_widen_are_cut_to_the_slope() -> None:
    rows = RunLaw((row(2.0, 1 / 8), row(6.0, 1 / 14)), widens=False)
    (law,) = combine_laws(rule_set(limit("running_slope", 1 / 12), limit("run_law", 1 / 8, law=rows)))
    assert law.steepest() == 1 / 12
    assert not law.allows(0.2, 2.0)
    assert law.allows(2.0 / 12, 2.0)
    assert law.allows(6.0 / 14, 6.0)
    assert not law.allows(6.0 / 12, 6.0)


def test_two_tables_of_one_set_are_two_laws() -> None:
    one = limit("run_law", 1 / 12, law=RunLaw((row(5.0, 1 / 12),), widens=False))
    other = limit("run_law", 1 / 15, law=RunLaw((row(9.0, 1 / 15),), widens=False))
    laws = combine_laws(rule_set(one, other))
    assert [law.steepest() for law in laws] == [1 / 12, 1 / 15]


@given(
    steep=st.floats(min_value=0.03, max_value=0.16),
    share=st.floats(min_value=0.1, max_value=0.99),
    slope=st.floats(min_value=0.01, max_value=0.2),
    plan_m=st.floats(min_value=0.0, max_value=9.0),
    between=st.sampled_from(("ratio", "run_per_rise")),
)
def test_cutting_a_slope_takes_the_lesser_of_both_at_every_length(
    steep: float, share: float, slope: float, plan_m: float, between: Between
) -> None:
    one = falling(1.0, 9.0, steep, steep * share, between)
    pieces = list(cut_slope(one, slope))
    inside = 1.0 + plan_m * 8.0 / 9.0
    holding = [piece for piece in pieces if piece.above_m <= inside <= piece.longest_m]
    assert holding
    wanted = min(slope, one.steepest(inside))
    assert max(piece.steepest(inside) for piece in holding) == pytest.approx(wanted, rel=1e-9)


def test_cutting_a_length_keeps_the_slopes_up_to_it() -> None:
    one = falling(2.0, 10.0, 1 / 12, 1 / 20, "run_per_rise")
    (cut,) = cut_length(one, 6.0)
    assert (cut.above_m, cut.longest_m) == (2.0, 6.0)
    for plan_m in (2.0, 3.5, 6.0):
        assert math.isclose(cut.steepest(plan_m), one.steepest(plan_m), rel_tol=1e-12)
    assert list(cut_length(one, 2.0)) == []
    assert list(cut_length(one, 10.0)) == [one]


def test_a_limit_met_within_a_micrometre_is_met() -> None:
    (law,) = combine_laws(rule_set(limit("running_slope", 1 / 12), limit("rise_per_run", 0.5)))
    assert law.allows(0.5 + 0.5e-6, 6.0)
    assert not law.allows(0.5 + SETTLED_M, 6.1)
