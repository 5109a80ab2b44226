"""What the search keeps of the rule sets: declared, found out by trying, and published in DEVELOPERS.md."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from optimizer.brief.bind_rules import bind_alone
from optimizer.rule_coverage import ENFORCED_BY, list_enforced, list_fields, list_quantities
from optimizer.rulebook.build_design_limits import build_design_limits
from optimizer.rulebook.design_limits import DesignLimits
from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.rulebook.rules import Limit, Place, Quantity, RuleSet
from optimizer.rulebook.run_law import Allowance, RunLaw
from optimizer.rules_table import draw_coverage

TOP = Path(__file__).parents[1]
#: Stand round the generated table in DEVELOPERS.md.
BEGIN, END = "<!-- evenfall rules --table -->\n", "<!-- end of the table -->\n"


def limit(quantity: Quantity, value: float, place: Place) -> Limit:
    rows = (Allowance(0.0, 5.0, value, value, value, "ratio", is_strict=False),)
    return Limit(
        id="one",
        clause="1",
        quantity=quantity,
        operator="<=",
        value=value,
        unit="m",
        value_si=value,
        source="this test",
        how_known="text",
        note="",
        place=place,
        law=RunLaw(rows, widens=False) if quantity == "run_law" else None,
        door=DoorClearance("front", "pull", value, 0.0, 0.0) if quantity == "door_clearance" else None,
    )


def design(*limits: Limit, swing: str) -> DesignLimits:
    rules = bind_alone(RuleSet("one", "One", "1", limits, (), ""))
    return build_design_limits(rules, "out" if swing == "out" else "in", 0.9)


def find_moved(quantity: Quantity) -> set[str]:
    """Fields that some limit on the quantity changes, wherever it holds and however the door swings."""
    return {
        field
        for swing in ("in", "out")
        for place in get_args(Place)
        for value in (0.07, 5.0)
        for field in list_fields()
        if getattr(design(swing=swing), field)
        != getattr(design(limit(quantity, value, place), swing=swing), field)
    }


@pytest.mark.parametrize("quantity", list_quantities())
def test_a_limit_moves_exactly_the_fields_declared_for_its_quantity(quantity: Quantity) -> None:
    declared = {field for field, quantities in ENFORCED_BY.items() if quantity in quantities}
    assert find_moved(quantity) == declared


def test_every_field_of_the_design_limits_is_declared() -> None:
    assert tuple(ENFORCED_BY) == list_fields()


def test_what_is_said_to_be_kept_is_read_by_the_search_or_the_layout() -> None:
    rooms = [TOP / "optimizer" / room for room in ("search", "layout")]
    text = "\n".join(path.read_text(encoding="utf-8") for room in rooms for path in room.rglob("*.py"))
    unread = [field for field in list_fields() if not re.search(rf"\.{field}\b", text)]
    assert unread == []


def test_the_table_in_the_developers_page_is_up_to_date() -> None:
    text = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert text.count(BEGIN) == text.count(END) == 1
    assert text.split(BEGIN)[1].split(END)[0] == draw_coverage()


def test_the_table_has_a_row_for_every_quantity_and_says_who_keeps_it() -> None:
    rows = {row.split(" | ")[0].removeprefix("| "): row for row in draw_coverage().splitlines()[2:]}
    assert tuple(rows) == list_quantities()
    for quantity, row in rows.items():
        assert ("search and checker" in row) == (quantity in list_enforced())
    assert "ada-2010" in rows["running_slope"]
