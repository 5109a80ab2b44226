"""The points of a level book with the rows that shot them."""

from __future__ import annotations

from optimizer.survey.level_averages import PointShots
from optimizer.survey.level_book import LevelBook
from optimizer.survey.level_errors import LevelSum
from optimizer.survey.level_places import NamedPlace
from optimizer.survey.level_points import Kind


def gather_shots(
    book: LevelBook, levels: tuple[LevelSum, ...], places: tuple[NamedPlace, ...]
) -> tuple[PointShots, ...]:
    """Every name of the book once, in order of its first row.  ``levels``: one a row, spread."""
    at = {place.name: (place.x_m, place.y_m) for place in places}
    gathered = []
    for name in dict.fromkeys(row.name for row in book.rows):
        mark = book.find_mark(name)
        named = [index for index, row in enumerate(book.rows) if row.name == name]
        # A backsight alone stands on a level that another row gave.
        shots = [index for index in named if book.rows[index].levelled_m is not None]
        gathered.append(
            PointShots(
                name,
                _kind_of(book, name),
                tuple(book.rows[index].line for index in (shots if mark is None else named)),
                at.get(name),
                None if mark is None else mark.elevation_m,
                tuple(levels[index] for index in (shots if mark is None else named)),
            )
        )
    return tuple(gathered)


def _kind_of(book: LevelBook, name: str) -> Kind:
    if book.find_mark(name) is not None:
        return "mark"
    rows = [row for row in book.rows if row.name == name]
    readings = [reading for row in rows for reading in (row.backsight_m, row.levelled_m)]
    if any(reading is not None and reading < 0 for reading in readings):
        return "overhead"
    return "spot" if all(row.backsight_m is None for row in rows) else "change"
