"""The shot list of a plan: which levels, where, and the limits within which the plan holds."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.errors import InputError
from optimizer.plan import Candidate, SupportLeg
from optimizer.visit.shot_limits import LIP_M, measure_leg_leeway, measure_toe_leeway
from optimizer.visit.shots import MOST_SHOTS, draw_pieces, list_shots, to_door
from tests.planned_scene import planned, planned_site


def first() -> Candidate:
    return planned().candidates[0]


def leg(height_m: float, low_m: float, high_m: float, reserve_m: float) -> SupportLeg:
    made = first().legs[0]
    return made.model_copy(update={"height_m": height_m, "range_m": (low_m, high_m), "reserve_m": reserve_m})


def test_a_leg_takes_ground_up_to_its_reserve_both_ways() -> None:
    # 0.5 m high out of 0.3 to 0.9 m with 0.02 m kept at each end: by hand 0.18 m shorter, 0.38 m longer.
    found = measure_leg_leeway(leg(0.5, 0.3, 0.9, 0.02))
    assert (found.higher_m, found.lower_m) == (pytest.approx(0.18), pytest.approx(0.38))


def test_a_leg_in_its_reserve_takes_no_more() -> None:
    assert measure_leg_leeway(leg(0.31, 0.3, 0.9, 0.02)).higher_m == 0.0


def test_the_list_is_short_begins_with_sill_and_tip_and_has_every_landing() -> None:
    shots = list_shots(planned_site(), first())
    assert len(shots) <= MOST_SHOTS
    assert [shot.name for shot in shots[:3]] == ["sill left", "sill right", "tip"]
    landings = [piece.id for piece in first().pieces if piece.kind == "landing"]
    assert landings
    for landing in landings:
        assert any(landing in shot.place for shot in shots)
    tallest = max(first().legs, key=lambda one: one.height_m)
    by_name = {one.id: one for one in first().legs}
    shot_legs = [by_name[shot.name] for shot in shots if shot.name in by_name]
    assert any(math.dist((one.x_m, one.y_m), (tallest.x_m, tallest.y_m)) < 0.15 for one in shot_legs)


def test_a_place_is_told_from_the_door_and_leads_back_to_the_foot() -> None:
    site = planned_site()
    start = site.yard.starts[0]
    right = np.array([start.outward[1], -start.outward[0]])
    by_name = {one.id: one for one in first().legs}
    shots = [shot for shot in list_shots(site, first()) if shot.name in by_name]
    assert len(shots) > 3
    for shot in shots:
        foot = by_name[shot.name]
        place = start.midpoint_m + shot.along_m * right + shot.out_m * start.outward
        assert place.tolist() == pytest.approx([foot.x_m, foot.y_m], abs=1e-9)
        assert shot.below_m == pytest.approx(start.threshold_m - foot.ground_elevation_m, abs=1e-9)
        assert to_door(start, foot.x_m, foot.y_m) == pytest.approx((shot.along_m, shot.out_m))


def test_a_leg_moved_by_its_limit_is_just_in_range_and_beyond_it_just_out() -> None:
    by_name = {one.id: one for one in first().legs}
    checked = 0
    for shot in list_shots(planned_site(), first()):
        if shot.name not in by_name:
            continue
        foot = by_name[shot.name]
        low_m, high_m = foot.range_m[0] + foot.reserve_m, foot.range_m[1] - foot.reserve_m
        for limit_m, end_m in ((shot.least_below_m, low_m), (shot.greatest_below_m, high_m)):
            assert foot.height_m + limit_m - shot.below_m == pytest.approx(end_m, abs=1e-9)
        assert shot.is_go(shot.least_below_m)
        assert shot.is_go(shot.greatest_below_m)
        assert not shot.is_go(shot.least_below_m - 0.0001)
        assert not shot.is_go(shot.greatest_below_m + 0.0001)
        checked += 1
    assert checked > 3


def without_pad() -> Candidate:
    """A candidate that lands on the ground itself: the first one, its pad taken off."""
    pieces = tuple(piece for piece in first().pieces if piece.kind != "bottom_pad")
    return first().model_copy(update={"pieces": pieces})


def test_at_the_toe_higher_ground_may_flatten_the_plate_and_no_more() -> None:
    plate = next(piece for piece in first().pieces if piece.kind == "transition_plate")
    upper_left, upper_right, lower_right, lower_left = (corner[2] for corner in plate.corners_m)
    drop_m = 0.5 * (upper_left + upper_right - lower_right - lower_left)
    assert measure_toe_leeway(planned_site(), without_pad()).higher_m == pytest.approx(drop_m)


def test_at_the_toe_lower_ground_may_always_leave_a_lip_of_a_quarter_inch() -> None:
    steepest = replace(planned_site().wishes, steepest=first().steepest_slope / 2.0)
    site: Site = replace(planned_site(), wishes=steepest)
    assert measure_toe_leeway(site, without_pad()).lower_m == LIP_M


def test_at_the_toe_lower_ground_goes_as_far_as_the_slope_allows_the_last_run() -> None:
    # Legs that reach any height, so that the slope alone decides.
    legs = tuple(one.model_copy(update={"range_m": (-9.0, 9.0)}) for one in first().legs)
    candidate = without_pad().model_copy(update={"legs": legs})
    run = [piece for piece in candidate.pieces if piece.run == max(one.run or 0 for one in candidate.pieces)]
    top, tip = (np.mean(corners, axis=0) for corners in (run[0].corners_m[:2], run[-1].corners_m[2:]))
    plan_m = float(np.hypot(*(tip - top)[:2]))
    rise_m = float(top[2] - tip[2])
    design = planned_site().design_of(planned_site().yard.starts[0])
    found = measure_toe_leeway(planned_site(), candidate).lower_m
    by_hand = min(design.steepest * plan_m, design.rise_per_run_m) - rise_m
    assert found == pytest.approx(max(LIP_M, min(by_hand, 0.5)), abs=1e-5)


def test_the_sketch_shows_every_deck_piece_in_the_doors_frame() -> None:
    drawn = draw_pieces(planned_site(), first())
    assert [piece.kind for piece in drawn].count("house") == 1
    named = {piece.name for piece in drawn}
    assert {one.id for one in first().pieces if one.kind in ("landing", "section")} <= named
    start = planned_site().yard.starts[0]
    right = np.array([start.outward[1], -start.outward[0]])
    by_name = {piece.name: piece for piece in drawn}
    for piece in first().pieces:
        if piece.kind not in ("landing", "section"):
            continue
        for (along, out), corner in zip(by_name[piece.id].corners_m, piece.corners_m, strict=True):
            back = start.midpoint_m + along * right + out * start.outward
            assert back.tolist() == pytest.approx(corner[:2])


def test_a_plan_of_another_door_is_refused() -> None:
    with pytest.raises(InputError, match='starts at "side gate"'):
        list_shots(planned_site(), first().model_copy(update={"start": "side gate"}))
