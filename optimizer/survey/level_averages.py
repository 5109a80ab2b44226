"""The points of a levelling: shots of one name averaged, each point with its standard error."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from optimizer.survey.level_errors import LevelSum
from optimizer.survey.level_points import Kind, Method, ReducedPoint, ReducedPoints
from optimizer.survey.shot_average import ShotAverage, average_shots
from optimizer.survey.spots import Style


@dataclass(frozen=True, slots=True)
class PointShots:
    """All that was levelled to one point.

    ``rows``: lines of the file.  ``place_m``: its plan position.  ``known_m``: the level of a mark,
    which it keeps whatever was levelled to it; for all others ``levels`` holds a level a shot.
    """

    name: str
    kind: Kind
    rows: tuple[int, ...]
    place_m: tuple[float, float] | None
    known_m: float | None
    levels: tuple[LevelSum, ...]


@dataclass(frozen=True, slots=True)
class AveragedPoints:
    """Points in order, and the averages of those shot more than once."""

    points: ReducedPoints
    averages: tuple[ShotAverage, ...]


def average_points(
    path: Path,
    style: Style | None,
    method: Method,
    shots: Sequence[PointShots],
    coefficient_error_m: float,
    spread_m: float,
) -> AveragedPoints:
    """Average the shots of every point.

    ``coefficient_error_m``: standard error of what one coefficient of a level stands for.
    ``spread_m``: range above which an average is flagged.
    """
    averages = []
    elevations, errors, coefficients = [], [], []
    for point in shots:
        if point.known_m is not None:
            elevations.append(point.known_m)
            errors.append(0.0)
            coefficients.append(np.zeros_like(shots[0].levels[0].coefficients))
            continue
        average = average_shots(
            point.name, [level.elevation_m for level in point.levels], point.rows, spread_m
        )
        if average.count > 1:
            averages.append(average)
        elevations.append(average.mean_m)
        errors.append(average.standard_error_m or 0.0)
        coefficients.append(np.mean([level.coefficients for level in point.levels], axis=0))
    made_of = np.array(coefficients) * coefficient_error_m
    covariance = made_of @ made_of.T
    # Shots further apart than the readings' errors explain are believed about themselves.
    diagonal = np.diag_indices(len(shots))
    covariance[diagonal] = np.maximum(covariance[diagonal], np.square(errors))
    covariance.setflags(write=False)
    points = tuple(
        ReducedPoint(
            point.name,
            None if point.place_m is None else point.place_m[0],
            None if point.place_m is None else point.place_m[1],
            elevation,
            math.sqrt(variance),
            method,
            point.kind,
            point.rows,
        )
        for point, elevation, variance in zip(shots, elevations, covariance[diagonal], strict=True)
    )
    placed = style if any(point.place_m is not None for point in shots) else None
    return AveragedPoints(ReducedPoints(path, placed, points, covariance), tuple(averages))
