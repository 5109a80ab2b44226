"""Every rule set file of the folder: complete, sourced, and one page of the schema for all."""

import json
import re
import tomllib
from pathlib import Path
from typing import get_args

import jsonschema
import pytest

from optimizer.rulebook import read_rule_set as room
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import list_rule_sets, read_rule_set, rule_set_ids
from optimizer.rulebook.resolve import list_open_questions
from optimizer.rulebook.rule_file import rule_set_schema
from optimizer.rulebook.rules import Quantity, RuleSet

FILES = tuple(sorted(Path(room.__file__).parent.glob("*.toml")))
IDS = tuple(name for name in rule_set_ids() if name != "own-limits")
#: Quantities that a greater measure breaks; of the others a smaller one does.
AT_MOST = {
    "running_slope",
    "run_law",
    "cross_slope",
    "rise_per_run",
    "length_per_run",
    "total_rise",
    "steps_rise",
    "landing_slope",
    "landing_slope_along",
    "landing_slope_across",
    "door_swing_takes",
    "threshold_drop",
    "handrail_rise",
    "handrail_slope",
    "handrail_drop",
    "handrail_height_max",
    "handrail_grip_max",
    "guard_drop",
    "guard_opening",
    "tip_vertical_change",
}


@pytest.fixture(params=IDS, scope="module")
def rules(request: pytest.FixtureRequest) -> RuleSet:
    return read_rule_set(request.param)


def test_every_file_of_the_folder_is_a_rule_set_that_a_site_may_name() -> None:
    stated = [tomllib.loads(file.read_text(encoding="utf-8"))["id"] for file in FILES]
    assert sorted(stated) == list(IDS)
    assert len(IDS) == len(set(IDS)) >= 21
    assert tuple(rules.id for rules in list_rule_sets()) == IDS


def test_every_file_obeys_the_published_schema() -> None:
    schema = json.loads(rule_set_schema())
    jsonschema.Draft202012Validator.check_schema(schema)
    for file in FILES:
        jsonschema.validate(tomllib.loads(file.read_text(encoding="utf-8")), schema)


def test_every_limit_has_clause_source_and_how_it_is_known(rules: RuleSet) -> None:
    assert rules.limits
    for limit in rules.limits:
        assert limit.clause.strip(), limit.id
        assert limit.source.strip(), limit.id
        assert limit.how_known in ("text", "restated", "memory"), limit.id
        assert limit.quantity in get_args(Quantity), limit.id


def test_every_limit_is_read_the_way_its_quantity_is(rules: RuleSet) -> None:
    for limit in rules.limits:
        wanted = {"<=", "<"} if limit.quantity in AT_MOST else {">=", ">"}
        assert limit.operator in wanted, limit.id


def test_a_number_known_by_text_or_restated_names_the_host_where_it_was_read(rules: RuleSet) -> None:
    for limit in rules.limits:
        if limit.how_known != "memory":
            assert re.search(r"\b[a-z0-9-]+\.(?:[a-z0-9-]+\.)*[a-z]{2,}\b", limit.source), limit.id


def test_one_unit_of_length_in_a_file(rules: RuleSet) -> None:
    units = {limit.unit for limit in rules.limits} - {"ratio", "percent", "count"}
    assert len(units) <= 1


def test_ids_are_unique_over_all_files() -> None:
    ids = [(rules.id, limit.id) for rules in list_rule_sets() for limit in rules.limits]
    assert len(ids) == len(set(ids))


def test_no_statement_claims_compliance(rules: RuleSet) -> None:
    words = rules.statement.lower()
    assert "complian" not in words
    assert "approv" not in words
    assert "that were checked" in words
    assert words.endswith("decides.")


def test_what_is_not_checked_is_told(rules: RuleSet) -> None:
    assert len(rules.not_checked) >= 3
    assert all(line.strip() for line in rules.not_checked)


def test_every_set_is_asked_only_what_somebody_can_answer(rules: RuleSet) -> None:
    asked = list_open_questions(rules, JobFacts())
    assert set(asked) <= {
        "egress_door",
        "works",
        "space_limited",
        "building",
        "dwelling_category",
        "occupants",
    }
    named = {one.fact for limit in rules.limits for one in limit.when} - {"door_swing", "runs"}
    assert set(asked) == named
