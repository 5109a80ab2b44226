"""What is printed on conflicts, prices of constraints and parts to buy."""

from __future__ import annotations

import pytest

from optimizer.plan import Conflict, ConstraintPrice, PartToBuy, Plan, PriceVerdict, StockAdvice
from optimizer.plan_table import describe_saving, draw_plan, list_conflict_lines
from tests.planned_scene import planned, planned_site

#: A name as long as a site file may give it.
LONG = "the meter of the neighbours behind the third shed on the far side of the drive, with its cabinet"


def priced(verdict: PriceVerdict, saving: int | None, cost: int | None = None) -> ConstraintPrice:
    return ConstraintPrice(
        subject="the meter",
        change="a waiver for the meter",
        granted_by="the electricity supplier",
        verdict=verdict,
        saving_cents=saving,
        cost_cents=cost,
    )


def without_layout(*conflicts: Conflict, trials: tuple[str, ...] = ()) -> Plan:
    return planned().model_copy(update={"candidates": (), "conflicts": conflicts, "trials": trials})


@pytest.mark.parametrize(
    ("verdict", "saving", "words"),
    [
        ("saves", 64_000, "640.00"),
        ("saves at least", 64_000, "at least 640.00"),
        ("costs nothing", 0, "nothing"),
        ("costs more", -64_000, "640.00 more"),
        ("costs at most", -64_000, "at most 640.00 more"),
        ("no layout", None, "no layout"),
        ("not settled", None, "not settled in time"),
    ],
)
def test_a_saving_is_said_as_it_was_found(verdict: PriceVerdict, saving: int | None, words: str) -> None:
    assert describe_saving(priced(verdict, saving)) == words


@pytest.mark.parametrize("width", [100, 130])
def test_prices_of_constraints_are_printed_within_the_page(width: int) -> None:
    long = priced("saves", 123_456, 1_000_000).model_copy(update={"subject": LONG})
    plan = planned().model_copy(update={"constraint_prices": (long, priced("not settled", None))})
    page = draw_plan(plan, planned_site(), width)
    table = page.split("What each constraint costs", maxsplit=1)[1]
    assert max(len(line) for line in page.splitlines()) <= width
    assert "1,234.56" in table
    assert "10,000.00" in table
    assert "not settled in time" in table
    assert "What each constraint costs" not in draw_plan(planned(), planned_site(), width)


def test_a_remedy_is_printed_with_its_cost_and_who_may_grant_it() -> None:
    proven = Conflict(
        reason="The meter is in the way.",
        remedy="a waiver for the meter",
        granted_by="the electricity supplier",
        cost_cents=512_300,
        cost_is_least=True,
    )
    lines = "\n".join(list_conflict_lines(without_layout(proven)))
    assert "a waiver for the meter: at 5,123.00 " in lines
    assert "granted by the electricity supplier" in lines
    found = proven.model_copy(update={"cost_is_least": False, "granted_by": ""})
    lines = "\n".join(list_conflict_lines(without_layout(found)))
    assert "a waiver for the meter: at most 5,123.00 " in lines
    assert "granted by" not in lines


def test_a_conflict_without_a_layout_is_printed_without_a_cost() -> None:
    plain = Conflict(reason="No plate is wide enough.", remedy="Take another catalogue.")
    lines = "\n".join(list_conflict_lines(without_layout(plain, trials=("Would not do alone: x.",))))
    assert "- No plate is wide enough.\n  Take another catalogue." in lines
    assert "would make a layout possible" not in lines
    assert "Would not do alone: x." in lines


@pytest.mark.parametrize(
    ("saving", "words"),
    [(None, "the stock allows none"), (25_000, "250.00 less than the first candidate's ramp")],
)
def test_parts_to_buy_are_printed_with_what_they_bring(saving: int | None, words: str) -> None:
    part = PartToBuy(part="section-96", name="section", in_stock=1, count=2, unit_cents=70_000)
    advice = StockAdvice(parts=(part,), cost_cents=400_000, saving_cents=saving, is_least=True)
    page = draw_plan(planned().model_copy(update={"to_buy": advice}), planned_site(), 110)
    table = page.split("What to buy beyond the stock", maxsplit=1)[1]
    assert words in table
    assert any(line.split() == ["2", "section-96", "1", "700.00"] for line in table.splitlines())
