"""Misclosure, limits, how it is spread, and the standard errors that are left."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optimizer.errors import InputError
from optimizer.survey.level_limits import (
    DEFAULT_LIMIT,
    AllowedMisclosure,
    ConstantLimit,
    LargerLimit,
    LimitByLength,
    LimitBySetups,
)
from optimizer.survey.level_reduction import LevelBookReport, accept_levels, reduce_level_book
from tests.survey.level_book_texts import read_text

HEADER = "name,bs_mm,is_mm,fs_mm,known_elevation_mm\n"


def work_out(folder: Path, rows: str, rule: AllowedMisclosure = DEFAULT_LIMIT) -> LevelBookReport:
    return reduce_level_book(read_text(folder, HEADER + rows), rule)


def loop(setups: int, missed_mm: int) -> str:
    """A loop of so many set-ups from and to A, with an intermediate sight in each."""
    rows = ["A,1000,,,50000"]
    for number in range(1, setups + 1):
        rows.append(f"s{number},,1500,,")
        last = number == setups
        rows.append(f"{'A' if last else f'c{number}'},{'' if last else 1000},,{1000 - missed_mm * last},")
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    ("rule", "setups", "limit_mm"),
    [
        (DEFAULT_LIMIT, 1, 5.0),
        (DEFAULT_LIMIT, 4, 10.0),
        (LimitBySetups(0.004), 4, 8.0),
        (ConstantLimit(0.007), 3, 7.0),
        (LimitByLength(0.012, 250.0), 2, 6.0),
        (LargerLimit(ConstantLimit(0.009), LimitBySetups(0.004)), 4, 9.0),
        (LargerLimit(ConstantLimit(0.007), LimitBySetups(0.004)), 4, 8.0),
    ],
)
def test_a_misclosure_on_the_limit_is_accepted_and_a_millimetre_more_refused(
    tmp_path: Path, rule: AllowedMisclosure, setups: int, limit_mm: float, sign: int
) -> None:
    on = work_out(tmp_path, loop(setups, sign * int(limit_mm)), rule)
    (closure,) = on.closures
    assert closure.limit_m == pytest.approx(limit_mm / 1000)
    assert closure.misclosure_m == pytest.approx(sign * limit_mm / 1000)
    assert closure.verdict == "closes"
    over = work_out(tmp_path, loop(setups, sign * (int(limit_mm) + 1)), rule)
    assert [one.verdict for one in over.closures] == ["too large"]
    assert over.closures[0].correction_per_setup_m == 0.0
    with pytest.raises(InputError) as caught:
        accept_levels(over)
    (fault,) = caught.value.faults
    assert f"misses by {sign * (limit_mm + 1):+.1f} mm; allowed are {limit_mm:.1f} mm" in fault.what
    assert "level it again" in fault.remedy


def test_a_limit_by_length_takes_the_sights_or_asks_for_them(tmp_path: Path) -> None:
    rule = LimitByLength(0.012)
    refused = work_out(tmp_path, loop(1, 1), rule)
    assert [one.verdict for one in refused.closures] == ["no length"]
    assert "has no length" in refused.refusals[0].what
    header = "name,bs_mm,fs_mm,known_elevation_mm,distance_m\n"
    book = read_text(tmp_path, header + "A,1000,,50000,20\nB,,1000,,30\nB,1000,,,25\nA,,1000,,15\n")
    (closure,) = reduce_level_book(book, rule).closures
    assert closure.length_m == pytest.approx(90.0)
    assert closure.limit_m == pytest.approx(0.012 * math.sqrt(0.09))


def test_each_set_up_takes_an_equal_part(tmp_path: Path) -> None:
    report = work_out(tmp_path, loop(4, 8))
    corrections = {row.name: row.correction_m * 1000 for row in report.rows}
    expected = {"s1": -2, "c1": -2, "s2": -4, "c2": -4, "s3": -6, "c3": -6, "s4": -8, "A": -8}
    assert corrections == pytest.approx(expected, abs=1e-6)
    assert report.rows[0].correction_m == 0.0


def test_one_set_up_spreads_nothing_over_its_intermediate_sights(tmp_path: Path) -> None:
    report = work_out(tmp_path, loop(1, 3))
    assert [row.correction_m * 1000 for row in report.rows] == pytest.approx([0, 0, -3], abs=1e-6)


def test_a_mark_on_the_way_splits_the_line(tmp_path: Path) -> None:
    rows = "A,1000,,,50000\nB,1000,,996,\nM,1000,,996,50004\nC,1000,,1000,\nA,,,1006,\n"
    report = work_out(tmp_path, rows)
    first, second = report.closures
    assert (first.start, first.end, second.start, second.end) == ("A", "M", "M", "A")
    assert first.misclosure_m == pytest.approx(0.004)
    # From the level of M as given: 50004 + 0 - 6 = 49998 against 50000.
    assert second.misclosure_m == pytest.approx(-0.002)
    levels = [row.adjusted_m for row in report.rows]
    assert levels == pytest.approx([50.0, 50.002, 50.004, 50.005, 50.0], abs=1e-9)


def test_a_change_point_in_two_rows_is_the_same_as_in_one(tmp_path: Path) -> None:
    one = work_out(tmp_path, "A,1000,,,50000\nB,1000,,996,\nM,1000,,996,50004\nA,,,1006,\n")
    text = "A,1000,,,50000\nB,,,996,\nB,1000,,,\nM,,,996,50004\nM,1000,,,\nA,,,1006,\n"
    two = work_out(tmp_path, text)
    # Rows 2 and 4 hold the backsights alone: the level of the foresight before, spread with it.
    shown = [(row.elevation_m, row.adjusted_m) for row in one.rows]
    assert [(row.elevation_m, row.adjusted_m) for row in two.rows] == [
        shown[index] for index in (0, 1, 1, 2, 2, 3)
    ]
    for first, second in zip(one.closures, two.closures, strict=True):
        assert first.misclosure_m == second.misclosure_m
    assert accept_levels(one).points == tuple(
        replace(point, rows=other.rows)
        for point, other in zip(accept_levels(two).points, accept_levels(one).points, strict=True)
    )


def test_an_open_end_is_doubted_not_refused(tmp_path: Path) -> None:
    report = work_out(tmp_path, "A,1000,,,50000\nB,,,900,\n")
    assert report.closures[0].verdict == "open"
    assert [fault.where for fault in report.doubts] == ["book.csv:3"]
    assert "nothing checks it" in report.doubts[0].what
    assert accept_levels(report).points[1].elevation_m == pytest.approx(50.1)


def test_a_branch_starts_from_the_spread_level(tmp_path: Path) -> None:
    report = work_out(tmp_path, loop(2, 2) + "c1,1000,,,\nD,,,700,\n")
    points = accept_levels(report)
    assert points.points[points.find("D")].elevation_m == pytest.approx(49.999 + 0.3)
    branch, trunk = points.find("D"), points.find("c1")
    both = points.covariance_m2
    assert both[branch, trunk] == pytest.approx(both[trunk, trunk])
    assert both[branch, branch] == pytest.approx(both[trunk, trunk] + 0.002**2)


def test_a_branch_that_comes_back_to_its_start_closes_there(tmp_path: Path) -> None:
    report = work_out(tmp_path, loop(2, 0) + "c1,1000,,,\nD,1000,,700,\nc1,,,1302,\n")
    closure = report.closures[1]
    assert closure.verdict == "closes"
    assert closure.misclosure_m == pytest.approx(-0.002)
    points = accept_levels(report)
    assert points.points[points.find("c1")].elevation_m == pytest.approx(50.0)
    assert points.points[points.find("D")].elevation_m == pytest.approx(50.301)


def test_errors_grow_with_the_root_of_the_set_ups_on_an_open_line(tmp_path: Path) -> None:
    rows = loop(4, 0).replace("A,,,1000,", "end,,,1000,")
    points = accept_levels(work_out(tmp_path, rows))
    for name, setups in (("c1", 1), ("s1", 1), ("c2", 2), ("c3", 3), ("s4", 4), ("end", 4)):
        point = points.points[points.find(name)]
        assert point.standard_error_m == pytest.approx(0.002 * math.sqrt(setups))


def test_errors_are_least_beside_the_marks_on_a_closed_line(tmp_path: Path) -> None:
    points = accept_levels(work_out(tmp_path, loop(4, 0)))
    for name, setups in (("c1", 1), ("c2", 2), ("c3", 3)):
        point = points.points[points.find(name)]
        assert point.standard_error_m == pytest.approx(0.002 * math.sqrt(setups * (4 - setups) / 4))
    assert points.points[points.find("A")].standard_error_m == 0.0


def test_the_standard_errors_are_those_of_a_thousand_books(tmp_path: Path) -> None:
    # The truth is level ground at 50 m; every reading is drawn with an error of its own.
    rng = np.random.default_rng(20)
    reading_m = 0.002 / math.sqrt(2)
    names = ("s1", "c1", "s2", "c2", "s3")
    drawn = []
    for _ in range(1000):
        read = iter((1.5 + rng.normal(0, reading_m, 9)).tolist())
        rows = "A,{},,,50\ns1,,{},,\nc1,,,{},\nc1,{},,,\ns2,,{},,\nc2,,,{},\nc2,{},,,\ns3,,{},,\nA,,,{},\n"
        text = "name,bs_m,is_m,fs_m,known_elevation_m\n" + rows.format(
            *(f"{next(read):.6f}" for _ in range(9))
        )
        points = accept_levels(reduce_level_book(read_text(tmp_path, text), ConstantLimit(1.0)))
        drawn.append([points.points[points.find(name)].elevation_m - 50 for name in names])
    points = accept_levels(work_out(tmp_path, loop(3, 0)))
    stated = points.covariance_m2[np.ix_(*[[points.find(name) for name in names]] * 2)]
    found = np.array(drawn).T @ np.array(drawn) / len(drawn)
    # 1000 draws: a variance is known to 4.5 in 100, three of those on either side.
    assert np.sqrt(np.diag(found)) == pytest.approx(np.sqrt(np.diag(stated)), rel=0.07)
    assert found == pytest.approx(stated, abs=0.15 * stated.max())


def test_a_large_misclosure_raises_the_errors_and_a_lucky_one_does_not_lower_them(tmp_path: Path) -> None:
    lucky = work_out(tmp_path, loop(4, 0))
    assert lucky.setup_error_m == 0.002
    poor = work_out(tmp_path, loop(4, 9))
    assert poor.setup_error_m == pytest.approx(0.009 / 2)


def test_the_error_of_a_difference_leaves_common_errors_out(tmp_path: Path) -> None:
    points = accept_levels(work_out(tmp_path, loop(3, 0).replace("A,,,1000,", "end,,,1000,")))
    # Two sights from one stand: only their own readings differ.
    pair = points.measure_difference_error(points.find("s3"), points.find("end"))
    assert pair == pytest.approx(0.002)
    assert points.points[points.find("s3")].standard_error_m == pytest.approx(0.002 * math.sqrt(3))


def test_shots_of_one_point_are_averaged_with_their_spread(tmp_path: Path) -> None:
    rows = "A,1000,,,50000\np,,1500,,\np,,1503,,\nq,,1200,,\np,,1506,,\nA,,,1000,\n"
    report = work_out(tmp_path, rows)
    (average,) = report.averages
    assert (average.name, average.count, average.rows) == ("p", 3, (3, 4, 6))
    assert average.mean_m == pytest.approx(49.497)
    assert average.range_m == pytest.approx(0.006)
    assert average.standard_error_m == pytest.approx(0.003 / math.sqrt(3))
    assert [fault.where for fault in report.doubts] == ["book.csv:6"]
    assert 'the 3 shots of "p" lie 6.0 mm apart, above 5.0 mm' in report.doubts[0].what
    points = accept_levels(report)
    point = points.points[points.find("p")]
    assert point.rows == (3, 4, 6)
    # The backsight's error is common to the three, each sight's own is averaged: more than the spread shows.
    assert point.standard_error_m == pytest.approx(max(0.003 / 3**0.5, 0.002 / 2**0.5 * (1 + 1 / 3) ** 0.5))


@pytest.mark.parametrize(("apart_mm", "doubts"), [(5, 0), (6, 1)])
def test_a_spread_on_the_limit_passes(tmp_path: Path, apart_mm: int, doubts: int) -> None:
    rows = f"A,1000,,,50000\np,,1500,,\np,,{1500 + apart_mm},,\nA,,,1000,\n"
    assert len(work_out(tmp_path, rows).doubts) == doubts


def test_wide_shots_are_believed_about_themselves(tmp_path: Path) -> None:
    rows = "A,1000,,,50000\np,,1500,,\np,,1540,,\nA,,,1000,\n"
    points = accept_levels(work_out(tmp_path, rows))
    assert points.points[points.find("p")].standard_error_m == pytest.approx(0.020)


@pytest.mark.parametrize(("reading", "doubts"), [(1005, 0), (1006, 1), (994, 1)])
def test_a_sight_on_a_mark_that_gives_another_level_is_doubted(
    tmp_path: Path, reading: int, doubts: int
) -> None:
    rows = f"A,1000,,,50000\nM,,{reading},,50000\nA,,,1000,\n"
    report = work_out(tmp_path, rows)
    assert len(report.doubts) == doubts
    assert all(fault.where == "book.csv:3" and "off its level by" in fault.what for fault in report.doubts)
    assert accept_levels(report).points[1].elevation_m == 50.0


def test_a_wrong_booked_level_and_a_misclosure_are_refused_together(tmp_path: Path) -> None:
    text = "name,bs_m,fs_m,known_elevation_m,elevation_m\nA,1.5,,50,50\nB,1.5,1.2,,50.4\nA,,1.7,,50.2\n"
    with pytest.raises(InputError) as caught:
        accept_levels(reduce_level_book(read_text(tmp_path, text)))
    assert [fault.where for fault in caught.value.faults] == ["book.csv:3", "book.csv:4"]
