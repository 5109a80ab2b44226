"""What the demo scenes come to: winner, cost, exit code, and that nothing shown fails a check.

Costs are direct costs on record, so that a change of the search or of the prices is seen; they
come from the program itself and prove nothing by themselves.
"""

from __future__ import annotations

from typing import Final

import pytest

from optimizer.cli import Exit
from tests.scenes.answered_scenes import Winner, answer_scene

WINNERS: Final = {
    "crowded-garden": Winner("L", "front", ("left",), 647_530),
    "fall-to-street": Winner("straight", "left", (), 666_695),
    "hillside": Winner("L", "left", ("right", "straight", "right"), 1_768_857),
    "leg-gap": Winner("switchback", "left", ("half_right",), 836_166),
    "level-book": Winner("switchback", "right", ("half_left",), 834_637),
    "phone-scan": Winner("straight", "left", (), 436_070),
    "porch-steps": Winner("L", "left", ("right",), 984_670),
    "retaining-wall": Winner("L", "front", ("right",), 799_996),
    "rise-away": Winner("straight", "front", (), 462_910),
    "side-yard": Winner("switchback", "left", ("half_right", "straight"), 1_177_240),
}

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("name", WINNERS)
def test_the_first_layout_of_a_scene_is_the_one_on_record_and_proven(name: str) -> None:
    answer = answer_scene(name)
    assert answer.exit_code == Exit.ALLOWED
    assert answer.plan.status == "optimal_on_lattice"
    first = answer.plan.candidates[0]
    assert first.proof == "proven"
    assert Winner(first.shape, first.exit, first.turns, first.direct_cost_cents) == WINNERS[name]


@pytest.mark.parametrize("name", WINNERS)
def test_no_layout_shown_for_a_scene_fails_a_single_check_that_binds(name: str) -> None:
    plan = answer_scene(name).plan
    told_only = {rules.id for rules in plan.rules if rules.role != "binding"}
    for candidate in plan.candidates:
        assert candidate.findings
        failed = [finding for finding in candidate.findings if finding.verdict == "fails"]
        assert [finding for finding in failed if finding.rules not in told_only] == []


def test_a_guide_that_fails_leaves_the_exit_code_alone() -> None:
    answer = answer_scene("hillside")
    assert answer.exit_code == Exit.ALLOWED
    failed = {f.rules for f in answer.plan.candidates[0].findings if f.verdict == "fails"}
    assert failed == {"ada-2010"}
    assert [(one.id, one.role) for one in answer.plan.rules] == [
        ("irc-2015", "binding"),
        ("ada-2010", "guide"),
    ]


def test_three_shapes_win_somewhere() -> None:
    assert {answer_scene(name).plan.candidates[0].shape for name in WINNERS} == {
        "straight",
        "L",
        "switchback",
    }


def test_the_yard_without_room_ends_with_its_own_exit_code_and_a_change_that_would_do() -> None:
    answer = answer_scene("no-room")
    assert answer.exit_code == Exit.NO_LAYOUT
    assert answer.plan.status == "infeasible_on_lattice"
    assert answer.plan.candidates == ()
    told = [f"{conflict.reason} {conflict.remedy}" for conflict in answer.plan.conflicts]
    assert any("parking place" in words for words in told)
    assert any("more of the lot away from the door" in words for words in told)
    assert any("a slope of 1:" in words for words in told)


def test_the_side_yard_takes_three_runs_and_a_half_turn() -> None:
    first = answer_scene("side-yard").plan.candidates[0]
    assert len({piece.run for piece in first.pieces if piece.kind == "section"}) == 3


def test_the_hillside_comes_down_six_feet_in_more_than_two_runs() -> None:
    first = answer_scene("hillside").plan.candidates[0]
    assert 1.75 < first.rise_m < 1.90
    assert len({piece.run for piece in first.pieces if piece.kind == "section"}) > 2


def test_the_porch_keeps_its_old_steps_below_the_landing_and_gets_new_ones_in_one_layout_at_least() -> None:
    plan = answer_scene("porch-steps").plan
    assert any(piece.kind == "steps" for one in plan.candidates for piece in one.pieces)
