"""Drops and marks: published examples of setting out, and the corners of the plan itself."""

from __future__ import annotations

import math

import numpy as np
import pytest

from optimizer.catalogue.parts import Catalogue
from optimizer.documents.set_out import (
    find_top_level,
    list_ground_marks,
    list_set_out_rows,
    measure_check_length,
    measure_level_length,
    measure_surface_length,
)
from tests.assembly.ramps_to_build import NAMES, build_ramp


@pytest.mark.parametrize(
    ("along", "out", "straight"),
    [(3, 4, 5), (6, 8, 10), (9, 12, 15), (24, 32, 40), (30, 40, 50)],
)
def test_the_check_length_is_the_third_side_of_a_right_angle(along: int, out: int, straight: int) -> None:
    """3-4-5 and its multiples: FAO, Irrigation Manual 2 (fao.org/docrep/R7021E).

    24-32-40: Noble Research Institute, raised bed layout; 30-40-50: an old field book.
    """
    assert measure_check_length(along, out) == straight


def test_a_slope_of_thirty_metres_with_seventy_centimetres_covers_29_99183() -> None:
    """Published slope correction of a tape: L 30 m, h 0.70 m (civilnoteppt.com), exact root 29.9918322."""
    assert measure_level_length(30.0, 0.70) == pytest.approx(29.9918322, abs=5e-8)
    assert measure_level_length(30.0, 0.70) != pytest.approx(30.0 - 0.7**2 / 60.0, abs=5e-7)


def test_a_run_of_360_in_that_falls_30_in_is_361_in_and_a_quarter_of_deck() -> None:
    """Worked by hand: the excess is 1.2478 in, and 1.2457 by the first term of the series."""
    assert measure_surface_length(360.0, 30.0) == pytest.approx(361.2478, abs=5e-5)


def test_surface_and_level_length_undo_each_other() -> None:
    assert measure_level_length(measure_surface_length(4.2, 0.35), 0.35) == pytest.approx(4.2, abs=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_drops_are_the_plan_s_own_levels_from_the_door_down(name: str) -> None:
    candidate = build_ramp(name).candidate
    rows = list_set_out_rows(candidate)
    walked = [piece for piece in candidate.pieces if piece.kind in ("landing", "section", "transition_plate")]
    top_m = walked[0].corners_m[0][2]
    assert find_top_level(candidate) == pytest.approx(top_m, abs=1e-12)
    drops = [row.drop_m for row in rows]
    assert drops == sorted(drops)
    for piece in walked:
        own = [row for row in rows if row.piece == piece.id]
        assert own[-1].drop_m == pytest.approx(top_m - piece.corners_m[2][2], abs=1e-9)
    assert drops[-1] == pytest.approx(top_m - candidate.toe.tip_m[2], abs=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_every_leg_is_in_one_row_whose_drop_its_frame_has_too(name: str) -> None:
    ramp = build_ramp(name)
    rows = list_set_out_rows(ramp.candidate)
    listed = [leg.id for row in rows for leg in row.legs]
    assert sorted(listed) == sorted(leg.id for leg in ramp.candidate.legs)
    depths = {piece.id: _depth(ramp.site.catalogue, piece.catalogue_id) for piece in ramp.candidate.pieces}
    for row in rows:
        for leg in row.legs:
            deck_m = leg.frame_elevation_m + depths[row.piece]
            assert find_top_level(ramp.candidate) - deck_m == pytest.approx(row.drop_m, abs=1e-6)


def _depth(catalogue: Catalogue, part_id: str) -> float:
    part = catalogue.part(part_id)
    return float(getattr(part, "frame_depth_m", math.nan))


@pytest.mark.parametrize("name", NAMES)
def test_marks_lie_where_the_corners_are(name: str) -> None:
    """From the door's middle by along and out, in a frame built here from the wall alone."""
    ramp = build_ramp(name)
    start = ramp.site.yard.starts[0]
    middle, out = np.array(start.midpoint_m), np.array(start.outward)
    right = np.array([out[1], -out[0]])
    marks = {mark.name: mark for mark in list_ground_marks(ramp.candidate, start)}
    turns = [piece for piece in ramp.candidate.pieces if piece.kind == "landing" and piece.use != "door"]
    assert len(marks) == 4 * len(turns) + 2
    names = ("start left", "start right", "end right", "end left")
    for piece in turns:
        for name_of, corner in zip(names, piece.corners_m, strict=True):
            mark = marks[f"{piece.id} {name_of}"]
            assert middle + mark.along_m * right + mark.out_m * out == pytest.approx(
                np.array(corner[:2]), abs=1e-9
            )
            assert mark.check_m == pytest.approx(np.hypot(*(np.array(corner[:2]) - middle)), abs=1e-9)


@pytest.mark.parametrize("name", ["quarter turn left", "half turn right", "five runs"])
def test_marked_landings_are_square_by_sides_and_by_both_diagonals(name: str) -> None:
    """Equal diagonals alone do not prove a square: an isosceles trapezoid has them; two sides as well."""
    ramp = build_ramp(name)
    marks = {mark.name: mark for mark in list_ground_marks(ramp.candidate, ramp.site.yard.starts[0])}
    landings = sorted({one.partition(" ")[0] for one in marks if one.startswith("P")})
    assert landings
    for landing in landings:
        a, b, c, d = (
            np.array([marks[f"{landing} {one}"].along_m, marks[f"{landing} {one}"].out_m])
            for one in ("start left", "start right", "end right", "end left")
        )
        assert np.hypot(*(c - a)) == pytest.approx(np.hypot(*(d - b)), abs=1e-9)
        assert np.hypot(*(b - a)) == pytest.approx(np.hypot(*(c - d)), abs=1e-9)
        assert np.hypot(*(d - a)) == pytest.approx(np.hypot(*(c - b)), abs=1e-9)
