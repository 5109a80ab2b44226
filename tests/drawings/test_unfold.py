"""The way unrolled: as long as the plan says, joint to joint, with every support beside it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from optimizer.drawings.unfold import stand_along, unfold
from tests.drawings.drawn_ramps import RAMPS, draw_ramp


@pytest.mark.parametrize("name", RAMPS)
def test_pieces_follow_each_other_without_a_gap(name: str) -> None:
    stretches = unfold(draw_ramp(name, "mm").candidate)
    for here, there in pairwise(stretches):
        assert here.end_m == there.begin_m
        assert np.abs(here.way_m[-1][:2] - there.way_m[0][:2]).max() < 1e-6


@pytest.mark.parametrize("name", RAMPS)
def test_a_run_is_as_long_as_its_pieces_in_plan(name: str) -> None:
    for one in unfold(draw_ramp(name, "mm").candidate):
        if one.piece.kind == "section":
            corners = np.array(one.piece.corners_m)[:, :2]
            assert one.end_m - one.begin_m == pytest.approx(
                float(np.hypot(*(corners[3] - corners[0]))), abs=1e-9
            )


@pytest.mark.parametrize("name", RAMPS)
def test_every_support_of_the_way_stands_beside_its_own_piece(name: str) -> None:
    candidate = draw_ramp(name, "mm").candidate
    stretches = unfold(candidate)
    stood = stand_along(candidate, stretches)
    walked = {one.piece.id for one in stretches}
    assert {one.support.id for one in stood} == {one.id for one in candidate.legs if one.piece in walked}
    by_piece = {one.piece.id: one for one in stretches}
    for one in stood:
        stretch = by_piece[one.support.piece]
        assert stretch.begin_m - 1e-9 <= one.along_m <= stretch.end_m + 1e-9


@pytest.mark.parametrize("name", RAMPS)
def test_hands_are_those_that_the_stations_name(name: str) -> None:
    candidate = draw_ramp(name, "mm").candidate
    named = [
        one for one in stand_along(candidate, unfold(candidate)) if one.support.station.startswith("joint")
    ]
    assert named or name == "retaining wall"
    for one in named:
        assert one.support.station == f"joint-{one.hand}"
