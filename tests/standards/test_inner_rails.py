"""The handrail round the inside of a turn takes the place of two extensions, where it leaves no gap.

2010 ADA Standards 505.10, exception 1, for the inside of half turns; for quarter turns and for the
greatest gap of 0.1 m common practice, no source.  Tolerance: one micrometre.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Candidate, Finding, Rail
from optimizer.standards.check_candidate import CheckCase, check_candidate
from tests.standards.damage import MONEY, drop_rails, failed_clauses, find_failed
from tests.standards.rails_by_hand import add_end
from tests.standards.ramp_on_a_plane import build_ramp

RUNS = (("section",) * 2, ("section",) * 3)
RIGHT, CASE = build_ramp(RUNS, ("right",))
CORNERS = {"run 1, lower end, right", "run 2, upper end, right"}


def find_extensions(candidate: Candidate, case: CheckCase, verdict: str) -> dict[str, str]:
    """What was found of the extensions with this verdict."""
    found = (one for one in check_candidate(candidate, case) if one.clause == "505.10.1")
    return {one.subject: one.text for one in found if one.verdict == verdict}


def find_landing(candidate: Candidate, case: CheckCase) -> Finding:
    (found,) = (
        one for one in check_candidate(candidate, case) if (one.clause, one.subject) == ("build.rails", "L1")
    )
    return found


def replace_line(candidate: Candidate, edge: str, first_m: float, last_m: float) -> Candidate:
    """The rail on this edge of L1 from one distance along the edge to another, from its upper or left end."""
    ((x, y, z), (far_x, far_y, far_z)) = next(
        rail.line_m for rail in candidate.rails if (rail.piece, rail.edge) == ("L1", edge)
    )
    start, far = np.array([x, y, z]), np.array([far_x, far_y, far_z])
    way = (far - start) / np.linalg.norm(far - start)
    line = tuple(tuple((start + along * way).tolist()) for along in (first_m, last_m))
    rails = tuple(
        rail.model_copy(update={"line_m": line}) if (rail.piece, rail.edge) == ("L1", edge) else rail
        for rail in candidate.rails
    )
    return candidate.model_copy(update={"rails": rails})


@pytest.mark.parametrize(("turn", "side"), [("right", "right"), ("left", "left"), ("half_left", "left")])
def test_neither_run_has_an_extension_at_the_inside_of_a_turn(turn: str, side: str) -> None:
    runs = (("section",) * 3, ("section",)) if turn.startswith("half") else RUNS
    candidate, case = build_ramp(runs, (turn,))
    assert failed_clauses(candidate, case) == set()
    inside = find_extensions(candidate, case, "does not apply")
    assert set(inside) == {f"run 1, lower end, {side}", f"run 2, upper end, {side}"}
    assert all(text.endswith("the handrail carries on round the inside of L1.") for text in inside.values())
    outside = find_extensions(candidate, case, "meets")
    assert len({name for name in outside if not name.endswith("reach of its extension")}) == 6


@pytest.mark.parametrize(
    ("piece", "run_end", "run"), [("S1.2", "lower", "run 1"), ("S2.1", "upper", "run 2")]
)
def test_an_extension_at_the_inside_is_one_too_many(piece: str, run_end: str, run: str) -> None:
    more = add_end(RIGHT, piece, "right", "lower" if run_end == "lower" else "upper")
    failed = find_failed(more, CASE)
    assert {one.clause for one in failed} == {"build.rails", *MONEY}
    assert f"{run}: it has 4 rail ends, 3 asked." in {one.text for one in failed}
    assert len(find_extensions(more, CASE, "does not apply")) == 2


def test_a_missing_extension_at_the_outside_of_the_turn_still_fails() -> None:
    ends = [rail.id for rail in RIGHT.rails if (rail.kind, rail.piece, rail.edge) == ("end", "S1.2", "left")]
    bare = drop_rails(RIGHT, lambda rail: rail.id in ends)
    assert set(find_extensions(bare, CASE, "fails")) == {"run 1, lower end, left"}
    assert failed_clauses(bare, CASE) == {"505.10.1", "build.rails", *MONEY}


@pytest.mark.parametrize("edge", ["start", "right"])
def test_a_missing_infill_leaves_the_inside_open(edge: str) -> None:
    def is_infill(rail: Rail) -> bool:
        return (rail.piece, rail.edge) == ("L1", edge)

    # Edge of 1.62 m, run of 1.05 m in its middle: 0.285 m beside it.
    bare = drop_rails(RIGHT, is_infill)
    found = find_extensions(bare, CASE, "fails")
    assert set(found) == CORNERS
    assert all("the rail round the inside of L1 is open over 0.2850 m" in text for text in found.values())
    assert failed_clauses(bare, CASE) == {"505.10.1", "build.rails", *MONEY}
    assert find_landing(bare, CASE).text == (
        f"L1: its {edge} edge has no infill; the rail round the inside of its turn is open over 0.2850 m."
    )


@pytest.mark.parametrize(("gap_m", "verdict"), [(0.1, "does not apply"), (0.1001, "fails")])
@pytest.mark.parametrize("place", ["at the run", "in the corner", "round the corner", "at the next run"])
def test_a_gap_of_a_tenth_of_a_metre_is_continuous(gap_m: float, verdict: str, place: str) -> None:
    size, beside = 1.62, 0.285
    start, right = (0.0, size), (0.0, size)
    match place:
        case "at the run":
            start = (size - beside + gap_m, size)
        case "in the corner":
            right = (gap_m, size)
        case "round the corner":
            start, right = (0.0, size - 0.06), (gap_m - 0.06, size)
        case _:
            right = (0.0, beside - gap_m)
    cut = replace_line(replace_line(RIGHT, "start", *start), "right", *right)
    assert set(find_extensions(cut, CASE, verdict)) == CORNERS
    opening = "the rail round the inside of its turn is open over 0.1001 m"
    assert (opening in find_landing(cut, CASE).text) == (verdict == "fails")


def test_an_infill_beside_the_outer_corner_alone_does_not_close_the_inside() -> None:
    # Every end of it is a place where an infill may end, so its line is no fault of its own.
    outer = replace_line(RIGHT, "start", 0.0, 0.285)
    assert set(find_extensions(outer, CASE, "fails")) == CORNERS
    assert failed_clauses(outer, CASE) == {"505.10.1", "build.rails"}


@pytest.mark.parametrize(("gap_m", "verdict"), [(0.1, "does not apply"), (0.1001, "fails")])
def test_an_inner_loop_reaches_from_one_run_to_the_other(gap_m: float, verdict: str) -> None:
    # Shared edge of 2.6 m, two runs of 1.05 m at its ends: the loop spans from 1.05 to 1.55 m.
    candidate, case = build_ramp((("section",) * 3, ("section",)), ("half_left",))
    assert set(find_extensions(replace_line(candidate, "start", 1.05 + gap_m, 1.55), case, verdict)) == {
        "run 1, lower end, left",
        "run 2, upper end, left",
    }


@pytest.mark.parametrize(("free_m", "verdict"), [(0.1, "meets"), (0.1001, "fails")])
def test_an_edge_longer_by_a_tenth_of_a_metre_needs_no_infill(free_m: float, verdict: str) -> None:
    narrow = drop_rails(
        squeeze(RIGHT, (1.05 + free_m) / 1.62), lambda rail: (rail.piece, rail.edge) == ("L1", "start")
    )
    found = find_landing(narrow, CASE)
    assert found.verdict == verdict
    assert set(find_extensions(narrow, CASE, "does not apply")) == CORNERS
    assert ("its start edge has no infill" in found.text) == (verdict == "fails")


def squeeze(candidate: Candidate, share: float) -> Candidate:
    """L1 with its rails narrower, its middle kept, and the next run moved after its right edge."""
    corners = np.array(next(piece.corners_m for piece in candidate.pieces if piece.id == "L1"))
    middle = (corners[0] + corners[1]) / 2.0
    right = (corners[1] - corners[0]) / 1.62
    moved = {piece.id for piece in candidate.pieces if piece.run == 2}

    def place(name: str, points: tuple[tuple[float, float, float], ...]) -> tuple[tuple[float, ...], ...]:
        shifted = []
        for point in np.array(points):
            lateral = float((point - middle) @ right)
            back = 0.81 if name in moved else lateral
            is_of_it = name == "L1" or name in moved
            shifted.append(tuple((point + (share - 1.0) * back * is_of_it * right).tolist()))
        return tuple(shifted)

    pieces = tuple(
        piece.model_copy(update={"corners_m": place(piece.id, piece.corners_m)}) for piece in candidate.pieces
    )
    rails = tuple(
        rail.model_copy(update={"line_m": place(rail.piece, rail.line_m)}) for rail in candidate.rails
    )
    return candidate.model_copy(update={"pieces": pieces, "rails": rails})


def test_a_low_landing_without_rails_leaves_the_inside_open_and_an_extension_may_close_it() -> None:
    case = replace(CASE, rail_landings_above_m=5.0)
    bare = drop_rails(RIGHT, lambda rail: rail.piece == "L1")
    assert find_landing(bare, case).verdict == "meets"
    assert set(find_extensions(bare, case, "fails")) == CORNERS
    ends = add_end(add_end(bare, "S1.2", "right", "lower"), "S2.1", "right", "upper")
    assert find_extensions(ends, case, "fails") == {}
    assert set(find_extensions(ends, case, "meets")) >= CORNERS


@pytest.mark.parametrize("leave", ["left", "right"])
def test_the_landing_at_the_door_left_by_its_side_is_no_turn(leave: str) -> None:
    candidate, case = build_ramp(leave=leave)
    # The room at this door is too small for leaving by its side; nothing else fails.
    assert failed_clauses(candidate, case) == {"Table 404.2.4.1"}
    assert find_extensions(candidate, case, "does not apply") == {}
    assert f"run 1, upper end, {leave}" in find_extensions(candidate, case, "meets")
