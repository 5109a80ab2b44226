"""A legal ramp damaged in its pieces: exactly the clauses that speak of the damage fail."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Piece
from optimizer.standards.check_candidate import check_candidate
from tests.standards.damage import (
    change_piece,
    change_yard,
    failed_clauses,
    find_failed,
)
from tests.standards.ramp_on_a_plane import build_ramp

RAMP, CASE = build_ramp()


@pytest.mark.parametrize(
    ("runs", "turns", "leave", "bottom"),
    [
        ((("section",) * 3,), (), "front", "ground"),
        ((("section",) * 3,), (), "front", "pad"),
        ((("section",) * 3,), (), "left", "ground"),
        ((("section",) * 2, ("section",) * 3), ("right",), "front", "ground"),
        ((("section",) * 2, ("section",) * 3), ("left",), "front", "pad"),
        ((("section",) * 3, ("section",)), ("half_right",), "front", "ground"),
        ((("section",) * 3, ("section",)), ("half_left",), "front", "ground"),
        ((("section-long", "section"), ("section",) * 3), ("straight",), "right", "ground"),
    ],
)
def test_a_legal_ramp_fails_nothing_and_leaves_nothing_untold(
    runs: tuple[tuple[str, ...], ...],
    turns: tuple[str, ...],
    leave: str,
    bottom: str,
) -> None:
    findings = check_candidate(*build_ramp(runs, turns, leave, pad=bottom == "pad"))
    assert {finding.verdict for finding in findings} <= {"meets", "does not apply"}
    assert len(findings) > 300


def test_the_site_may_be_turned_and_moved_far_away() -> None:
    turned = check_candidate(*build_ramp(angle=-2.4, origin=(480.0, -950.0)))
    here = check_candidate(RAMP, CASE)
    assert [(f.clause, f.subject, f.verdict) for f in turned] == [
        (f.clause, f.subject, f.verdict) for f in here
    ]


def test_a_piece_of_no_catalogue_leaves_every_limit_untold() -> None:
    changed = change_piece(RAMP, "S1.2", lambda piece: piece.model_copy(update={"catalogue_id": "none"}))
    findings = check_candidate(changed, CASE)
    assert {f.verdict for f in findings if f.rules == "ada-2010"} == {"cannot tell"}
    assert {f.clause for f in findings if f.rules == "ada-2010"} == {
        limit.clause for limit in CASE.rules.limits
    }
    assert "build.chain" in {f.clause for f in findings if f.verdict == "fails"}


def test_two_landings_on_end_make_no_chain() -> None:
    landing = next(piece for piece in RAMP.pieces if piece.id == "L0")
    twice = landing.model_copy(update={"id": "L9", "use": "straight"})
    changed = RAMP.model_copy(update={"pieces": (*RAMP.pieces[:2], twice, *RAMP.pieces[2:])})
    assert "build.chain" in failed_clauses(changed, CASE)


def test_a_repeated_id_makes_no_chain() -> None:
    changed = change_piece(RAMP, "S1.2", lambda piece: piece.model_copy(update={"id": "S1.1"}))
    assert "build.chain" in failed_clauses(changed, CASE)


def test_a_section_of_the_wrong_length_is_named() -> None:
    changed = change_piece(
        RAMP, "S1.2", lambda piece: piece.model_copy(update={"catalogue_id": "section-long"})
    )
    assert {f.subject for f in find_failed(changed, CASE) if f.clause == "build.size"} == {"S1.2"}


def move(piece: Piece, dx: float, dy: float, dz: float) -> Piece:
    corners = tuple((x + dx, y + dy, z + dz) for x, y, z in piece.corners_m)
    return piece.model_copy(update={"corners_m": corners})


def test_an_open_joint_of_a_fifth_of_a_millimetre_fails_and_a_twentieth_does_not() -> None:
    def ajar(gap_m: float) -> set[str]:
        changed = change_piece(RAMP, "S1.2", lambda piece: move(piece, 0.0, 0.0, gap_m))
        return failed_clauses(changed, CASE)

    assert ajar(0.00005) == set()
    assert "build.joint" in ajar(0.0002)
    assert ajar(0.0002) <= {"build.joint", "build.frame"}


def test_a_run_beside_its_attach_position_is_off_by_that_much() -> None:
    candidate, case = build_ramp((("section",) * 2, ("section",) * 3), ("right",))
    names = {piece.id for piece in candidate.pieces if piece.run == 2}
    landing = np.array(next(piece.corners_m for piece in candidate.pieces if piece.id == "L1"))
    step = (landing[3] - landing[0]) / np.linalg.norm(landing[3] - landing[0]) * 0.05
    for name in names:
        candidate = change_piece(candidate, name, lambda piece: move(piece, -step[0], -step[1], 0.0))
    found = [finding for finding in find_failed(candidate, case) if finding.clause == "build.attach"]
    assert [finding.subject for finding in found] == ["S2.1 - L1"]
    assert found[0].measured == pytest.approx(50.0)


def test_the_first_surface_must_lie_at_its_drop_below_the_threshold() -> None:
    start = replace(CASE.yard.starts[0], threshold_m=CASE.yard.starts[0].threshold_m + 0.002)
    changed = change_yard(CASE, starts=(start,))
    assert failed_clauses(RAMP, changed) == {"build.start", "build.threshold"}


def test_a_door_wider_than_its_landing_has_no_room() -> None:
    start = replace(CASE.yard.starts[0], clear_width_m=1.70)
    assert failed_clauses(RAMP, change_yard(CASE, starts=(start,))) == {"build.start"}


def test_a_start_of_another_name_is_said() -> None:
    assert failed_clauses(RAMP.model_copy(update={"start": "back door"}), CASE) == {"build.story"}
    assert "build.start" in failed_clauses(RAMP, replace(CASE, start_name="back door"))


@pytest.mark.parametrize(
    ("update", "clause"),
    [
        ({"shape": "L"}, "build.story"),
        ({"turns": ("left",)}, "build.story"),
    ],
)
def test_a_ramp_must_be_what_it_calls_itself(update: dict[str, object], clause: str) -> None:
    assert failed_clauses(RAMP.model_copy(update=update), CASE) == {clause}


def test_an_exit_that_is_not_the_one_taken_is_seen_at_the_joint() -> None:
    failed = failed_clauses(RAMP.model_copy(update={"exit": "left"}), CASE)
    assert {"build.joint", "build.heading"} <= failed


@pytest.mark.parametrize(
    ("mass_kg", "expected"), [(299.9, set()), (300.0, set()), (300.1, {"build.rated_load"})]
)
def test_a_rider_heavier_than_a_part_carries_fails_it(mass_kg: float, expected: set[str]) -> None:
    assert failed_clauses(RAMP, replace(CASE, total_mass_kg=mass_kg)) == expected
