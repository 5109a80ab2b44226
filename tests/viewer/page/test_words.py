"""The small table of texts: every text in every language, every text used, plain words only."""

from __future__ import annotations

import re
import tomllib

import pytest

from optimizer.cli_page import PageLanguage
from optimizer.errors import InternalError
from viewer.page.words import LANGUAGES, TABLE, read_words

FOLDER = TABLE.parent
ROWS = tomllib.loads(TABLE.read_text(encoding="utf-8"))
#: Keys put together from a word of the plan or of the page: their beginnings.
COMPOSED = ("part_", "about_", "view_", "alt_", "exit_", "then_", "turns")


def test_every_text_has_every_language_and_nothing_else() -> None:
    assert {key for key, row in ROWS.items() if set(row) != set(LANGUAGES)} == set()
    assert [language.value for language in PageLanguage] == list(LANGUAGES)


def test_a_number_has_its_place_in_all_languages_or_in_none() -> None:
    assert [key for key, row in ROWS.items() if len({text.count("{}") for text in row.values()}) != 1] == []
    assert max(text.count("{}") for row in ROWS.values() for text in row.values()) == 1


def test_no_text_is_left_in_the_other_language() -> None:
    same = {key for key, row in ROWS.items() if row["en"] == row["es"]}
    assert same == {"north", "part_house", "part_obstacle"}


def test_every_text_is_used() -> None:
    sources = [*FOLDER.glob("*.py"), *(FOLDER / "source").glob("*.js")]
    code = "".join(path.read_text(encoding="utf-8") for path in sources)
    unused = [key for key in ROWS if not re.search(rf"""["']{key}["']""", code)]
    assert [key for key in unused if not key.startswith(COMPOSED)] == []


def test_every_part_of_a_plan_has_a_name_and_a_sentence() -> None:
    kinds = ["threshold_plate", "landing", "section", "transition_plate", "bottom_pad", "steps"]
    kinds += ["leg", "low_support", "rail", "house", "obstacle", "ground"]
    wanted = {f"{word}_{kind}" for kind in kinds for word in ("part", "about")}
    assert wanted == {key for key in ROWS if key.startswith(("part_", "about_"))}


@pytest.mark.parametrize(
    "word", ["clause", "pareto", "lattice", "optimal", "clearance", "compliant", "guarantee"]
)
def test_the_client_reads_no_word_of_ours(word: str) -> None:
    assert [key for key, row in ROWS.items() if word in row["en"].lower()] == []


def test_a_text_that_is_not_there_is_our_fault() -> None:
    words = read_words("en")
    assert words.say("slope_value", "12") == "1 up for 12 along"
    with pytest.raises(InternalError, match="no text 'nothing'"):
        words.say("nothing")
