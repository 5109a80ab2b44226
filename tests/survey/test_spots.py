"""Spot levels from CSV: units from the header, every fault with its line, nothing guessed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from optimizer.errors import Fault, InputError
from optimizer.survey.spots import SpotLevels, read_spots

GOOD = "name,x_m,y_m,elevation_m\nP1,0,0,10.5\nP2,4.42,-1.25,10.381\nP3,0,3,9.9\n"


def read_text(folder: Path, text: str) -> SpotLevels:
    path = folder / "levels.csv"
    path.write_bytes(text.encode())
    return read_spots(path)


def find_faults(folder: Path, text: str) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        read_text(folder, text)
    return caught.value.faults


def test_levels_are_read_in_file_order_with_their_lines(tmp_path: Path) -> None:
    spots = read_text(tmp_path, GOOD)
    assert spots.style == "survey"
    assert spots.names == ("P1", "P2", "P3")
    assert spots.rows == (2, 3, 4)
    assert spots.where(1) == "levels.csv:3"
    assert spots.notes == ("", "", "")
    assert spots.xyz_m.tolist() == [[0, 0, 10.5], [4.42, -1.25, 10.381], [0, 3, 9.9]]
    assert not spots.xyz_m.flags.writeable


@pytest.mark.parametrize("ending", ["\r\n", "\r", "\n\n"])
def test_a_byte_order_mark_and_any_line_ending_change_nothing(tmp_path: Path, ending: str) -> None:
    plain = read_text(tmp_path, GOOD)
    marked = read_text(tmp_path, "\ufeff" + GOOD.replace("\n", ending))
    assert marked.names == plain.names
    assert np.array_equal(marked.xyz_m, plain.xyz_m)


def test_columns_may_stand_in_any_order_with_a_unit_each_and_a_note(tmp_path: Path) -> None:
    text = 'elevation_in,note,name,y_mm,x_ft\n27 1/2,"sill, left",P1,350,14\' 6 1/2"\n-3,,P2,0,2.5\n'
    spots = read_text(tmp_path, text)
    assert spots.xyz_m.tolist() == [[4.4323, 0.35, 0.6985], [0.762, 0.0, -0.0762]]
    assert spots.notes == ("sill, left", "")


def test_levels_along_the_wall_are_told_from_surveyed_coordinates(tmp_path: Path) -> None:
    spots = read_text(tmp_path, "name,along_wall_ft,out_from_wall_ft,elevation_in\nA,-2,5,30\n")
    assert spots.style == "door"
    assert spots.xyz_m.tolist() == [[-0.6096, 1.524, 0.762]]


def test_the_same_survey_in_feet_and_in_metres_is_the_same_float(tmp_path: Path) -> None:
    in_feet = read_text(tmp_path, "name,x_ft,y_in,elevation_mm\nA,14.5,30,762\n")
    in_metres = read_text(tmp_path, "name,x_m,y_m,elevation_m\nA,4.4196,0.762,0.762\n")
    assert np.array_equal(in_feet.xyz_m, in_metres.xyz_m)


def test_coordinates_far_from_zero_keep_their_millimetres(tmp_path: Path) -> None:
    spots = read_text(tmp_path, "name,x_m,y_m,elevation_m\nA,512000.123,5400000.456,412.789\n")
    assert spots.xyz_m.tolist() == [[512000.123, 5400000.456, 412.789]]


def test_a_missing_elevation_names_line_point_and_remedy(tmp_path: Path) -> None:
    faults = find_faults(tmp_path, GOOD + "P13,1,2,\n")
    assert [str(fault) for fault in faults] == [
        'levels.csv:5: elevation is missing for point "P13". Give three numbers: x, y, elevation.'
    ]


@pytest.mark.parametrize("value", ["high", "nan", "inf", "1e3", "10.5.1", '"10,5"', "12 mm", "12 yd", "3 ft"])
def test_an_elevation_that_is_no_number_of_its_column_is_refused(tmp_path: Path, value: str) -> None:
    (fault,) = find_faults(tmp_path, GOOD + f"P13,1,2,{value}\n")
    assert fault.where == "levels.csv:5"
    assert "elevation" in fault.what
    assert '"P13"' in fault.what
    assert value.strip('"') in fault.what
    assert fault.remedy


def test_metric_values_in_a_column_of_feet_are_refused(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, "name,x_ft,y_ft,elevation_ft\nA,350 mm,0,0\n")
    assert '"350 mm" in a column of ft' in fault.what


def test_a_name_given_twice_is_told_with_both_lines(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, GOOD + "P2,1,2,3\n")
    assert fault.where == "levels.csv:5"
    assert 'the name "P2" is taken by the point in line 3' in fault.what


@pytest.mark.parametrize("row", ["P9,1,2", "P9,1,2,3,4", "P9"])
def test_a_row_with_too_few_or_too_many_values_is_refused(tmp_path: Path, row: str) -> None:
    (fault,) = find_faults(tmp_path, GOOD + row + "\n")
    assert fault.where == "levels.csv:5"
    assert f"{len(row.split(','))} values" in fault.what


def test_all_faults_of_a_file_come_at_once_in_file_order(tmp_path: Path) -> None:
    faults = find_faults(tmp_path, GOOD + "P1,x,,nan\n,1,2,3\nP5,1,2\n")
    lines = [fault.where for fault in faults]
    assert lines == ["levels.csv:5"] * 4 + ["levels.csv:6", "levels.csv:7"]


@pytest.mark.parametrize(
    ("header", "complaint"),
    [
        ("name,x,y_m,elevation_m", 'the column "x" states no unit'),
        ("name,x_m,y_m,elevation_yd", 'the column "elevation_yd" is not known'),
        ("name,x_m,y_m,elevation_m,colour", 'the column "colour" is not known'),
        ("name,x_m,y_m", 'the column "elevation" is missing'),
        ("x_m,y_m,elevation_m", 'the column "name" is missing'),
        ("name,x_m,x_ft,y_m,elevation_m", 'the column "x" is given twice'),
        ("name,x_m,out_from_wall_m,elevation_m", "are mixed"),
        ("name;x_m;y_m;elevation_m", "is not known"),
    ],
)
def test_a_header_that_leaves_something_open_is_refused(tmp_path: Path, header: str, complaint: str) -> None:
    faults = find_faults(tmp_path, f"{header}\nA,1,2,3\n")
    assert complaint in faults[0].what
    assert faults[0].where == "levels.csv:1"


def test_an_empty_file_and_one_without_points_are_refused(tmp_path: Path) -> None:
    assert "empty" in find_faults(tmp_path, "")[0].what
    assert "empty" in find_faults(tmp_path, "\n ,\n")[0].what
    assert "no point" in find_faults(tmp_path, "name,x_m,y_m,elevation_m\n")[0].what


def test_a_file_that_is_missing_is_a_fault_of_the_input(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.csv: the file cannot be read: No such file"):
        read_spots(tmp_path / "none.csv")


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "levels.csv"
    path.write_bytes(GOOD.encode() + b"P9,1,2,\xff\n")
    with pytest.raises(InputError, match="not UTF-8"):
        read_spots(path)


def test_a_quote_left_open_is_refused_with_its_line(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, GOOD + '"P9,1,2,3\nP10,1,2,3\n')
    assert fault.where == "levels.csv:5"
    assert "the row is not CSV" in fault.what
