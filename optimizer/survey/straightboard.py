"""Levels walked with a spirit level on a straightboard: a method with an error of its own.

Each board length adds an independent error (placing, reading the gap) and, while the spirit level is
never turned end for end, the same error of its bubble again: after ``n`` boards the standard error is
``sqrt(e^2 n + (b n)^2)``.  Closed on a mark and spread over the boards the bubble's part is gone and
``e sqrt(k (n - k) / n)`` is left after ``k`` of ``n`` boards (see ``level_errors``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from optimizer.errors import Fault, InputError
from optimizer.survey.level_averages import PointShots, average_points
from optimizer.survey.level_closure import Closure, Line, judge_line
from optimizer.survey.level_doubts import doubt_open_ends, doubt_spreads, refuse_closures
from optimizer.survey.level_errors import LevelSum, known_level
from optimizer.survey.level_limits import AllowedMisclosure
from optimizer.survey.level_points import ReducedPoints
from optimizer.survey.shot_average import ShotAverage
from optimizer.survey.straightboard_reader import BoardStep, BoardWalk


@dataclass(frozen=True, slots=True)
class BoardError:
    """Errors of one board length in metres: ``random_m`` of its own, ``bubble_m`` the same each time.

    With the level turned end for end at every board the bubble cancels: then 0.
    """

    random_m: float
    bubble_m: float

    def after(self, boards: int) -> float:
        """Standard error in metres after so many board lengths from a mark."""
        return math.hypot(self.random_m * math.sqrt(boards), self.bubble_m * boards)


#: An eighth of an inch a board: common practice, no source.  Bubble: 0.5 mm a metre, as spirit levels are
#: commonly sold (from memory), on a board of 2.4 m.
DEFAULT_BOARD_ERROR: Final = BoardError(random_m=0.003175, bubble_m=0.0012)

#: Range of the levels of one point that passes unmarked: two walks of a few boards differ by centimetres
#: seldom.  Common practice, no source.
BOARD_SPREAD_M: Final = 0.010


@dataclass(frozen=True, slots=True)
class TwiceBoardError:
    """Allowed misclosure: twice the standard error of the walk, which 95 in 100 honest walks keep."""

    error: BoardError

    def limit_m(self, setups: int, length_m: float | None) -> float | None:  # noqa: ARG002  the rule's signature
        """Metres after ``setups`` board lengths."""
        return 2.0 * self.error.after(setups)

    def describe(self, unit: str) -> str:  # noqa: ARG002  the rule's signature
        """``twice the straightboard's standard error``."""
        return "twice the straightboard's standard error"


@dataclass(frozen=True, slots=True)
class StraightboardReport:
    """What a walked straightboard says; fields as in ``LevelBookReport``."""

    path: Path
    closures: tuple[Closure, ...]
    averages: tuple[ShotAverage, ...]
    error: BoardError
    refusals: tuple[Fault, ...]
    doubts: tuple[Fault, ...]
    points: ReducedPoints | None


def reduce_straightboard(
    walk: BoardWalk,
    error: BoardError = DEFAULT_BOARD_ERROR,
    rule: AllowedMisclosure | None = None,
    spread_m: float = BOARD_SPREAD_M,
) -> StraightboardReport:
    """Carry the levels along every walk, close them on marks, spread what is within the rule.

    ``rule``: misclosure allowed, counting boards as set-ups; twice the standard error when ``None``.
    """
    limit = TwiceBoardError(error) if rule is None else rule
    levels, closures = _carry(walk, error, limit)
    shots = tuple(_gather(walk, levels))
    averaged = average_points(walk.path, walk.style, "straightboard", shots, 1.0, spread_m)
    file = walk.path.name
    refusals = refuse_closures(file, closures, walk.unit)
    return StraightboardReport(
        walk.path,
        closures,
        averaged.averages,
        error,
        refusals,
        (*doubt_open_ends(file, closures), *doubt_spreads(file, averaged.averages, walk.unit)),
        None if refusals else averaged.points,
    )


def accept_straightboard(report: StraightboardReport) -> ReducedPoints:
    """The points of a walk; raises ``InputError`` with every reason to refuse it."""
    if report.points is None:
        raise InputError(*report.refusals)
    return report.points


def _carry(
    walk: BoardWalk, error: BoardError, rule: AllowedMisclosure
) -> tuple[list[LevelSum], tuple[Closure, ...]]:
    """Level of every step, spread, and one closure for each stretch between known points.

    Coefficients are metres: one a step for its boards' own errors, one at the end for the bubble.
    """
    count = len(walk.steps)
    levels: list[LevelSum] = []
    closures = []
    at: dict[str, LevelSum] = {
        step.name: known_level(step.known_m, count + 1) for step in walk.steps if step.known_m is not None
    }
    marks = frozenset(at)
    first = 0
    for index, step in enumerate(walk.steps):
        if step.rise_m is None:
            first = index
            levels.append(at[step.name])
            continue
        own = np.zeros(count + 1)
        own[index], own[-1] = error.random_m * math.sqrt(step.boards), error.bubble_m * step.boards
        before = levels[-1]
        levels.append(LevelSum(before.elevation_m + step.rise_m, before.coefficients + own))
        start = walk.steps[first].name
        is_closed = step.name in marks or step.name == start
        is_last = index + 1 == count or walk.steps[index + 1].rise_m is None
        if is_closed or is_last:
            boards = sum(one.boards for one in walk.steps[first + 1 : index + 1])
            known = at[step.name] if is_closed else None
            line = Line(start, step.name, step.line, "boards", boards, None)
            closure = judge_line(
                line, levels[index].elevation_m, None if known is None else known.elevation_m, rule, walk.unit
            )
            closures.append(closure)
            if closure.verdict == "closes" and known is not None:
                _spread(walk.steps, levels, first, index, known)
            for one in range(first + 1, index + 1):
                at.setdefault(walk.steps[one].name, levels[one])
            first = index
    return levels, tuple(closures)


def _spread(
    steps: tuple[BoardStep, ...], levels: list[LevelSum], first: int, last: int, known: LevelSum
) -> None:
    missed = levels[last].less(known, 1.0)
    boards = sum(step.boards for step in steps[first + 1 : last + 1])
    walked = 0
    for index in range(first + 1, last + 1):
        walked += steps[index].boards
        levels[index] = levels[index].less(missed, walked / boards)


def _gather(walk: BoardWalk, levels: list[LevelSum]) -> list[PointShots]:
    known = {step.name: step.known_m for step in walk.steps if step.known_m is not None}
    gathered = []
    for name in dict.fromkeys(step.name for step in walk.steps):
        named = [index for index, step in enumerate(walk.steps) if step.name == name]
        shots = [index for index in named if name in known or walk.steps[index].rise_m is not None]
        place = next((walk.steps[index].place_m for index in named if walk.steps[index].place_m), None)
        gathered.append(
            PointShots(
                name,
                "mark" if name in known else "spot",
                tuple(walk.steps[index].line for index in shots),
                place,
                known.get(name),
                tuple(levels[index] for index in shots),
            )
        )
    return gathered
