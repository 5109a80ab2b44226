"""A layout as placed: joints meet, drops are those of fixed surface lengths, legs reach the plane."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from optimizer.errors import InputError
from optimizer.layout.build_layout import build_layout
from optimizer.layout.placed import PlacedLayout
from optimizer.layout.spec import Exit, LayoutSpec, RunSpec, TurnKind, TurnSpec
from optimizer.plan import Piece
from optimizer.terrain.frames import build_door_frame
from tests.layout.plane_layouts import (
    BEDDING_M,
    FALL_U,
    FALL_V,
    FLUSH_LEFT_M,
    LANDING_M,
    LAYOUTS,
    PLATE_M,
    SECTION_M,
    SLOPE,
    WIDTH_M,
    plane_site,
    spec_of,
)
from tests.search.flat_yard import FRAME_M, GAP_M, INCH, INSET_M, LANDING_FRAME_M

JOINT_WITHIN_M = 1e-4
TIP_WITHIN_M = 1e-3
EXACT_M = 1e-9


def laid(name: str) -> PlacedLayout:
    threshold_m, spec, _ = LAYOUTS[name]
    return build_layout(plane_site(threshold_m), spec)


def ground_m(x: float, y: float) -> float:
    """The plane by its own equation."""
    ((u, v),) = build_door_frame(plane_site(1.0).yard.starts[0]).to_door(np.array([[x, y]]))
    return float(-FALL_U * u - FALL_V * v)


def is_walked(piece: Piece) -> bool:
    return piece.kind in ("landing", "section", "transition_plate")


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_joint_connects(name: str) -> None:
    pieces = [piece for piece in laid(name).pieces if is_walked(piece)]
    joints = 0
    for upper, lower in itertools.pairwise(pieces):
        start = np.array(lower.corners_m[:2])
        if lower.kind == "landing":  # the run that arrives lies along its entry edge
            start, upper_shape = np.array(upper.corners_m[2:]), lower
        else:
            upper_shape = upper
        edge = Polygon([corner[:2] for corner in upper_shape.corners_m]).exterior
        levels = {corner[2] for corner in upper_shape.corners_m[2:]}
        assert all(edge.distance(Point(corner[:2])) < JOINT_WITHIN_M for corner in start)
        assert all(abs(corner[2] - level) < JOINT_WITHIN_M for corner in start for level in levels)
        joints += 1
    assert joints == len(pieces) - 1 >= 4


@pytest.mark.parametrize("name", LAYOUTS)
def test_sections_keep_their_surface_length_and_drop_by_pythagoras(name: str) -> None:
    for piece in laid(name).pieces:
        if piece.kind != "section":
            continue
        upper, _, _, lower = np.array(piece.corners_m)
        assert np.linalg.norm(upper - lower) == pytest.approx(SECTION_M, abs=EXACT_M)
        assert upper[2] - lower[2] == pytest.approx(SECTION_M * SLOPE / math.hypot(1.0, SLOPE), abs=EXACT_M)
        assert piece.slope == pytest.approx(SLOPE, abs=EXACT_M)


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_tip_meets_the_ground_at_its_middle_and_the_plate_keeps_its_length(name: str) -> None:
    layout = laid(name)
    x, y, z = layout.toe.tip_m
    assert abs(z - ground_m(x, y)) < TIP_WITHIN_M
    assert layout.toe.ground_elevation_m == z
    (plate,) = (piece for piece in layout.pieces if piece.kind == "transition_plate")
    hinge = np.mean(plate.corners_m[:2], axis=0)
    assert np.linalg.norm(hinge - np.array([x, y, z])) == pytest.approx(PLATE_M, abs=JOINT_WITHIN_M)
    assert layout.rise_m == pytest.approx(LAYOUTS[name][0] - z, abs=EXACT_M)


@pytest.mark.parametrize("name", LAYOUTS)
def test_a_leg_is_as_high_as_its_frame_is_above_ground_and_bedding(name: str) -> None:
    layout = laid(name)
    pieces = {piece.id: piece for piece in layout.pieces}
    for leg in layout.legs:
        piece = pieces[leg.piece]
        deck_m = piece.corners_m[2][2]  # a joint's pair stands at the lower edge, a landing is level
        frame_m = deck_m - (LANDING_FRAME_M if piece.kind == "landing" else FRAME_M)
        assert leg.frame_elevation_m == pytest.approx(frame_m, abs=EXACT_M)
        assert leg.ground_elevation_m == pytest.approx(ground_m(leg.x_m, leg.y_m), abs=EXACT_M)
        assert leg.height_m == pytest.approx(frame_m - ground_m(leg.x_m, leg.y_m) + BEDDING_M, abs=EXACT_M)


def test_the_legs_of_the_straight_ramp_stand_where_the_closed_form_says() -> None:
    threshold_m, spec, _ = LAYOUTS["straight"]
    site = plane_site(threshold_m)
    layout = build_layout(site, spec)
    side_m = LANDING_M / 2 - INSET_M
    plan_m = SECTION_M / math.hypot(1.0, SLOPE)
    expected = [
        (sign * side_m, GAP_M + along, threshold_m - LANDING_FRAME_M)
        for along in (INSET_M, LANDING_M - INSET_M)
        for sign in (-1, 1)
    ]
    reach = {one.id: one.lateral_offset_m for one in (*site.catalogue.legs, *site.catalogue.low_supports)}
    for joint in (1, 2, 3):
        for sign, leg in zip((-1, 1), layout.legs[2 + 2 * joint : 4 + 2 * joint], strict=True):
            u = sign * (WIDTH_M / 2 + reach[leg.leg_type])
            expected.append(
                (u, GAP_M + LANDING_M + joint * plan_m, threshold_m - joint * plan_m * SLOPE - FRAME_M)
            )
    frame = build_door_frame(site.yard.starts[0])
    placed = frame.to_door(np.array([(leg.x_m, leg.y_m) for leg in layout.legs]))
    assert len(expected) == len(layout.legs)
    for (u, v, frame_m), (leg_u, leg_v), leg in zip(expected, placed, layout.legs, strict=True):
        assert (leg_u, leg_v) == pytest.approx((u, v), abs=EXACT_M)
        assert leg.height_m == pytest.approx(frame_m + FALL_U * u + FALL_V * v + BEDDING_M, abs=EXACT_M)


def test_unequal_falls_make_four_unequal_legs_under_one_landing() -> None:
    heights = [leg.height_m for leg in laid("straight").legs[:4]]
    assert len({round(height, 6) for height in heights}) == 4


def test_the_walk_is_the_length_of_the_decks_and_the_footprint_their_area_in_plan() -> None:
    layout = laid("straight")
    plan_m = SECTION_M / math.hypot(1.0, SLOPE)
    (plate,) = (piece for piece in layout.pieces if piece.kind == "transition_plate")
    plate_plan_m = float(np.linalg.norm(np.array(plate.corners_m[0][:2]) - np.array(plate.corners_m[3][:2])))
    assert layout.walking_length_m == pytest.approx(GAP_M + LANDING_M + 3 * SECTION_M + PLATE_M)
    assert layout.footprint_m2 == pytest.approx(LANDING_M**2 + WIDTH_M * (3 * plan_m + plate_plan_m))


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"start": "back door"}, "start"),
        ({"door_landing": "landing-0"}, "landing"),
        ({"plate": "section-96"}, "plate"),
        ({"runs": (RunSpec(("section-0",), SLOPE),)}, "run"),
        ({"runs": (RunSpec((), SLOPE),)}, "runs"),
        ({"supports": ("leg-short",)}, "supports"),
    ],
)
def test_a_choice_that_names_nothing_is_refused(change: dict[str, object], where: str) -> None:
    threshold_m, spec, _ = LAYOUTS["straight"]
    with pytest.raises(InputError) as caught:
        build_layout(plane_site(threshold_m), replace(spec, **change))  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == [where]


@pytest.mark.parametrize(
    ("leaves", "middle"),
    [
        ("front", (0.2, GAP_M + LANDING_M)),
        ("left", (-LANDING_M / 2, GAP_M + LANDING_M / 2 + 0.2)),
        ("right", (LANDING_M / 2, GAP_M + LANDING_M / 2 - 0.2)),
    ],
)
def test_the_first_run_leaves_the_door_landing_where_its_offset_says(
    leaves: Exit, middle: tuple[float, float]
) -> None:
    """0.2 m to the right of the edge's middle, as seen by somebody leaving by that edge."""
    site = plane_site(0.75)
    layout = build_layout(site, replace(LAYOUTS["straight"][1], exit=leaves, attach_m=0.2))
    first = next(piece for piece in layout.pieces if piece.kind == "section")
    corners = build_door_frame(site.yard.starts[0]).to_door(np.array(first.corners_m)[:2, :2])
    assert corners.mean(axis=0) == pytest.approx(middle, abs=EXACT_M)


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"attach_m": -FLUSH_LEFT_M + 1e-5}, "attach"),
        ({"arrive_m": FLUSH_LEFT_M - 1e-5}, "arrive on landing-64"),
        ({"leave_m": -FLUSH_LEFT_M + 1e-5}, "leave landing-64"),
    ],
)
@pytest.mark.parametrize("turn", ["left", "right"])
def test_a_run_that_leaves_the_edge_of_its_landing_is_refused(
    turn: str, change: dict[str, float], where: str
) -> None:
    threshold_m, spec, _ = LAYOUTS[f"quarter turn {turn}"]
    if "attach_m" in change:
        moved = replace(spec, **change)  # type: ignore[arg-type]
    else:
        moved = replace(spec, turns=(replace(spec.turns[0], **change),))  # type: ignore[arg-type]
    build_layout(plane_site(threshold_m), spec)
    with pytest.raises(InputError) as caught:
        build_layout(plane_site(threshold_m), moved)
    assert [fault.where for fault in caught.value.faults] == [where]


@pytest.mark.parametrize(
    ("leaves", "turn", "rooms_in"),
    [
        ("front", "left", (19, 19, 11)),
        ("left", "right", (11, 19, 11)),
        ("right", "straight", (11, 19, 19)),
    ],
)
def test_each_edge_of_an_oblong_landing_has_its_own_room(
    leaves: Exit, turn: TurnKind, rooms_in: tuple[int, int, int]
) -> None:
    """64 in out, 80 in along the wall, runs of 42 in: by hand 11 and 19 in either way."""
    site = plane_site(1.15)

    def lay(attach_m: float, arrive_m: float, leave_m: float) -> None:
        oblong = "landing-door-80"
        turns = (TurnSpec(turn, oblong, arrive_m, leave_m),)
        spec = spec_of((2, 3), turn)
        build_layout(site, replace(spec, door_landing=oblong, exit=leaves, attach_m=attach_m, turns=turns))

    flush = [room * INCH for room in rooms_in]
    lay(*flush)
    for n in range(3):
        beyond = [room + 1e-5 * (k == n) for k, room in enumerate(flush)]
        with pytest.raises(InputError, match="leaves the edge"):
            lay(*beyond)


def test_a_half_turn_on_a_landing_without_an_inner_loop_is_refused() -> None:
    spec = spec_of((2, 3), "half_left")
    turn = replace(spec.turns[0], landing="landing-64")
    with pytest.raises(InputError, match="cannot turn the way by half"):
        build_layout(plane_site(1.15), replace(spec, turns=(turn,)))


def test_a_plate_that_hangs_above_the_ground_is_refused() -> None:
    _, spec, _ = LAYOUTS["straight"]
    with pytest.raises(InputError, match="does not reach the ground"):
        build_layout(plane_site(2.6), spec)


def test_a_ramp_that_runs_off_the_survey_is_refused() -> None:
    spec: LayoutSpec = spec_of((14,), None)
    with pytest.raises(InputError, match="not surveyed"):
        build_layout(plane_site(2.9), spec)
