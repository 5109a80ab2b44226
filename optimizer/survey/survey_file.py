"""One levelled file of a site, whatever its kind, with what it says of itself."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from optimizer.errors import Fault, InputError
from optimizer.survey.level_limits import DEFAULT_LIMIT, AllowedMisclosure
from optimizer.survey.level_points import ReducedPoints, build_spots
from optimizer.survey.level_reader import read_level_book
from optimizer.survey.level_reduction import LevelBookReport, accept_levels, reduce_level_book
from optimizer.survey.spots import SpotLevels, read_spots
from optimizer.survey.straightboard import StraightboardReport, accept_straightboard, reduce_straightboard
from optimizer.survey.straightboard_reader import read_straightboard
from optimizer.survey.survey_kind import SurveyKind

LevellingReport = LevelBookReport | StraightboardReport


@dataclass(frozen=True, slots=True)
class SurveyFile:
    """A file read and accepted.

    ``spots``: its ground points with a position; ``None`` when a levelling has none (it may still
    serve control points by name).  ``levelled`` and ``report``: of level books and straightboard
    walks, ``None`` for spot levels, which state no errors.
    """

    path: Path
    kind: SurveyKind
    spots: SpotLevels | None
    levelled: ReducedPoints | None
    report: LevellingReport | None


def read_survey_file(
    path: Path, kind: SurveyKind, unit: str | None = None, rule: AllowedMisclosure | None = None
) -> SurveyFile:
    """Read one file of the ``kind`` it is.

    ``unit``: of columns without one; ``rule``: misclosure allowed (``None``: the usual one of the
    kind).  Neither is for spot levels, whose columns state their units.  Raises ``InputError`` for a
    faulty file and for levels that are refused.
    """
    if kind == "spots":
        return SurveyFile(path, kind, read_spots(path), None, None)
    if kind == "level_book":
        book = reduce_level_book(read_level_book(path, unit), DEFAULT_LIMIT if rule is None else rule)
        return _accept(path, kind, accept_levels(book), book)
    walk = reduce_straightboard(read_straightboard(path, unit), rule=rule)
    return _accept(path, kind, accept_straightboard(walk), walk)


def require_positions(file: SurveyFile) -> SpotLevels:
    """The ground points; raises ``InputError`` when the file has none."""
    if file.spots is not None:
        return file.spots
    if file.levelled is not None:
        return build_spots(file.levelled)  # raises, with what to add
    raise InputError(Fault(file.path.name, "there is no ground point in it.", "Give one row a point."))


def _accept(path: Path, kind: SurveyKind, points: ReducedPoints, report: LevellingReport) -> SurveyFile:
    try:
        spots = build_spots(points)
    except InputError:  # asked for only where no scan gives the ground: ``require_positions``
        spots = None
    return SurveyFile(path, kind, spots, points, report)
