"""When an edge needs a guard, how high, and what may pass through it.

Sources and values:
- International Residential Code 2018, R312.1.1, as a county prints it: a guard where the surface is more
  than 30 in above the ground at any point within 36 in (914 mm, soft) horizontally of the edge.
- R312.1.2: at least 36 in high; R312.1.3: no sphere of 4 in passes.
- IBC 2018, 1015.3: 42 in.
- England, Approved Document K, Diagram 3.1 (public): landings 1100 mm, flights 900 mm.
Derived: a deck 28 in above the ground at its edge with ground 31 in below it 30 in away needs a guard;
37 in away it does not.  Tolerance: one micrometre.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Candidate, Finding
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.rulebook.rules import Limit, Operator, Quantity
from optimizer.standards.check_candidate import CheckCase
from tests.standards.damage import drop_rails
from tests.standards.ground_in_steps import lower_beside
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import judge

INCH_M = 0.0254
#: Surface length of the hand-built ramp: three sections and the plate.
SURFACE_M = 3 * 2.0 + 0.9
LEVEL_M = 0.35


def limit_in(quantity: Quantity, operator: Operator, inches: float) -> Limit:
    return Limit("t", quantity, quantity, operator, inches, "in", inches * INCH_M, "a test", "text", "")


DROP = limit_in("guard_drop", "<=", 30.0)
HEIGHT = limit_in("guard_height", ">=", 36.0)
OPENING = limit_in("guard_opening", "<", 4.0)


def build_deck(above_in: float) -> tuple[Candidate, CheckCase]:
    """A ramp on level ground whose landing lies so high above it."""
    slope = math.tan(math.asin(above_in * INCH_M / SURFACE_M))
    return build_ramp(slope=slope, gradient=(0.0, 0.0))


def look(laid: tuple[Candidate, CheckCase], *limits: Limit, at: str = "L0") -> list[Finding]:
    return [finding for finding in judge(*laid, *limits) if finding.subject == at]


def verdicts(laid: tuple[Candidate, CheckCase], *limits: Limit, at: str = "L0") -> list[str]:
    return [finding.verdict for finding in look(laid, *limits, at=at)]


def with_ditch(
    laid: tuple[Candidate, CheckCase], away_in: float, deck_in: float, below_in: float
) -> CheckCase:
    candidate, case = laid
    low = LEVEL_M + (deck_in - below_in) * INCH_M
    return lower_beside(candidate, case, "L0", away_in * INCH_M, LEVEL_M, low)


@pytest.mark.parametrize(
    ("away_in", "below_in", "verdict"),
    [
        (30.0, 31.0, "fails"),
        (37.0, 31.0, "does not apply"),
        (36.0, 31.0, "fails"),
        (36.001, 31.0, "does not apply"),
        (30.0, 30.0, "does not apply"),
        (30.0, 30.001, "fails"),
    ],
)
def test_the_lowest_ground_within_36_inches_decides(away_in: float, below_in: float, verdict: str) -> None:
    candidate, case = build_deck(28.0)
    bare = drop_rails(candidate, lambda _: True)
    ditch = with_ditch((candidate, case), away_in, 28.0, below_in)
    assert verdicts((bare, ditch), DROP) == [verdict]
    railed = "meets" if verdict == "fails" else "does not apply"
    assert verdicts((candidate, ditch), DROP) == [railed]


def test_only_the_edge_beside_the_ditch_needs_a_guard() -> None:
    candidate, case = build_deck(28.0)
    ditch = with_ditch((candidate, case), 20.0, 28.0, 40.0)
    for edge, verdict in (("left", "fails"), ("right", "meets")):
        bare = drop_rails(candidate, lambda rail, edge=edge: (rail.piece, rail.edge) == ("L0", edge))
        assert verdicts((bare, ditch), DROP) == [verdict]


@pytest.mark.parametrize(("above_in", "verdict"), [(30.0, "does not apply"), (30.001, "fails")])
def test_exactly_30_inches_needs_none(above_in: float, verdict: str) -> None:
    candidate, case = build_deck(above_in)
    bare = drop_rails(candidate, lambda _: True)
    assert verdicts((bare, case), DROP) == [verdict]


def test_edges_where_a_run_attaches_and_at_the_wall_need_none() -> None:
    candidate, case = build_deck(36.0)
    assert verdicts((candidate, case), DROP) == ["meets"]
    assert not any(rail.piece == "L0" and rail.edge == "start" for rail in candidate.rails)


def lower_rails(candidate: Candidate, piece: str, edge: str, height_m: float) -> Candidate:
    rails = tuple(
        rail.model_copy(update={"height_m": height_m}) if (rail.piece, rail.edge) == (piece, edge) else rail
        for rail in candidate.rails
    )
    return candidate.model_copy(update={"rails": rails})


@pytest.mark.parametrize(("asked_in", "verdict"), [(36.0, "meets"), (36.001, "fails"), (42.0, "fails")])
def test_a_guard_is_as_high_as_asked(asked_in: float, verdict: str) -> None:
    laid = build_deck(36.0)
    height = replace(HEIGHT, value=asked_in, value_si=asked_in * INCH_M)
    assert verdicts(laid, DROP, height) == ["meets", verdict]


def test_a_lowered_rail_fails_where_a_guard_is_needed_and_nowhere_else() -> None:
    candidate, case = build_deck(31.0)
    lowered = lower_rails(lower_rails(candidate, "L0", "left", 0.9), "S1.3", "left", 0.9)
    findings = judge(lowered, case, DROP, HEIGHT, OPENING)
    assert {(f.clause, f.subject) for f in findings if f.verdict == "fails"} == {("guard_height", "L0")}


@pytest.mark.parametrize(("largest_in", "verdict"), [(3.999, "meets"), (4.0, "fails")])
def test_no_sphere_of_four_inches_passes(largest_in: float, verdict: str) -> None:
    candidate, case = build_deck(36.0)
    panels = tuple(
        replace(panel, largest_opening_m=largest_in * INCH_M) for panel in case.catalogue.rail_panels
    )
    laid = candidate, replace(case, catalogue=replace(case.catalogue, rail_panels=panels))
    assert verdicts(laid, DROP, OPENING) == ["meets", verdict]


def test_without_a_need_height_and_opening_do_not_apply() -> None:
    assert verdicts(build_deck(20.0), DROP, HEIGHT, OPENING) == ["does not apply"] * 3


def test_a_document_that_states_no_drop_leaves_the_need_open() -> None:
    (finding,) = look(build_deck(36.0), HEIGHT)
    assert finding.verdict == "cannot tell"
    assert "states no drop that asks for a guard; its rails: height of the guard 0.914 m" in finding.text


def test_a_missing_guard_fails_once_and_its_height_cannot_be_told() -> None:
    candidate, case = build_deck(36.0)
    bare = drop_rails(candidate, lambda rail: rail.piece == "L0")
    assert verdicts((bare, case), DROP, HEIGHT, OPENING) == ["fails", "cannot tell", "cannot tell"]


def test_edges_without_surveyed_ground_near_them_leave_the_need_open() -> None:
    candidate, case = build_deck(28.0)
    x, y, _ = candidate.toe.tip_m
    square = np.array([[x - 2, y - 2], [x + 2, y - 2], [x + 2, y + 2], [x - 2, y + 2]])
    ground = replace(
        case.ground,
        triangles_xy=np.array([square[[0, 1, 2]], square[[0, 2, 3]]]),
        triangles_z=np.full((2, 3), LEVEL_M),
        outline_m=(square,),
    )
    laid = candidate, replace(case, ground=ground)
    assert verdicts(laid, DROP, HEIGHT) == ["cannot tell", "cannot tell"]
    assert verdicts(laid, DROP, at="run 1") == ["cannot tell"]


def test_a_height_asked_of_landings_leaves_the_runs_alone() -> None:
    laid = build_deck(40.0)
    top = replace(HEIGHT, place="top", value=43.3, value_si=1.1)
    height = [finding for finding in judge(*laid, DROP, top) if finding.clause == "guard_height"]
    assert [(finding.subject, finding.verdict) for finding in height] == [("L0", "fails")]


def test_the_shipped_residential_code_asks_the_same() -> None:
    candidate, case = build_deck(28.0)
    bare = drop_rails(candidate, lambda _: True)
    shipped = tuple(one for one in read_rule_set("irc-2015").limits if one.quantity.startswith("guard"))
    for away_in, verdict in ((30.0, "fails"), (37.0, "does not apply")):
        ditch = with_ditch((candidate, case), away_in, 28.0, 31.0)
        found = look((bare, ditch), *shipped)
        assert found[0].clause == "R312.1.1"
        assert found[0].verdict == verdict
    assert verdicts(build_deck(36.0), *shipped) == ["meets"] * 3
