"""A legal ramp with rails taken away: exactly the clauses that speak of it fail."""

from __future__ import annotations

from dataclasses import replace

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
