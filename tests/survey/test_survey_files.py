"""Files of levels told apart by their columns and read as one kind of thing."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from optimizer.errors import InputError
from optimizer.survey.level_limits import ConstantLimit
from optimizer.survey.level_reduction import read_level_spots
from optimizer.survey.survey_file import read_survey_file, require_positions
from optimizer.survey.survey_kind import find_survey_kind

BOOK = (
    "name,bs_m,is_m,fs_m,known_elevation_m,x_m,y_m\n"
    "sill,1.000,,,50.000,,\nA,,1.400,,,1,2\nB,,1.500,,,4,2\nC,,1.600,,,4,6\nsill,,,1.001,,,\n"
)
WALK = (
    "name,rise_mm,fall_mm,boards,known_elevation_m,x_m,y_m\n"
    "sill,,,,50.000,,\nA,,400,1,,1,2\nB,,100,2,,4,2\nC,,90,2,,4,6\n"
)
SPOTS = "name,x_m,y_m,elevation_m\nA,1,2,49.6\nB,4,2,49.5\nC,4,6,49.4\n"


def write(folder: Path, text: str) -> Path:
    path = folder / "levels.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        (BOOK, "level_book"),
        (BOOK.replace("_m", ""), "level_book"),
        (BOOK.replace("bs_m", "bs_ft"), "level_book"),
        (WALK, "straightboard"),
        (SPOTS, "spots"),
        ("name,absolute_m\n", "spots"),
        ("", "spots"),
    ],
)
def test_the_columns_tell_the_kind(text: str, kind: str, tmp_path: Path) -> None:
    assert find_survey_kind(write(tmp_path, text)) == kind


def test_a_level_book_gives_the_points_that_its_own_reader_gives(tmp_path: Path) -> None:
    path = write(tmp_path, BOOK)
    file = read_survey_file(path, "level_book")
    assert file.spots is not None
    np.testing.assert_array_equal(file.spots.xyz_m, read_level_spots(path).xyz_m)
    # The backsight is 1.000 on 50.000, so A lies at 51.000 - 1.400.
    assert file.spots.xyz_m[0].tolist() == pytest.approx([1.0, 2.0, 49.6])
    assert file.levelled is not None
    assert [point.name for point in file.levelled.points] == ["sill", "A", "B", "C"]


def test_a_limit_of_the_site_s_own_refuses_what_the_usual_one_lets_pass(tmp_path: Path) -> None:
    path = write(tmp_path, BOOK)  # misses by 1 mm
    assert read_survey_file(path, "level_book", rule=ConstantLimit(0.001)).report is not None
    with pytest.raises(InputError, match=r"levels.csv:6: .*misses by -1.0 mm; allowed are 0.9 mm"):
        read_survey_file(path, "level_book", rule=ConstantLimit(0.0009))


def test_a_walk_with_a_straightboard_gives_ground_points(tmp_path: Path) -> None:
    file = read_survey_file(write(tmp_path, WALK), "straightboard")
    assert file.spots is not None
    assert file.spots.xyz_m[:, 2].tolist() == pytest.approx([49.6, 49.5, 49.41])


def test_a_book_without_positions_serves_by_name_but_is_no_ground(tmp_path: Path) -> None:
    plain = "\n".join(line.rsplit(",", 2)[0] for line in BOOK.splitlines()) + "\n"
    file = read_survey_file(write(tmp_path, plain), "level_book")
    assert file.spots is None
    with pytest.raises(InputError, match=r"levels.csv: no levelled ground point has a position"):
        require_positions(file)
