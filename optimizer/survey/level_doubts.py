"""What refuses a level book, and what makes it doubtful: closures, marks, spread shots."""

from __future__ import annotations

from optimizer.errors import Fault
from optimizer.survey.level_book import LevelBook
from optimizer.survey.level_closure import Closure, count_setups
from optimizer.survey.level_columns import format_error_in, format_signed_in
from optimizer.survey.level_errors import LevelSum
from optimizer.survey.shot_average import ShotAverage


def refuse_closures(file: str, closures: tuple[Closure, ...], unit: str) -> tuple[Fault, ...]:
    """Sections that miss their mark by more than is allowed, or whose limit cannot be told."""
    faults = []
    for closure in closures:
        where = f"{file}:{closure.end_line}"
        line = f'the line from "{closure.start}" to "{closure.end}"'
        if closure.verdict == "no length":
            what = f"{line} has no length, and the limit is {closure.rule}."
            faults.append(Fault(where, what, "Book the distance of every sight, or state the line's length."))
        elif (
            closure.verdict == "too large"
            and closure.misclosure_m is not None
            and closure.limit_m is not None
        ):
            what = (
                f"{line} misses by {format_signed_in(closure.misclosure_m, unit)}; allowed are "
                f"{format_error_in(closure.limit_m, unit)} ({closure.rule}, {count_setups(closure)})."
            )
            remedy = "Check the readings at the change points and the marks' levels, then level it again."
            faults.append(Fault(where, what, remedy))
    return tuple(faults)


def doubt_open_ends(file: str, closures: tuple[Closure, ...]) -> tuple[Fault, ...]:
    """Sections that end on no known level."""
    return tuple(
        Fault(
            f"{file}:{closure.end_line}",
            f'the line from "{closure.start}" ends on "{closure.end}", '
            "whose level is not known: nothing checks it.",
            "Close back on the bench mark.",
        )
        for closure in closures
        if closure.verdict == "open"
    )


def doubt_marks(book: LevelBook, levels: tuple[LevelSum, ...], spread_m: float) -> tuple[Fault, ...]:
    """Intermediate sights on marks that give another level than the mark's."""
    doubts = []
    for index, row in enumerate(book.rows):
        mark = book.find_mark(row.name)
        if mark is None or row.intermediate_m is None:
            continue
        off_m = levels[index].elevation_m - mark.elevation_m
        if abs(off_m) > spread_m + 1e-6:
            off = format_signed_in(off_m, book.unit)
            what = f'the intermediate sight on the mark "{row.name}" is off its level by {off}.'
            doubts.append(Fault(book.where(index), what, "Check the reading and the mark's level."))
    return tuple(doubts)


def doubt_spreads(file: str, averages: tuple[ShotAverage, ...], unit: str) -> tuple[Fault, ...]:
    """Points whose shots lie too far apart."""
    return tuple(
        Fault(
            f"{file}:{one.rows[-1]}",
            f'the {one.count} shots of "{one.name}" lie {format_error_in(one.range_m, unit)} apart, '
            f"above {format_error_in(one.limit_m, unit)}.",
            "Shoot it again, or give two points two names.",
        )
        for one in averages
        if one.is_flagged
    )
