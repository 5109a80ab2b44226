"""A book written in feet is answered in feet and inches, one in metres in millimetres."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.survey.level_limits import DEFAULT_LIMIT
from optimizer.survey.level_reader import read_level_book
from optimizer.survey.level_reduction import reduce_level_book

FEET = """name,bs_ft,is_ft,fs_ft,known_elevation_ft
sill,3.00,,,100.00
p,,5.00,,
p,,5.10,,
q,,5.00,,
cp,2.50,,5.00,
sill,,,0.40,
"""


def told(folder: Path, text: str) -> str:
    path = folder / "book.csv"
    path.write_text(text, encoding="utf-8")
    report = reduce_level_book(read_level_book(path))
    return " ".join(f"{one.what}" for one in (*report.refusals, *report.doubts))


def test_a_book_in_feet_is_refused_and_doubted_in_feet_and_inches(tmp_path: Path) -> None:
    """3.00 - 5.00 + 2.50 - 0.40 is 0.10 ft above the mark; 5 mm sqrt(2) is 0.0232 ft, 0.28 in."""
    words = told(tmp_path, FEET)
    assert "misses by +0.100 ft (1.20 in); allowed are 0.023 ft (0.28 in)" in words
    assert "(0.1181 in or 0.1969 in x sqrt(set-ups), whichever is larger, 2 set-ups)" in words
    assert 'the 2 shots of "p" lie 0.100 ft (1.20 in) apart' in words
    assert " mm" not in words


def test_a_book_in_metres_stays_in_millimetres(tmp_path: Path) -> None:
    words = told(tmp_path, FEET.replace("_ft", "_m"))
    assert "misses by +100.0 mm; allowed are 7.1 mm" in words
    assert " ft" not in words


def test_one_set_up_is_not_told_as_several(tmp_path: Path) -> None:
    words = told(tmp_path, "name,bs_m,is_m,fs_m,known_elevation_m\nsill,1.000,,,10\nsill,,,1.020,\n")
    assert "1 set-up)" in words


@pytest.mark.parametrize(("unit", "words"), [("m", "3 mm or 5 mm x"), ("ft", "0.1181 in or 0.1969 in x")])
def test_the_rule_is_told_in_the_unit_of_the_book(unit: str, words: str) -> None:
    assert DEFAULT_LIMIT.describe(unit).startswith(words)


def test_points_of_one_intermediate_sight_are_named_as_unchecked(tmp_path: Path) -> None:
    path = tmp_path / "book.csv"
    path.write_text(FEET, encoding="utf-8")
    assert reduce_level_book(read_level_book(path)).shot_once == ("q",)
