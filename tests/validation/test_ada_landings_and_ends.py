"""Landings, handrails, edges and ends at and beside the limits of the 2010 ADA Standards.

Source: U.S. Access Board, ADA Standards, www.access-board.gov/ada/chapter/ch04/ and ch05/:
405.5 (36 in clear), 405.7.1 (landings 1:48), 405.7.3 (60 in long), 405.7.4 (60 x 60 in where
direction changes),
405.8 and 505.2 (handrails on both sides of a run that rises more than 6 in), 505.4 (34 to
38 in), 505.10.1 (extension 12 in), 303.2 (1/4 in vertical change), 404.2.5 (threshold 1/2 in);
for 405.9 the Board's Guide to the ADA Standards, ramps (a curb is at least 4 in high).
Tolerance: one micrometre.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from optimizer.catalogue.parts import Catalogue
from optimizer.plan import Candidate, Finding
from optimizer.standards.check_candidate import CheckCase, check_candidate
from tests.standards.damage import change_piece, change_yard, drop_rails
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import rules_of, with_rules

INCH_M = Fraction(254, 10000)
STRAIGHT = build_ramp()
TURNED = build_ramp((("section",) * 2, ("section",) * 3), ("right",))


def inches(text: str) -> float:
    return float(Fraction(text) * INCH_M)


def judge(candidate: Candidate, case: CheckCase, clause: str, subject: str) -> list[Finding]:
    return [
        finding
        for finding in check_candidate(candidate, case)
        if finding.clause == clause and finding.subject == subject
    ]


def with_catalogue(case: CheckCase, **groups: object) -> CheckCase:
    return replace(case, catalogue=replace(case.catalogue, **groups))


def resize_landings(catalogue: Catalogue, **sizes: float) -> object:
    return tuple(replace(landing, **sizes) for landing in catalogue.landings)


@pytest.mark.parametrize(("length", "verdict"), [("60.01", "meets"), ("60", "meets"), ("59.99", "fails")])
def test_a_landing_is_sixty_inches_long(length: str, verdict: str) -> None:
    candidate, case = STRAIGHT
    sized = with_catalogue(case, landings=resize_landings(case.catalogue, clear_length_m=inches(length)))
    (finding,) = judge(candidate, sized, "405.7.3", "L0")
    assert finding.verdict == verdict
    assert finding.measured == pytest.approx(float(length))


@pytest.mark.parametrize("side", ["clear_length_m", "clear_width_m"])
@pytest.mark.parametrize(("size", "verdict"), [("60.01", "meets"), ("60", "meets"), ("59.99", "fails")])
def test_a_landing_on_which_the_way_turns_is_sixty_inches_both_ways(
    side: str, size: str, verdict: str
) -> None:
    candidate, case = TURNED
    sized = with_catalogue(case, landings=resize_landings(case.catalogue, **{side: inches(size)}))
    (finding,) = judge(candidate, sized, "405.7.4", "L1")
    assert finding.verdict == verdict
    (straight,) = judge(candidate, sized, "405.7.4", "L0")
    assert straight.verdict == "does not apply"


@pytest.mark.parametrize(("width", "verdict"), [("36", "meets"), ("35.99", "fails")])
def test_the_way_is_thirty_six_inches_clear_on_landings_too(width: str, verdict: str) -> None:
    candidate, case = STRAIGHT
    sized = with_catalogue(case, landings=resize_landings(case.catalogue, clear_width_m=inches(width)))
    (finding,) = judge(candidate, sized, "405.5", "L0")
    assert finding.verdict == verdict


def test_a_landing_is_as_wide_as_the_widest_run_that_meets_it() -> None:
    candidate, case = STRAIGHT
    for width, verdict in ((0.95, "meets"), (0.9499, "fails")):
        sized = with_catalogue(case, landings=resize_landings(case.catalogue, clear_width_m=width))
        (finding,) = judge(candidate, sized, "405.7.2", "L0")
        assert finding.verdict == verdict


def test_the_space_at_the_bottom_is_as_wide_as_the_run_that_ends_there() -> None:
    candidate, case = STRAIGHT
    (finding,) = judge(candidate, case, "405.7.2", "bottom space")
    assert (finding.verdict, finding.limit) == ("meets", pytest.approx(0.95 / 0.0254))
    limits = tuple(
        replace(limit, value=60.01, value_si=inches("60.01")) if limit.quantity == "landing_width" else limit
        for limit in rules_of(case).limits
    )
    wide = with_rules(case, replace(rules_of(case), limits=limits))
    (finding,) = judge(candidate, wide, "405.7.2", "bottom space")
    assert finding.verdict == "fails"


@pytest.mark.parametrize(("length", "verdict"), [("60", "meets"), ("59.99", "fails")])
def test_the_space_at_the_bottom_is_sixty_inches_long(length: str, verdict: str) -> None:
    candidate, case = STRAIGHT
    first, second, *_ = (np.array(corner) for corner in candidate.toe.bottom_space_m)
    across = (second - first)[:2] / np.linalg.norm((second - first)[:2])
    down = np.array([-across[1], across[0], 0.0]) * inches(length)
    space = tuple(tuple(corner.tolist()) for corner in (first, second, second + down, first + down))
    toe = candidate.toe.model_copy(update={"bottom_space_m": space})
    (finding,) = judge(candidate.model_copy(update={"toe": toe}), case, "405.7.3", "bottom space")
    assert finding.verdict == verdict


def test_a_bottom_that_was_not_surveyed_cannot_be_told() -> None:
    candidate, case = STRAIGHT
    kept = [
        index
        for index, triangle in enumerate(case.ground.triangles_xy)
        if not np.allclose(triangle[1], case.ground.points_m[1, :2])
    ]
    ground = replace(
        case.ground,
        triangles_xy=case.ground.triangles_xy[kept],
        triangles_z=case.ground.triangles_z[kept],
    )
    (finding,) = judge(candidate, replace(case, ground=ground), "405.7.1", "bottom space")
    assert (finding.verdict, finding.measured) == ("cannot tell", None)
    _, tip = judge(candidate, replace(case, ground=ground), "303.2", "P")
    assert (tip.verdict, tip.measured) == ("cannot tell", None)


def test_without_its_start_the_threshold_cannot_be_told() -> None:
    candidate, case = STRAIGHT
    (finding,) = judge(candidate, replace(case, start_name="back door"), "404.2.5", "threshold")
    assert (finding.verdict, finding.measured) == ("cannot tell", None)


@pytest.mark.parametrize(("n", "verdict"), [("49", "meets"), ("48", "meets"), ("47.99", "fails")])
@pytest.mark.parametrize("way", ["along", "across", "both"])
def test_a_landing_slopes_at_most_one_in_forty_eight_in_its_steepest_direction(
    n: str, verdict: str, way: str
) -> None:
    candidate, case = STRAIGHT
    size = 1.62
    slope = 1.0 / float(Fraction(n))
    along, across = {"along": (slope, 0.0), "across": (0.0, slope), "both": (slope * 0.6, slope * 0.8)}[way]
    lifts = (0.0, across * size, across * size + along * size, along * size)

    def tilt(piece: object) -> object:
        corners = tuple((x, y, z + lift) for (x, y, z), lift in zip(piece.corners_m, lifts, strict=True))  # type: ignore[attr-defined]
        return piece.model_copy(update={"corners_m": corners})  # type: ignore[attr-defined]

    (finding,) = judge(change_piece(candidate, "L0", tilt), case, "405.7.1", "L0")
    assert finding.verdict == verdict


@pytest.mark.parametrize(("fall", "verdict"), [(1.0 / 48.0, "meets"), (1.0 / 47.9, "fails")])
def test_the_space_at_the_bottom_slopes_at_most_one_in_forty_eight(fall: float, verdict: str) -> None:
    candidate, case = build_ramp(gradient=(0.0, -fall), slope=1.0 / 12.0)
    (finding,) = judge(candidate, case, "405.7.1", "bottom space")
    assert finding.verdict == verdict


def short_ramp(rise: str) -> tuple[Candidate, CheckCase]:
    """One section and the plate, with this rise in all."""
    surface = 2.0 + 0.9
    rise_m = inches(rise)
    slope = rise_m / (surface**2 - rise_m**2) ** 0.5
    candidate, case = build_ramp((("section",),), slope=slope, gradient=(0.0, 0.0))
    return candidate, replace(case, guard_above_m=5.0)


@pytest.mark.parametrize(
    ("rise", "bare"), [("5.99", "does not apply"), ("6", "does not apply"), ("6.01", "fails")]
)
def test_a_rise_of_more_than_six_inches_needs_handrails_on_both_sides(rise: str, bare: str) -> None:
    candidate, case = short_ramp(rise)
    (trigger,) = judge(candidate, case, "405.8", "run 1")
    assert trigger.measured == pytest.approx(float(rise))
    without = drop_rails(candidate, lambda rail: rail.piece != "L0")
    assert [f.verdict for f in judge(without, case, "405.8", "run 1")] == [bare]
    assert [f.verdict for f in judge(without, case, "505.2", "run 1")] == [bare]
    both = [f.verdict for f in judge(candidate, case, "505.2", "run 1")]
    assert both == ["meets" if bare == "fails" else "does not apply"]
    heights = {f.verdict for f in judge(without, case, "505.4", "run 1")}
    extensions = {f.verdict for f in check_candidate(without, case) if f.clause == "505.10.1"}
    assert extensions == {bare}
    # Where rails are asked but missing there is no height to measure.
    assert heights == {"does not apply" if bare == "does not apply" else "cannot tell"}
    one = drop_rails(candidate, lambda rail: rail.piece != "L0" and rail.edge == "left")
    assert [f.verdict for f in judge(one, case, "505.2", "run 1")] == [bare]


@pytest.mark.parametrize(
    ("height", "low", "high"),
    [
        ("33.99", "fails", "meets"),
        ("34", "meets", "meets"),
        ("38", "meets", "meets"),
        ("38.01", "meets", "fails"),
    ],
)
def test_handrails_are_thirty_four_to_thirty_eight_inches_high(height: str, low: str, high: str) -> None:
    candidate, case = STRAIGHT
    rails = tuple(rail.model_copy(update={"height_m": inches(height)}) for rail in candidate.rails)
    panels = tuple(replace(panel, height_m=inches(height)) for panel in case.catalogue.rail_panels)
    found = judge(
        candidate.model_copy(update={"rails": rails}),
        with_catalogue(case, rail_panels=panels),
        "505.4",
        "run 1",
    )
    assert [finding.verdict for finding in found] == [low, high]


@pytest.mark.parametrize(("length", "verdict"), [("12", "meets"), ("11.99", "fails")])
def test_handrails_go_on_twelve_inches_at_both_ends_of_both_sides(length: str, verdict: str) -> None:
    candidate, case = STRAIGHT
    ends = tuple(replace(end, extension_m=inches(length)) for end in case.catalogue.rail_ends)
    for corner in ("upper end, left", "upper end, right", "lower end, left", "lower end, right"):
        (finding,) = judge(candidate, with_catalogue(case, rail_ends=ends), "505.10.1", f"run 1, {corner}")
        assert finding.verdict == verdict


def test_at_the_inside_of_a_half_turn_the_rail_runs_on_instead() -> None:
    candidate, case = build_ramp((("section",) * 3, ("section",)), ("half_left",))
    found = [f for f in check_candidate(candidate, case) if f.clause == "505.10.1"]
    inside = {f.subject for f in found if f.verdict == "does not apply"}
    assert inside == {"run 1, lower end, left", "run 2, upper end, left"}
    lengths = [f for f in found if f.measured is not None and f.verdict != "does not apply"]
    assert [f.verdict for f in lengths] == ["meets"] * 6


@pytest.mark.parametrize("side", ["left", "right"])
def test_at_the_inside_of_a_quarter_turn_the_rail_runs_on_instead(side: str) -> None:
    """505.10, exception 1, names switchbacks and doglegs; at a quarter turn common practice, no source."""
    candidate, case = build_ramp((("section",) * 2, ("section",) * 3), (side,))
    corners = {f"run 1, lower end, {side}", f"run 2, upper end, {side}"}

    def extensions(laid: Candidate, verdict: str) -> set[str]:
        found = (f for f in check_candidate(laid, case) if f.clause == "505.10.1" and f.verdict == verdict)
        return {f.subject for f in found}

    assert extensions(candidate, "does not apply") == corners
    assert extensions(candidate, "fails") == set()
    # Without the infill beside the arriving run the rail stops there, and 12 in are asked.
    stopped = drop_rails(candidate, lambda rail: (rail.piece, rail.edge) == ("L1", "start"))
    assert extensions(stopped, "fails") == corners


@pytest.mark.parametrize(("height", "verdict"), [("4", "meets"), ("3.99", "fails")])
def test_a_curb_is_four_inches_high(height: str, verdict: str) -> None:
    candidate, case = STRAIGHT
    sections = tuple(replace(part, curb_height_m=inches(height)) for part in case.catalogue.sections)
    low = with_catalogue(
        case, sections=sections, landings=resize_landings(case.catalogue, curb_height_m=inches(height))
    )
    for subject in ("sections of run 1", "L0"):
        assert [f.verdict for f in judge(candidate, low, "405.9.2", subject)] == [verdict]


@pytest.mark.parametrize(("drop", "verdict"), [("1/2", "meets"), ("0.51", "fails"), ("-0.51", "fails")])
def test_the_landing_lies_at_most_half_an_inch_below_the_threshold(drop: str, verdict: str) -> None:
    candidate, case = STRAIGHT
    surface = float(np.array(candidate.pieces[1].corners_m)[:, 2].mean())
    start = replace(case.yard.starts[0], threshold_m=surface + inches(drop))
    (finding,) = judge(candidate, change_yard(case, starts=(start,)), "404.2.5", "threshold")
    assert finding.verdict == verdict


@pytest.mark.parametrize(("thickness", "verdict"), [("1/4", "meets"), ("0.26", "fails")])
def test_the_plates_tip_is_at_most_a_quarter_inch_thick(thickness: str, verdict: str) -> None:
    candidate, case = STRAIGHT
    plates = tuple(
        replace(plate, tip_thickness_m=inches(thickness)) for plate in case.catalogue.transition_plates
    )
    thick, along = judge(candidate, with_catalogue(case, transition_plates=plates), "303.2", "P")
    assert thick.verdict == verdict
    assert along.verdict == "meets"
    assert along.measured == pytest.approx(0.525 * 0.008 / 0.0254)
