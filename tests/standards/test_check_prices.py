"""A legal ramp with a wrong price: exactly the clauses that speak of it fail."""

from __future__ import annotations

from dataclasses import replace

from optimizer.plan import Candidate
from tests.standards.damage import (
    failed_clauses,
    find_failed,
)
from tests.standards.ramp_on_a_plane import build_ramp

RAMP, CASE = build_ramp()


def test_a_part_priced_twice_or_not_at_all_is_named() -> None:
    first, *rest = RAMP.price_lines
    found = find_failed(RAMP.model_copy(update={"price_lines": tuple(rest)}), CASE)
    assert "is not priced" in next(f.text for f in found if f.clause == "build.price_items")
    found = find_failed(RAMP.model_copy(update={"price_lines": (first, *RAMP.price_lines)}), CASE)
    assert "priced but not there, or twice" in next(f.text for f in found if f.clause == "build.price_items")


def test_dearer_labour_changes_every_line_that_has_any() -> None:
    case = replace(CASE, rates=replace(CASE.rates, labour_per_hour_cents=9074))
    found = [f for f in find_failed(RAMP, case) if f.clause == "build.price_line"]
    free = {"foot"}
    assert {f.subject.removeprefix("price of ") for f in found} == {
        line.part for line in RAMP.price_lines if line.group == "direct"
    } - free


def test_an_extra_charge_is_refused() -> None:
    extra = RAMP.price_lines[-1].model_copy(
        update={"part": "fee", "name": "fee", "unit_cents": 0, "total_cents": 0}
    )
    changed = RAMP.model_copy(update={"price_lines": (*RAMP.price_lines, extra)})
    assert failed_clauses(changed, CASE) == {"build.price_line"}


def change_lines(**totals: int) -> Candidate:
    """Change sums by so many cents each."""
    lines = tuple(
        line.model_copy(
            update={
                "unit_cents": line.unit_cents + totals.get(line.part, 0),
                "total_cents": line.total_cents + totals.get(line.part, 0),
            }
        )
        for line in RAMP.price_lines
    )
    return RAMP.model_copy(update={"price_lines": lines})


def test_a_cent_moved_from_one_sum_to_another_is_noticed() -> None:
    found = find_failed(change_lines(delivery=1, overhead=-1), CASE)
    assert [(f.clause, f.subject) for f in found] == [
        ("build.price_total", "delivery"),
        ("build.price_total", "overhead"),
    ]


def test_a_line_for_a_part_of_no_catalogue_is_refused() -> None:
    line = RAMP.price_lines[0].model_copy(
        update={"part": "ghost", "count": 0, "items": (), "unit_cents": 0, "total_cents": 0}
    )
    changed = RAMP.model_copy(update={"price_lines": (*RAMP.price_lines, line)})
    found = find_failed(changed, CASE)
    assert [(f.clause, f.subject) for f in found] == [("build.price_line", "price of ghost")]


def test_a_total_is_count_times_one() -> None:
    first, second, *rest = RAMP.price_lines
    lines = (
        first.model_copy(update={"total_cents": first.total_cents + 1}),
        second.model_copy(update={"total_cents": second.total_cents - 1}),
        *rest,
    )
    found = find_failed(RAMP.model_copy(update={"price_lines": lines}), CASE)
    assert {f.subject for f in found} == {f"price of {first.part}", f"price of {second.part}"}
