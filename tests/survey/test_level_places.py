"""Positions of levelled points: coordinates, tape and bearing, stadia, angles from the back point."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from optimizer.errors import Fault, InputError
from optimizer.survey.level_places import find_hair_doubts, find_places
from tests.survey.level_book_texts import read_text

POLAR = "name,bs_m,is_m,fs_m,known_elevation_m,x_m,y_m,distance_m,bearing_deg\n"
HAIRS = "name,bs_m,is_m,fs_m,known_elevation_m,x_m,y_m,upper_m,lower_m,bearing_deg\n"
ANGLES = "name,bs_m,is_m,fs_m,known_elevation_m,x_m,y_m,instrument_x_m,instrument_y_m,distance_m,angle_deg\n"


def find(folder: Path, text: str) -> dict[str, tuple[float, float]]:
    return {place.name: (place.x_m, place.y_m) for place in find_places(read_text(folder, text))}


def find_faults(folder: Path, text: str) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        find_places(read_text(folder, text))
    return caught.value.faults


def test_bearings_turn_clockwise_from_y_and_carry_the_instrument_along(tmp_path: Path) -> None:
    # The mark lies 10 m north of the first stand, at (100, 210); the second stand 5 m west of the peg.
    text = POLAR + (
        "mark,1.5,,,50,100,210,10,0\n"
        "east,,1.2,,,,,7,90\n"
        "peg,,,1.4,,,,20,180\n"
        "peg,1.3,,,,,,5,90\n"
        "far,,1.1,,,,,5,315\n"
        "mark,,,1.4,,,,,\n"
    )
    places = find(tmp_path, text)
    assert places["east"] == pytest.approx((107, 200))
    assert places["peg"] == pytest.approx((100, 180))
    half = 5 / math.sqrt(2)
    assert places["far"] == pytest.approx((95 - half, 180 + half))


def test_stadia_hairs_stand_for_the_tape(tmp_path: Path) -> None:
    text = HAIRS + "mark,1.5,,,50,0,0,1.55,1.45,270\nA,,1.2,,,,,1.26,1.14,0\nmark,,,1.5,,,,,,\n"
    # The stand is 10 m east of the mark; A 12 m north of the stand.
    assert find(tmp_path, text)["A"] == pytest.approx((10, 12))


@pytest.mark.parametrize(("upper", "doubts"), [("1.5560", 0), ("1.5580", 1)])
def test_hairs_that_are_not_midway_are_doubted(tmp_path: Path, upper: str, doubts: int) -> None:
    # Half of 6 mm is on the limit of 3 mm.
    book = read_text(tmp_path, HAIRS + f"mark,1.5,,,50,0,0,{upper},1.45,270\nmark,,,1.5,,,,,,\n")
    assert len(find_hair_doubts(book)) == doubts


def test_angles_turn_clockwise_from_the_back_point(tmp_path: Path) -> None:
    # From (5, 5) the mark (5, 9) is straight up: 90 degrees clockwise of it is to the right.
    text = ANGLES + "mark,1.5,,,50,5,9,5,5,,\nA,,1.2,,,,,,,3,90\nB,,1.2,,,,,,,2,-90\nmark,,,1.5,,,,,,,\n"
    places = find(tmp_path, text)
    assert places["A"] == pytest.approx((8, 5))
    assert places["B"] == pytest.approx((3, 5))


def test_offsets_from_the_wall_are_taken_as_they_are(tmp_path: Path) -> None:
    header = "name,bs_m,is_m,fs_m,known_elevation_m,along_wall_ft,out_from_wall_ft\n"
    text = header + "A,1,,,50,,\nB,,1,,,-5,10\nA,,,1,,,\n"
    assert find(tmp_path, text) == {"B": (pytest.approx(-1.524), pytest.approx(3.048))}


@pytest.mark.parametrize(("x", "is_refused"), [("3.10", False), ("3.11", True)])
def test_two_positions_of_one_point_agree_or_are_refused(tmp_path: Path, x: str, is_refused: bool) -> None:  # noqa: FBT001  a case of a table
    text = f"name,bs_m,is_m,fs_m,known_elevation_m,x_m,y_m\nA,1,,,50,,\nB,,1,,,3,4\nB,,1,,,{x},4\nA,,,1,,,\n"
    if is_refused:
        (fault,) = find_faults(tmp_path, text)
        assert fault.where == "book.csv:4"
        assert 'the positions of "B" are 0.11 m apart' in fault.what
    else:
        assert find(tmp_path, text)["B"] == pytest.approx((3.05, 4))


@pytest.mark.parametrize(
    ("text", "line", "complaint"),
    [
        (
            POLAR + "A,1,,,50,,,5,0\nB,,1,,,,,5,90\nA,,,1,,,,,\n",
            3,
            "from an instrument whose place is not known",
        ),
        (
            POLAR + "A,1,,,50,0,0,,\nB,,1,,,,,5,90\nA,,,1,,,,,\n",
            3,
            "from an instrument whose place is not known",
        ),
        (POLAR + "A,1,,,50,0,0,5,0\nB,,1,,,,,,90\nA,,,1,,,,,\n", 3, "a direction but no distance"),
        (POLAR + "A,1,,,50,0,,5,0\nB,,1,,,,,5,90\nA,,,1,,,,,\n", 2, "is half booked"),
        (POLAR + "A,1,,,50,0,0,5,0\nB,,1,,,,,0,90\nA,,,1,,,,,\n", 3, "is 0.000 m"),
        (HAIRS + "A,1,,,50,0,0,0.9,1.1,0\nA,,,1,,,,,,\n", 2, "is -20.000 m"),
        (ANGLES + "A,1,,,50,,,5,5,,\nB,,1,,,,,,,3,90\nA,,,1,,,,,,,\n", 3, "whose position is not known"),
    ],
)
def test_a_sight_that_leads_nowhere_is_refused(tmp_path: Path, text: str, line: int, complaint: str) -> None:
    (fault,) = find_faults(tmp_path, text)
    assert fault.where == f"book.csv:{line}"
    assert complaint in fault.what
    assert fault.remedy


@pytest.mark.parametrize("bearing", ["north", "361", "nan", "12'"])
def test_a_bearing_that_is_no_angle_is_refused(tmp_path: Path, bearing: str) -> None:
    (fault,) = find_faults(tmp_path, POLAR + f"A,1,,,50,0,0,5,{bearing}\nA,,,1,,,,,\n")
    assert fault.where == "book.csv:2"
    assert f'"{bearing}" is not an angle' in fault.what


def test_a_change_point_in_one_row_cannot_have_a_distance(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, POLAR + "A,1,,,50,0,0,5,0\nB,1,,1,,,,5,90\nA,,,1,,,,,\n")
    assert fault.where == "book.csv:3"
    assert "Give the change point two rows" in fault.remedy
