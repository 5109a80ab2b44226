"""Levels of all rows of a book with the misclosures spread, each with what it is made of."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.survey.level_book import LevelBook
from optimizer.survey.level_closure import Closure, Section, close_section, find_sections
from optimizer.survey.level_errors import LevelSum, count_readings, known_level
from optimizer.survey.level_limits import AllowedMisclosure


@dataclass(frozen=True, slots=True)
class SpreadLevels:
    """``levels``: one a row, spread where its section closes.  ``closures``: one a section."""

    levels: tuple[LevelSum, ...]
    closures: tuple[Closure, ...]


def spread_misclosures(book: LevelBook, rule: AllowedMisclosure) -> SpreadLevels:
    """Judge every section and spread what is within the rule; other sections stay as levelled."""
    count = count_readings(book)
    levels = [known_level(0.0, count)] * len(book.rows)
    closures = []
    reading = 0
    for section in find_sections(book):
        start = _start_level(book, section, levels, count)
        reading = _level_section(book, section, start, levels, reading)
        setups = book.setups[section.first : section.last + 1]
        end = levels[setups[-1].fore]
        mark = book.find_mark(book.rows[setups[-1].fore].name)
        known = start if mark is None else known_level(mark.elevation_m, count)
        closure = close_section(book, section, end.elevation_m, known.elevation_m, rule)
        closures.append(closure)
        if closure.verdict == "closes":
            missed = end.less(known, 1.0)
            for number, setup in enumerate(setups, section.first):
                for row in setup.levelled:
                    share = section.share(number, row, setup.fore)
                    levels[row] = levels[row].less(missed, share)
        for setup in setups:
            if setup.start is not None:
                levels[setup.back] = levels[setup.start]
    return SpreadLevels(tuple(levels), tuple(closures))


def _start_level(book: LevelBook, section: Section, levels: list[LevelSum], count: int) -> LevelSum:
    """The level a section begins from; a mark's is the given one, whatever was levelled to it."""
    setup = book.setups[section.first]
    mark = book.find_mark(book.rows[setup.back].name)
    if mark is not None:
        levels[setup.back] = known_level(mark.elevation_m, count)
    elif setup.start is not None:
        levels[setup.back] = levels[setup.start]
    return levels[setup.back]


def _level_section(
    book: LevelBook, section: Section, start: LevelSum, levels: list[LevelSum], reading: int
) -> int:
    """Carry the level through a section; returns the number of the next reading."""
    level = start
    for setup in book.setups[section.first : section.last + 1]:
        height = level.plus(book.backsight(setup), reading, 1)
        reading += 1
        for row in setup.levelled:
            levels[row] = height.plus(book.reads_from(setup, row), reading, -1)
            reading += 1
        level = levels[setup.fore]
    return reading
