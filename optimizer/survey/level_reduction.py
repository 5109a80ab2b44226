"""A level book worked out: levels, checks, misclosures, standard errors, one report."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from optimizer.errors import Fault, InputError
from optimizer.survey.booking_by_height import book_by_height, find_height_faults
from optimizer.survey.booking_by_rise import book_by_rise, find_rise_faults
from optimizer.survey.booking_checks import ArithmeticCheck, check_arithmetic
from optimizer.survey.level_averages import average_points
from optimizer.survey.level_book import Booking, LevelBook
from optimizer.survey.level_closure import Closure
from optimizer.survey.level_doubts import doubt_marks, doubt_open_ends, doubt_spreads, refuse_closures
from optimizer.survey.level_errors import DEFAULT_SETUP_ERROR_M, estimate_setup_error, reading_error
from optimizer.survey.level_limits import DEFAULT_LIMIT, AllowedMisclosure
from optimizer.survey.level_places import find_hair_doubts, find_places
from optimizer.survey.level_points import ReducedPoints, build_spots
from optimizer.survey.level_reader import read_level_book
from optimizer.survey.level_shots import gather_shots
from optimizer.survey.level_spread import spread_misclosures
from optimizer.survey.shot_average import DEFAULT_SPREAD_M, ShotAverage
from optimizer.survey.spots import SpotLevels


@dataclass(frozen=True, slots=True)
class LevelledRow:
    """One row worked out, metres.

    ``height_m``: of the instrument its backsight opens, ``None`` without one.  ``rise_m``: from the
    sight before, a fall negative, ``None`` where only a backsight stands.  ``elevation_m``: carried
    through the whole book; ``adjusted_m``: with misclosures spread, ``correction_m`` more.
    """

    line: int
    name: str
    height_m: float | None
    rise_m: float | None
    elevation_m: float
    correction_m: float
    adjusted_m: float


@dataclass(frozen=True, slots=True)
class LevelBookReport:
    """All that a level book says, for printing, and the points for use.

    ``refusals``: booked values that do not follow, and misclosures above the limit.  ``doubts``:
    what to look at again (open ends, spread shots, stadia hairs); they refuse nothing.
    ``shot_once``: points with one intermediate sight alone: its reading cancels in every sum.
    ``averages``: the points shot more than once.  ``setup_error_m``: standard error of one set-up
    (see ``level_errors``).  ``points`` is ``None`` when anything refuses the book.
    """

    path: Path
    unit: str
    booking: Booking
    rows: tuple[LevelledRow, ...]
    arithmetic: tuple[ArithmeticCheck, ...]
    closures: tuple[Closure, ...]
    averages: tuple[ShotAverage, ...]
    shot_once: tuple[str, ...]
    setup_error_m: float
    refusals: tuple[Fault, ...]
    doubts: tuple[Fault, ...]
    points: ReducedPoints | None


def reduce_level_book(
    book: LevelBook,
    rule: AllowedMisclosure = DEFAULT_LIMIT,
    setup_error_m: float = DEFAULT_SETUP_ERROR_M,
    spread_m: float = DEFAULT_SPREAD_M,
) -> LevelBookReport:
    """Work a book out by both bookings, check what was booked, close and spread.

    ``rule``: the misclosure allowed.  ``setup_error_m``: least standard error of one set-up.
    ``spread_m``: range of the shots of one point above which it is doubted.  Raises ``InputError``
    for positions that lead nowhere; wrong levels and misclosures are in the report.
    """
    places = find_places(book)
    by_height, by_rise = book_by_height(book), book_by_rise(book)
    spread = spread_misclosures(book, rule)
    setup_error = estimate_setup_error(spread.closures, setup_error_m)
    booking_faults = (
        find_height_faults(book, by_height) if book.booking == "height" else find_rise_faults(book, by_rise)
    )
    refusals = (*booking_faults, *refuse_closures(book.path.name, spread.closures, book.unit))
    shots = gather_shots(book, spread.levels, places)
    error = reading_error(setup_error)
    averaged = average_points(book.path, book.style, "level", shots, error, spread_m)
    doubts = (
        *doubt_open_ends(book.path.name, spread.closures),
        *doubt_marks(book, spread.levels, spread_m),
        *doubt_spreads(book.path.name, averaged.averages, book.unit),
        *find_hair_doubts(book),
    )
    heights = {setup.back: height for setup, height in zip(book.setups, by_height.heights_m, strict=True)}
    rows = tuple(
        LevelledRow(
            row.line,
            row.name,
            heights.get(index),
            None if row.levelled_m is None else by_rise.rises_m[index],
            by_height.elevations_m[index],
            level.elevation_m - by_height.elevations_m[index],
            level.elevation_m,
        )
        for index, (row, level) in enumerate(zip(book.rows, spread.levels, strict=True))
    )
    return LevelBookReport(
        book.path,
        book.unit,
        book.booking,
        rows,
        check_arithmetic(book, by_rise),
        spread.closures,
        averaged.averages,
        _find_shot_once(book),
        setup_error,
        refusals,
        doubts,
        None if refusals else averaged.points,
    )


def _find_shot_once(book: LevelBook) -> tuple[str, ...]:
    counts = Counter(row.name for row in book.rows)
    return tuple(
        row.name
        for row in book.rows
        if row.intermediate_m is not None and counts[row.name] == 1 and book.find_mark(row.name) is None
    )


def accept_levels(report: LevelBookReport) -> ReducedPoints:
    """The points of a book; raises ``InputError`` with every reason to refuse it."""
    if report.points is None:
        raise InputError(*report.refusals)
    return report.points


def read_level_spots(
    path: Path, unit: str | None = None, rule: AllowedMisclosure = DEFAULT_LIMIT
) -> SpotLevels:
    """Read a level book, work it out, and give its ground points as a site's spot levels.

    Raises ``InputError`` when the file is faulty, a booked value does not follow, the book does not
    close within ``rule``, or no ground point has a position.
    """
    return build_spots(accept_levels(reduce_level_book(read_level_book(path, unit), rule)))
