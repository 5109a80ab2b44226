"""Whether legs may be ordered by a site's heights, and what to look at again before."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from optimizer.brief.site import LEVELLED, SCAN_BASIS, Heights
from optimizer.errors import Fault
from optimizer.scan_ground.build_ground import LevelMet, ScanGround
from optimizer.survey.placing.control_points import LEVEL_ERROR_M
from optimizer.survey.placing.placing_doubts import FEWEST_FOR_LEGS, MOST_ERRORS, CheckedPoint
from optimizer.survey.placing.placing_report import PlacingReport
from optimizer.survey.placing.residual_tests import PointTest
from optimizer.survey.scan_survey import ScanSurvey, doubt_frame
from optimizer.survey.survey_file import SurveyFile

_NOT_FIT: Final = "heights not fit for ordering legs"


def judge_levels(files: Sequence[SurveyFile]) -> Heights:
    """Heights of levels alone, with the doubts of their books."""
    return Heights(
        LEVELLED.warning, LEVELLED.basis, LEVELLED.error_m, LEVELLED.seen_m, list_file_doubts(files)
    )


def judge_scan(
    files: Sequence[SurveyFile], scan: ScanSurvey, ground: ScanGround, seen: Sequence[Fault]
) -> Heights:
    """Heights of a scan: its placing decides, and a point that speaks against it is named.

    ``seen``: what the sorting of its points cannot tell.
    """
    missed = [one for one in ground.met if abs(one.off_m) > _find_limit(ground)]
    against = tuple(_doubt_met(one, ground) for one in missed)
    doubts = (*list_file_doubts(files), *doubt_frame(scan), *scan.report.doubts, *against, *seen)
    return Heights(_warn(scan.report, missed), SCAN_BASIS, ground.rough_error_m, ground.seen_m, doubts)


def list_file_doubts(files: Sequence[SurveyFile]) -> tuple[Fault, ...]:
    """The doubts of all level books and straightboard walks, file by file."""
    return tuple(doubt for file in files if file.report is not None for doubt in file.report.doubts)


def _find_limit(ground: ScanGround) -> float:
    """How far the scan may miss a levelled point by chance: with the errors of both, and of the surface."""
    return MOST_ERRORS * math.hypot(ground.cell_error_m, ground.rough_error_m, LEVEL_ERROR_M)


def _doubt_met(met: LevelMet, ground: ScanGround) -> Fault:
    what = (
        f'the levelled point "{met.name}" lies {1000.0 * -met.off_m:+.0f} mm off the ground of the scan, '
        f"chance allows {1000.0 * _find_limit(ground):.0f} mm."
    )
    return Fault(ground.path.name, what, "Shoot it again; the ground there follows the level.")


def _warn(report: PlacingReport, missed: Sequence[LevelMet]) -> str:
    """Every reason not to order legs yet, as one sentence without its stop; empty where there is none."""
    if not report.is_fit_for_legs:
        count = 0 if report.placing is None else report.placing.levelled
        return (
            f"{_NOT_FIT}: {count} levelled control point{'' if count == 1 else 's'} "
            f"{'carries' if count == 1 else 'carry'} the scan, {FEWEST_FOR_LEGS} are needed"
        )
    reasons = [_tell_missed(report, one) for one in report.checked if one.worst > MOST_ERRORS]
    if report.suspects:
        reasons.append(_tell_suspects(report, report.suspects))
    reasons += [
        f'levelled point "{one.name}" is shot again: it lies {1000.0 * -one.off_m:+.0f} mm off the scan'
        for one in missed
    ]
    return f"{_NOT_FIT} until {'; and until '.join(reasons)}" if reasons else ""


def _tell_missed(report: PlacingReport, check: CheckedPoint) -> str:
    name = report.control.points[check.error.point].name
    missed = []
    if check.error.height_m is not None:
        missed.append(f"{1000.0 * check.error.height_m:+.0f} mm in height")
    if check.error.distance_m is not None:
        missed.append(f"{1000.0 * check.error.distance_m:.0f} mm in plan")
    return (
        f'check point "{name}" is shot again: the scan misses it by {" and ".join(missed)}, '
        f"{check.worst:.1f} standard errors"
    )


def _tell_suspects(report: PlacingReport, suspects: Sequence[PointTest]) -> str:
    names = " or ".join(dict.fromkeys(f'"{report.control.points[one.point].name}"' for one in suspects))
    first = suspects[0]
    if len(suspects) > 1 or first.standardised is None:
        return f"{names} are shot again: one of them is wrong and nothing tells which"
    measured = "position" if first.part == "plan" else "elevation"
    return f"{names} is shot again: its {measured} is off by {first.standardised:.1f} standard errors"
