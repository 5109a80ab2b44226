"""Which kind of levelling a CSV file holds, told by its columns."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final, Literal, get_args

from optimizer.survey.spots import read_csv_rows
from optimizer.units import UNITS

#: ``spots``: coordinates and elevations.  ``level_book``: staff readings.  ``straightboard``: rises a board.
SurveyKind = Literal["spots", "level_book", "straightboard"]
SURVEY_KINDS: Final[tuple[SurveyKind, ...]] = get_args(SurveyKind)

#: A column that only one kind has.
_TELLING: Final[tuple[tuple[str, SurveyKind], ...]] = (("bs", "level_book"), ("boards", "straightboard"))
_UNIT_RE: Final = re.compile(rf"_(?:{'|'.join(UNITS)})$")


def find_survey_kind(path: Path) -> SurveyKind:
    """A column ``bs`` makes a level book, ``boards`` a straightboard walk; all else is spot levels.

    Raises ``InputError`` for a file that is no CSV.
    """
    rows = read_csv_rows(path)
    columns = {_UNIT_RE.sub("", cell) for cell in rows[0][1]} if rows else set()
    return next((kind for column, kind in _TELLING if column in columns), "spots")
