"""The longest and steepest run that each published table or formula allows, judged by the checker.

Sources and values:
- England, Approved Document M volume 2, 1.26 and Table 1: going 10 m at 1:20 and 500 mm, 5 m at 1:15
  and 333 mm, 2 m at 1:12 and 166 mm; between 2 m and 10 m interpolated (1:14 at 4 m, 1:19 at 9 m).
- ADA 2010, 405.2 and Table 405.2 (existing sites, where space is limited): 1:10 up to 6 in of rise,
  1:8 up to 3 in, never steeper than 1:8.
- Luxembourg, regulation annex A.3: L = 14 - 4 P / 3 m for slopes P of 3 to 6 %, never over 10 m.
- Germany, DIN 18040-1, 4.3.8.2: 6 %, 6.00 m.
- Ireland, TGD M 2010, 3.1.2.4: 1:20 to 1:15 up to 10 m, 1:15 to 1:12 up to 5 m.
- Existing public buildings in France, order of 8 December 2014, article 2: 6 %, 10 % to 2 m, 12 % to 0.5 m.
- Australia, AS 1428.1 (2009), 10.3: 1:14 to 9 m, 1:20 to 15 m; 10.6: 1:10 to a rise of 190 mm and a
  length of 1900 mm; 10.5: 1:8 to a rise of 35 mm and a length of 280 mm.
- Ontario, 3.8.3.4(1): 1:12, a level area every 9 m.  New Zealand, D1/AS1: 1:12, 750 mm between landings.
- United States, ABA 1017.7.1: 1:12 to 200 ft, 1:10 to 30 ft, 1:8 to 10 ft; IRC R311.8.1: 1:12 at the
  required egress door, 1:8 elsewhere.
Tolerance: one micrometre on lengths.
"""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import pytest

from optimizer.plan import Finding
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.resolve import resolve_rules
from optimizer.rulebook.rules import RuleSet
from optimizer.rulebook.run_law import Allowance
from optimizer.standards.chain import Chain
from optimizer.standards.law_clauses import check_run_law
from optimizer.standards.run_clauses import check_length_per_run, check_rise_per_run, check_running_slope
from tests.standards.rulings_by_hand import make_law, make_limit, make_row, make_rules
from tests.standards.run_by_hand import lay_run

INCH_M = 0.0254
HAIR, NOTHING = 1e-5, 1e-7
RUN_QUANTITIES = ("running_slope", "run_law", "rise_per_run", "length_per_run")

ENGLAND = make_rules(
    make_limit("running_slope", "<=", 1 / 12),
    make_limit("length_per_run", "<=", 10.0),
    make_limit("rise_per_run", "<=", 0.5),
    make_law(make_row(1 / 12, 2.0), make_row(1 / 12, 5.0, above_m=2.0, until=1 / 15),
             make_row(1 / 15, 10.0, above_m=5.0, until=1 / 20)),
)  # fmt: skip
ADA = make_rules(make_limit("running_slope", "<=", 1 / 12))
ADA_EXISTING = make_rules(
    make_limit("running_slope", "<=", 1 / 12),
    make_law(make_row(1 / 8, greatest_rise_m=3 * INCH_M), make_row(1 / 10, greatest_rise_m=6 * INCH_M),
             widens=True),
)  # fmt: skip
LUXEMBOURG = make_rules(
    make_law(make_row(0.06, 6.0), Allowance(6.0, 10.0, math.inf, 0.06, 0.03, "ratio", is_strict=False))
)
GERMANY = make_rules(make_limit("running_slope", "<=", 0.06), make_limit("length_per_run", "<=", 6.0))
IRELAND = make_rules(make_law(make_row(1 / 12, 5.0), make_row(1 / 15, 10.0)))
FRANCE = make_rules(
    make_limit("running_slope", "<=", 0.06), make_law(make_row(0.12, 0.5), make_row(0.10, 2.0), widens=True)
)


def judge_run(rules: RuleSet, rise_m: float, plan_m: float) -> list[Finding]:
    """What the rule set finds of one run of this rise and plan length."""
    chain: Chain = lay_run(plan_m, rise_m, 0.7, (3.0, -2.0, 1.0))
    found: list[Finding] = []
    for limit in rules.limits:
        match limit.quantity:
            case "running_slope":
                found += check_running_slope(limit, rules, chain)
            case "run_law":
                found += check_run_law(limit, rules, chain)
            case "length_per_run":
                found += check_length_per_run(limit, rules.id, chain)
            case "rise_per_run":
                found += check_rise_per_run(limit, rules.id, chain)
            case other:
                raise AssertionError(other)
    return found


def fails(rules: RuleSet, rise_m: float, plan_m: float) -> bool:
    verdicts = {finding.verdict for finding in judge_run(rules, rise_m, plan_m)}
    assert verdicts <= {"meets", "fails", "does not apply"}
    return "fails" in verdicts


@pytest.mark.parametrize(
    ("rules", "rise_m", "plan_m"),
    [
        (ENGLAND, 2.0 / 12, 2.0),
        (ENGLAND, 5.0 / 15, 5.0),
        (ENGLAND, 4.0 / 14, 4.0),
        (ENGLAND, 9.0 / 19, 9.0),
        (ENGLAND, 10.0 / 20, 10.0),
        (ENGLAND, 1.0 / 12, 1.0),
        (ADA, 30 * INCH_M, 360 * INCH_M),
        (ADA_EXISTING, 30 * INCH_M, 360 * INCH_M),
        (ADA_EXISTING, 6 * INCH_M, 60 * INCH_M),
        (ADA_EXISTING, 3 * INCH_M, 24 * INCH_M),
        (LUXEMBOURG, 0.36, 6.0),
        (LUXEMBOURG, 8.0 * 0.045, 8.0),
        (LUXEMBOURG, 0.30, 10.0),
        (GERMANY, 0.36, 6.0),
        (IRELAND, 5.0 / 12, 5.0),
        (IRELAND, 10.0 / 15, 10.0),
        (FRANCE, 0.2, 2.0),
        (FRANCE, 0.06, 0.5),
        (FRANCE, 0.6, 10.0),
    ],
)
def test_the_steepest_run_of_each_length_is_met_and_a_hair_steeper_is_not(
    rules: RuleSet, rise_m: float, plan_m: float
) -> None:
    assert not fails(rules, rise_m - HAIR, plan_m)
    assert not fails(rules, rise_m, plan_m)
    assert not fails(rules, rise_m + NOTHING, plan_m)
    assert fails(rules, rise_m + HAIR, plan_m)


@pytest.mark.parametrize(
    ("rules", "slope", "longest_m"),
    [(ENGLAND, 1 / 20, 10.0), (LUXEMBOURG, 0.03, 10.0), (GERMANY, 0.03, 6.0), (IRELAND, 1 / 15, 10.0)],
)
def test_the_longest_run_is_met_and_a_hair_longer_is_not(
    rules: RuleSet, slope: float, longest_m: float
) -> None:
    # A hair flatter all along, so that only its length can break anything.
    flatter = slope * longest_m - 2 * HAIR
    assert not fails(rules, flatter, longest_m)
    assert not fails(rules, flatter, longest_m + NOTHING)
    assert fails(rules, flatter, longest_m + HAIR)


@pytest.mark.parametrize(("plan_m", "n"), [(4.0, 14), (9.0, 19), (2.0, 12), (5.0, 15), (10.0, 20)])
def test_every_point_of_the_english_table_is_told_with_its_limit(plan_m: float, n: int) -> None:
    (law,) = (one for one in judge_run(ENGLAND, plan_m / 30, plan_m) if one.clause == "9.7")
    assert law.limit == pytest.approx(1 / n, abs=1e-12)
    assert f"at most 1:{n} " in law.text
    assert f"{plan_m:.3f} m long" in law.text


def test_the_english_rises_follow_from_slopes_and_lengths() -> None:
    """500, 333 and 166 mm are the products, cut to millimetres: no limit of their own is lost."""
    assert [math.floor(1000 * going / n) for going, n in ((10.0, 20), (5.0, 15), (2.0, 12))] == [
        500,
        333,
        166,
    ]


def test_the_formula_of_the_table_holds_at_every_length_in_between() -> None:
    for step in range(801):
        plan_m = 2.0 + step / 100.0
        rise_m = plan_m / (plan_m + 10.0)
        assert not fails(ENGLAND, rise_m, plan_m), plan_m
        assert fails(ENGLAND, rise_m + HAIR, plan_m), plan_m


def test_the_luxembourg_formula_holds_at_every_length_in_between() -> None:
    for step in range(401):
        plan_m = 6.0 + step / 100.0
        percent = Fraction(3, 4) * (14 - Fraction(plan_m))
        rise_m = float(percent / 100 * Fraction(plan_m))
        assert not fails(LUXEMBOURG, rise_m, plan_m), plan_m
        assert fails(LUXEMBOURG, rise_m + HAIR, plan_m), plan_m


@pytest.mark.parametrize("unit_m", [0.0254, 0.001], ids=["inches", "millimetres"])
@pytest.mark.parametrize(("n", "rises"), [(10, 6.0), (8, 3.0)])
def test_short_steep_runs_are_for_existing_sites_alone(unit_m: float, n: int, rises: float) -> None:
    rise_m = unit_m * math.floor(rises * INCH_M / unit_m)
    assert fails(ADA, rise_m, n * rise_m)
    assert not fails(ADA_EXISTING, rise_m, n * rise_m)
    assert fails(ADA_EXISTING, rise_m, (n - 0.01) * rise_m)


def test_what_the_exception_allows_is_said_where_the_running_slope_is_broken() -> None:
    run, piece, law = judge_run(ADA_EXISTING, 6 * INCH_M, 60 * INCH_M)
    for finding in (run, piece):
        assert finding.verdict == "meets"
        assert "steeper than 1:12 (8.3 %); 9.7 allows such a run at most 1:10 (10.0 %)" in finding.text
        assert finding.limit == pytest.approx(0.1)
    assert (law.verdict, law.clause) == ("meets", "9.7")


def test_the_exception_says_nothing_of_runs_that_need_none() -> None:
    *slopes, law = judge_run(ADA_EXISTING, 30 * INCH_M, 360 * INCH_M)
    assert {finding.verdict for finding in slopes} == {"meets"}
    assert law.verdict == "does not apply"


def test_a_run_too_high_for_the_exception_breaks_both() -> None:
    verdicts = [one.verdict for one in judge_run(ADA_EXISTING, 6.01 * INCH_M, 61 * INCH_M)]
    assert verdicts == ["fails", "fails", "fails"]


def test_an_exception_known_from_memory_neither_saves_a_run_nor_lets_it_fail() -> None:
    law = make_law(make_row(1 / 10, greatest_rise_m=6 * INCH_M), widens=True, known="memory")
    rules = make_rules(make_limit("running_slope", "<=", 1 / 12), law)
    found = judge_run(rules, 5 * INCH_M, 50 * INCH_M)
    assert [one.verdict for one in found] == ["cannot tell"] * 3
    assert {one.how_known for one in found} == {"memory"}
    assert [one.verdict for one in judge_run(rules, 5 * INCH_M, 49 * INCH_M)] == [
        "fails",
        "fails",
        "cannot tell",
    ]


def test_an_exception_stands_beside_the_other_rows_of_its_document() -> None:
    rows = replace(make_law(make_row(1 / 20, 10.0)), clause="9.8")
    wide = make_law(make_row(1 / 12, 2.0), widens=True)
    rules = make_rules(rows, wide)
    assert [(one.clause, one.verdict) for one in judge_run(rules, 2.0 / 12, 2.0)] == [
        ("9.8", "does not apply"),
        ("9.7", "meets"),
    ]
    assert fails(rules, 2.1 / 12, 2.1)


EXISTING = JobFacts(works="existing", space_limited="yes", space_limited_reason="a narrow court")
NEW = JobFacts(works="new", space_limited="no")
FT_M = 0.3048


@pytest.mark.parametrize(
    ("name", "facts", "rise_m", "plan_m"),
    [
        ("england-adm-2", NEW, 2.0 / 12, 2.0),
        ("england-adm-2", NEW, 4.0 / 14, 4.0),
        ("england-adm-2", NEW, 5.0 / 15, 5.0),
        ("england-adm-2", NEW, 9.0 / 19, 9.0),
        ("england-adm-2", NEW, 10.0 / 20, 10.0),
        ("ada-2010", NEW, 30 * INCH_M, 360 * INCH_M),
        ("ada-2010", NEW, 6 * INCH_M, 72 * INCH_M),
        ("ada-2010", EXISTING, 6 * INCH_M, 60 * INCH_M),
        ("ada-2010", EXISTING, 3 * INCH_M, 24 * INCH_M),
        ("ada-2010", replace(EXISTING, space_limited="no"), 3 * INCH_M, 36 * INCH_M),
        ("luxembourg-a3", NEW, 0.36, 6.0),
        ("luxembourg-a3", NEW, 8.0 * 0.045, 8.0),
        ("luxembourg-a3", NEW, 0.30, 10.0),
        ("din-18040-1", NEW, 0.36, 6.0),
        ("ireland-tgdm-dwellings", NEW, 5.0 / 12, 5.0),
        ("ireland-tgdm-dwellings", NEW, 10.0 / 15, 10.0),
        ("france-existing", NEW, 0.06, 0.5),
        ("france-existing", NEW, 0.2, 2.0),
        ("france-existing", NEW, 0.6, 10.0),
        ("as-1428.1", NEW, 9.0 / 14, 9.0),
        ("as-1428.1", NEW, 15.0 / 20, 15.0),
        ("as-1428.1", NEW, 0.19, 1.9),
        ("as-1428.1", NEW, 0.035, 0.28),
        ("ontario-obc", NEW, 0.75, 9.0),
        ("nz-d1-as1", NEW, 0.75, 9.0),
        ("aba-1017", NEW, 10 * FT_M / 8, 10 * FT_M),
        ("aba-1017", NEW, 30 * FT_M / 10, 30 * FT_M),
        ("irc-2015", JobFacts(egress_door="yes"), 0.8, 9.6),
        ("irc-2015", JobFacts(egress_door="no"), 0.8, 6.4),
    ],
)
def test_the_shipped_rule_sets_allow_the_same_and_no_more(
    name: str, facts: JobFacts, rise_m: float, plan_m: float
) -> None:
    shipped = resolve_rules(read_rule_set(name), facts, "in")
    runs = [one for one in shipped.limits if one.quantity in RUN_QUANTITIES]
    rules = replace(shipped, limits=tuple(runs))
    for slack_m, broken in ((-HAIR, False), (0.0, False), (NOTHING, False), (HAIR, True)):
        verdicts = [finding.verdict for finding in judge_run(rules, rise_m + slack_m, plan_m)]
        assert verdicts
        assert ("fails" in verdicts) is broken, slack_m


def test_a_strict_row_keeps_its_own_slope_out() -> None:
    rules = make_rules(make_law(make_row(1 / 25, strict=True)))
    assert not fails(rules, 1.0 - HAIR, 25.0)
    assert fails(rules, 1.0, 25.0)
