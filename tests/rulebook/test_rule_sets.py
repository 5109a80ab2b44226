import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from optimizer.errors import InputError
from optimizer.rulebook import read_rule_set as room
from optimizer.rulebook.read_rule_set import read_rule_file, read_rule_set, rule_set_ids
from optimizer.rulebook.rule_file import rule_set_schema
from optimizer.rulebook.rules import Quantity, RuleSet

INCH_M = 0.0254

RULES = """\
id = "tiny"
title = "Tiny standard"
edition = "2020"
statement = "Meets what was checked; the authority decides."
not_checked = ["doors"]

[[limit]]
id = "tiny.slope"
clause = "1.1"
quantity = "running_slope"
operator = "<="
value = "1:14"
unit = "ratio"
source = "a page"
how_known = "memory"

[[limit]]
id = "tiny.width"
clause = "1.2"
quantity = "clear_width"
operator = ">"
value = 900
unit = "mm"
source = "a page"
how_known = "text"
note = "between rails"
"""


@pytest.fixture(scope="module")
def ada() -> RuleSet:
    return read_rule_set("ada-2010")


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "rules.toml"
    path.write_text(text, encoding="utf-8")
    return path


#: Clause, operator and value of US ADA 2010, typed here a second time from the standard's chapters 3 to 5.
ADA = (
    ("running_slope", "405.2", "<=", 1 / 12),
    ("cross_slope", "405.3", "<=", 1 / 48),
    ("clear_width", "405.5", ">=", 36 * INCH_M),
    ("rise_per_run", "405.6", "<=", 30 * INCH_M),
    ("landing_slope", "405.7.1", "<=", 1 / 48),
    ("landing_width", "405.7.2", ">=", 0.0),
    ("landing_length", "405.7.3", ">=", 60 * INCH_M),
    ("landing_turn", "405.7.4", ">=", 60 * INCH_M),
    ("handrail_rise", "405.8", "<=", 6 * INCH_M),
    ("edge_protection_height", "405.9.2", ">=", 4 * INCH_M),
    ("handrail_sides", "505.2", ">=", 2.0),
    ("handrail_height_min", "505.4", ">=", 34 * INCH_M),
    ("handrail_height_max", "505.4", "<=", 38 * INCH_M),
    ("handrail_extension", "505.10.1", ">=", 12 * INCH_M),
    ("tip_vertical_change", "303.2", "<=", 0.25 * INCH_M),
    ("threshold_drop", "404.2.5", "<=", 0.5 * INCH_M),
)


@pytest.mark.parametrize(("quantity", "clause", "operator", "value_si"), ADA)
def test_an_ada_limit_has_its_clause_operator_and_value(
    ada: RuleSet, quantity: Quantity, clause: str, operator: str, value_si: float
) -> None:
    limit = ada.limit(quantity)
    assert limit is not None
    assert (limit.clause, limit.operator) == (clause, operator)
    assert limit.value_si == pytest.approx(value_si, abs=1e-12)


def test_ada_has_no_other_limits(ada: RuleSet) -> None:
    assert {limit.quantity for limit in ada.limits} == {quantity for quantity, *_ in ADA}


def test_every_ada_limit_names_a_public_source_and_how_it_is_known(ada: RuleSet) -> None:
    for limit in ada.limits:
        assert limit.clause
        assert "www.access-board.gov/ada/" in limit.source
        assert limit.how_known == ("restated" if limit.quantity == "edge_protection_height" else "text")


def test_ada_lengths_are_kept_in_the_documents_own_inches(ada: RuleSet) -> None:
    assert {limit.unit for limit in ada.limits} == {"in", "ratio", "count"}
    rise = ada.limit("rise_per_run")
    assert rise is not None
    assert (rise.value, rise.value_si) == (30.0, 0.762)


def test_a_quantity_the_document_does_not_speak_of_has_no_limit(ada: RuleSet) -> None:
    assert ada.limit("guard_drop") is None
    assert ada.limit("length_per_run") is None


def test_what_ada_says_and_is_not_checked_is_listed(ada: RuleSet) -> None:
    assert any("404.2.4" in line for line in ada.not_checked)
    assert any("Table 405.2" in line for line in ada.not_checked)


def test_no_statement_claims_compliance(ada: RuleSet) -> None:
    assert "complian" not in ada.statement.lower()
    assert "approv" not in ada.statement.lower()
    assert ada.statement.endswith("The authority having jurisdiction decides.")
    assert "that were checked" in ada.statement


def test_an_unknown_rule_set_lists_the_known_ones() -> None:
    assert rule_set_ids() == ("ada-2010", "own-limits")
    with pytest.raises(
        InputError, match=r'site\.toml:9: "ada" is no known rule set\. Use one of: ada-2010, own-limits'
    ):
        read_rule_set("ada", "site.toml:9")


def test_own_limits_are_not_read_from_a_file() -> None:
    with pytest.raises(InputError, match="no numbers of its own"):
        read_rule_set("own-limits")


def test_a_rule_set_is_read_with_its_values_in_metres_and_ratios(tmp_path: Path) -> None:
    rules = read_rule_file(written(tmp_path, RULES))
    slope, width = rules.limits
    assert (slope.value, slope.value_si, slope.how_known, slope.note) == (1 / 14, 1 / 14, "memory", "")
    assert (width.value, width.unit, width.value_si, width.operator) == (900.0, "mm", 0.9, ">")
    assert (rules.id, rules.not_checked) == ("tiny", ("doors",))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('clause = "1.1"\n', "", 'the key "clause" is missing'),
        ('clause = "1.1"', 'clause = ""', 'clause = "" is empty'),
        ('source = "a page"\nhow_known = "memory"', 'how_known = "memory"', 'the key "source" is missing'),
        ('source = "a page"', 'source = ""', 'source = "" is empty'),
        ('operator = ">"', 'operator = "=>"', "is not one of the known words"),
        ('operator = ">"', 'operator = "at least"', "Use one of: <=, <, >=, >."),
        ('"clear_width"', '"clear_wdth"', 'Did you mean "clear_width"?'),
        ('unit = "mm"', 'unit = "inch"', "is not one of the known words"),
        ('unit = "mm"', 'unit = "ratio"', '"ratio" does not measure a clear_width. Use a unit of length'),
        ('unit = "mm"', 'unit = "count"', '"count" does not measure a clear_width'),
        ('unit = "ratio"', 'unit = "mm"', '"mm" does not measure a running_slope. Use ratio'),
        ('value = "1:14"', "value = 0.071", "0.071 does not go with the unit ratio"),
        ("value = 900", 'value = "900"', '"900" does not go with the unit mm'),
        ("value = 900", "value = -900", "must be at least 0"),
        ("value = 900", "value = nan", "nan is no number"),
        ("value = 900", "value = true", "true is no number"),
        ('value = "1:14"', 'value = "one in 14"', "is not a slope with its kind stated"),
        ('how_known = "text"', 'how_known = "own"', "is not one of the known words"),
        ('how_known = "text"', 'how_known = "sure"', "Use one of: text, restated, memory."),
        ('"tiny.width"', '"tiny.slope"', 'the id "tiny.slope" was in line 8'),
        ('note = "between rails"', 'remark = "between rails"', 'the key "remark" is not known'),
        ('edition = "2020"', "edition = 2020", "edition = 2020 is not a text"),
    ],
)
def test_a_fault_in_a_rule_set_is_refused(tmp_path: Path, old: str, new: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        read_rule_file(written(tmp_path, RULES.replace(old, new, 1)))
    assert sum(says in str(fault) for fault in caught.value.faults) == 1, str(caught.value)


def test_two_limits_on_one_quantity_are_refused(tmp_path: Path) -> None:
    text = (
        RULES.replace('"running_slope"', '"clear_width"').replace('"1:14"', "36").replace('"ratio"', '"in"')
    )
    with pytest.raises(
        InputError, match=r'rules\.toml:20: limit 2: the quantity "clear_width" was in line 10'
    ):
        read_rule_file(written(tmp_path, text))


def test_a_rule_set_with_an_empty_list_of_limits_is_refused(tmp_path: Path) -> None:
    text = "limit = []\n" + RULES[: RULES.index("[[limit]]")]
    with pytest.raises(InputError, match=r"rules\.toml:1: limit = \[\] has too few entries"):
        read_rule_file(written(tmp_path, text))


def test_a_rule_set_without_limits_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match='the key "limit" is missing'):
        read_rule_file(written(tmp_path, RULES[: RULES.index("[[limit]]")]))


def test_all_faults_of_a_rule_set_come_at_once(tmp_path: Path) -> None:
    text = (
        RULES.replace('clause = "1.1"\n', "")
        .replace('"mm"', '"inch"')
        .replace('operator = ">"', 'operator = "?"')
    )
    with pytest.raises(InputError) as caught:
        read_rule_file(written(tmp_path, text))
    assert [int(fault.where.rpartition(":")[2]) for fault in caught.value.faults] == [7, 20, 22]


def test_published_rule_sets_obey_the_published_schema() -> None:
    schema = json.loads(rule_set_schema())
    jsonschema.Draft202012Validator.check_schema(schema)
    folder = Path(room.__file__).parent
    files = sorted(folder.glob("*.toml"))
    assert len(files) == len(rule_set_ids()) - 1
    for file in files:
        jsonschema.validate(tomllib.loads(file.read_text(encoding="utf-8")), schema)
