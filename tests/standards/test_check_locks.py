"""A locked place is met when a piece covers it, its edges included, and by no more than that."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Finding
from optimizer.standards.check_candidate import CheckCase, check_candidate
from tests.standards.damage import change_piece, failed_clauses, middle_of
from tests.standards.ramp_on_a_plane import build_ramp

RAMP, CASE = build_ramp((("section",) * 2, ("section",) * 3), ("right",))


def find_locks(case: CheckCase) -> list[Finding]:
    findings = check_candidate(RAMP, case)
    return [finding for finding in findings if finding.clause in ("build.must_pass", "build.landing_at")]


def beside(name: str, beyond_m: float) -> np.ndarray:
    """A place so far to the left of the middle of a piece's left edge."""
    corners = np.array(next(piece.corners_m for piece in RAMP.pieces if piece.id == name))[:, :2]
    left, right = corners[[0, 3]].mean(axis=0), corners[[1, 2]].mean(axis=0)
    return left + beyond_m * (left - right) / np.linalg.norm(left - right)


def test_without_locks_nothing_is_said() -> None:
    assert find_locks(CASE) == []


@pytest.mark.parametrize("name", ["L0", "S1.1", "L1", "S2.3", "P"])
@pytest.mark.parametrize(
    ("beyond_m", "verdict"), [(-0.2, "meets"), (0.0, "meets"), (0.9e-6, "meets"), (0.002, "fails")]
)
def test_a_place_to_pass_is_met_by_every_walked_piece(name: str, beyond_m: float, verdict: str) -> None:
    (found,) = find_locks(replace(CASE, must_pass_m=(beside(name, beyond_m),)))
    assert (found.clause, found.subject, found.verdict) == ("build.must_pass", "locked place 1", verdict)
    assert found.measured == pytest.approx(max(0.0, beyond_m), abs=1e-9)
    assert found.where_m is not None


@pytest.mark.parametrize(
    ("name", "verdict"),
    [("L0", "meets"), ("L1", "meets"), ("S1.1", "fails"), ("S2.3", "fails"), ("P", "fails")],
)
def test_a_place_for_a_landing_is_met_by_landings_alone(name: str, verdict: str) -> None:
    (found,) = find_locks(replace(CASE, landing_at_m=(np.array(middle_of(RAMP, name)),)))
    assert (found.clause, found.verdict) == ("build.landing_at", verdict)


def test_every_locked_place_has_a_finding_of_its_own() -> None:
    near, far = np.array(middle_of(RAMP, "P")), np.array(middle_of(RAMP, "L0")) + 400.0
    found = find_locks(replace(CASE, must_pass_m=(near, far), landing_at_m=(near,)))
    assert [(f.clause, f.subject, f.verdict) for f in found] == [
        ("build.must_pass", "locked place 1", "meets"),
        ("build.must_pass", "locked place 2", "fails"),
        ("build.landing_at", "locked place 1", "fails"),
    ]
    assert found[1].where_m is None


def test_locks_are_judged_also_when_the_pieces_make_no_chain() -> None:
    broken = change_piece(RAMP, "S1.2", lambda piece: piece.model_copy(update={"catalogue_id": "none"}))
    case = replace(CASE, must_pass_m=(beside("L0", 0.5),))
    assert {"build.chain", "build.must_pass"} <= failed_clauses(broken, case)
