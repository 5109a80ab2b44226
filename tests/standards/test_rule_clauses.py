"""How one limit becomes a finding: at the limit, from memory, strict, unknown, and where a guard is asked."""

from __future__ import annotations

import typing
from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Candidate, Finding
from optimizer.rulebook.own_limits import OwnLimits, build_own_limits
from optimizer.rulebook.rules import Limit, Operator, Quantity
from optimizer.standards.check_candidate import CheckCase, check_candidate
from optimizer.standards.findings import judge_length, judge_slope
from optimizer.terrain.ground import Ground
from tests.standards.damage import drop_rails
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import make_limit, make_rules, rules_of, with_rules

RAMP, CASE = build_ramp()


def make_case(*limits: Limit, case: CheckCase = CASE) -> CheckCase:
    return with_rules(case, make_rules(*limits))


def of_rules(candidate: Candidate, case: CheckCase) -> list[Finding]:
    return [finding for finding in check_candidate(candidate, case) if finding.rules == rules_of(case).id]


@pytest.mark.parametrize("quantity", typing.get_args(Quantity))
def test_every_quantity_a_rule_set_may_name_is_looked_at(quantity: Quantity) -> None:
    findings = of_rules(RAMP, make_case(make_limit(quantity, ">=", 1e-9)))
    assert findings
    assert {finding.clause for finding in findings} == {"9.9"}


@pytest.mark.parametrize("quantity", typing.get_args(Quantity))
@pytest.mark.parametrize("value", [1e-9, 1e3])
def test_a_limit_known_from_memory_passes_and_fails_nothing(quantity: Quantity, value: float) -> None:
    operator: Operator = "<=" if quantity in ("handrail_rise", "guard_drop") else ">="
    for finding in of_rules(RAMP, make_case(make_limit(quantity, operator, value, "memory"))):
        assert finding.verdict in ("cannot tell", "does not apply")


def test_a_quantity_without_a_limit_has_no_finding() -> None:
    assert of_rules(RAMP, make_case()) == []


def test_two_limits_on_one_quantity_are_both_looked_at() -> None:
    loose = make_limit("rise_per_run", "<=", 9.0)
    tight = replace(loose, clause="9.8", value=0.1, value_si=0.1)
    assert [f.verdict for f in of_rules(RAMP, make_case(loose, tight))] == ["meets", "fails"]


@pytest.mark.parametrize(
    ("operator", "below", "on", "above"),
    [
        ("<=", "meets", "meets", "fails"),
        ("<", "meets", "fails", "fails"),
        (">=", "fails", "meets", "meets"),
        (">", "fails", "fails", "meets"),
    ],
)
def test_the_four_operators_below_on_and_above_the_limit(
    operator: Operator, below: str, on: str, above: str
) -> None:
    limit = make_limit("rise_per_run", operator, 0.5)
    for measured, verdict in ((0.49999, below), (0.5, on), (0.50001, above)):
        assert judge_length(limit, "r", "s", "w", measured, None).verdict == verdict
        assert judge_slope(limit, "r", "s", "w", measured * 3.0, 3.0, None).verdict == verdict


def test_a_failure_never_prints_as_its_own_limit() -> None:
    limit = make_limit("rise_per_run", "<=", 0.5)
    assert "0.50002 m, at most 0.5 " in judge_length(limit, "r", "s", "w", 0.50002, None).text
    assert "0.5 m, at most 0.5 " in judge_length(limit, "r", "s", "w", 0.5, None).text


def test_a_finding_speaks_in_the_documents_own_unit() -> None:
    finding = next(f for f in check_candidate(RAMP, CASE) if f.clause == "405.6")
    assert finding.unit == "in"
    assert finding.measured == pytest.approx(RAMP.rise_m / 0.0254)
    assert finding.limit == 30.0
    assert "at most 30 in" in finding.text


def test_no_finding_claims_compliance() -> None:
    for finding in check_candidate(RAMP, CASE):
        assert "complian" not in finding.text.lower()
        assert "approv" not in finding.text.lower()


def test_own_limits_are_judged_like_any_document() -> None:
    steep, case = build_ramp((("section",) * 2,), slope=1.0 / 7.0)
    rules = build_own_limits(OwnLimits(steepest=1.0 / 7.0, unit="mm"))
    findings = of_rules(steep, with_rules(case, rules))
    assert {f.verdict for f in findings} <= {"meets", "does not apply"}
    assert {f.rules for f in findings} == {rules.id}
    flatter = build_own_limits(OwnLimits(steepest=1.0 / 7.01, unit="mm"))
    failed = {f.subject for f in of_rules(steep, with_rules(case, flatter)) if f.verdict == "fails"}
    assert failed == {"run 1", "S1.1", "S1.2", "P"}


# A guard is asked by the lowest ground within 36 in of the edge, not by the ground under it
# (IRC R312.1.1, IBC 1015.2).


def ditch_beside(case: CheckCase, candidate: Candidate, away_m: float, depth_m: float) -> CheckCase:
    """Lower all ground farther than ``away_m`` to the right of the run by ``depth_m``: a straight wall."""
    section = np.array(candidate.pieces[2].corners_m)[:, :2]
    right = section[1] - section[0]
    right /= np.linalg.norm(right)
    base = section[1] + away_m * right
    along = np.array([-right[1], right[0]])
    ring = np.asarray(case.ground.points_m)
    plane = np.linalg.lstsq(np.column_stack([ring[:, :2], np.ones(4)]), ring[:, 2], rcond=None)[0]
    shapes, heights = [], []
    for side, low in ((-1.0, 0.0), (1.0, depth_m)):
        quad = [base - 50 * along, base + 50 * along, base + 50 * along + side * 50 * right]
        quad.append(base - 50 * along + side * 50 * right)
        for triangle in ((0, 1, 2), (0, 2, 3)):
            corners = np.array([quad[index] for index in triangle])
            shapes.append(corners)
            heights.append(np.column_stack([corners, np.ones(3)]) @ plane - low)
    outline = np.array(
        [base + v * 50 * along + u * 50 * right for u, v in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    )
    ground = Ground(case.ground.points_m, (), np.array(shapes), np.array(heights), (outline,), (), None)
    return replace(case, ground=ground)


@pytest.mark.parametrize(("away_m", "verdict"), [(0.90, "fails"), (0.93, "does not apply")])
def test_a_wall_within_thirty_six_inches_of_the_edge_asks_for_a_guard(away_m: float, verdict: str) -> None:
    bare = drop_rails(RAMP, lambda rail: rail.piece != "L0")
    limit = make_limit("guard_drop", "<=", 0.762)
    case = make_case(limit, case=ditch_beside(CASE, RAMP, away_m, 0.5))
    found = [f for f in of_rules(bare, case) if f.subject == "run 1"]
    assert [f.verdict for f in found] == [verdict]
    railed = [f for f in of_rules(RAMP, case) if f.subject == "run 1"]
    assert [f.verdict for f in railed] == ["meets" if verdict == "fails" else "does not apply"]


@pytest.mark.parametrize(("slack_m", "verdict"), [(0.0, "does not apply"), (1e-5, "fails")])
def test_a_drop_of_exactly_the_limit_asks_for_no_guard(slack_m: float, verdict: str) -> None:
    bare = drop_rails(RAMP, lambda rail: rail.piece != "L0")
    measured = next(
        f for f in of_rules(bare, make_case(make_limit("guard_drop", "<=", 9.0))) if f.subject == "run 1"
    )
    assert measured.measured is not None
    case = make_case(make_limit("guard_drop", "<=", measured.measured - slack_m))
    assert [f.verdict for f in of_rules(bare, case) if f.subject == "run 1"] == [verdict]


def test_the_guard_of_a_landing_leaves_the_wall_and_the_way_open() -> None:
    limit = make_limit("guard_drop", "<=", 0.1)
    assert [f.verdict for f in of_rules(RAMP, make_case(limit)) if f.subject == "L0"] == ["meets"]
    gap = drop_rails(RAMP, lambda rail: rail.piece == "L0" and rail.edge == "left")
    found = [f for f in of_rules(gap, make_case(limit)) if f.subject == "L0"]
    assert [f.verdict for f in found] == ["fails"]
    assert "left edge is open" in found[0].text
