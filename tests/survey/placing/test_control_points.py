"""Control points from a file or from arguments: what is read, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optimizer.errors import InputError
from optimizer.survey.level_reader import read_level_book
from optimizer.survey.level_reduction import accept_levels, reduce_level_book
from optimizer.survey.placing.control_file import read_control
from optimizer.survey.placing.control_levels import take_levels, take_spots
from optimizer.survey.placing.control_points import ControlPoint, build_control
from optimizer.survey.spots import read_spots

FILE = (
    "name,scan_x_m,scan_y_m,scan_z_m,x_ft,y_ft,elevation_mm,role,level_error_mm,pick_height_error_mm,note\n"
    'C1,0,0,0.02,10,"20\' 6""",100,,2,4,corner of the slab\n'
    "C2,5,0,0,,,112.5,control,,,\n"
    "C3,5,4,-1,30,40,,check,,,\n"
)
POINT = ControlPoint("C1", (0.0, 0.0, 0.0), (1.0, 2.0), 0.5)


def write(tmp_path: Path, text: str, name: str = "control.csv") -> Path:
    path = tmp_path / name
    path.write_text(text)
    return path


def test_positions_and_elevations_are_optional_apart(tmp_path: Path) -> None:
    control = read_control(write(tmp_path, FILE))
    first, second, third = control.points
    assert first.plan_m == pytest.approx((3.048, 6.2484))
    assert first.elevation_m == pytest.approx(0.1)
    assert (first.level_error_m, first.pick_z_error_m, first.pick_error_m) == (0.002, 0.004, 0.010)
    assert (second.plan_m, second.elevation_m) == (None, pytest.approx(0.1125))
    assert second.pick_z_error_m == second.pick_error_m
    assert third.elevation_m is None
    assert control.find("control") == (0, 1)
    assert control.find("check") == (2,)
    assert control.where(2) == "control.csv:4"
    assert control.level_covariance_m2.diagonal() == pytest.approx([4e-6, 9e-6, 9e-6])


@pytest.mark.parametrize(
    ("row", "line", "what"),
    [
        (",1,2,3,4,5,6,", 2, "has no name"),
        ("C1,1,,3,4,5,6,", 2, 'scan y of "C1" is missing'),
        ("C1,1,2,3,4,,6,", 2, "half given"),
        ("C1,1,2,3,4,5,6,chek", 2, 'is "chek"'),
        ("C1,1,2,3,4,5,six,", 2, 'elevation of "C1"'),
        ("C1,1,2,3,4,5", 2, "has 6 values, the header 8"),
        ("C1,1,2,3,4,5 ft,6,", 2, "in a column of m"),
    ],
)
def test_a_bad_row_is_named_with_its_value_and_a_remedy(
    tmp_path: Path, row: str, line: int, what: str
) -> None:
    header = "name,scan_x_m,scan_y_m,scan_z_m,x_m,y_m,elevation_m,role"
    with pytest.raises(InputError) as raised:
        read_control(write(tmp_path, f"{header}\n{row}\n"))
    fault = raised.value.faults[0]
    assert fault.where == f"control.csv:{line}"
    assert what in fault.what
    assert fault.remedy


def test_every_bad_row_is_told_at_once_in_file_order(tmp_path: Path) -> None:
    rows = ["C1,1,2,,4,5,6,", "C2,1,2,3,4,,6,", "C3,1,2,3,4,5,6,neither"]
    header = "name,scan_x_m,scan_y_m,scan_z_m,x_m,y_m,elevation_m,role"
    with pytest.raises(InputError) as raised:
        read_control(write(tmp_path, "\n".join([header, *rows])))
    assert [fault.where for fault in raised.value.faults] == [f"control.csv:{line}" for line in (2, 3, 4)]


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "is empty"),
        ("name,scan_x_m,scan_y_m,scan_z_m\n", "no point below the header"),
        ("name,scan_x_m,scan_y_m,x_m,y_m\nC1,1,2,3,4\n", '"scan_z" is missing'),
        ("name,scan_x_m,scan_y_m,scan_z_m,x_m\nC1,1,2,3,4\n", '"y" is missing beside "x"'),
        ("name,scan_x,scan_y_m,scan_z_m,x_m,y_m\nC1,1,2,3,4,5\n", "states no unit"),
        ("name,scan_x_m,scan_y_m,scan_z_m,northing_m\nC1,1,2,3,4\n", '"northing_m" is not known'),
    ],
)
def test_a_bad_file_is_refused(tmp_path: Path, text: str, what: str) -> None:
    with pytest.raises(InputError) as raised:
        read_control(write(tmp_path, text))
    assert what in str(raised.value)


@pytest.mark.parametrize(
    ("point", "what"),
    [
        (replace(POINT, name=" "), "no name"),
        (replace(POINT, scan_m=(0.0, math.nan, 0.0)), "scan y"),
        (replace(POINT, plan_m=(math.inf, 0.0)), "x of"),
        (replace(POINT, elevation_m=1e9), "elevation"),
        (replace(POINT, tape_error_m=0.0), "tape error"),
        (replace(POINT, pick_error_m=1.001), "pick error"),
        (replace(POINT, pick_height_error_m=-0.01), "pick height error"),
        (replace(POINT, level_error_m=math.nan), "level error"),
    ],
)
def test_a_bad_argument_is_named(point: ControlPoint, what: str) -> None:
    other = ControlPoint("C2", (9.0, 0.0, 0.0), (8.0, 2.0))
    with pytest.raises(InputError) as raised:
        build_control([other, point])
    assert raised.value.faults[0].where == "control[1]"
    assert what in raised.value.faults[0].what


@pytest.mark.parametrize(
    ("second", "what"),
    [
        (ControlPoint("C1", (9.0, 0.0, 0.0), (8.0, 2.0)), 'the name "C1" is taken'),
        (ControlPoint("C2", (0.0, 0.0009, 0.0), (8.0, 2.0)), "picked at one place"),
        (ControlPoint("C2", (9.0, 0.0, 0.0), (1.0, 2.0009)), "both taped at (1, 2.0009) m"),
    ],
)
def test_one_point_given_twice_is_refused(second: ControlPoint, what: str) -> None:
    with pytest.raises(InputError) as raised:
        build_control([POINT, second])
    assert what in raised.value.faults[0].what


def test_points_a_millimetre_apart_are_two() -> None:
    near = ControlPoint("C2", (0.0, 0.0011, 0.0), (1.0, 2.0011))
    assert len(build_control([POINT, near]).points) == 2


def test_no_points_are_refused() -> None:
    with pytest.raises(InputError, match="no control points"):
        build_control([])


BOOK = """\
name,bs_m,is_m,fs_m,known_elevation_m
BM,1.500,,,10.000
C1,,1.250,,
C2,1.100,,1.800,
C3,,0.900,,
BM,,,0.800,
"""


def test_elevations_come_from_the_level_book_with_their_covariance(tmp_path: Path) -> None:
    book = accept_levels(reduce_level_book(read_level_book(write(tmp_path, BOOK, "book.csv"))))
    points = [ControlPoint(name, (i, i * i, 0.0), (i, -i)) for i, name in enumerate(["C3", "P", "C1", "C2"])]
    control = take_levels(build_control(points), book)
    assert [point.elevation_m for point in control.points] == [
        pytest.approx(9.9),
        None,
        pytest.approx(10.25),
        pytest.approx(9.7),
    ]
    for first, one in ((0, "C3"), (2, "C1"), (3, "C2")):
        for second, other in ((0, "C3"), (2, "C1"), (3, "C2")):
            expected = book.covariance_m2[book.find(one), book.find(other)]
            assert control.level_covariance_m2[first, second] == pytest.approx(expected)
    assert control.level_covariance_m2[0, 3] > 0.0  # C3 was shot from the set-up that C2 opens
    assert control.level_covariance_m2[1, 0] == 0.0


def test_a_level_that_contradicts_the_book_is_refused(tmp_path: Path) -> None:
    book = accept_levels(reduce_level_book(read_level_book(write(tmp_path, BOOK, "book.csv"))))
    stated = ControlPoint("C1", (0.0, 0.0, 0.0), None, 10.252)
    with pytest.raises(InputError, match=r'elevation of "C1" is 10\.2520 m, in book\.csv 10\.2500 m'):
        take_levels(build_control([stated]), book)
    close = build_control([replace(stated, elevation_m=10.2505)])
    assert take_levels(close, book).points[0].elevation_m == pytest.approx(10.25)


def test_names_that_do_not_meet_are_refused(tmp_path: Path) -> None:
    book = accept_levels(reduce_level_book(read_level_book(write(tmp_path, BOOK, "book.csv"))))
    with pytest.raises(InputError, match=r"no name is shared with book\.csv"):
        take_levels(build_control([ControlPoint("c1", (0.0, 0.0, 0.0), (0.0, 0.0))]), book)


def test_spots_give_position_and_elevation_and_those_along_a_wall_elevation_only(tmp_path: Path) -> None:
    points = build_control([ControlPoint("A", (3.0, 0.0, 0.0), None, 1.0), POINT])
    survey = read_spots(write(tmp_path, "name,x_m,y_m,elevation_m\nA,7,8,1\n", "spots.csv"))
    assert take_spots(points, survey).points[0].plan_m == (7.0, 8.0)
    door = read_spots(write(tmp_path, "name,along_wall_m,out_from_wall_m,elevation_m\nA,7,8,1\n", "d.csv"))
    taken = take_spots(points, door).points[0]
    assert (taken.plan_m, taken.elevation_m) == (None, 1.0)
    moved = read_spots(write(tmp_path, "name,x_m,y_m,elevation_m\nC1,1,2.5,0.5\n", "moved.csv"))
    with pytest.raises(InputError, match=r'y of "C1" is 2\.0000 m, in moved\.csv 2\.5000 m'):
        take_spots(points, moved)


def test_an_elevation_worse_than_a_centimetre_was_not_levelled() -> None:
    points = [replace(POINT, level_error_m=0.010), ControlPoint("C2", (9.0, 0.0, 0.0), (9.0, 0.0), 0.5)]
    control = build_control([points[0], replace(points[1], level_error_m=0.0101)])
    assert [control.is_levelled(i) for i in range(2)] == [True, False]
    assert not np.shares_memory(control.level_covariance_m2, build_control(points).level_covariance_m2)
