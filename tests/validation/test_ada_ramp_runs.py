"""Runs at and beside the limits of the 2010 ADA Standards, judged by the checker.

Source: U.S. Access Board, ADA Standards, chapter 4, 405.2 (running slope not steeper than
1:12), 405.3 (cross slope 1:48), 405.5 (clear width 36 in), 405.6 (rise of a run 30 in
maximum), www.access-board.gov/ada/chapter/ch04/.  The millimetres printed there are soft
conversions and are not used.
Tolerance: one micrometre on lengths, far below anything that can be built; a division before
the comparison would fail about a third of all runs made at exactly 1:12.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest

from optimizer.catalogue.parts import Section
from optimizer.plan import Finding
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.resolve import resolve_rules
from optimizer.rulebook.rules import Limit, Quantity
from optimizer.standards.chain import Chain, Run
from optimizer.standards.placed import measure_piece
from optimizer.standards.run_clauses import (
    check_clear_width,
    check_cross_slope,
    check_rise_per_run,
    check_running_slope,
)
from tests.standards.run_by_hand import lay_run

RULES = resolve_rules(read_rule_set("ada-2010"), JobFacts(works="new"), "in")
INCH_M = Fraction(254, 10000)
CASES = 1000


def find_limit(quantity: Quantity) -> Limit:
    limit = RULES.limit(quantity)
    assert limit is not None
    return limit


def judge(check: Callable[..., object], quantity: Quantity, chain: Chain) -> list[Finding]:
    rules = RULES if check is check_running_slope else RULES.id
    return list(check(find_limit(quantity), rules, chain))  # type: ignore[call-overload]


def draw_runs(unit: Fraction, slope: Fraction, seed: int) -> list[Chain]:
    """Runs whose rise is a whole number of sixteenths of the unit, anywhere, any way round."""
    random = np.random.default_rng(seed)
    chains = []
    for _ in range(CASES):
        rise = Fraction(int(random.integers(16, 16 * 30 + 1)), 16) * unit
        at = tuple(float(value) for value in random.uniform((-60.0, -60.0, -2.0), (60.0, 60.0, 2.0)))
        plan = rise / slope
        chains.append(lay_run(float(plan), float(rise), float(random.uniform(-math.pi, math.pi)), at))
    return chains


@pytest.mark.parametrize("unit", [INCH_M, Fraction(16, 1000)], ids=["inches", "millimetres"])
def test_every_run_made_at_exactly_one_in_twelve_meets_the_limit(unit: Fraction) -> None:
    for seed, chain in enumerate(draw_runs(unit, Fraction(1, 12), 12)):
        assert {finding.verdict for finding in judge(check_running_slope, "running_slope", chain)} == {
            "meets"
        }, seed


@pytest.mark.parametrize("unit", [INCH_M, Fraction(16, 1000)], ids=["inches", "millimetres"])
def test_no_run_made_at_one_in_eleven_point_ninety_nine_meets_it(unit: Fraction) -> None:
    for seed, chain in enumerate(draw_runs(unit, Fraction(100, 1199), 13)):
        findings = judge(check_running_slope, "running_slope", chain)
        assert {finding.verdict for finding in findings} == {"fails"}, seed
        assert "1:11.9" in findings[0].text


def test_a_naive_division_would_fail_many_runs_made_at_the_limit() -> None:
    """Why there is one comparator: this is the test that a checker without it would fail."""
    naive = sum(
        1
        for chain in draw_runs(Fraction(16, 1000), Fraction(1, 12), 12)
        if chain.runs[0].rise_m / chain.runs[0].plan_length_m > 1.0 / 12.0
    )
    assert naive > CASES // 10


@pytest.mark.parametrize(("rise_in", "verdict"), [("29.99", "meets"), ("30", "meets"), ("30.01", "fails")])
def test_a_run_may_rise_thirty_inches(rise_in: str, verdict: str) -> None:
    rise = float(Fraction(rise_in) * INCH_M)
    (finding,) = judge(check_rise_per_run, "rise_per_run", lay_run(12.0 * rise, rise, 0.3, (1.0, 2.0, 3.0)))
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(float(rise_in), abs=1e-9)
    assert (finding.unit, finding.limit, finding.clause) == ("in", 30.0, "405.6")


@pytest.mark.parametrize(
    ("part", "verdict"),
    [(Fraction(1, 49), "meets"), (Fraction(1, 48), "meets"), (Fraction(100, 4799), "fails")],
)
def test_a_run_may_fall_one_in_forty_eight_across(part: Fraction, verdict: str) -> None:
    chain = lay_run(3.0, 0.2, 1.1, (0.0, 0.0, 1.0), tilt_m=float(part))
    (finding,) = judge(check_cross_slope, "cross_slope", chain)
    assert finding.verdict == verdict


@pytest.mark.parametrize("verdict", ["meets", "fails"])
def test_a_run_is_thirty_six_inches_clear(verdict: str) -> None:
    chain = lay_run(3.0, 0.2, 0.0, (0.0, 0.0, 1.0))
    if verdict == "fails":
        section = chain.runs[0].sections[0]
        narrow = Section(**{**_fields(section.part), "clear_width_m": float(Fraction("35.99") * INCH_M)})
        run = Run(1, (measure_piece(section.piece, narrow),), None)
        chain = Chain(chain.threshold, None, (run,), (), None, "front", ())
    (finding,) = judge(check_clear_width, "clear_width", chain)
    assert finding.verdict == verdict


def _fields(section: Section) -> dict[str, object]:
    return {name: getattr(section, name) for name in Section.__dataclass_fields__}
