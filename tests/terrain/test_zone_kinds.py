"""Every kind of zone has one row, and what it forbids is what the search and the checker go by."""

from __future__ import annotations

import re
import typing

import pytest

from optimizer.terrain.yard import DIG_BLOCKING, FOOT_BLOCKING, OVERHEAD, PIECE_BLOCKING
from optimizer.terrain.zone_kinds import ZONE_RULES, ZoneKind, ZoneRule, find_zone_rule


def test_every_kind_has_one_row() -> None:
    assert sorted(rule.kind for rule in ZONE_RULES) == sorted(typing.get_args(ZoneKind))
    assert all(find_zone_rule(rule.kind) is rule for rule in ZONE_RULES)


def test_the_sets_of_the_discrete_problem_are_the_rows() -> None:
    blocking = {"no_build", "no_cover", "vehicle", "escape_window", "right_of_way", "keep_walkable"}
    assert blocking == PIECE_BLOCKING
    assert {"no_foot"} == FOOT_BLOCKING
    assert {"headroom", "wire"} == OVERHEAD
    assert {"drip_line", "no_foot"} == DIG_BLOCKING


@pytest.mark.parametrize("rule", ZONE_RULES, ids=lambda rule: rule.kind)
def test_a_row_says_what_it_forbids_why_and_who_may_waive_it(rule: ZoneRule) -> None:
    assert rule.blocks
    assert rule.reason
    assert rule.waived_by
    assert rule.size_m >= 0.0


@pytest.mark.parametrize("rule", ZONE_RULES, ids=lambda rule: rule.kind)
def test_a_size_rests_on_a_clause_or_says_that_it_has_none(rule: ZoneRule) -> None:
    has_clause = re.search(r"\d{4}.*\d\.\d", rule.source) is not None
    assert has_clause or rule.source == "common practice, no source"


@pytest.mark.parametrize(
    ("kind", "inches"), [("no_cover", 36), ("escape_window", 36), ("wire", 36), ("keep_walkable", 18)]
)
def test_a_size_from_a_clause_is_the_clauses_own(kind: ZoneKind, inches: int) -> None:
    assert find_zone_rule(kind).size_m == pytest.approx(inches * 0.0254, abs=1e-12)
