"""Sections of a level book between points of known level: what each misses by, and how it is spread.

``misclosure = computed - known`` (some books take the other sign).  Within the limit, a row of set-up
``j`` of ``n`` is corrected by ``-misclosure * j / n``: equal parts to the set-ups, as in the worked page
'Collimation method to reduce a leveling field book page' (issuu.com/landsurveyor).  Intermediate sights
of a section of one set-up keep what their backsight gave them: there is nothing to spread over (so also
level-online.net, line and area levelling, example 3).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from optimizer.survey.level_book import LevelBook, SetUp
from optimizer.survey.level_limits import AllowedMisclosure
from optimizer.survey.level_places import find_sight_length
from optimizer.units import is_at_most

#: ``open``: ends on no known level, so nothing checks it.  ``no length``: the rule asks for one.
Verdict = Literal["closes", "too large", "open", "no length"]


@dataclass(frozen=True, slots=True)
class Section:
    """Set-ups ``first`` to ``last`` (both counted) on one line.

    ``is_closed``: it ends on a mark or comes back to the point where it began.
    """

    first: int
    last: int
    is_closed: bool

    @property
    def setups(self) -> int:
        """How many set-ups."""
        return self.last - self.first + 1

    def share(self, setup: int, row: int, fore: int) -> float:
        """Part of the misclosure that a levelled row of a set-up is corrected by."""
        if self.setups == 1 and row != fore:
            return 0.0
        return (setup - self.first + 1) / self.setups


@dataclass(frozen=True, slots=True)
class Line:
    """A levelled line between two points, before it is judged; fields as in ``Closure``."""

    start: str
    end: str
    end_line: int
    counted: Literal["set-ups", "boards"]
    setups: int
    length_m: float | None


@dataclass(frozen=True, slots=True)
class Closure:
    """One section's end, for a report.  Metres.

    Open sections have ``known_m``, ``misclosure_m``, ``limit_m`` of ``None`` and correct nothing.
    ``setups`` counts set-ups, of a walked straightboard its board lengths.  ``length_m`` is the sum
    of the sights, ``None`` unless all are booked.
    """

    start: str
    end: str
    end_line: int
    counted: Literal["set-ups", "boards"]
    setups: int
    length_m: float | None
    computed_m: float
    known_m: float | None
    misclosure_m: float | None
    limit_m: float | None
    rule: str
    verdict: Verdict
    correction_per_setup_m: float


def count_setups(closure: Closure) -> str:
    """``1 set-up``, ``4 boards``."""
    return f"{closure.setups} {closure.counted.removesuffix('s') if closure.setups == 1 else closure.counted}"


def find_sections(book: LevelBook) -> tuple[Section, ...]:
    """Sections in file order; a change point on a mark ends one and begins the next."""
    sections = []
    first = 0
    for index, setup in enumerate(book.setups):
        end = book.rows[setup.fore].name
        start = book.rows[book.setups[first].back].name
        is_closed = book.find_mark(end) is not None or end == start
        if is_closed or not _goes_on(book.setups, index):
            sections.append(Section(first, index, is_closed))
            first = index + 1
    return tuple(sections)


def _goes_on(setups: Sequence[SetUp], index: int) -> bool:
    return index + 1 < len(setups) and setups[index + 1].start == setups[index].fore


def close_section(
    book: LevelBook, section: Section, computed_m: float, known_m: float, rule: AllowedMisclosure
) -> Closure:
    """Judge one section.  ``computed_m``: its last level from its first; ``known_m``: what it should be."""
    setups = book.setups[section.first : section.last + 1]
    fore = book.rows[setups[-1].fore]
    line = Line(
        book.rows[setups[0].back].name,
        fore.name,
        fore.line,
        "set-ups",
        section.setups,
        _measure_length(book, setups),
    )
    return judge_line(line, computed_m, known_m if section.is_closed else None, rule, book.unit)


def judge_line(
    line: Line, computed_m: float, known_m: float | None, rule: AllowedMisclosure, unit: str
) -> Closure:
    """Judge a levelled line by a rule.  ``known_m``: level of its end, ``None`` when it is not known.

    ``unit``: of the book, in which the rule is told.
    """
    misclosure = limit = None
    verdict: Verdict = "open"
    if known_m is not None:
        misclosure = computed_m - known_m
        limit = rule.limit_m(line.setups, line.length_m)
        if limit is None:
            verdict = "no length"
        else:
            verdict = "closes" if is_at_most(abs(misclosure), limit) else "too large"
    correction = -misclosure / line.setups if misclosure is not None and verdict == "closes" else 0.0
    return Closure(
        line.start,
        line.end,
        line.end_line,
        line.counted,
        line.setups,
        line.length_m,
        computed_m,
        known_m,
        misclosure,
        limit,
        rule.describe(unit),
        verdict,
        correction,
    )


def _measure_length(book: LevelBook, setups: Sequence[SetUp]) -> float | None:
    """Sum of the backsights' and foresights' distances; ``None`` when one is not booked."""
    sights = [find_sight_length(book.rows[row].place) for setup in setups for row in (setup.back, setup.fore)]
    known = [sight for sight in sights if sight is not None]
    return sum(known) if len(known) == len(sights) else None
