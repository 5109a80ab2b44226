"""A legal ramp in a yard that gets in its way: exactly the clauses that speak of it fail."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.standards.check_candidate import check_candidate
from tests.standards.damage import (
    box_at,
    change_yard,
    failed_clauses,
    find_failed,
    middle_of,
    with_obstacle,
    with_zone,
)
from tests.standards.ramp_on_a_plane import build_ramp

RAMP, CASE = build_ramp()


@pytest.mark.parametrize("kind", ["no_build", "no_cover", "vehicle", "escape_window", "right_of_way"])
def test_a_zone_under_the_middle_of_a_section_blocks_it(kind: str) -> None:
    case = with_zone(CASE, kind, box_at(middle_of(RAMP, "S1.2"), 0.2))
    found = find_failed(RAMP, case)
    assert [(finding.clause, finding.subject) for finding in found] == [("build.clear_of", "S1.2")]


def test_a_zone_for_feet_may_be_bridged() -> None:
    assert failed_clauses(RAMP, with_zone(CASE, "no_foot", box_at(middle_of(RAMP, "S1.2"), 0.2))) == set()
    leg = next(leg for leg in RAMP.legs if leg.station == "joint-left")
    case = with_zone(CASE, "no_foot", box_at((leg.x_m, leg.y_m), 0.05))
    assert [(f.clause, f.subject) for f in find_failed(RAMP, case)] == [("build.foot", leg.id)]


@pytest.mark.parametrize(
    ("room_m", "expected"), [(0.0301, set()), (0.03, set()), (0.0299, {"build.clearance"})]
)
def test_an_obstacle_with_a_top_may_be_passed_over_with_clearance(room_m: float, expected: set[str]) -> None:
    outline = box_at(middle_of(RAMP, "S1.2"), 0.15)
    section = next(piece for piece in RAMP.pieces if piece.id == "S1.2")
    corners = np.array(section.corners_m)
    # The lowest point of the underside over the box, from the plane through three corners.
    plane = np.linalg.lstsq(np.column_stack([corners[:, :2], np.ones(4)]), corners[:, 2], rcond=None)[0]
    underside = float((np.column_stack([outline, np.ones(4)]) @ plane).min()) - 0.05
    assert failed_clauses(RAMP, with_obstacle(CASE, outline, underside - room_m)) == expected


def test_an_obstacle_without_a_top_may_not() -> None:
    case = with_obstacle(CASE, box_at(middle_of(RAMP, "S1.2"), 0.15), None)
    assert failed_clauses(RAMP, case) == {"build.clear_of"}


def test_an_obstacle_under_the_plate_or_in_the_bottom_space_is_in_the_way() -> None:
    under = with_obstacle(CASE, box_at(middle_of(RAMP, "P"), 0.05), -5.0)
    assert [(f.clause, f.subject) for f in find_failed(RAMP, under)] == [("build.clear_of", "P")]
    space = np.array(RAMP.toe.bottom_space_m).mean(axis=0)
    beyond = with_obstacle(CASE, box_at(tuple(space), 0.1), -5.0)
    assert failed_clauses(RAMP, beyond) == {"build.bottom_space"}


@pytest.mark.parametrize(
    ("slack_m", "expected"), [(0.001, set()), (0.0, set()), (-0.001, {("build.headroom", "S1.2")})]
)
def test_headroom_is_measured_from_the_highest_deck_under_the_zone(
    slack_m: float, expected: set[tuple[str, str]]
) -> None:
    section = np.array(next(piece.corners_m for piece in RAMP.pieces if piece.id == "S1.2"))
    underside = float(section[:, 2].max()) + 2.032 + slack_m
    case = with_zone(CASE, "headroom", section[:, :2], underside, 2.032)
    assert {(f.clause, f.subject) for f in find_failed(RAMP, case)} == expected


def test_a_setback_that_reaches_the_ramp_fails_what_lies_in_it() -> None:
    reach = 28.0 - 5.0
    failed = find_failed(RAMP, change_yard(CASE, setback_m=reach))
    assert {f.clause for f in failed} == {"build.inside_lot"}
    assert "P" in {f.subject for f in failed}


@pytest.mark.parametrize(("deeper_m", "expected"), [(-0.001, set()), (0.0, set()), (0.001, {"L0"})])
def test_a_piece_in_a_strip_where_relief_may_be_asked_is_left_to_the_authority(
    deeper_m: float, expected: set[str]
) -> None:
    """The door landing begins 0.02 m from the wall, and so 1.02 m from the lot line behind it."""
    change = {"setback_m": 1.02 + deeper_m, "setback_kind": "needs_relief"}
    findings = check_candidate(RAMP, change_yard(CASE, **change))
    open_ones = [f for f in findings if f.clause == "build.inside_lot" and f.verdict == "cannot tell"]
    assert {finding.subject for finding in open_ones} == expected
    assert all("relief must be asked of the authority having jurisdiction" in f.text for f in open_ones)
    assert not [f for f in findings if f.clause == "build.inside_lot" and f.verdict == "fails"]
    hard = find_failed(RAMP, change_yard(CASE, setback_m=1.02 + deeper_m))
    assert {f.subject for f in hard} == expected


def test_no_relief_lets_a_piece_over_the_lot_line() -> None:
    ring = CASE.yard.lot_m
    middle = ring.mean(axis=0)
    tight = middle + (ring - middle) * np.array([0.999, 0.999])
    out_m = np.array(CASE.yard.starts[0].outward)
    case = change_yard(
        CASE, lot_m=tight + 1.2 * out_m, setback_m=0.5, setback_kind="needs_relief", relief_cents=100
    )
    failed = [f for f in find_failed(RAMP, case) if f.clause == "build.inside_lot"]
    assert [finding.subject for finding in failed] == ["L0"]
    assert "outside the lot" in failed[0].text


@pytest.mark.parametrize(
    ("kind", "name", "clause"),
    [
        ("vehicle", "S1.2", "build.clear_of"),
        ("headroom", "S1.2", "build.headroom"),
        ("no_foot", "leg", "build.foot"),
    ],
)
def test_a_zone_is_told_with_its_reason_its_source_and_who_may_waive_it(
    kind: str, name: str, clause: str
) -> None:
    leg = next(leg for leg in RAMP.legs if leg.station == "joint-left")
    place = (leg.x_m, leg.y_m) if name == "leg" else middle_of(RAMP, name)
    low = (RAMP.toe.tip_m[2], 2.0) if kind == "headroom" else (None, None)
    found = find_failed(RAMP, with_zone(CASE, kind, box_at(place, 0.05), *low))
    words = f'the zone "patch" ({kind}: a reason; size: a source; may be waived by: the owner)'
    assert {finding.clause for finding in found} == {clause}
    assert all(words in finding.text for finding in found)


def test_a_zone_where_no_pad_may_be_dug_is_told_with_its_words_too() -> None:
    ramp, case = build_ramp(pad=True)
    tip = (ramp.toe.tip_m[0], ramp.toe.tip_m[1])
    (found,) = find_failed(ramp, with_zone(case, "drip_line", box_at(tip, 0.1)))
    assert found.clause == "build.pad"
    assert "(drip_line: a reason; size: a source; may be waived by: the owner)" in found.text


def test_a_tip_outside_every_arrival_zone_is_said() -> None:
    outline = box_at((RAMP.toe.tip_m[0] + 3.0, RAMP.toe.tip_m[1]), 1.0)
    found = find_failed(RAMP, change_yard(CASE, arrivals_m=(outline,)))
    assert [finding.clause for finding in found] == ["build.arrival"]
    assert found[0].measured == pytest.approx(2.0)
    assert failed_clauses(RAMP, change_yard(CASE, arrivals_m=())) == set()


def test_ground_that_was_not_surveyed_carries_nothing() -> None:
    tip = RAMP.toe.tip_m
    ring = CASE.ground.outline_m[0]
    hole = box_at((tip[0], tip[1]), 0.2)
    failed = failed_clauses(RAMP, replace(CASE, ground=replace(CASE.ground, outline_m=(ring, hole))))
    assert failed == {"build.surveyed", "build.bottom_space"}


@pytest.mark.parametrize(
    ("gap_m", "expected"), [(0.4999, set()), (0.5, set()), (0.5001, {"build.apart", "build.lanes"})]
)
def test_parallel_runs_keep_the_catalogues_gap(gap_m: float, expected: set[str]) -> None:
    """The lanes of this half turn are 2.6 - 2 x 1.05 = 0.5 m apart."""
    candidate, case = build_ramp((("section",) * 3, ("section",)), ("half_right",))
    case = replace(case, catalogue=replace(case.catalogue, piece_gap_m=gap_m))
    assert failed_clauses(candidate, case) == expected
