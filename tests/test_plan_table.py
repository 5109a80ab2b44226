"""The printed tables: nothing broken in the middle, sub-totals that add up, legs marked near their end."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest

from optimizer.brief.site import DisplayUnits
from optimizer.plan import Plan, SupportLeg
from optimizer.plan_table import draw_plan, measure_page_width
from optimizer.schedule_tables import (
    IN_RESERVE,
    OUT_OF_RANGE,
    SHOOT_AGAIN,
    build_console,
    build_table,
    mark_leg,
    shorten_items,
    show_setting,
)
from tests.planned_scene import planned, planned_site

FEET = DisplayUnits("ft-in", 0.0254 / 8)


def leg(height_m: float, reserve_m: float = 0.025) -> SupportLeg:
    first = next(one for one in planned().candidates[0].legs if one.kind == "leg")
    return first.model_copy(
        update={
            "height_m": height_m,
            "range_m": (0.2, 0.6),
            "reserve_m": reserve_m,
            "height_error_m": None,  # so that the rough error of the ground decides
        }
    )


def rows_of(page: str, title: str) -> list[str]:
    """Lines of one table, from its title to the next empty line but one."""
    return page.split(f"{title}", maxsplit=1)[1].split("\n\n", maxsplit=2)[1].splitlines()


@pytest.mark.parametrize("width", [100, 110, 130])
@pytest.mark.parametrize("display", [planned_site().display, FEET])
def test_no_line_is_wider_than_the_page_and_no_number_is_broken(width: int, display: DisplayUnits) -> None:
    page = draw_plan(planned(), replace(planned_site(), display=display), width)
    assert max(len(line) for line in page.splitlines()) <= width
    for candidate in planned().candidates:
        assert f"{candidate.direct_cost_cents / 100:,.2f}" in page
        assert f"{candidate.price_cents / 100:,.2f}" in page
    legs = rows_of(page, "Legs of candidate 1")
    ticked = [line for line in legs if line.startswith("[ ] ") and re.search(r"\bL\d\d\b", line)]
    assert len(ticked) == len(planned().candidates[0].legs) == len(legs) - 2


def test_where_there_is_no_room_names_are_broken_and_settings_are_not() -> None:
    table = build_table(("part", "setting"), (), 1)
    table.add_row("deck of four", "hole 13, screw 23 mm")
    buffer = io.StringIO()
    build_console(buffer, 26).print(table)
    assert "hole 13, screw 23 mm" in buffer.getvalue()


def test_the_sub_totals_add_up_to_the_direct_cost_and_every_part_can_be_ticked() -> None:
    page = draw_plan(planned(), planned_site(), 110)
    parts = page.split("Parts of candidate 1", maxsplit=1)[1].split("checks of candidate 1", maxsplit=1)[0]
    candidate = planned().candidates[0]

    def read(pattern: str) -> list[tuple[int, int]]:
        found = re.findall(rf"^ *(\d+) +(?:{pattern}) +([\d,]+\.\d\d)$", parts, flags=re.MULTILINE)
        return [(int(count), int(re.sub(r"[,.]", "", cents))) for count, cents in found]

    groups = read("deck and plates|legs and feet|rails|ground work")
    assert len(groups) == 3
    assert [tuple(map(sum, zip(*groups, strict=True)))] == read("direct cost")
    assert read("direct cost")[0][1] == candidate.direct_cost_cents
    direct = [line for line in candidate.price_lines if line.group == "direct"]
    assert parts.count("[ ] ") == len(direct) + 1
    assert read("direct cost")[0][0] == sum(line.count for line in direct)


def test_heights_carry_twice_the_rough_error_of_the_ground() -> None:
    ground = planned().ground.model_copy(update={"leave_one_out_m": 0.0043})
    untold = planned().model_copy(update={"ground": ground, "fit": None})
    page = draw_plan(untold, planned_site(), 110)
    assert page.count("± 9 mm") >= 3


def test_a_ground_that_cannot_be_judged_says_so() -> None:
    ground = planned().ground.model_copy(update={"leave_one_out_m": None})
    plan: Plan = planned().model_copy(update={"ground": ground})
    page = draw_plan(plan, planned_site(), 110)
    assert "too few to judge them by each other" in page
    assert "± not known" in page


@pytest.mark.parametrize(
    ("height_m", "mark"),
    [
        (0.4, ""),
        (0.235, ""),
        (0.2349, SHOOT_AGAIN),
        (0.225, SHOOT_AGAIN),
        (0.2249, IN_RESERVE),
        (0.2, IN_RESERVE),
        (0.1999, OUT_OF_RANGE),
        (0.565, ""),
        (0.5651, SHOOT_AGAIN),
        (0.5751, IN_RESERVE),
        (0.6001, OUT_OF_RANGE),
    ],
)
def test_a_leg_near_the_end_of_its_range_is_marked(height_m: float, mark: str) -> None:
    assert mark_leg(leg(height_m), 0.01 - 1e-9) == mark


def test_a_setting_is_told_in_the_units_of_the_site() -> None:
    site = planned_site()
    first = planned().candidates[0].legs[0]
    part = next(one for one in site.catalogue.legs if one.id == first.leg_type)
    one = first.model_copy(update={"height_m": part.min_m + 0.0254 * 2.5, "setting": "screw 64 mm"})
    assert show_setting(replace(site, display=FEET), one) == 'screw 2 1/2"'
    assert show_setting(site, one) == "screw 64 mm"


def test_ids_in_a_row_are_shortened_to_a_range() -> None:
    assert shorten_items(("L01", "L02", "L03", "L05", "L07", "L08")) == "L01-L03 L05 L07-L08"
    assert shorten_items(()) == ""


@pytest.mark.parametrize(("columns", "width"), [("60", 100), ("100", 100), ("117", 117), ("300", 130)])
def test_the_page_is_as_wide_as_the_terminal_between_two_bounds(
    columns: str, width: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert measure_page_width() == width
