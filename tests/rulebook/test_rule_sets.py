import pytest

from optimizer.errors import InputError
from optimizer.rulebook.facts import Condition
from optimizer.rulebook.read_rule_set import read_rule_set, rule_set_ids
from optimizer.rulebook.rules import Quantity, RuleSet

INCH_M = 0.0254


@pytest.fixture(scope="module")
def ada() -> RuleSet:
    return read_rule_set("ada-2010")


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
    ("handrail_grip_min", "505.7.1", ">=", 1.25 * INCH_M),
    ("handrail_grip_max", "505.7.1", "<=", 2 * INCH_M),
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
    tables = {"run_law", "door_clearance"}
    assert {limit.quantity for limit in ada.limits} == {quantity for quantity, *_ in ADA} | tables


def test_an_existing_threshold_may_be_higher(ada: RuleSet) -> None:
    (limit,) = (limit for limit in ada.limits if limit.id == "ada.threshold_drop_existing")
    assert limit.value_si == pytest.approx(0.75 * INCH_M, abs=1e-12)
    assert limit.when == (Condition("works", ("existing",)),)


#: Table 404.2.4.1 typed a second time, inches: depth, past the latch, past the hinge, and what a closer adds
#: to the depth, closer and latch to the depth and past the latch.
DOORS = {
    ("front", "pull"): [(60, 18, 0, 0, 0, 0)],
    ("front", "push"): [(48, 0, 0, 0, 0, 12)],
    ("hinge", "pull"): [(60, 36, 0, 0, 0, 0), (54, 42, 0, 0, 0, 0)],
    ("hinge", "push"): [(42, 0, 22, 0, 6, 0)],
    ("latch", "pull"): [(48, 24, 0, 6, 0, 0)],
    ("latch", "push"): [(42, 24, 0, 6, 0, 0)],
}


@pytest.mark.parametrize(("approach", "side"), DOORS)
def test_the_door_table_has_every_row(ada: RuleSet, approach: str, side: str) -> None:
    rows = [limit.door for limit in ada.limits_on("door_clearance", "top") if limit.door is not None]
    sizes = [
        (
            row.depth_m,
            row.beyond_latch_m,
            row.beyond_hinge_m,
            row.closer_depth_m,
            row.closer_latch_depth_m,
            row.closer_latch_beyond_m,
        )
        for row in rows
        if (row.approach, row.side) == (approach, side)
    ]
    wanted = [tuple(inches * INCH_M for inches in row) for row in DOORS[approach, side]]
    assert len(sizes) == len(wanted)
    for size, row in zip(sizes, wanted, strict=True):
        assert size == pytest.approx(row, abs=1e-12)


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
    assert any("404.2.4.3" in line for line in ada.not_checked)
    assert any(line.startswith("guards") for line in ada.not_checked)


def test_no_statement_claims_compliance(ada: RuleSet) -> None:
    assert "complian" not in ada.statement.lower()
    assert "approv" not in ada.statement.lower()
    assert ada.statement.endswith("The authority having jurisdiction decides.")
    assert "that were checked" in ada.statement


def test_an_unknown_rule_set_lists_the_known_ones() -> None:
    with pytest.raises(InputError) as caught:
        read_rule_set("no such book", "site.toml:9")
    (fault,) = caught.value.faults
    assert (fault.where, fault.what) == ("site.toml:9", '"no such book" is no known rule set.')
    assert all(name in fault.remedy for name in rule_set_ids())


def test_a_misspelt_rule_set_is_answered_with_the_nearest() -> None:
    with pytest.raises(InputError, match=r'Did you mean "ada-2010"\?'):
        read_rule_set("ada-2011", "site.toml:9")


def test_own_limits_are_not_read_from_a_file() -> None:
    with pytest.raises(InputError, match="no numbers of its own"):
        read_rule_set("own-limits")
