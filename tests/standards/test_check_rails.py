"""A legal ramp with rails taken away: exactly the clauses that speak of it fail."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.plan import Candidate
from tests.standards.damage import (
    MONEY,
    drop_rails,
    failed_clauses,
    find_failed,
)
from tests.standards.ramp_on_a_plane import build_ramp

RAMP, CASE = build_ramp()


def test_a_missing_panel_breaks_the_handrail_on_its_side() -> None:
    changed = drop_rails(
        RAMP, lambda rail: rail.kind == "panel" and rail.piece == "P" and rail.edge == "left"
    )
    assert failed_clauses(changed, CASE) == {"505.2", "build.rails", *MONEY}


def test_a_missing_rail_end_is_a_missing_extension() -> None:
    end = next(rail for rail in RAMP.rails if rail.kind == "end")
    changed = drop_rails(RAMP, lambda rail: rail.id == end.id)
    assert failed_clauses(changed, CASE) == {"505.10.1", "build.rails", *MONEY}


def test_an_inner_loop_takes_the_place_of_two_extensions() -> None:
    candidate, case = build_ramp((("section",) * 3, ("section",)), ("half_right",))
    changed = drop_rails(candidate, lambda rail: rail.kind == "inner_loop")
    found = [finding for finding in find_failed(changed, case) if finding.clause == "505.10.1"]
    assert {finding.subject for finding in found} == {"run 1, lower end, right", "run 2, upper end, right"}


def test_a_landing_above_the_jobs_trigger_needs_every_open_edge_railed() -> None:
    changed = drop_rails(RAMP, lambda rail: rail.piece == "L0" and rail.edge == "end")
    assert failed_clauses(changed, CASE) == {"build.rails", *MONEY}
    bare = drop_rails(RAMP, lambda rail: rail.piece == "L0")
    assert failed_clauses(bare, CASE) == {"build.rails", *MONEY}
    assert failed_clauses(bare, replace(CASE, rail_landings_above_m=1.0)) == MONEY


def test_a_panel_across_the_way_is_refused() -> None:
    landing = next(piece for piece in RAMP.pieces if piece.id == "L0")
    across = next(rail for rail in RAMP.rails if rail.kind == "panel" and rail.piece == "L0")
    line = (landing.corners_m[0], landing.corners_m[1])
    rails = tuple(
        rail.model_copy(update={"edge": "start", "line_m": line}) if rail.id == across.id else rail
        for rail in RAMP.rails
    )
    failed = find_failed(RAMP.model_copy(update={"rails": rails}), CASE)
    assert "closed by a panel" in next(f.text for f in failed if f.clause == "build.rails")


def test_a_high_run_needs_rails_whatever_its_rise() -> None:
    bare = drop_rails(RAMP, lambda rail: rail.piece != "L0")
    failed = failed_clauses(bare, CASE)
    assert {"405.8", "505.2"} <= failed
    assert "build.rails" not in failed
    assert "build.rails" in failed_clauses(bare, replace(CASE, guard_above_m=0.3))


def change_rail(number: int, **values: object) -> Candidate:
    rails = tuple(
        rail.model_copy(update=values) if index == number else rail for index, rail in enumerate(RAMP.rails)
    )
    return RAMP.model_copy(update={"rails": rails})


def find_rail(kind: str, piece: str) -> int:
    return next(index for index, rail in enumerate(RAMP.rails) if (rail.kind, rail.piece) == (kind, piece))


@pytest.mark.parametrize(
    ("kind", "piece", "change", "says"),
    [
        ("panel", "S1.2", {"catalogue_id": "panel-wide"}, 'takes "panel-section", not "panel-wide"'),
        ("panel", "L0", {"catalogue_id": "panel-plate"}, 'takes "panel-wide", not "panel-plate"'),
        ("post", "S1.2", {"catalogue_id": "panel-section"}, "is no rail part of the kind post"),
        ("post", "S1.2", {"piece": "L0"}, "a post belongs to a run, not to a landing"),
        ("panel", "S1.2", {"piece": "sill"}, "which is not walked on"),
    ],
)
def test_a_rail_part_belongs_where_it_is(kind: str, piece: str, change: dict[str, object], says: str) -> None:
    number = find_rail(kind, piece)
    found = find_failed(change_rail(number, **change), CASE)
    rail = RAMP.rails[number].id
    assert any(says in f.text for f in found if (f.clause, f.subject) == ("build.rail_part", rail))


@pytest.mark.parametrize(
    ("kind", "piece", "says"),
    [
        ("post", "S1.2", "it has 7 posts, 8 asked, 1 places bare"),
        ("panel", "S1.2", "of S1.2 is open over 1.99 m; it has 7 panels, 8 asked"),
        ("end", "P", "no rail end at its lower left corner; it has 3 rail ends, 4 asked"),
    ],
)
def test_a_run_says_which_rail_it_lacks(kind: str, piece: str, says: str) -> None:
    gone = RAMP.rails[find_rail(kind, piece)].id
    found = find_failed(drop_rails(RAMP, lambda rail: rail.id == gone), CASE)
    assert says in next(f.text for f in found if (f.clause, f.subject) == ("build.rails", "run 1"))


@pytest.mark.parametrize(("kind", "piece"), [("post", "S1.2"), ("panel", "S1.2"), ("end", "P")])
def test_a_rail_too_many_is_counted(kind: str, piece: str) -> None:
    double = RAMP.rails[find_rail(kind, piece)].model_copy(update={"id": "rail 99"})
    twice = RAMP.model_copy(update={"rails": (*RAMP.rails, double)})
    assert failed_clauses(twice, CASE) == {"build.rails", *MONEY}


def test_a_rail_end_is_level_and_in_line() -> None:
    number = find_rail("end", "P")
    base, (x, y, z) = RAMP.rails[number].line_m
    for far in ((x, y, z + 0.02), (x + 0.02, y - 0.02, z)):
        found = failed_clauses(change_rail(number, line_m=(base, far)), CASE)
        assert found == {"505.10.1", "build.rail_line", "build.rails"}
