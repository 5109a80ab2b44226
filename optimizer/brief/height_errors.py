"""How far the heights of a site may be off: of the levels, of a scan, and of what the crew sets.

Cheap to hold; the model of the ground is solved only when chances are asked for (``build_error_model``).
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.placed_errors import measure_height_covariance
from optimizer.survey.placing.placing import Placing
from optimizer.survey.survey_file import SurveyFile
from optimizer.terrain.ground import Ground
from optimizer.terrain.ground_error.correlation import measure_distances
from optimizer.terrain.ground_error.error_model import ErrorModel
from optimizer.terrain.ground_error.ground_shots import build_ground_errors
from optimizer.terrain.ground_error.scan_errors import Drift, ScanCells, build_scan_errors
from optimizer.terrain.ground_error.shots import select_covariance
from optimizer.terrain.yard import Points

#: So many levels, those nearest to the feet, are solved: the work grows with their cube (0.2 s for 60).
MOST_SHOTS: Final = 60
#: Scans drift from the nearest control point by so much a metre: own choice, centimetres over ten metres.
DRIFT_PER_M: Final = 0.001
#: What a scan did not see over more than this is left open (own choice).
OPEN_BEYOND_M: Final = 3.0


@dataclass(frozen=True, slots=True)
class SettingSpreads:
    """Standard errors in metres: of one reading of the staff, of how far a foot sinks in, of setting
    the frame to its level at one support.
    """

    reading_m: float
    bedding_m: float
    frame_m: float


@dataclass(frozen=True, slots=True)
class LevelErrors:
    """Errors of levels read off a staff or board: ``covariance_m2`` (n, n), in the ground's order.

    ``line_error_m``: standard error of tops and feet of break lines.
    """

    covariance_m2: NDArray[np.float64]
    line_error_m: float


@dataclass(frozen=True, slots=True)
class PlacedScanErrors:
    """Errors of a scan's ground.  ``cells`` and ``control_m`` (c, 2) in the survey's frame."""

    cells: ScanCells
    placing: Placing
    control_m: Points


HeightErrors = LevelErrors | PlacedScanErrors


def build_error_model(errors: HeightErrors, ground: Ground, shift_m: Points, near_m: Points) -> ErrorModel:
    """The model of the ground's error in the site frame, which is the survey's less ``shift_m`` (3,).

    Of levels the 60 nearest to ``near_m`` (k, 2), site frame, are solved.  Raises ``InputError`` as
    ``build_ground_errors`` and ``build_scan_errors`` do.
    """
    if isinstance(errors, PlacedScanErrors):
        return _build_for_scan(errors, ground, shift_m[:2])
    points = ground.points_m
    kept = np.arange(len(points))
    if len(points) > MOST_SHOTS and len(near_m):
        away = measure_distances(points[:, :2], near_m).min(axis=1)
        kept = np.sort(np.argsort(away, kind="stable")[:MOST_SHOTS])
    names = tuple(ground.point_names[i] for i in kept)
    nearest = dataclasses.replace(ground, points_m=points[kept], point_names=names)
    covariance = errors.covariance_m2[np.ix_(kept, kept)]
    return build_ground_errors(nearest, covariance, errors.line_error_m, np.inf, "the levels")


def join_level_errors(files: Sequence[SurveyFile], reading_m: float) -> LevelErrors:
    """Errors of the ground points of all files, in order.

    A level book or straightboard walk brings its covariance, against its marks; spot levels state
    none and take ``reading_m`` each, going together with nothing.
    """
    blocks = []
    for file in files:
        if file.spots is not None and file.levelled is not None:
            blocks.append(select_covariance(file.levelled, file.spots.names))
        elif file.spots is not None:
            blocks.append(np.eye(len(file.spots.names)) * reading_m**2)
    whole = np.zeros((sum(map(len, blocks)),) * 2)
    first = 0
    for block in blocks:
        after = first + len(block)
        whole[first:after, first:after] = block
        first = after
    whole.setflags(write=False)
    return LevelErrors(whole, reading_m)


def read_alike(count: int, reading_m: float) -> LevelErrors:
    """Errors of ``count`` levels that were each read once."""
    covariance = np.eye(count) * reading_m**2
    covariance.setflags(write=False)
    return LevelErrors(covariance, reading_m)


def _build_for_scan(errors: PlacedScanErrors, ground: Ground, shift_m: Points) -> ErrorModel:
    def placing(first: Points, second: Points) -> NDArray[np.float64]:
        return measure_height_covariance(errors.placing, first + shift_m, second + shift_m)

    cells = dataclasses.replace(
        errors.cells,
        xy_m=errors.cells.xy_m - shift_m,
        rejected_xy_m=errors.cells.rejected_xy_m - shift_m,
    )
    drift = Drift(errors.control_m - shift_m, DRIFT_PER_M)
    return build_scan_errors(ground, cells, placing, drift, OPEN_BEYOND_M, None, "the scan")
