"""When a run needs handrails, on how many sides, how high and how thick.

Sources and values:
- 2010 ADA Standards 405.8: a rise greater than 6 in; 505.2: both sides; 505.4: 34 to 38 in;
  505.7.1: 1 1/4 to 2 in across.
- International Residential Code R311.8.3: at least one side where the slope exceeds 1:12.
- England, Approved Document K 2.12 (dwellings): none at a height of 600 mm or less.
- England, Approved Document M volume 2, 1.26l: both sides, always.
Tolerance: one micrometre.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.plan import Candidate, Finding
from optimizer.rulebook.rules import Limit, Operator, Quantity
from optimizer.standards.check_candidate import CheckCase
from tests.standards.damage import drop_rails
from tests.standards.ground_in_steps import lower_beside
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import judge

INCH_M = 0.0254


def limit_of(quantity: Quantity, operator: Operator, value: float, unit: str = "in") -> Limit:
    si = {"in": INCH_M, "mm": 0.001, "count": 1.0, "ratio": 1.0}[unit]
    return Limit("t", quantity, quantity, operator, value, unit, value * si, "a test", "text", "")


RISE = limit_of("handrail_rise", "<=", 6.0)
SLOPE = limit_of("handrail_slope", "<=", 1.0 / 12.0, "ratio")
HEIGHT_600 = limit_of("handrail_drop", "<=", 600.0, "mm")
BOTH = limit_of("handrail_sides", ">=", 2.0, "count")
ONE = limit_of("handrail_sides", ">=", 1.0, "count")
LOW, HIGH = limit_of("handrail_height_min", ">=", 34.0), limit_of("handrail_height_max", "<=", 38.0)
THIN, THICK = limit_of("handrail_grip_min", ">=", 1.25), limit_of("handrail_grip_max", "<=", 2.0)
EXTENSION = limit_of("handrail_extension", ">=", 12.0)


def build_rise(rise_m: float) -> tuple[Candidate, CheckCase]:
    """One section and the plate on level ground with just this rise."""
    slope = math.tan(math.asin(rise_m / 2.9))
    return build_ramp(((("section",)),), slope=slope, gradient=(0.0, 0.0))


def strip(laid: tuple[Candidate, CheckCase], *edges: str) -> tuple[Candidate, CheckCase]:
    """The ramp without the rails of its run on these edges."""
    return drop_rails(laid[0], lambda rail: rail.piece != "L0" and rail.edge in edges), laid[1]


def verdicts(laid: tuple[Candidate, CheckCase], *limits: Limit) -> list[str]:
    return [finding.verdict for finding in judge(*laid, *limits)]


@pytest.mark.parametrize(("rise_in", "verdict"), [(6.0, "does not apply"), (6.01, "fails")])
def test_a_rise_of_six_inches_needs_no_handrails_and_a_hair_more_both(rise_in: float, verdict: str) -> None:
    laid = build_rise(rise_in * INCH_M)
    assert verdicts(strip(laid, "left", "right"), RISE, BOTH) == [verdict, verdict]
    railed = {"fails": "meets"}.get(verdict, verdict)
    assert verdicts(strip(laid, "left"), RISE, BOTH) == [railed, verdict]
    assert verdicts(laid, RISE, BOTH) == [railed, railed]


@pytest.mark.parametrize(("slope", "verdict"), [(1.0 / 12.0, "does not apply"), (1.0 / 11.999, "fails")])
def test_a_slope_of_exactly_one_in_twelve_needs_none_and_a_steeper_one_a_side(
    slope: float, verdict: str
) -> None:
    laid = build_ramp(slope=slope)
    assert verdicts(strip(laid, "left", "right"), SLOPE, ONE) == [verdict, verdict]
    railed = {"fails": "meets"}.get(verdict, verdict)
    assert verdicts(strip(laid, "right"), SLOPE, ONE) == [railed, railed]


def test_the_steepest_piece_of_a_run_decides_the_plate_included() -> None:
    candidate, case = strip(build_ramp(slope=1.0 / 13.0), "left", "right")
    plate = next(piece for piece in candidate.pieces if piece.id == "P")
    low = tuple((x, y, z - 0.05 * (index > 1)) for index, (x, y, z) in enumerate(plate.corners_m))
    pieces = tuple(
        piece.model_copy(update={"corners_m": low}) if piece.id == "P" else piece
        for piece in candidate.pieces
    )
    steeper = candidate.model_copy(update={"pieces": pieces})
    assert verdicts((candidate, case), SLOPE) == ["does not apply"]
    (finding,) = judge(steeper, case, SLOPE)
    assert finding.verdict == "fails"
    assert "asks for a handrail; no side has one from end to end" in finding.text


@pytest.mark.parametrize(("rise_m", "verdict"), [(0.6, "does not apply"), (0.60001, "fails")])
def test_a_height_of_600_mm_needs_no_handrails(rise_m: float, verdict: str) -> None:
    laid = build_ramp(slope=math.tan(math.asin(rise_m / 6.9)), gradient=(0.0, 0.0))
    assert verdicts(strip(laid, "left", "right"), HEIGHT_600, ONE) == [verdict, verdict]


@pytest.mark.parametrize(("away_m", "verdict"), [(-0.01, "fails"), (0.01, "does not apply")])
def test_the_height_is_taken_over_the_ground_beside_the_run_not_farther_off(
    away_m: float, verdict: str
) -> None:
    candidate, case = strip(
        build_ramp(slope=math.tan(math.asin(0.5 / 6.9)), gradient=(0.0, 0.0)), "left", "right"
    )
    pit = lower_beside(candidate, case, "S1.1", away_m, 0.35, 0.05)
    assert verdicts((candidate, pit), HEIGHT_600) == [verdict]


def test_a_document_without_a_trigger_asks_always() -> None:
    laid = build_rise(0.15)
    assert verdicts(laid, BOTH) == ["meets"]
    assert verdicts(strip(laid, "left", "right"), BOTH) == ["fails"]
    assert verdicts(strip(laid, "left", "right"), LOW) == ["does not apply"]


@pytest.mark.parametrize("trigger", [RISE, SLOPE, HEIGHT_600])
def test_a_trigger_known_from_memory_leaves_the_need_open(trigger: Limit) -> None:
    laid = strip(build_ramp(slope=1.0 / 8.0, gradient=(0.0, 0.0)), "left", "right")
    recalled = replace(trigger, how_known="memory")
    assert verdicts(laid, recalled, BOTH, LOW) == ["cannot tell"] * 3
    assert verdicts(laid, trigger, BOTH)[:2] == ["fails", "fails"]


def with_panels(laid: tuple[Candidate, CheckCase], **values: float) -> tuple[Candidate, CheckCase]:
    candidate, case = laid
    panels = tuple(replace(panel, **values) for panel in case.catalogue.rail_panels)
    height = values.get("height_m")
    if height is not None:
        rails = tuple(rail.model_copy(update={"height_m": height}) for rail in candidate.rails)
        candidate = candidate.model_copy(update={"rails": rails})
    return candidate, replace(case, catalogue=replace(case.catalogue, rail_panels=panels))


@pytest.mark.parametrize(
    ("height_in", "found"),
    [
        (33.999, ["fails", "meets"]),
        (34.0, ["meets", "meets"]),
        (38.0, ["meets", "meets"]),
        (38.001, ["meets", "fails"]),
    ],
)
def test_heights_at_both_ends_of_the_range(height_in: float, found: list[str]) -> None:
    laid = with_panels(build_ramp(), height_m=height_in * INCH_M)
    assert verdicts(laid, LOW, HIGH) == found


@pytest.mark.parametrize(
    ("grip_in", "found"),
    [
        (1.249, ["fails", "meets"]),
        (1.25, ["meets", "meets"]),
        (2.0, ["meets", "meets"]),
        (2.001, ["meets", "fails"]),
    ],
)
def test_grips_at_both_ends_of_the_range(grip_in: float, found: list[str]) -> None:
    laid = with_panels(build_ramp(), grip_diameter_m=grip_in * INCH_M)
    assert verdicts(laid, THIN, THICK) == found


def failed(laid: tuple[Candidate, CheckCase]) -> set[tuple[str, str]]:
    limits = (RISE, BOTH, LOW, HIGH, THIN, THICK, EXTENSION)
    return {(one.clause, one.subject) for one in judge(*laid, *limits) if one.verdict == "fails"}


def test_one_lowered_panel_fails_the_least_height_alone() -> None:
    candidate, case = build_ramp((("section",) * 3, ("section",) * 2), ("straight",))
    lowered = tuple(
        rail.model_copy(update={"height_m": 0.8})
        if (rail.kind, rail.piece, rail.edge) == ("panel", "S2.1", "left")
        else rail
        for rail in candidate.rails
    )
    assert failed((candidate, case)) == set()
    assert failed((candidate.model_copy(update={"rails": lowered}), case)) == {
        ("handrail_height_min", "run 2")
    }


def test_one_panel_away_fails_the_sides_of_its_run_alone() -> None:
    candidate, case = build_ramp((("section",) * 3, ("section",) * 2), ("straight",))
    bare = drop_rails(candidate, lambda rail: (rail.kind, rail.piece, rail.edge) == ("panel", "S1.2", "left"))
    assert failed((bare, case)) == {("handrail_sides", "run 1")}


def test_a_side_that_needs_no_rail_needs_no_extension() -> None:
    laid = strip(build_ramp(slope=1.0 / 10.0), "right")
    findings: list[Finding] = judge(*laid, SLOPE, ONE, EXTENSION)
    assert {one.subject: one.verdict for one in findings if one.subject.endswith("right")} == {
        "run 1, upper end, right": "does not apply",
        "run 1, lower end, right": "does not apply",
    }
    both = [one for one in judge(*laid, SLOPE, BOTH, EXTENSION) if one.subject.endswith("right")]
    assert [one.verdict for one in both] == ["fails", "fails"]


def test_a_limit_on_the_landing_at_the_door_looks_at_its_panels() -> None:
    top = replace(LOW, place="top")
    candidate, case = build_ramp()
    rails = tuple(
        rail.model_copy(update={"height_m": 0.8}) if rail.piece == "L0" else rail for rail in candidate.rails
    )
    assert [one.subject for one in judge(candidate, case, top)] == ["L0"]
    assert verdicts((candidate, case), top) == ["meets"]
    assert verdicts((candidate.model_copy(update={"rails": rails}), case), top) == ["fails"]
