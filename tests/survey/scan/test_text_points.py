"""Points as text: what is found from the head of the file, and what is refused with its row."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from optimizer.errors import Fault, InputError
from optimizer.survey.scan import number_rows
from optimizer.survey.scan.open_scan import open_scan
from optimizer.survey.scan.read_scan import read_scan
from tests.survey.scan.written_scans import points_of

POINTS = [[500000.123, 5000000.456, 10.789], [500001.5, 5000002.25, 11.0]]
ROWS = [" ".join(str(value) for value in point) for point in POINTS]


def read_text(folder: Path, text: str, name: str = "yard.xyz") -> np.ndarray:
    (folder / name).write_bytes(text.encode())
    return points_of(read_scan(folder / name, None))


def find_faults(folder: Path, text: str, name: str = "yard.xyz") -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        read_text(folder, text, name)
    return caught.value.faults


@pytest.mark.parametrize("delimiter", [" ", "\t", ",", ";", ", ", "   "])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_delimiter_and_line_ending_are_found(tmp_path: Path, delimiter: str, ending: str) -> None:
    text = ending.join(delimiter.join([*row.split(), "255", "17"]) for row in ROWS) + ending
    assert np.abs(read_text(tmp_path, text) - POINTS).max() < 1e-6


@pytest.mark.parametrize(
    ("header", "unit", "up"),
    [
        ("i,z_ft,x_ft,y_ft", "ft", None),
        ("i,elevation [us-ft],easting [us-ft],northing [us-ft]", "us-ft", "z"),
        ("//i,Z,X,Y", None, None),
        ("# i,height(m),x(m),y(m)", "m", "z"),
        ('"i","z","x","y"', None, None),
    ],
)
def test_names_place_the_columns_and_may_state_unit_and_height(
    tmp_path: Path, header: str, unit: str | None, up: str | None
) -> None:
    text = header + "\n" + "".join(f"7,{z},{x},{y}\n" for x, y, z in POINTS)
    assert np.abs(read_text(tmp_path, text, "a.csv") - POINTS).max() < 1e-6
    told = open_scan(tmp_path / "a.csv").told
    assert (told.unit, told.up) == (unit, up)


def test_a_mark_at_the_beginning_blank_lines_and_remarks_change_nothing(tmp_path: Path) -> None:
    text = f"\ufeff# made by a scanner\n\n{ROWS[0]}\n\n# half way\n{ROWS[1]} # last"
    assert np.abs(read_text(tmp_path, text) - POINTS).max() < 1e-6
    assert np.abs(read_text(tmp_path, "\ufeff" + "\n".join(ROWS)) - POINTS).max() < 1e-6


@pytest.mark.parametrize("size", [1, 7, 20, 64])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_where_a_block_ends_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: int, ending: str
) -> None:
    monkeypatch.setattr(number_rows, "BLOCK_BYTES", size)
    rows = ["x y z", ROWS[0], "# a remark that fills a block of its own", "", ROWS[1]]
    assert np.abs(read_text(tmp_path, ending.join(rows)) - POINTS).max() < 1e-6
    (fault,) = find_faults(tmp_path, ending.join([*rows, "1 2 three", ""]))
    assert fault.where == "yard.xyz:6"


def test_the_count_of_a_pts_file_is_checked(tmp_path: Path) -> None:
    assert len(read_text(tmp_path, "2\n" + "\n".join(ROWS), "a.pts")) == 2
    (fault,) = find_faults(tmp_path, "5\n" + "\n".join(ROWS), "a.pts")
    assert "promises 5 points, the file holds 2" in fault.what


def test_a_text_of_words_is_told_by_its_first_row(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, "Dear client,\nthe yard has been scanned on Monday.\n", "notes.txt")
    assert str(fault) == (
        'notes.txt:1: "Dear client," is neither a point nor a row that names x, y and z. '
        "Begin it with a row such as x_m,y_m,z_m and give one point a row."
    )


def test_every_bad_row_of_a_block_is_named(tmp_path: Path) -> None:
    text = f"x,y,z\n0,0,0\n1,high,2\n\n3,4\n{'5,6,7' + chr(10)}8,9,1e\n"
    faults = find_faults(tmp_path, text)
    assert [fault.where for fault in faults] == ["yard.xyz:3", "yard.xyz:5", "yard.xyz:7"]
    assert [fault.what for fault in faults] == [
        '"high" is not a number.',
        '"3,4" has 2 values, where 3 are needed.',
        '"1e" is not a number.',
    ]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("0,5;1,5;2,5\n", "decimal commas"),
        ("0,5 1,5 2,5\n", "decimal commas"),
        ("x_m,y_m,z_ft\n0,0,0\n", "different units: m, m, ft"),
        ("x,y,z,easting\n0,0,0,0\n", "two columns are x"),
        ("x,y\n0,0\n", "neither a point nor a row"),
        ("# nothing here\n\n", "holds no points"),
        ("x,y,z\n", "holds no points"),
        ("1 2 3\n\0\0\0\n", "byte 7 is 0"),
    ],
)
def test_what_cannot_be_meant_is_refused(tmp_path: Path, text: str, told: str) -> None:
    (fault,) = find_faults(tmp_path, text)
    assert told in fault.what


def test_bytes_that_are_no_text_are_named(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(b"x,y,z,h\xf6he\n")
    with pytest.raises(InputError, match="byte 8 is not UTF-8"):
        read_scan(tmp_path / "a.csv", None)
