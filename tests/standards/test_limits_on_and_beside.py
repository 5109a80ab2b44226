"""Every limit on runs, landings and ends, on a hand-built ramp: on it, within a hair of it, beyond it.

What is measured is reckoned here from the ramp's own drawing, not read back from a finding.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Candidate, Finding, Piece
from optimizer.rulebook.rules import Limit, Operator, Quantity
from optimizer.standards.check_candidate import CheckCase, check_candidate
from tests.standards.damage import change_piece, change_yard
from tests.standards.flight_on_a_ramp import CASE as STEPS_CASE
from tests.standards.flight_on_a_ramp import RAMP as WITH_STEPS
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import judge, make_law, make_limit, make_row, make_rules, with_rules

NOTHING, HAIR = 1e-7, 1e-5
SLOPE = 1.0 / 13.0
STRETCH = math.hypot(1.0, SLOPE)
#: Two sections of 2 m, a turn to the right, three sections and the plate of 0.9 m; ground falls evenly.
FALL_U, FALL_V = 0.008, -0.012
TURNED, CASE = build_ramp((("section",) * 2, ("section",) * 3), ("right",), gradient=(FALL_U, FALL_V))
RUNS = (4.0 / STRETCH, 6.9 / STRETCH)
PIECES = (2.0 / STRETCH, 0.9 / STRETCH)
CLEAR, SIDE, LANDING = 0.95, 1.05, 1.54
SPACE = 1.524
#: After the turn the way runs along u.
ALONG, ACROSS = abs(FALL_U), abs(FALL_V)
RISE = sum(RUNS) * SLOPE
THICK, DROP = 0.005, 0.01
#: The tip is as high as the ground under its middle; its corners are half the plate's width away.
LIP = ACROSS * SIDE / 2.0

#: Quantity, operator, and what each subject measures (lengths; slopes as rise and plan length).
LENGTHS: tuple[tuple[Quantity, Operator, dict[str, float]], ...] = (
    ("rise_per_run", "<=", {"run 1": RUNS[0] * SLOPE, "run 2": RUNS[1] * SLOPE}),
    ("length_per_run", "<=", {"run 1": RUNS[0], "run 2": RUNS[1]}),
    ("clear_width", ">=", {"run 1": CLEAR, "run 2": CLEAR, "L0": LANDING, "L1": LANDING}),
    ("landing_length", ">=", {"L0": LANDING, "L1": LANDING, "bottom space": SPACE}),
    ("landing_width", ">=", {"L0": LANDING, "L1": LANDING, "bottom space": SPACE}),
    ("landing_turn", ">=", {"L1": LANDING}),
    ("landing_passing", ">=", {"L0": LANDING}),
    ("threshold_drop", "<=", {"threshold": DROP}),
    ("tip_vertical_change", "<=", {"P": LIP}),
    ("total_rise", "<=", {"whole ramp": RISE}),
    ("steps_rise", "<=", {"whole ramp": RISE}),
)
BEYOND = {"total_rise": "cannot tell", "steps_rise": "cannot tell"}
WITHIN = {"total_rise": "does not apply", "steps_rise": "does not apply"}
SLOPES: tuple[tuple[Quantity, dict[str, tuple[float, float]]], ...] = (
    (
        "running_slope",
        {
            "run 1": (SLOPE * RUNS[0], RUNS[0]),
            "S2.2": (SLOPE * PIECES[0], PIECES[0]),
            "P": (SLOPE * PIECES[1], PIECES[1]),
        },
    ),
    ("landing_slope", {"bottom space": (math.hypot(ALONG, ACROSS) * SPACE, SPACE)}),
    ("landing_slope_along", {"bottom space": (ALONG * SPACE, SPACE)}),
    ("landing_slope_across", {"bottom space": (ACROSS * SPACE, SPACE)}),
)


def verdict_of(findings: list[Finding], subject: str) -> str:
    """The worst of what was found of a subject."""
    found = {finding.verdict for finding in findings if finding.subject == subject}
    return next(word for word in ("fails", "cannot tell", "meets", "does not apply") if word in found)


@pytest.mark.parametrize(
    ("quantity", "operator", "subject", "measured"),
    [
        (quantity, operator, subject, measured)
        for quantity, operator, subjects in LENGTHS
        for subject, measured in subjects.items()
    ],
)
def test_a_length_is_met_on_its_limit_and_a_hair_within_it(
    quantity: Quantity, operator: Operator, subject: str, measured: float
) -> None:
    sign = 1.0 if operator == "<=" else -1.0
    for slack, expected in (
        (sign * HAIR, WITHIN.get(quantity, "meets")),
        (0.0, WITHIN.get(quantity, "meets")),
        (-sign * NOTHING, WITHIN.get(quantity, "meets")),
        (-sign * HAIR, BEYOND.get(quantity, "fails")),
    ):
        findings = judge(TURNED, CASE, make_limit(quantity, operator, measured + slack))
        assert verdict_of(findings, subject) == expected, slack


@pytest.mark.parametrize(
    ("quantity", "subject", "rise_m", "plan_m"),
    [
        (quantity, subject, *measured)
        for quantity, subjects in SLOPES
        for subject, measured in subjects.items()
    ],
)
def test_a_slope_is_met_on_its_limit_and_a_hair_of_rise_within_it(
    quantity: Quantity, subject: str, rise_m: float, plan_m: float
) -> None:
    for slack, expected in ((HAIR, "meets"), (0.0, "meets"), (-NOTHING, "meets"), (-HAIR, "fails")):
        findings = judge(TURNED, CASE, make_limit(quantity, "<=", (rise_m + slack) / plan_m))
        assert verdict_of(findings, subject) == expected, slack


@pytest.mark.parametrize("quantity", ["landing_slope", "landing_slope_along", "landing_slope_across"])
def test_a_level_landing_slopes_nowhere(quantity: Quantity) -> None:
    findings = judge(TURNED, CASE, make_limit(quantity, "<=", 0.0))
    assert {f.subject: f.verdict for f in findings} == {"L0": "meets", "L1": "meets", "bottom space": "fails"}


def test_the_plate_is_walking_surface_of_its_run() -> None:
    steep = change_piece(TURNED, "P", lambda piece: _tilt(piece, 0.01))
    found = judge(steep, CASE, make_limit("running_slope", "<=", SLOPE))
    assert {f.subject for f in found if f.verdict == "fails"} == {"run 2", "P"}
    assert (
        verdict_of(judge(steep, CASE, make_limit("rise_per_run", "<=", RUNS[1] * SLOPE + 0.009)), "run 2")
        == "fails"
    )
    row = make_law(make_row(SLOPE, 4.0), make_row(1 / 9, 1.0), make_row(1 / 12.7, 7.0))
    law = judge(steep, CASE, row)
    assert [(f.subject, f.verdict) for f in law] == [("run 1", "meets"), ("run 2", "meets"), ("P", "meets")]
    short = judge(steep, CASE, make_law(make_row(1 / 12.7, 7.0)))
    assert [(f.subject, f.verdict) for f in short] == [("run 1", "meets"), ("run 2", "meets"), ("P", "fails")]


def _tilt(piece: Piece, fall_m: float) -> Piece:
    """The lower edge this much lower."""
    corners = [(x, y, z - (fall_m if k > 1 else 0.0)) for k, (x, y, z) in enumerate(piece.corners_m)]
    return piece.model_copy(update={"corners_m": tuple(corners)})


@pytest.mark.parametrize(
    ("asked_m", "verdict"),
    [
        (CLEAR, "meets"),
        (CLEAR + NOTHING, "meets"),
        (CLEAR + HAIR, "cannot tell"),
        (SIDE, "cannot tell"),
        (SIDE + NOTHING, "cannot tell"),
        (SIDE + HAIR, "fails"),
    ],
)
def test_between_kerbs_lies_between_the_clear_and_the_overall_width(asked_m: float, verdict: str) -> None:
    found = judge(TURNED, CASE, make_limit("surface_width", ">=", asked_m))
    assert {(f.subject, f.verdict) for f in found} == {("run 1", verdict), ("run 2", verdict)}


def test_steps_where_they_are_asked_for_are_found_or_left_to_others() -> None:
    limit = make_limit("steps_rise", "<=", 0.3)
    assert [f.verdict for f in judge(WITH_STEPS, STEPS_CASE, limit)] == ["meets"]
    (bare,) = judge(TURNED, CASE, limit)
    assert bare.verdict == "cannot tell"
    assert "for the authority" in bare.text
    (low,) = judge(WITH_STEPS, STEPS_CASE, make_limit("steps_rise", "<=", 3.0))
    assert low.verdict == "does not apply"


#: One limit on every quantity of this half, all of them met.
MET: tuple[Limit, ...] = tuple(
    replace(limit, clause=limit.quantity)
    for limit in (
        make_limit("running_slope", "<=", 1 / 12),
        make_law(make_row(1 / 12, 8.0)),
        make_limit("cross_slope", "<=", 1 / 48),
        make_limit("rise_per_run", "<=", 0.6),
        make_limit("length_per_run", "<=", 7.0),
        make_limit("clear_width", ">=", 0.9),
        make_limit("surface_width", ">=", 0.95),
        make_limit("total_rise", "<=", 2.0),
        make_limit("steps_rise", "<=", 2.0),
        make_limit("landing_slope", "<=", 1 / 48),
        make_limit("landing_slope_along", "<=", 1 / 60),
        make_limit("landing_slope_across", "<=", 1 / 60),
        make_limit("landing_length", ">=", 1.5),
        make_limit("landing_width", ">=", 0.0),
        make_limit("landing_turn", ">=", 1.52),
        make_limit("landing_passing", ">=", 1.2),
        make_limit("threshold_drop", "<=", 0.0127),
        make_limit("tip_vertical_change", "<=", 0.0065),
    )
)


def verdicts(candidate: Candidate, case: CheckCase) -> dict[tuple[str, str, int], str]:
    """Verdict by clause and subject (and which of several, in order)."""
    found: dict[tuple[str, str, int], str] = {}
    for finding in judge(candidate, case, *MET):
        number = 0
        while (finding.clause, finding.subject, number) in found:
            number += 1
        found[finding.clause, finding.subject, number] = finding.verdict
    return found


def changed(candidate: Candidate, case: CheckCase) -> set[tuple[str, str, str]]:
    """What another verdict was found of than of the whole ramp: clause, subject, the new verdict."""
    before, after = verdicts(TURNED, CASE), verdicts(candidate, case)
    assert before.keys() <= after.keys()
    return {(key[0], key[1], verdict) for key, verdict in after.items() if verdict != before.get(key)}


def test_the_whole_ramp_breaks_nothing_and_leaves_nothing_open() -> None:
    assert set(verdicts(TURNED, CASE).values()) == {"meets", "does not apply"}


def lift(candidate: Candidate, name: str, lifts: tuple[float, float, float, float]) -> Candidate:
    def move(piece: Piece) -> Piece:
        corners = [(x, y, z + up) for (x, y, z), up in zip(piece.corners_m, lifts, strict=True)]
        return piece.model_copy(update={"corners_m": tuple(corners)})

    return change_piece(candidate, name, move)


def test_a_section_twisted_across_breaks_its_cross_slope_alone() -> None:
    twisted = lift(TURNED, "S1.1", (0.015, -0.015, -0.015, 0.015))
    assert changed(twisted, CASE) == {("cross_slope", "run 1", "fails")}


def test_a_landing_that_falls_along_the_way_breaks_those_slopes_alone() -> None:
    fallen = lift(TURNED, "L0", (0.0, 0.0, -0.04, -0.04))
    assert changed(fallen, CASE) == {
        ("landing_slope", "L0", "fails"),
        ("landing_slope_along", "L0", "fails"),
    }


def test_a_narrower_section_breaks_the_clear_width_and_leaves_the_kerbs_open() -> None:
    sections = tuple(replace(part, clear_width_m=0.89) for part in CASE.catalogue.sections)
    narrow = replace(CASE, catalogue=replace(CASE.catalogue, sections=sections))
    assert changed(TURNED, narrow) == {
        ("clear_width", "run 1", "fails"),
        ("clear_width", "run 2", "fails"),
        ("surface_width", "run 1", "cannot tell"),
        ("surface_width", "run 2", "cannot tell"),
    }


def test_a_smaller_landing_breaks_its_sizes_alone() -> None:
    landings = tuple(replace(part, clear_width_m=1.51) for part in CASE.catalogue.landings)
    small = replace(CASE, catalogue=replace(CASE.catalogue, landings=landings))
    assert changed(TURNED, small) == {("landing_turn", "L1", "fails")}


def test_a_higher_threshold_breaks_its_own_limit_alone() -> None:
    start = replace(CASE.yard.starts[0], threshold_m=CASE.yard.starts[0].threshold_m + 0.005)
    assert changed(TURNED, change_yard(CASE, starts=(start,))) == {("threshold_drop", "threshold", "fails")}


def test_a_thicker_tip_breaks_its_own_limit_alone() -> None:
    plates = tuple(replace(part, tip_thickness_m=0.007) for part in CASE.catalogue.transition_plates)
    thick = replace(CASE, catalogue=replace(CASE.catalogue, transition_plates=plates))
    assert changed(TURNED, thick) == {("tip_vertical_change", "P", "fails")}


def test_a_steeper_plate_breaks_its_slope_and_leaves_the_tip_in_the_air() -> None:
    steep = change_piece(TURNED, "P", lambda piece: _tilt(piece, 0.02))
    assert changed(steep, CASE) == {
        ("running_slope", "P", "fails"),
        ("run_law", "P", "fails"),
        ("tip_vertical_change", "P", "fails"),
    }


def test_without_its_start_only_the_threshold_cannot_be_told() -> None:
    nowhere = replace(CASE, start_name="back door")
    assert changed(TURNED, nowhere) == {("threshold_drop", "threshold", "cannot tell")}


def test_ground_that_was_not_surveyed_leaves_the_bottom_open() -> None:
    kept = [not np.allclose(one[1], CASE.ground.points_m[1, :2]) for one in CASE.ground.triangles_xy]
    tip = np.array(TURNED.toe.tip_m)
    ground = replace(
        CASE.ground, triangles_xy=CASE.ground.triangles_xy[kept], triangles_z=CASE.ground.triangles_z[kept]
    )
    assert np.isnan(ground.elevation_at(tip[0], tip[1]))
    assert changed(TURNED, replace(CASE, ground=ground)) == {
        ("landing_slope", "bottom space", "cannot tell"),
        ("landing_slope_along", "bottom space", "cannot tell"),
        ("landing_slope_across", "bottom space", "cannot tell"),
        ("tip_vertical_change", "P", "cannot tell"),
    }


def test_a_porch_that_nobody_measured_is_never_said_to_be_good() -> None:
    pieces = tuple(piece for piece in TURNED.pieces if piece.id != "L0")
    bare = TURNED.model_copy(update={"pieces": pieces})
    found = [f for f in judge(bare, CASE, *MET) if f.subject == "existing porch at the top"]
    assert {f.verdict for f in found} == {"cannot tell"}
    asked = {limit.quantity for limit in MET if limit.quantity.startswith("landing")} - {"landing_passing"}
    assert {f.clause for f in found} == asked


def test_pieces_that_make_no_way_leave_every_limit_open() -> None:
    pieces = tuple(piece for piece in TURNED.pieces if piece.id != "P")
    found = judge(TURNED.model_copy(update={"pieces": pieces}), CASE, *MET)
    assert [(f.clause, f.verdict) for f in found] == [(limit.clause, "cannot tell") for limit in MET]


def test_limits_known_from_memory_alone_leave_all_of_it_open() -> None:
    limits = tuple(replace(limit, how_known="memory") for limit in MET)
    found = [f for f in check_candidate(TURNED, with_rules(CASE, make_rules(*limits))) if f.rules == "test"]
    assert {f.verdict for f in found} == {"cannot tell", "does not apply"}
    assert {f.how_known for f in found} == {"memory"}
