"""Options side by side: order, what none beats, what differs, and the text of it."""

from __future__ import annotations

import csv
import io
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from optimizer.compare.chart import draw_chart
from optimizer.compare.differences import list_differences
from optimizer.compare.options import compare_options
from optimizer.compare_table import draw_comparison, format_csv
from optimizer.errors import InputError
from optimizer.plan import Candidate, Plan
from tests.planned_scene import planned

SVG = "{http://www.w3.org/2000/svg}"


def change(candidate: Candidate, **values: object) -> Candidate:
    return candidate.model_copy(update=values)


def with_candidates(*candidates: Candidate) -> Plan:
    return planned().model_copy(update={"candidates": candidates})


def make(name: str, price: int, walk: float, area: float, direct: int | None = None) -> Candidate:
    return change(
        planned().candidates[0],
        name=name,
        price_cents=price,
        direct_cost_cents=price if direct is None else direct,
        walking_length_m=walk,
        footprint_m2=area,
    )


def test_the_cheapest_of_each_shape_is_compared_unless_numbers_are_given() -> None:
    plan = planned()
    chosen = compare_options(plan, ()).options
    shapes = {one.shape for one in plan.candidates}
    assert {one.candidate.shape for one in chosen} == shapes
    for one in chosen:
        same = [other for other in plan.candidates if other.shape == one.candidate.shape]
        assert one.candidate.direct_cost_cents == min(other.direct_cost_cents for other in same)
    assert [one.number for one in compare_options(plan, [2, 1, 2]).options] in ([1, 2], [2, 1])


def test_what_nothing_beats_is_that_of_a_brute_force() -> None:
    draw = np.random.default_rng(7)
    made = [
        make(f"candidate {n}", int(price), float(walk), float(area))
        for n, (price, walk, area) in enumerate(draw.integers(1, 6, (39, 3)), start=1)
    ]
    for one in compare_options(with_candidates(*made), range(1, 40)).options:
        mine = (one.candidate.price_cents, one.candidate.walking_length_m, one.candidate.footprint_m2)
        beating = set()
        for other in made:
            theirs = (other.price_cents, other.walking_length_m, other.footprint_m2)
            no_worse = theirs[0] <= mine[0] and theirs[1] <= mine[1] and theirs[2] <= mine[2]
            if no_worse and theirs != mine:
                beating.add(other.name)
        assert set(one.beaten_by) == beating


def test_another_order_of_the_totals_is_told() -> None:
    first = make("candidate 1", 200_00, 8.0, 9.0, direct=100_00)
    second = make("candidate 2", 190_00, 9.0, 9.5, direct=110_00)
    comparison = compare_options(with_candidates(first, second), [1, 2])
    assert comparison.totals_differ
    assert [one.number for one in comparison.options] == [2, 1]
    assert "By direct price, which is what is proven, the order is another." in draw_comparison(
        comparison, 110
    )


def test_differences_add_up_to_the_difference_of_the_totals_to_the_cent() -> None:
    candidates = planned().candidates
    for first in candidates:
        for second in candidates:
            found = list_differences(first, second)
            assert sum(one.more_cents for one in found) == second.price_cents - first.price_cents
            assert all(one.more_cents for one in found)
            assert [abs(one.more_cents) for one in found] == sorted(
                (abs(one.more_cents) for one in found), reverse=True
            )


def test_no_line_says_best_without_by_what_and_every_price_is_the_plans() -> None:
    comparison = compare_options(planned(), ())
    page = draw_comparison(comparison, 110)
    assert "best" not in page.lower()
    for one in comparison.options:
        assert f"{one.candidate.price_cents / 100:,.2f}" in page
        assert f"{one.candidate.direct_cost_cents / 100:,.2f}" in page


def test_the_csv_holds_every_line_and_its_sums_are_the_totals() -> None:
    comparison = compare_options(planned(), ())
    rows = list(csv.reader(io.StringIO(format_csv(comparison))))
    figures = {row[0]: row[2:] for row in rows}
    for column, one in enumerate(comparison.options):
        lines = [row for row in rows if row[0].startswith(("direct: ", "added: "))]
        together = sum(round(100 * float(row[2 + column])) for row in lines)
        assert together == one.candidate.price_cents
        assert figures["total price"][column] == f"{one.candidate.price_cents / 100:.2f}"


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@a"])
def test_a_name_never_becomes_a_formula(name: str) -> None:
    plan = with_candidates(change(planned().candidates[0], name=name))
    (head, *_) = csv.reader(io.StringIO(format_csv(compare_options(plan, [1]))))
    assert head[2] == f"'{name}"


def test_the_chart_is_sound_svg_with_a_point_an_option_and_no_words_over_others() -> None:
    made = [make(f"candidate {n}", 500_000 + 900 * n, 8.0 + 0.05 * n, 9.0 + n) for n in range(1, 7)]
    plan = with_candidates(*(change(one, name=f"<&{one.name}>") for one in made))
    root = ET.fromstring(draw_chart(compare_options(plan, range(1, 7))))  # noqa: S314 - our own text
    circles = root.findall(f"{SVG}circle")
    assert len(circles) == 6
    texts = [text for text in root.findall(f"{SVG}text") if text.get("font-weight") == "bold"][1:]
    boxes = [(float(one.get("x", "0")), float(one.get("y", "0")), 7.4 * len(one.text or "")) for one in texts]
    assert len(boxes) == 6
    for i, (x, y, wide) in enumerate(boxes):
        for other_x, other_y, other_wide in boxes[i + 1 :]:
            assert abs(y - other_y) >= 17 or x + wide <= other_x or other_x + other_wide <= x


def test_a_number_that_is_none_and_a_plan_without_layouts_are_refused() -> None:
    with pytest.raises(InputError, match="9 is not a candidate"):
        compare_options(planned(), [9])
    with pytest.raises(InputError, match="nothing to compare"):
        compare_options(with_candidates(), ())
