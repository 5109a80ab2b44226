"""A yard that cannot be is asked back, with the name of what is wrong."""

from __future__ import annotations

import dataclasses
from typing import Literal

import numpy as np
import pytest

from optimizer.terrain.check_yard import check_yard
from optimizer.terrain.yard import Obstacle, Points, Start, Yard, Zone
from tests.terrain.ground_samples import build, grid, lay_on_plane

#: A plane falling from 1 m at (0, 0) by 5 % in x and 3 % in y.
GROUND = build(lay_on_plane(grid(11, 11)))
AT_DOOR_M = 1.0 - 0.05 * 5.0


def box(x0: float, y0: float, x1: float, y1: float) -> Points:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=np.float64)


BOW_TIE = np.array([[2, 4], [4, 6], [4, 4], [2, 6]], dtype=np.float64)

START = Start(
    name="front",
    kind="landing",
    midpoint_m=np.array([5.0, 0.0]),
    outward=np.array([0.0, 1.0]),
    threshold_m=AT_DOOR_M + 0.7,
    drop_m=0.0127,
    clear_width_m=0.9,
    gap_m=0.02,
    swing="in",
    hinge_side="left",
)
YARD = Yard(
    starts=(START,),
    house_m=(box(1, -6, 9, -0.01),),
    lot_m=box(-2, -8, 12, 12),
    setback_m=1.0,
    setback_kind="hard",
    relief_cents=0,
    obstacles=(Obstacle("tree", box(1, 5, 1.5, 5.5), None, may_stand=False),),
    zones=(Zone("meter", "no_cover", box(8, 0, 9, 1), "asked for", None, None, "by hand", "the supplier"),),
    arrivals_m=(box(0, 8, 10, 10),),
    destination_m=None,
)


SHED = Obstacle("shed", BOW_TIE, 2.0, may_stand=False)
BED = Zone("bed", "no_foot", BOW_TIE, "roots", None, None, "by hand", "the owner")


def with_start(**changes: object) -> Yard:
    return dataclasses.replace(YARD, starts=(dataclasses.replace(START, **changes),))  # type: ignore[arg-type]


def with_obstacle(outline_m: Points, top_m: float | None, kind: Literal["landing", "over_steps"]) -> Yard:
    yard = with_start(kind=kind)
    return dataclasses.replace(yard, obstacles=(Obstacle("steps", outline_m, top_m, may_stand=True),))


def find_faults(yard: Yard) -> list[str]:
    faults = check_yard(yard, GROUND, "site.toml")
    assert all(fault.where == "site.toml" and fault.remedy for fault in faults)
    return [fault.what for fault in faults]


def test_a_sound_yard_has_no_fault() -> None:
    assert find_faults(YARD) == []


@pytest.mark.parametrize(
    ("yard", "name"),
    [
        (dataclasses.replace(YARD, lot_m=BOW_TIE), "the lot"),
        (dataclasses.replace(YARD, house_m=(BOW_TIE,)), "the house"),
        (dataclasses.replace(YARD, house_m=(box(1, -6, 9, 0), BOW_TIE)), "house outline 2"),
        (dataclasses.replace(YARD, obstacles=(SHED,)), 'obstacle "shed"'),
        (dataclasses.replace(YARD, zones=(BED,)), 'zone "bed"'),
        (dataclasses.replace(YARD, arrivals_m=(BOW_TIE,)), "arrival zone 1"),
    ],
)
def test_an_outline_that_crosses_itself_is_named_with_the_place(yard: Yard, name: str) -> None:
    assert find_faults(yard) == [f"the outline of {name} crosses itself at (3.000, 5.000) m."]


@pytest.mark.parametrize(
    ("outline", "complaint"),
    [
        (np.array([[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]]), "the lot covers no area"),
        (np.array([[0.0, 0.0], [1.0, 1.0]]), "the lot has 2 corners"),
        (
            np.array([[0.0, 0.0], [1.0, np.nan], [2.0, 0.0]]),
            "the lot has a corner that is not",
        ),
    ],
)
def test_an_outline_without_area_is_refused(outline: Points, complaint: str) -> None:
    assert complaint in find_faults(dataclasses.replace(YARD, lot_m=outline))[0]


def test_all_outlines_are_complained_of_at_once() -> None:
    assert len(find_faults(dataclasses.replace(YARD, lot_m=BOW_TIE, arrivals_m=(BOW_TIE, BOW_TIE[:2])))) == 3


def test_a_door_off_the_surveyed_ground_is_refused_and_within_a_metre_is_not() -> None:
    outside = with_start(midpoint_m=np.array([5.0, -1.05]), threshold_m=1.5)
    assert find_faults(outside) == ['start "front" at (5.000, -1.050) m lies off the surveyed ground.']
    assert find_faults(with_start(midpoint_m=np.array([5.0, -0.95]), threshold_m=1.5)) == []


@pytest.mark.parametrize(
    ("height_m", "accepted"),
    [(0.0, True), (-0.0005, False), (0.7, True), (3.0, True), (3.0005, False), (27.0, False), (-1.0, False)],
)
def test_a_threshold_is_expected_nought_to_three_metres_above_the_ground(
    height_m: float, *, accepted: bool
) -> None:
    faults = find_faults(with_start(threshold_m=AT_DOOR_M + height_m))
    assert (faults == []) == accepted
    if not accepted:
        assert ("above" if height_m > 0 else "below") in faults[0].split("the nearest")[0]


def test_a_start_outside_the_lot_is_refused_and_on_its_line_is_not() -> None:
    assert find_faults(dataclasses.replace(YARD, lot_m=box(-2, 0, 12, 12))) == []
    (what,) = find_faults(dataclasses.replace(YARD, lot_m=box(-2, 0.001, 12, 12)))
    assert "lies outside the lot" in what


def test_an_obstacle_over_the_door_is_refused_unless_the_landing_stands_over_it() -> None:
    steps = box(4.6, 0.0, 5.4, 0.8)
    (what,) = find_faults(with_obstacle(steps, AT_DOOR_M + 0.5, "landing"))
    assert 'obstacle "steps" lies before start "front"' in what
    assert find_faults(with_obstacle(steps, AT_DOOR_M + 0.5, "over_steps")) == []
    assert len(find_faults(with_obstacle(steps, None, "over_steps"))) == 1


@pytest.mark.parametrize(
    "outline", [box(5.45, 0, 6, 1), box(4, 0.3, 6, 1), box(4, 0, 4.55, 1), box(4, -0.2, 6, 0)]
)
def test_an_obstacle_that_only_touches_the_strip_before_the_door_is_none_of_its_business(
    outline: Points,
) -> None:
    assert find_faults(with_obstacle(outline, None, "landing")) == []
    centre = np.array([5.0, 0.15])
    nearer = outline + 0.01 * (centre - outline.mean(axis=0)) / np.hypot(*(centre - outline.mean(axis=0)))
    assert len(find_faults(with_obstacle(nearer, None, "landing"))) == 1


def test_a_setback_that_leaves_nothing_is_refused() -> None:
    assert find_faults(dataclasses.replace(YARD, setback_m=6.9)) == []
    (what,) = find_faults(dataclasses.replace(YARD, setback_m=7.0))
    assert what == "the setback of 7.000 m leaves nothing of the lot."
    assert "setback" in find_faults(dataclasses.replace(YARD, setback_m=-0.5))[0]


def test_a_setback_with_relief_may_take_the_whole_of_a_narrow_lot() -> None:
    assert find_faults(dataclasses.replace(YARD, setback_m=7.0, setback_kind="needs_relief")) == []
    assert find_faults(dataclasses.replace(YARD, setback_m=-0.5, setback_kind="needs_relief")) != []
