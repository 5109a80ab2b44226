"""Every single number of the rule sets, typed a second time from the digested clauses.

A line reads: quantity, place where it is not everywhere, operator, the document's own number.  Tables
(rows of runs, rows of doors) are held elsewhere: ``test_published_rule_sets.py``,
``test_rule_sets.py``, and below.
"""

from __future__ import annotations

import pytest

from optimizer.rulebook.read_rule_set import read_rule_set, rule_set_ids
from optimizer.rulebook.rules import Limit

#: The US numbers of handrails, in inches, that several books repeat.
US_RAILS = "handrail_height_min >= 34 / handrail_height_max <= 38"
US_GRIP = "handrail_grip_min >= 1.25 / handrail_grip_max <= 2 / handrail_extension >= 12"
US_RUN = "rise_per_run <= 30 / landing_slope <= 1:48 / landing_width >= 0"

VALUES = {
    "a117.1-2009": f"running_slope <= 1:12 / clear_width >= 36 / {US_RUN} / landing_length >= 60"
    " / landing_turn >= 60",
    "a117.1-2017": f"running_slope <= 1:12 / clear_width >= 36 / {US_RUN} / landing_length >= 60"
    " / landing_turn >= 67 / landing_turn >= 60",
    "aba-1016": "running_slope <= 1:10 / cross_slope <= 1:48",
    "aba-1017": "running_slope <= 1:8 / cross_slope <= 1:48",
    "ada-2010": f"running_slope <= 1:12 / cross_slope <= 1:48 / clear_width >= 36 / {US_RUN}"
    " / landing_length >= 60"
    f" / landing_turn >= 60 / handrail_rise <= 6 / handrail_sides >= 2 / {US_RAILS} / {US_GRIP}"
    " / edge_protection_height >= 4 / tip_vertical_change <= 0.25 / threshold_drop <= 0.5"
    " / threshold_drop <= 0.75",
    "ibc-2018": f"running_slope <= 1:12 / running_slope <= 1:8 / cross_slope <= 1:48"
    f" / clear_width >= 36 / {US_RUN}"
    " / surface_width >= 44 / headroom >= 80 / door_swing_leaves@top >= 42 / door_swing_takes@top <= 7"
    " / landing_length >= 60 / landing_length >= 36 / landing_turn >= 60 / landing_turn >= 36"
    " / threshold_drop <= 0.5 / threshold_drop <= 0.5 / threshold_drop <= 0.5 / threshold_drop <= 7.75"
    f" / handrail_rise <= 6 / handrail_sides >= 2 / {US_RAILS} / {US_GRIP} / edge_protection_height >= 4"
    " / guard_drop <= 30 / guard_height >= 42 / guard_height >= 36 / guard_opening < 4",
    "irc-2015": "running_slope <= 1:12 / running_slope <= 1:8 / landing_length >= 36 / landing_width >= 36"
    f" / handrail_slope <= 1:12 / handrail_sides >= 1 / {US_RAILS} / guard_drop <= 30 / guard_height >= 36"
    " / guard_opening < 4 / threshold_drop <= 1.5 / threshold_drop <= 7.75 / threshold_drop <= 7.75",
    "california-11b": "running_slope <= 1:12 / cross_slope <= 1:48 / rise_per_run <= 30"
    " / landing_slope <= 1:48"
    " / landing_width@top >= 60 / landing_length >= 60 / landing_length@bottom >= 72 / landing_turn >= 60"
    " / landing_length@quarter_turn >= 72 / landing_length@half_turn >= 72"
    " / door_swing_takes@top <= 3 / handrail_rise <= 0 / handrail_sides >= 2",
    "england-adm-1": "running_slope <= 1:12 / running_slope < 1:12 / cross_slope <= 1:40 / clear_width >= 900"
    " / clear_width >= 900 / landing_length >= 1200 / swing_clear_length@top >= 1200 / landing_slope <= 1:40"
    " / landing_slope_along <= 1:60 / handrail_drop <= 600 / handrail_sides >= 2 / handrail_height_min >= 900"
    " / handrail_height_max <= 1000 / edge_protection_height >= 100 / guard_drop <= 600 / guard_height >= 900"
    " / guard_opening < 100 / headroom >= 2000 / soffit >= 2000",
    "england-adm-2": "running_slope <= 1:12 / total_rise <= 2000 / steps_rise < 300 / surface_width >= 1500"
    " / landing_length@top >= 1200 / landing_length@bottom >= 1200 / swing_clear_length@top >= 1200"
    " / landing_length@between >= 1500 / landing_passing >= 1800 / landing_slope_along <= 1:60"
    " / landing_slope_across <= 1:40 / handrail_rise <= 0 / handrail_sides >= 2 / handrail_height_min >= 900"
    " / handrail_height_max <= 1000 / handrail_extension >= 300 / edge_protection_height >= 100"
    " / guard_height >= 900 / guard_height@top >= 1100 / guard_height@between >= 1100 / guard_opening < 100"
    " / headroom >= 2000 / soffit >= 2000",
    "ireland-tgdm-dwellings": "running_slope <= 1:12 / landing_length >= 1200"
    " / swing_clear_length@top >= 1200"
    " / landing_slope <= 1:50",
    "ireland-tgdm-others": "running_slope <= 1:12 / rise_per_run <= 500 / length_per_run <= 10000"
    " / clear_width >= 1000 / soffit >= 2100",
    "ontario-obc": "running_slope <= 1:12 / clear_width >= 900 / length_per_run <= 9000"
    " / landing_length@top >= 1670"
    " / landing_width@top >= 1670 / landing_length@bottom >= 1670 / landing_width@bottom >= 1670"
    " / landing_length@between >= 1670 / landing_width@between >= 0 / handrail_rise <= 0"
    " / handrail_sides >= 2"
    " / handrail_height_min >= 865 / handrail_height_max <= 965 / handrail_grip_min >= 30"
    " / handrail_grip_max <= 40 / handrail_extension >= 300",
    "nbc-residential": "running_slope <= 1:10 / length_per_run <= 9000 / clear_width >= 870",
    "quebec-existing": "running_slope <= 1:10",
    "as-1428.1": "running_slope <= 1:14 / clear_width >= 1000 / landing_length >= 1200"
    " / landing_turn@quarter_turn >= 1500 / landing_length@half_turn >= 1540"
    " / landing_width@half_turn >= 2070"
    " / landing_slope <= 1:40 / cross_slope <= 1:40 / handrail_rise <= 0 / handrail_sides >= 2"
    " / handrail_height_min >= 865 / handrail_height_max <= 1000 / handrail_extension >= 300"
    " / edge_protection_height >= 65",
    "nz-d1-as1": "running_slope <= 1:12 / rise_per_run <= 750 / handrail_rise <= 0"
    " / handrail_height_min >= 900"
    " / handrail_height_max <= 1000 / edge_protection_height >= 75 / guard_drop < 1000",
    "din-18040-1": "running_slope <= 6 % / cross_slope <= 0 % / length_per_run <= 600 / clear_width >= 120"
    " / landing_length >= 150 / landing_width@top >= 150 / landing_width@bottom >= 150 / landing_slope <= 3 %"
    " / handrail_rise <= 0 / handrail_sides >= 2 / handrail_height_min >= 85 / handrail_height_max <= 90"
    " / handrail_grip_min >= 3 / handrail_grip_max <= 4.5 / handrail_extension >= 30"
    " / edge_protection_height >= 10",
    "france-new": "running_slope <= 5 % / landing_length >= 1.4 / landing_width >= 1.2 / clear_width >= 1.4"
    " / cross_slope <= 2 %",
    "france-existing": "running_slope <= 6 %",
    "luxembourg-a3": "running_slope <= 6 % / cross_slope <= 0 % / clear_width >= 150 / landing_length >= 150"
    " / landing_width >= 150 / edge_protection_height >= 10",
}
#: Door tables beside that of the ADA: approach, side, then depth, past the latch, past the hinge, with a
#: closer more depth, with closer and latch more depth and more past the latch; in the document's unit.
DOORS = {
    "a117.1-2017": [("front", "push", 52, 0, 0, 0, 0, 0)],
    "california-11b": [
        ("front", "pull", 60, 24, 0, 0, 0, 0),
        ("front", "push", 48, 0, 0, 0, 0, 12),
        ("hinge", "pull", 60, 36, 0, 0, 0, 0),
        ("hinge", "push", 44, 0, 22, 4, 0, 0),
        ("latch", "pull", 60, 24, 0, 0, 0, 0),
        ("latch", "push", 44, 24, 0, 4, 0, 0),
    ],
    "ontario-obc": [
        (approach, side, 1670, latch, 0, 0, 0, 0)
        for approach in ("front", "hinge", "latch")
        for side, latch in (("pull", 600), ("push", 300))
    ],
}
UNIT_M = {"in": 0.0254, "ft": 0.3048, "mm": 0.001, "cm": 0.01, "m": 1.0}


def show(limit: Limit) -> str:
    place = "" if limit.place == "any" else f"@{limit.place}"
    value = f"{limit.value:g}"
    if limit.unit == "ratio":
        value = f"1:{1 / limit.value:g}"
    elif limit.unit == "percent":
        value += " %"
    return f"{limit.quantity}{place} {limit.operator} {value}"


def test_no_rule_set_is_left_out() -> None:
    assert {*VALUES, "own-limits"} == set(rule_set_ids())


@pytest.mark.parametrize("name", VALUES)
def test_the_numbers_are_those_typed_here(name: str) -> None:
    limits = [limit for limit in read_rule_set(name).limits if limit.law is None and limit.door is None]
    assert sorted(map(show, limits)) == sorted(VALUES[name].split(" / "))


@pytest.mark.parametrize("name", VALUES)
def test_the_value_in_metres_is_the_value_in_the_documents_unit(name: str) -> None:
    for limit in read_rule_set(name).limits:
        scale = {"ratio": 1.0, "count": 1.0, "percent": 0.01, **UNIT_M}[limit.unit]
        assert limit.value_si == pytest.approx(limit.value * scale, rel=1e-12), limit.id


@pytest.mark.parametrize("name", DOORS)
def test_the_rows_of_the_door_tables_are_those_typed_here(name: str) -> None:
    rows = [limit for limit in read_rule_set(name).limits if limit.door is not None]
    made = [
        (
            row.approach,
            row.side,
            *(
                round(size / UNIT_M[limit.unit], 9)
                for size in (
                    row.depth_m,
                    row.beyond_latch_m,
                    row.beyond_hinge_m,
                    row.closer_depth_m,
                    row.closer_latch_depth_m,
                    row.closer_latch_beyond_m,
                )
            ),
        )
        for limit in rows
        if (row := limit.door) is not None
    ]
    assert made == DOORS[name]
