"""Room in front of a door, row by row of the published table, exactly fitting and a hair too small.

Source: 2010 ADA Standards, 404.2.4 and Table 404.2.4.1 (notes 1, 2 and 4), read on the U.S. Access
Board's page of chapter 4.  The clearance spans the doorway and what the row adds beyond latch or hinge:

    approach  side   out from the wall             along it, beyond latch unless noted
    front     pull   60 in                         18 in
    front     push   48 in                         0; 12 in with closer and latch
    hinge     pull   60 in, or 54 in               36 in, or 42 in
    hinge     push   42 in; 48 with closer, latch  22 in beyond the hinge
    latch     pull   48 in; 54 with closer         24 in
    latch     push   42 in; 48 with closer         24 in

``ROOMS`` is worked out by hand from it for a doorway of 36 in.  Tolerance: one micrometre.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.plan import Finding
from optimizer.rulebook.door_clearance import Approach, DoorSide
from optimizer.rulebook.facts import YesNo
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.standards.check_candidate import check_candidate
from tests.standards.damage import change_yard
from tests.standards.door_by_hand import Hinge, judge_door, lay_door, make_door_limit
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import make_rules, with_rules

TABLE = (
    make_door_limit("front", "pull", 60, 18, name="fp"),
    make_door_limit("front", "push", 48, 0, both_latch_in=12, name="fs"),
    make_door_limit("hinge", "pull", 60, 36, name="hp-a"),
    make_door_limit("hinge", "pull", 54, 42, name="hp-b"),
    make_door_limit("hinge", "push", 42, 0, 22, both_depth_in=6, name="hs"),
    make_door_limit("latch", "pull", 48, 24, closer_in=6, name="lp"),
    make_door_limit("latch", "push", 42, 24, closer_in=6, name="ls"),
)
#: approach, side, closer, latch, out from the wall, along it, of that beyond the hinge (inches).
ROOMS: tuple[tuple[Approach, DoorSide, YesNo, YesNo, float, float, float], ...] = (
    ("front", "pull", "no", "no", 60, 54, 0),
    ("front", "pull", "yes", "yes", 60, 54, 0),
    ("front", "push", "no", "yes", 48, 36, 0),
    ("front", "push", "yes", "no", 48, 36, 0),
    ("front", "push", "yes", "yes", 48, 48, 0),
    ("hinge", "pull", "no", "no", 60, 72, 0),
    ("hinge", "pull", "yes", "yes", 54, 78, 0),
    ("hinge", "push", "no", "no", 42, 58, 22),
    ("hinge", "push", "yes", "no", 42, 58, 22),
    ("hinge", "push", "yes", "yes", 48, 58, 22),
    ("latch", "pull", "no", "yes", 48, 60, 0),
    ("latch", "pull", "yes", "no", 54, 60, 0),
    ("latch", "push", "no", "yes", 42, 60, 0),
    ("latch", "push", "yes", "no", 48, 60, 0),
)
HAIR_IN = 1e-3


def settle(findings: list[Finding]) -> str:
    """The one verdict that the table comes to."""
    (verdict,) = [finding.verdict for finding in findings if finding.verdict != "does not apply"]
    return verdict


@pytest.mark.parametrize("hinge", ["left", "right"])
@pytest.mark.parametrize(("approach", "side", "closer", "latch", "depth", "width", "beyond"), ROOMS)
def test_the_published_room_fits_exactly_and_a_hair_less_does_not(
    approach: Approach,
    side: DoorSide,
    closer: YesNo,
    latch: YesNo,
    depth: float,
    width: float,
    beyond: float,
    hinge: Hinge,
) -> None:
    def look(depth_in: float, width_in: float, beyond_in: float) -> str:
        laid = lay_door(depth_in, width_in, beyond_in, approach=approach, side=side, hinge=hinge)
        return settle(judge_door(laid, *TABLE, closer=closer, latch=latch))

    assert look(depth, width, beyond) == "meets"
    assert look(depth - HAIR_IN, width, beyond) == "fails"
    assert look(depth, width - HAIR_IN, beyond) == "fails"
    assert look(depth, width, beyond - HAIR_IN) == "fails"
    assert look(depth, width, beyond + HAIR_IN) == "fails"


@pytest.mark.parametrize("beyond", [0.0, 6.0, 12.0, 24.0])
def test_a_door_pulled_from_the_hinge_side_never_fits_a_landing_of_60_by_60(beyond: float) -> None:
    findings = judge_door(lay_door(60, 60, beyond, approach="hinge"), *TABLE)
    assert settle(findings) == "fails"
    failed = next(finding for finding in findings if finding.verdict == "fails")
    assert "72 in along the wall by 60 in" in failed.text
    assert "or pull side, from the hinge side: 78 in along the wall by 54 in" in failed.text
    assert f"short of it by {12 + beyond:g} in on the latch side" in failed.text


@pytest.mark.parametrize(
    ("approach", "side", "beyond", "closer"),
    [
        ("front", "pull", 0.0, "yes"),
        ("front", "pull", 6.0, "no"),
        ("latch", "pull", 0.0, "yes"),
        ("hinge", "push", 22.0, "yes"),
        ("hinge", "push", 24.0, "no"),
        ("latch", "push", 0.0, "yes"),
    ],
)
def test_the_other_rows_fit_a_landing_of_60_by_60(
    approach: Approach, side: DoorSide, beyond: float, closer: YesNo
) -> None:
    laid = lay_door(60, 60, beyond, approach=approach, side=side)
    assert settle(judge_door(laid, *TABLE, closer=closer, latch="yes")) == "meets"


def test_a_met_alternative_speaks_for_both() -> None:
    found = judge_door(lay_door(54, 78, approach="hinge"), *TABLE)
    verdicts = [finding.verdict for finding in found]
    assert verdicts == [*["does not apply"] * 3, "meets", *["does not apply"] * 3]
    assert "its alternative (hp-b) carries the finding" in found[2].text


def test_rows_for_another_swing_or_another_way_do_not_apply_and_say_why() -> None:
    found = judge_door(lay_door(60, 60, side="push"), *TABLE)
    assert found[0].text == "door: it swings in, so it is pushed from the landing."
    assert found[4].text == "door: the way arrives from the front."
    assert [finding.verdict for finding in found].count("does not apply") == 6


@pytest.mark.parametrize(
    ("closer", "latch", "width", "verdict", "asks"),
    [
        (None, None, 48.0, "meets", ""),
        (
            None,
            None,
            47.0,
            "cannot tell",
            "not known: whether the door has a closer and whether the door has",
        ),
        ("yes", None, 47.0, "cannot tell", "not known: whether the door has a latch"),
        (None, "yes", 47.0, "cannot tell", "not known: whether the door has a closer"),
        ("no", None, 47.0, "meets", ""),
        (None, "no", 47.0, "meets", ""),
        (None, None, 35.0, "fails", "short of it by 1 in on the latch side"),
    ],
)
def test_what_nobody_answered_is_asked_only_where_it_matters(
    closer: YesNo | None, latch: YesNo | None, width: float, verdict: str, asks: str
) -> None:
    found = judge_door(lay_door(60, width, side="push"), TABLE[1], closer=closer, latch=latch)
    assert [finding.verdict for finding in found] == [verdict]
    assert asks in found[0].text


def test_a_row_known_from_memory_neither_passes_nor_fails() -> None:
    recalled = [replace(limit, how_known="memory") for limit in TABLE]
    for width in (60.0, 50.0):
        assert settle(judge_door(lay_door(60, width), *recalled)) == "cannot tell"


def test_an_alternative_from_memory_does_not_pass_for_a_failed_one() -> None:
    rows = (TABLE[2], replace(TABLE[3], how_known="memory"))
    assert settle(judge_door(lay_door(54, 78, approach="hinge"), *rows)) == "cannot tell"
    assert settle(judge_door(lay_door(60, 60, approach="hinge"), *rows)) == "cannot tell"
    read = (replace(TABLE[2], how_known="memory"), TABLE[3])
    assert settle(judge_door(lay_door(60, 78, approach="hinge"), *read)) == "meets"


def test_an_existing_porch_was_not_measured() -> None:
    candidate, case = build_ramp()
    pieces = tuple(piece for piece in candidate.pieces if piece.id != "L0")
    start = replace(case.yard.starts[0], kind="edge")
    bound = with_rules(change_yard(case, starts=(start,)), make_rules(*TABLE))
    found = check_candidate(candidate.model_copy(update={"pieces": pieces}), bound)
    verdicts = [finding.verdict for finding in found if finding.rules == "test"]
    assert verdicts == ["cannot tell", *["does not apply"] * 6]


def test_a_landing_placed_smaller_than_its_part_has_less_room() -> None:
    candidate, case = lay_door(60, 54)
    part = next(part for part in case.catalogue.landings if part.id == "wide")
    stated = replace(part, length_m=part.length_m + 0.01)
    catalogue = replace(case.catalogue, landings=(stated,))
    assert settle(judge_door((candidate, replace(case, catalogue=catalogue)), TABLE[0])) == "fails"


@pytest.mark.parametrize(("approach", "side", "closer", "latch", "depth", "width", "beyond"), ROOMS)
def test_the_shipped_table_asks_the_same_rooms(
    approach: Approach,
    side: DoorSide,
    closer: YesNo,
    latch: YesNo,
    depth: float,
    width: float,
    beyond: float,
) -> None:
    rows = tuple(one for one in read_rule_set("ada-2010").limits if one.quantity == "door_clearance")
    for size, verdict in ((width, "meets"), (width - HAIR_IN, "fails")):
        laid = lay_door(depth, size, beyond, approach=approach, side=side)
        assert settle(judge_door(laid, *rows, closer=closer, latch=latch)) == verdict
