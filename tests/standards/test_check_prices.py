"""A legal ramp with a wrong price: exactly the clauses that speak of it fail."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.plan import Candidate, PriceLine
from optimizer.standards.check_candidate import CheckCase
from tests.standards.damage import (
    change_yard,
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


#: The door landing begins 0.02 m from the wall, and so 1.02 m from the lot line behind it.
IN_THE_STRIP = change_yard(CASE, setback_m=1.03, setback_kind="needs_relief", relief_cents=45_000)
BESIDE_THE_STRIP = change_yard(CASE, setback_m=1.02, setback_kind="needs_relief", relief_cents=45_000)
RELIEF_LINE = PriceLine(
    group="direct",
    part="setback-relief",
    name="relief from the setback",
    count=1,
    unit_cents=45_000,
    total_cents=45_000,
    items=(),
)


def find_relief_faults(candidate: Candidate, case: CheckCase) -> list[str]:
    found = find_failed(candidate, case)
    return [f.text for f in found if f.clause == "build.price_line" and "relief" in f.text]


def with_lines(*lines: PriceLine) -> Candidate:
    return RAMP.model_copy(update={"price_lines": (*lines, *RAMP.price_lines)})


def test_relief_from_the_setback_is_priced_once_where_a_piece_lies_in_the_strip() -> None:
    assert find_relief_faults(with_lines(RELIEF_LINE), IN_THE_STRIP) == []
    assert find_relief_faults(RAMP, BESIDE_THE_STRIP) == []
    assert find_relief_faults(RAMP, CASE) == []
    assert find_relief_faults(RAMP, replace(IN_THE_STRIP, yard=replace(CASE.yard, setback_m=1.03))) == []


@pytest.mark.parametrize(("deeper_m", "faults"), [(0.9e-6, 0), (1.1e-6, 1)])
def test_a_piece_that_only_touches_the_strip_needs_no_relief(deeper_m: float, faults: int) -> None:
    case = replace(BESIDE_THE_STRIP, yard=replace(BESIDE_THE_STRIP.yard, setback_m=1.02 + deeper_m))
    assert len(find_relief_faults(RAMP, case)) == faults


def test_relief_that_is_not_priced_or_priced_twice_is_noticed() -> None:
    (text,) = find_relief_faults(RAMP, IN_THE_STRIP)
    assert "relief from the setback is needed once and priced 0 times" in text
    (text,) = find_relief_faults(with_lines(RELIEF_LINE, RELIEF_LINE), IN_THE_STRIP)
    assert "priced 2 times" in text


def test_relief_that_nobody_needs_is_noticed() -> None:
    for case in (BESIDE_THE_STRIP, CASE):
        (text,) = find_relief_faults(with_lines(RELIEF_LINE), case)
        assert "relief from the setback is priced and none is needed" in text


@pytest.mark.parametrize(
    "change",
    [{"total_cents": 45_001}, {"unit_cents": 44_999}, {"count": 2}, {"items": ("L0",)}, {"group": "added"}],
)
def test_relief_costs_what_the_site_says_and_counts_nothing(change: dict[str, object]) -> None:
    line = RELIEF_LINE.model_copy(update=change)
    assert len(find_relief_faults(with_lines(line), IN_THE_STRIP)) == 1


def test_relief_is_part_of_the_direct_cost() -> None:
    found = find_failed(with_lines(RELIEF_LINE), IN_THE_STRIP)
    direct = next(f for f in found if f.clause == "build.price_total" and f.subject == "direct cost")
    assert direct.measured == 45_000


def test_a_total_is_count_times_one() -> None:
    first, second, *rest = RAMP.price_lines
    lines = (
        first.model_copy(update={"total_cents": first.total_cents + 1}),
        second.model_copy(update={"total_cents": second.total_cents - 1}),
        *rest,
    )
    found = find_failed(RAMP.model_copy(update={"price_lines": lines}), CASE)
    assert {f.subject for f in found} == {f"price of {first.part}", f"price of {second.part}"}
