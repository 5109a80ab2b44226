"""Levels walked with a straightboard: their own error, their own limit, the same kind of points."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from optimizer.errors import Fault, InputError
from optimizer.survey.level_limits import ConstantLimit
from optimizer.survey.level_points import build_spots
from optimizer.survey.straightboard import (
    DEFAULT_BOARD_ERROR,
    BoardError,
    StraightboardReport,
    accept_straightboard,
    reduce_straightboard,
)
from optimizer.survey.straightboard_reader import read_straightboard

HEADER = "name,rise_mm,fall_mm,boards,known_elevation_m,x_m,y_m\n"
OUT = HEADER + "sill,,,,50,,\nA,,120,1,,0,2.4\nB,,95,2,,0,7.2\nC,10,,1,,0,9.6\n"
NO_BUBBLE = BoardError(random_m=0.003, bubble_m=0.0)


def work_out(folder: Path, text: str, error: BoardError = DEFAULT_BOARD_ERROR) -> StraightboardReport:
    path = folder / "walk.csv"
    path.write_text(text)
    return reduce_straightboard(read_straightboard(path), error)


def find_faults(folder: Path, text: str) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        work_out(folder, text)
    return caught.value.faults


def test_levels_are_carried_and_their_errors_walk(tmp_path: Path) -> None:
    report = work_out(tmp_path, OUT)
    points = accept_straightboard(report)
    assert [point.elevation_m for point in points.points] == pytest.approx([50, 49.88, 49.785, 49.795])
    # An eighth of an inch a board at random, 1.2 mm a board the same way.
    for point, boards in zip(points.points[1:], (1, 3, 4), strict=True):
        expected = math.sqrt((25.4 / 8 * math.sqrt(boards)) ** 2 + (1.2 * boards) ** 2) / 1000
        assert point.standard_error_m == pytest.approx(expected)
        assert point.method == "straightboard"
        assert point.kind == "spot"
    assert [fault.where for fault in report.doubts] == ["walk.csv:5"]
    assert build_spots(points).names == ("A", "B", "C")


def test_a_closed_walk_loses_the_bubble_and_ties_both_ends(tmp_path: Path) -> None:
    report = work_out(tmp_path, OUT + "sill,207,,4,,,\n")
    (closure,) = report.closures
    assert (closure.setups, closure.counted) == (8, "boards")
    assert closure.misclosure_m == pytest.approx(0.002)
    points = accept_straightboard(report)
    # 0.25 mm a board off: 1, 3 and 4 boards out.
    assert [point.elevation_m for point in points.points] == pytest.approx([50, 49.87975, 49.78425, 49.794])
    for point, boards in zip(points.points[1:], (1, 3, 4), strict=True):
        expected = 0.003175 * math.sqrt(boards * (8 - boards) / 8)
        assert point.standard_error_m == pytest.approx(expected)


def test_the_errors_of_a_walk_are_those_of_ten_thousand(tmp_path: Path) -> None:
    error = BoardError(random_m=0.003, bubble_m=0.001)
    rng = np.random.default_rng(7)
    own = rng.normal(0, error.random_m, (10_000, 4)) + rng.normal(0, error.bubble_m, (10_000, 1))
    levels = np.cumsum(own, axis=1)[:, [0, 2, 3]]
    points = accept_straightboard(work_out(tmp_path, OUT, error))
    assert np.cov(levels.T) == pytest.approx(points.covariance_m2[1:, 1:], rel=0.06)


@pytest.mark.parametrize(("missed_mm", "is_accepted"), [(12, True), (-12, True), (13, False), (-13, False)])
def test_twice_the_standard_error_is_the_limit(tmp_path: Path, missed_mm: int, is_accepted: bool) -> None:  # noqa: FBT001  a case of a table
    # Four boards of 3 mm: 2 x 3 x sqrt(4) = 12 mm.
    text = HEADER + f"sill,,,,50,,\nA,,120,2,,,\nsill,{120 + missed_mm},,2,,,\n"
    report = work_out(tmp_path, text, NO_BUBBLE)
    assert report.closures[0].limit_m == pytest.approx(0.012)
    assert (report.points is not None) is is_accepted
    assert len(report.refusals) == 1 - is_accepted


def test_a_rule_of_ones_own_counts_boards(tmp_path: Path) -> None:
    path = tmp_path / "walk.csv"
    path.write_text(OUT + "sill,207,,4,,,\n")
    report = reduce_straightboard(read_straightboard(path), rule=ConstantLimit(0.001))
    with pytest.raises(InputError, match=r"misses by \+2\.0 mm; allowed are 1\.0 mm \(1 mm, 8 boards\)"):
        accept_straightboard(report)


def test_a_second_walk_may_begin_on_a_point_of_the_first(tmp_path: Path) -> None:
    points = accept_straightboard(work_out(tmp_path, OUT + "A,,,,,,\nD,,30,1,,,\n"))
    branch = points.points[points.find("D")]
    assert branch.elevation_m == pytest.approx(49.85)
    assert branch.standard_error_m == pytest.approx(DEFAULT_BOARD_ERROR.after(2))
    assert points.points[points.find("A")].rows == (3,)


def test_a_point_walked_to_twice_is_averaged(tmp_path: Path) -> None:
    report = work_out(tmp_path, OUT + "sill,,,,,,\nC,,217,4,,,\n")
    (average,) = report.averages
    assert average.range_m == pytest.approx(0.012)
    assert average.is_flagged
    points = accept_straightboard(report)
    assert points.points[points.find("C")].elevation_m == pytest.approx(49.789)


@pytest.mark.parametrize(
    ("rows", "line", "complaint"),
    [
        ("sill,,,,,,\nA,,1,1,,,\n", None, "no bench mark"),
        ("sill,1,,1,50,,\nA,,1,1,,,\n", 2, "a rise or fall from nothing"),
        ("sill,,,,50,,\nA,1,1,1,,,\n", 3, "a rise and a fall"),
        ("sill,,,,50,,\nA,,1,,,,\n", 3, "no number of boards"),
        ("sill,,,,50,,\nA,,,2,,,\n", 3, "neither rise nor fall"),
        ("sill,,,,50,,\nA,,1,0,,,\n", 3, '"0" is not a whole number'),
        ("sill,,,,50,,\nA,,1,1.5,,,\n", 3, '"1.5" is not a whole number'),
        ("sill,,,,50,,\nA,,nan,1,,,\n", 3, 'fall of "A"'),
        ("sill,,,,50,,\nA,,1 in,1,,,\n", 3, "in a column of mm"),
        ("sill,,,,50,,\nA,,1,1,,3,\n", 3, "is half given"),
        ("sill,,,,50,,\nA,,1,1,,,\nB,,,,,,\n", 4, "whose level is not known"),
        ("sill,,,,50,,\nA,,1,1,,,\nsill,1,,1,51,,\n", 4, "has two known elevations"),
        ("sill,,,,50,,\nA,,1,1\n", 3, "the row has 4 values"),
    ],
)
def test_bad_rows_are_told(tmp_path: Path, rows: str, line: int | None, complaint: str) -> None:
    (fault,) = find_faults(tmp_path, HEADER + rows)
    assert fault.where == ("walk.csv" if line is None else f"walk.csv:{line}")
    assert complaint in fault.what
    assert fault.remedy


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "the file is empty"),
        (HEADER, "there is no point below the header"),
        ("name,rise_mm,fall_mm,boards\nA,,,\n", 'the column "known_elevation" is missing'),
        ("name,rise,fall_mm,boards,known_elevation_m\nA,,,,\n", 'the column "rise" states no unit'),
        ("name,rise_mm,fall_mm,boards,known_elevation_m,x_m\nA,,,,,\n", 'the column "y" is missing'),
    ],
)
def test_bad_files_are_told(tmp_path: Path, text: str, complaint: str) -> None:
    (fault,) = find_faults(tmp_path, text)
    assert complaint in fault.what
    assert fault.remedy
