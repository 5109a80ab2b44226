"""Where handrail extensions reach: a landing, the next way, the room before the door, the lot line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.plan import Candidate, Finding, Piece
from optimizer.rulebook.rules import Limit
from optimizer.standards.check_candidate import CheckCase
from tests.standards.damage import change_piece, change_yard
from tests.standards.door_by_hand import make_door_limit
from tests.standards.rails_by_hand import add_end
from tests.standards.ramp_on_a_plane import build_ramp
from tests.standards.rulings_by_hand import judge, make_limit

EXTENSION = make_limit("handrail_extension", ">=", 0.305)
REACH = ", reach of its extension"


def find_reach(candidate: Candidate, case: CheckCase, *limits: Limit) -> dict[str, Finding]:
    found = judge(candidate, case, EXTENSION, *limits)
    return {one.subject.removesuffix(REACH): one for one in found if one.subject.endswith(REACH)}


def test_every_extension_lies_over_a_landing_or_the_space_at_the_bottom() -> None:
    found = find_reach(*build_ramp((("section",) * 3, ("section",) * 2), ("straight",)))
    assert len(found) == 8
    assert {one.verdict for one in found.values()} == {"meets"}
    assert "it lies over L1" in found["run 1, lower end, left"].text
    assert "it lies over L1" in found["run 2, upper end, left"].text
    assert "it lies over the space at the bottom" in found["run 2, lower end, right"].text


def test_a_landing_shorter_than_the_extension_fails() -> None:
    candidate, case = build_ramp()

    def shorten(landing_m: float) -> Candidate:
        def change(piece: Piece) -> Piece:
            corners = np.array(piece.corners_m)
            way = (corners[0] - corners[3]) / np.linalg.norm(corners[0] - corners[3])
            corners[:2] = corners[[3, 2]] + landing_m * way
            return piece.model_copy(update={"corners_m": tuple(map(tuple, corners.tolist()))})

        return change_piece(candidate, "L0", change)

    assert find_reach(shorten(0.311), case)["run 1, upper end, left"].verdict == "meets"
    short = find_reach(shorten(0.3), case)["run 1, upper end, left"]
    assert short.verdict == "fails"
    assert "m of it lie over no landing" in short.text


def move_run(candidate: Candidate, run: int, landing: str, forth_m: float) -> Candidate:
    """Every piece from this run on, moved along the heading of the landing before it."""
    corners = np.array(next(piece.corners_m for piece in candidate.pieces if piece.id == landing))
    way = (corners[3] - corners[0]) / np.linalg.norm(corners[3] - corners[0])
    moved = tuple(
        piece.model_copy(
            update={"corners_m": tuple(map(tuple, (np.array(piece.corners_m) + forth_m * way).tolist()))}
        )
        if piece.run == run
        else piece
        for piece in candidate.pieces
    )
    ids = {piece.id for piece in candidate.pieces if piece.run == run}
    rails = tuple(
        rail.model_copy(
            update={"line_m": tuple(map(tuple, (np.array(rail.line_m) + forth_m * way).tolist()))}
        )
        if rail.piece in ids
        else rail
        for rail in candidate.rails
    )
    return candidate.model_copy(update={"pieces": moved, "rails": rails})


@pytest.mark.parametrize(
    ("back_m", "verdict"),
    # The landing is 1.62 m long, the next run 0.95 m clear in its middle: from 0.335 m on its mouth is
    # beside the extension of 0.31 m; moved back by more than 0.025 m it is not.
    [(0.0, "meets"), (0.02, "meets"), (0.03, "fails"), (0.2, "fails")],
)
def test_an_extension_along_the_next_runs_mouth_stands_in_its_way(back_m: float, verdict: str) -> None:
    candidate, case = build_ramp((("section",) * 3, ("section",) * 2), ("right",))
    candidate = add_end(candidate, "S1.3", "right", "lower")
    found = find_reach(move_run(candidate, 2, "L1", -back_m), case)
    assert found["run 1, lower end, right"].verdict == verdict
    assert found["run 1, lower end, left"].verdict == "meets"
    words = {"fails": "stand in the clear width of run 2 on L1", "meets": "keeps out of the way"}[verdict]
    assert words in found["run 1, lower end, right"].text


def test_an_extension_that_reaches_into_the_room_before_the_door_is_for_the_authority() -> None:
    candidate, case = build_ramp()
    start = replace(case.yard.starts[0], swing="out")
    case = change_yard(case, starts=(start,))
    # Landing 0.02 to 1.64 m from the wall, extension 0.31 m back from there: from 1.33 m on.
    near = make_door_limit("front", "pull", 1.32 / 0.0254, 18)
    far = make_door_limit("front", "pull", 1.40 / 0.0254, 18)
    for limit, verdict in ((near, "meets"), (far, "cannot tell")):
        found = find_reach(candidate, case, limit)
        assert found["run 1, upper end, right"].verdict == verdict
        assert found["run 1, upper end, left"].verdict == "meets"
        assert found["run 1, lower end, right"].verdict == "meets"
    assert "reach into the room in front of the door (9.9)" in found["run 1, upper end, right"].text
    pushed = find_reach(candidate, change_yard(case, starts=(replace(start, swing="in"),)), far)
    assert pushed["run 1, upper end, right"].verdict == "meets"


def test_an_extension_over_the_lot_line_names_who_decides() -> None:
    candidate, case = build_ramp()
    x, y, _ = candidate.toe.tip_m
    tip = np.array([x, y])
    out = case.yard.starts[0].outward
    right = np.array([out[1], -out[0]])
    for spare_m, verdict in ((0.32, "meets"), (0.2, "cannot tell")):
        far = tip + spare_m * out
        lot = np.array(
            [far - 20 * right - 30 * out, far + 20 * right - 30 * out, far + 20 * right, far - 20 * right]
        )
        found = find_reach(candidate, change_yard(case, lot_m=lot))["run 1, lower end, left"]
        assert found.verdict == verdict
    assert found.text.endswith(
        "0.110 m of it reach over the lot line: whoever holds the ground there decides."
    )


def test_an_extension_over_an_existing_porch_or_unknown_ground_cannot_be_told() -> None:
    candidate, case = build_ramp()
    pieces = tuple(piece for piece in candidate.pieces if piece.id != "L0")
    rails = tuple(rail for rail in candidate.rails if rail.piece != "L0")
    start = replace(case.yard.starts[0], kind="edge")
    hung = candidate.model_copy(update={"pieces": pieces, "rails": rails})
    found = find_reach(hung, change_yard(case, starts=(start,)))
    assert found["run 1, upper end, left"].verdict == "cannot tell"
    assert "an existing landing that was not measured" in found["run 1, upper end, left"].text


def test_an_extension_beside_the_space_at_the_bottom_is_not_judged_level() -> None:
    candidate, case = build_ramp()
    corners = np.array(candidate.toe.bottom_space_m)
    middle = (corners[0] + corners[1]) / 2.0
    narrow = corners.copy()
    for index in range(4):
        centre = middle if index < 2 else (corners[2] + corners[3]) / 2.0
        narrow[index] = centre + 0.5 * (corners[index] - centre)
    toe = candidate.toe.model_copy(update={"bottom_space_m": tuple(map(tuple, narrow.tolist()))})
    found = find_reach(candidate.model_copy(update={"toe": toe}), case)["run 1, lower end, left"]
    assert found.verdict == "cannot tell"
    assert "beside the space at the bottom" in found.text
