"""A level book from CSV: set-ups from rows, units from the header, every fault with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.errors import Fault, InputError
from optimizer.survey.level_limits import ConstantLimit
from optimizer.survey.level_reader import read_level_book
from optimizer.survey.level_reduction import read_level_spots
from tests.survey.level_book_texts import read_text

HEADER = "name,bs_m,is_m,fs_m,known_elevation_m\n"
GOOD = HEADER + "sill,1.200,,,50\nlawn,,1.655,,\npeg,1.402,,1.731,\ntoe,,1.810,,\nsill,,,0.873,\n"


def find_faults(folder: Path, text: str, unit: str | None = None) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        read_text(folder, text, unit)
    return caught.value.faults


def test_rows_make_set_ups(tmp_path: Path) -> None:
    book = read_text(tmp_path, GOOD)
    assert [(one.back, one.between, one.fore, one.start) for one in book.setups] == [
        (0, (1,), 2, None),
        (2, (3,), 4, 2),
    ]
    assert [(mark.name, mark.elevation_m, mark.line) for mark in book.marks] == [("sill", 50.0, 2)]
    assert book.booking == "readings"
    assert book.style is None
    assert [book.reads_from(book.setups[0], row) for row in book.setups[0].levelled] == [1.655, 1.731]


def test_a_change_point_may_take_two_rows(tmp_path: Path) -> None:
    text = GOOD.replace("peg,1.402,,1.731,", "peg,,,1.731,\npeg,1.402,,,")
    book = read_text(tmp_path, text)
    assert [(one.back, one.fore, one.start) for one in book.setups] == [(0, 2, None), (3, 5, 2)]


def test_a_set_up_may_start_on_any_point_already_levelled(tmp_path: Path) -> None:
    book = read_text(tmp_path, GOOD + "lawn,1.000,,,\nfence,,,1.100,\n")
    assert book.setups[2].start == 1


def test_units_come_from_the_header_or_from_the_file_as_a_whole(tmp_path: Path) -> None:
    stated = read_text(tmp_path, "name,bs_ft,fs_ft,known_elevation_in\nA,5,,120\nB,,4.5,\n")
    given = read_text(tmp_path, "name,bs,fs,known_elevation_in\nA,5,,120\nB,,4.5,\n", "ft")
    assert stated.rows == given.rows
    assert stated.unit == given.unit == "ft"
    assert stated.rows[0].backsight_m == pytest.approx(1.524)
    assert stated.rows[0].known_m == pytest.approx(3.048)


def test_feet_and_inches_may_stand_in_a_book_of_inches(tmp_path: Path) -> None:
    text = 'name,bs_in,fs_in,known_elevation_in\nA,"4\' 6 1/2""",,0\nB,,27 1/4,\n'
    book = read_text(tmp_path, text)
    assert book.rows[0].backsight_m == pytest.approx(54.5 * 0.0254)
    assert book.rows[1].foresight_m == pytest.approx(27.25 * 0.0254)
    assert book.reading_step_m == pytest.approx(0.0254 / 4)


def test_an_empty_file_says_how_to_start(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, "")
    assert str(fault) == ("book.csv: the file is empty. Start it with name,bs_m,is_m,fs_m,known_elevation_m.")


def test_a_header_alone_is_refused(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, HEADER)
    assert "there is no sight below the header" in fault.what


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_level_book(tmp_path / "none.csv")


@pytest.mark.parametrize(
    ("header", "complaint"),
    [
        ("name,bs_m,fs_m,known_elevation_m,colour", 'the column "colour" is not known'),
        ("name,bs,fs_m,known_elevation_m", 'the column "bs" states no unit'),
        ("name,bs_yd,fs_m,known_elevation_m", 'the column "bs_yd" is not known'),
        ("name,bs_m,bs_ft,fs_m,known_elevation_m", 'the column "bs" is given twice'),
        ("name,bs_m,fs_m", 'the column "known_elevation" is missing'),
        ("bs_m,fs_m,known_elevation_m", 'the column "name" is missing'),
        ("name,bs_m,known_elevation_m", 'the column "fs" is missing'),
        ("name,bs_m,fs_ft,known_elevation_m", "the staff readings are in m and ft"),
        ("name,bs_m,fs_m,known_elevation_m,rise_m", 'the column "fall" is missing beside "rise"'),
        ("name,bs_m,fs_m,known_elevation_m,hi_m,rise_m,fall_m", "height of instrument and rise or fall"),
        ("name,bs_m,fs_m,known_elevation_m,x_m", 'the column "y" is missing beside "x"'),
        ("name,bs_m,fs_m,known_elevation_m,x_m,y_m,along_wall_m,out_from_wall_m", "are mixed"),
        ("name,bs_m,fs_m,known_elevation_m,distance_m,bearing_deg", "no column for the position"),
    ],
)
def test_a_header_that_cannot_be_is_refused(tmp_path: Path, header: str, complaint: str) -> None:
    faults = find_faults(tmp_path, header + "\nA,1,1,1\n")
    assert any(complaint in fault.what for fault in faults), [str(fault) for fault in faults]
    assert all(fault.where == "book.csv:1" and fault.remedy for fault in faults)


def test_an_unknown_unit_of_the_file_is_refused(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, "name,bs,fs,known_elevation\nA,1,,1\n", "rod")
    assert 'the unit "rod" is not known' in fault.what


@pytest.mark.parametrize("value", ["high", "nan", "inf", "1e3", "1.5.1", '"1,5"', "12 mm", "12 yd", "5 ft"])
def test_a_reading_that_is_no_number_of_its_column_is_refused(tmp_path: Path, value: str) -> None:
    (fault,) = find_faults(tmp_path, GOOD.replace("1.655", value))
    assert fault.where == "book.csv:3"
    assert 'is of "lawn"' in fault.what
    assert value.strip('"') in fault.what
    assert fault.remedy


@pytest.mark.parametrize(
    ("reading", "refused"), [("8.0", 0), ("8.001", 1), ("-8.0", 0), ("-8.001", 1), ("1655", 1)]
)
def test_a_reading_longer_than_any_staff_is_refused(tmp_path: Path, reading: str, refused: int) -> None:
    text = GOOD.replace("1.655", reading)
    faults = find_faults(tmp_path, text + "bad row\n")
    assert len(faults) == refused + 1
    assert sum("longer than any staff" in fault.what for fault in faults) == refused


def test_a_missing_foresight_at_the_end_is_told_at_its_backsight(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, GOOD.replace("sill,,,0.873,\n", ""))
    assert fault.where == "book.csv:4"
    assert 'the set-up begun on "peg" has no foresight' in fault.what


def test_a_missing_foresight_between_shows_as_a_second_backsight(tmp_path: Path) -> None:
    (fault,) = find_faults(tmp_path, GOOD.replace("peg,1.402,,1.731,", "peg,1.402,,,"))[:1]
    assert fault.where == "book.csv:4"
    assert '"peg" is a second backsight in the set-up begun on "sill" in line 2' in fault.what


def test_two_backsights_in_one_set_up_are_refused(tmp_path: Path) -> None:
    faults = find_faults(tmp_path, GOOD.replace("lawn,,1.655,,", "sill,1.201,,,"))
    assert [fault.where for fault in faults] == ["book.csv:3"]
    assert "whose foresight is missing" in faults[0].what


@pytest.mark.parametrize(
    ("rows", "complaint"),
    [
        ("A,,1.0,,50\n", "the intermediate sight on"),
        ("A,,,1.0,50\n", 'the foresight on "A" belongs to no set-up'),
        ("A,1.0,,,50\nB,,,1.2,\nC,,,1.3,\n", 'the foresight on "C" belongs to no set-up'),
        ("A,1.0,,,50\nB,,,1.2,\nC,1.0,,,\nD,,,1.1,\n", 'stands on "C", whose level is not known'),
        ("A,1.0,,,50\nB,,1.1,1.2,\nA,,,1,\n", "an intermediate sight and another sight in one row"),
        ("A,1.0,,,50\nB,,,,\nA,,,1,\n", '"B" has no staff reading'),
        ("A,1.0,,,50\n,,1.1,,\nA,,,1,\n", "the point has no name"),
        ("A,1.0,,,50\nA,,,1.2,51\n", "another known elevation than in line 2"),
        ("A,1.0,,,\nB,,,1.2,\n", "no bench mark"),
    ],
)
def test_rows_that_make_no_set_up_are_refused(tmp_path: Path, rows: str, complaint: str) -> None:
    faults = find_faults(tmp_path, HEADER + rows)
    assert any(complaint in fault.what for fault in faults), [str(fault) for fault in faults]
    assert all(fault.where.startswith("book.csv") and fault.remedy for fault in faults)


def test_rises_that_cannot_be_are_refused(tmp_path: Path) -> None:
    header = "name,bs_m,fs_m,known_elevation_m,rise_m,fall_m\n"
    faults = find_faults(tmp_path, header + "A,1,,50,0.1,\nB,,1.2,,0.2,0.2\n")
    assert [fault.where for fault in faults] == ["book.csv:2", "book.csv:3"]
    assert "nothing was read before it" in faults[0].what
    assert "a rise and a fall" in faults[1].what


def test_all_faults_of_a_file_come_at_once_in_file_order(tmp_path: Path) -> None:
    text = HEADER + "A,1.0,,,\nB,,x,,\nC,,nan,,\nD,1.0,,,\nE,,9.5,,\nF,1,2,3,\n"
    faults = find_faults(tmp_path, text)
    wheres = [fault.where for fault in faults]
    assert wheres[0] == "book.csv"
    lines = [int(where.partition(":")[2]) for where in wheres[1:]]
    assert lines == sorted(lines)
    assert set(lines) == {3, 4, 5, 6, 7}


def test_a_row_of_the_wrong_width_hides_no_other_fault_and_invents_none(tmp_path: Path) -> None:
    faults = find_faults(tmp_path, HEADER + "A,1.0,,,50\nB,,1.2\nC,,x,,\nA,,,1.0,\n")
    assert [fault.where for fault in faults] == ["book.csv:3", "book.csv:4"]


def test_one_call_gives_the_spots_of_a_site(tmp_path: Path) -> None:
    text = (
        "name,bs_m,is_m,fs_m,known_elevation_m,along_wall_m,out_from_wall_m\n"
        "sill,1.200,,,50,0,0\nA,,1.655,,,1,2\npeg,1.402,,1.731,,,\nB,,1.810,,,3.5,4\n"
        "under sill,,-0.200,,,0,0.1\nsill,,,0.873,,,\n"
    )
    path = tmp_path / "book.csv"
    path.write_text(text)
    spots = read_level_spots(path)
    # Neither the mark, the change point without a position nor what is overhead is ground.
    assert spots.names == ("A", "B")
    assert spots.style == "door"
    assert spots.where(1) == "book.csv:5"
    # 2 mm low over two set-ups: half a share after the first.
    assert spots.xyz_m[0].tolist() == pytest.approx([1, 2, 49.545 + 0.001])
    assert spots.xyz_m[1].tolist() == pytest.approx([3.5, 4, 49.061 + 0.002])


def test_the_one_call_refuses_a_book_that_misses_or_has_no_position(tmp_path: Path) -> None:
    path = tmp_path / "book.csv"
    path.write_text(GOOD)
    with pytest.raises(InputError, match="no levelled ground point has a position"):
        read_level_spots(path)
    with pytest.raises(
        InputError, match=r"book\.csv:6: the line from \"sill\" to \"sill\" misses by -2\.0 mm"
    ):
        read_level_spots(path, rule=ConstantLimit(0.001))
