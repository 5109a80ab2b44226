"""Both bookings give one set of levels; a slip of the booker is named once, where it was made."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Literal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optimizer.errors import Fault
from optimizer.survey.booking_by_height import book_by_height, find_height_faults
from optimizer.survey.booking_by_rise import book_by_rise, find_rise_faults
from optimizer.survey.booking_checks import check_arithmetic
from optimizer.survey.level_book import LevelBook
from tests.survey.level_book_texts import MadeUpBook, made_up_books, read_text

Booking = Literal["height", "rise"]
BOOKINGS = st.sampled_from(["height", "rise"])
# One folder serves all draws of a test: each writes its one file anew.
QUIET = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def find_booking_faults(book: LevelBook) -> tuple[Fault, ...]:
    if book.booking == "height":
        return find_height_faults(book, book_by_height(book))
    return find_rise_faults(book, book_by_rise(book))


@QUIET
@given(made_up=made_up_books(), booking=BOOKINGS)
def test_both_bookings_give_the_levels_of_whole_millimetres(
    tmp_path: Path, made_up: MadeUpBook, booking: Booking
) -> None:
    book = read_text(tmp_path, made_up.text(booking))
    levels = [entry.level / 1000 for entry in made_up.entries]
    assert book_by_height(book).elevations_m == pytest.approx(levels, abs=1e-9)
    assert book_by_rise(book).elevations_m == pytest.approx(levels, abs=1e-9)
    assert find_booking_faults(book) == ()
    (check,) = check_arithmetic(book, book_by_rise(book))
    assert check.agrees
    assert check.sights_change_m == pytest.approx(levels[-1] - levels[0], abs=1e-9)
    assert check.rises_m - check.falls_m == pytest.approx(levels[-1] - levels[0], abs=1e-9)


@QUIET
@given(made_up=made_up_books(), booking=BOOKINGS, data=st.data())
def test_a_slip_that_is_carried_on_is_named_once_at_its_row(
    tmp_path: Path, made_up: MadeUpBook, booking: Booking, data: st.DataObject
) -> None:
    # In the booking by height an intermediate sight hands nothing on: the next level starts anew.
    carrying = [
        index
        for index, entry in enumerate(made_up.entries)
        if index > 0 and (booking == "rise" or entry.foresight is not None)
    ]
    row = data.draw(st.sampled_from(carrying))
    by_mm = data.draw(st.integers(-2000, 2000).filter(bool))
    book = read_text(tmp_path, made_up.raise_levels(row, by_mm).text(booking))
    (fault,) = find_booking_faults(book)
    assert fault.where == f"book.csv:{row + 2}"
    assert "the level of" in fault.what
    (check,) = check_arithmetic(book, book_by_rise(book))
    assert not check.agrees


@QUIET
@given(made_up=made_up_books(), booking=BOOKINGS, data=st.data())
def test_a_slip_of_the_pen_in_one_level_is_named_alone(
    tmp_path: Path, made_up: MadeUpBook, booking: Booking, data: st.DataObject
) -> None:
    row = data.draw(st.integers(1, len(made_up.entries) - 1))
    by_mm = data.draw(st.integers(-2000, 2000).filter(bool))
    entries = list(made_up.entries)
    entries[row] = replace(entries[row], level=entries[row].level + by_mm)
    book = read_text(tmp_path, MadeUpBook(tuple(entries)).text(booking))
    assert [fault.where for fault in find_booking_faults(book)] == [f"book.csv:{row + 2}"]


@QUIET
@given(made_up=made_up_books(), data=st.data())
def test_a_wrong_height_of_instrument_is_named_and_its_levels_are_not(
    tmp_path: Path, made_up: MadeUpBook, data: st.DataObject
) -> None:
    backs = [index for index, entry in enumerate(made_up.entries) if entry.backsight is not None]
    row = data.draw(st.sampled_from(backs))
    by_mm = data.draw(st.integers(-2000, 2000).filter(bool))
    moved = list(made_up.raise_levels(row, by_mm).entries)
    moved[row] = replace(moved[row], level=made_up.entries[row].level)
    book = read_text(tmp_path, MadeUpBook(tuple(moved)).text("height"))
    (fault,) = find_booking_faults(book)
    assert fault.where == f"book.csv:{row + 2}"
    assert "the height of instrument of" in fault.what


@QUIET
@given(made_up=made_up_books(), data=st.data())
def test_a_wrong_rise_is_named_whether_or_not_the_level_was_worked_out_from_it(
    tmp_path: Path, made_up: MadeUpBook, data: st.DataObject
) -> None:
    row = data.draw(st.integers(1, len(made_up.entries) - 1))
    by_mm = data.draw(st.integers(-2000, 2000).filter(bool))
    carried = data.draw(st.booleans())
    entries = list(made_up.raise_levels(row, by_mm).entries if carried else made_up.entries)
    change = entries[row].change
    assert change is not None
    entries[row] = replace(entries[row], change=change + by_mm)
    book = read_text(tmp_path, MadeUpBook(tuple(entries)).text("rise"))
    (fault,) = find_booking_faults(book)
    assert fault.where == f"book.csv:{row + 2}"
    assert "is booked with a" in fault.what


def test_two_slips_are_both_named_in_file_order(tmp_path: Path) -> None:
    text = (
        "name,bs_m,is_m,fs_m,known_elevation_m,rise_m,fall_m,elevation_m\n"
        "A,1.500,,,10,,,10.000\nB,,1.000,,,0.600,,10.600\nC,,0.500,,,0.500,,11.100\n"
        "D,2.000,,1.500,,,1.000,10.200\nE,,,1.000,,1.000,,11.200\n"
    )
    faults = find_booking_faults(read_text(tmp_path, text))
    assert [fault.where for fault in faults] == ["book.csv:3", "book.csv:5"]
    assert "is booked with a rise of 0.6000 m; the readings give a rise of 0.5000 m" in faults[0].what
    assert 'the level of "D" is booked as 10.2000 m; the readings give 10.0000 m' in faults[1].what


@pytest.mark.parametrize(
    ("reading", "booked", "named"),
    [
        # 10 + 1.500 - 1.255 = 10.245: half of the last digit booked, exactly on, either way.
        ("1.255", "10.25", 0),
        ("1.255", "10.24", 0),
        ("1.254", "10.25", 0),
        ("1.254", "10.24", 1),
        ("1.256", "10.24", 0),
        ("1.256", "10.25", 1),
    ],
)
def test_a_value_booked_to_fewer_digits_may_be_rounded_but_no_more(
    tmp_path: Path, reading: str, booked: str, named: int
) -> None:
    text = f"name,bs_m,fs_m,known_elevation_m,elevation_m\nA,1.500,,10,10.00\nB,,{reading},,{booked}\n"
    assert len(find_booking_faults(read_text(tmp_path, text))) == named


@pytest.mark.parametrize(("booked", "named"), [("10.2", 0), ("10.201", 1), ("10.199", 1)])
def test_noughts_lost_by_a_spreadsheet_do_not_widen_what_is_accepted(
    tmp_path: Path, booked: str, named: int
) -> None:
    text = (
        "name,bs_m,is_m,fs_m,known_elevation_m,elevation_m\n"
        f"A,1.5,,,10,10\nB,,1.3,,,{booked}\nC,,,1.255,,10.245\n"
    )
    assert len(find_booking_faults(read_text(tmp_path, text))) == named


PAGES = """\
name,bs_m,is_m,fs_m,known_elevation_m,rise_m,fall_m,elevation_m,page
A,1.500,,,10,,,10.000,1
B,,1.000,,,0.500,,10.500,
C,2.000,,0.800,,0.200,,10.700,
D,,1.900,,,0.100,,10.800,
E,,1.000,,,0.900,,11.700,2
F,,,1.100,,,0.100,11.600,
"""


def test_every_page_is_summed_with_the_sight_carried_over_the_break(tmp_path: Path) -> None:
    book = read_text(tmp_path, PAGES)
    one, two, whole = check_arithmetic(book, book_by_rise(book))
    assert [one.title, two.title, whole.title] == ["page 1", "page 2", "book"]
    # Page 1 ends on an intermediate sight, 1.900: its foresight, and the backsight of page 2.
    assert (one.backsights_m, one.foresights_m) == pytest.approx((3.5, 2.7))
    assert (two.backsights_m, two.foresights_m) == pytest.approx((1.9, 1.1))
    assert (whole.backsights_m, whole.foresights_m) == pytest.approx((3.5, 1.9))
    assert [one.first_m, one.last_m, two.first_m, two.last_m] == pytest.approx([10, 10.8, 10.8, 11.6])
    assert all(check.agrees for check in (one, two, whole))


def test_only_the_page_with_the_slip_disagrees(tmp_path: Path) -> None:
    book = read_text(tmp_path, PAGES.replace("0.900,,11.700", "0.800,,11.700"))
    one, two, whole = check_arithmetic(book, book_by_rise(book))
    assert [one.agrees, two.agrees, whole.agrees] == [True, False, False]
    assert two.rises_m - two.falls_m == pytest.approx(0.7)
    assert two.level_change_m == pytest.approx(0.8)


def test_a_book_that_starts_again_on_another_mark_sums_its_lines(tmp_path: Path) -> None:
    text = (
        "name,bs_m,fs_m,known_elevation_m,elevation_m\n"
        "A,1.500,,10,10.000\nB,,1.000,,10.500\nM,0.700,,50,50.000\nN,,0.600,,50.100\n"
    )
    book = read_text(tmp_path, text)
    (check,) = check_arithmetic(book, book_by_rise(book))
    assert check.agrees
    assert check.level_change_m == pytest.approx(0.6)
    assert (check.first_m, check.last_m) == pytest.approx((10.0, 50.1))
