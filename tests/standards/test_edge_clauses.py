"""Edge protection: curbs on and beside the limit, sides that need none, and a plate without a curb.

Limit: guide to the 2010 ADA Standards, 405.9: a plain curb is at least 4 in high; exception 2: none on
the sides of a landing that serve a run or steps.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.plan import Candidate, Finding
from optimizer.standards.check_candidate import CheckCase
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import judge, make_limit

CURB = make_limit("edge_protection_height", ">=", 0.1016)
RISE = make_limit("handrail_rise", "<=", 0.1524)


def with_curbs(case: CheckCase, section_m: float, landing_m: float) -> CheckCase:
    catalogue = case.catalogue
    return replace(
        case,
        catalogue=replace(
            catalogue,
            sections=tuple(replace(part, curb_height_m=section_m) for part in catalogue.sections),
            landings=tuple(replace(part, curb_height_m=landing_m) for part in catalogue.landings),
        ),
    )


def look(candidate: Candidate, case: CheckCase) -> dict[str, Finding]:
    found = judge(candidate, case, RISE, CURB)
    return {one.subject: one for one in found if one.subject != "run 1"}


@pytest.mark.parametrize(
    ("section_m", "landing_m", "sections", "landing"),
    [
        (0.1016, 0.1016, "meets", "meets"),
        (0.1015, 0.1016, "fails", "meets"),
        (0.1016, 0.1015, "meets", "fails"),
    ],
)
def test_curbs_on_and_beside_the_limit(
    section_m: float, landing_m: float, sections: str, landing: str
) -> None:
    candidate, case = build_ramp()
    found = look(candidate, with_curbs(case, section_m, landing_m))
    assert (found["sections of run 1"].verdict, found["L0"].verdict) == (sections, landing)


@pytest.mark.parametrize(("leave", "sides"), [("front", "left, right"), ("left", "right, end")])
def test_the_wall_and_the_side_that_serves_a_run_need_none(leave: str, sides: str) -> None:
    assert f"edge protection of its sides {sides} " in look(*build_ramp(leave=leave))["L0"].text


def test_a_plate_of_a_run_with_handrails_cannot_be_told() -> None:
    plate = look(*build_ramp())["P"]
    assert (plate.verdict, plate.text) == (
        "cannot tell",
        "P: cannot tell, the catalogue states no curb of a plate, and its run needs handrails.",
    )


def flatten(candidate: Candidate, above_m: float) -> Candidate:
    """The plate laid level, so high over the ground of 0.35 m."""

    def change(corners: tuple[tuple[float, float, float], ...]) -> tuple[tuple[float, float, float], ...]:
        return tuple((x, y, 0.35 + above_m) for x, y, _ in corners)

    pieces = tuple(
        piece.model_copy(update={"corners_m": change(piece.corners_m)}) if piece.id == "P" else piece
        for piece in candidate.pieces
    )
    return candidate.model_copy(update={"pieces": pieces})


@pytest.mark.parametrize(("above_m", "verdict"), [(0.0127, "does not apply"), (0.0128, "cannot tell")])
def test_a_plate_that_needs_no_handrails_needs_no_curb_where_its_sides_are_flush(
    above_m: float, verdict: str
) -> None:
    slope = math.tan(math.asin(0.15 / 2.9))
    candidate, case = build_ramp((("section",),), slope=slope, gradient=(0.0, 0.0))
    assert look(flatten(candidate, above_m), case)["P"].verdict == verdict


def test_a_plate_that_stands_over_the_ground_tells_how_high() -> None:
    slope = math.tan(math.asin(0.15 / 2.9))
    plate = look(*build_ramp((("section",),), slope=slope, gradient=(0.0, 0.0)))["P"]
    assert plate.verdict == "cannot tell"
    assert "its sides stand up to 0.047 m over the ground and need none where earth is graded" in plate.text
