"""A scan as records: read, placed, sorted, made into ground."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.found_things import describe_place, measure_size
from optimizer.brief.height_errors import build_error_model
from optimizer.brief.read_site import SurveyedSite
from optimizer.brief.seen_in_scan import SeenInScan, doubt_seen
from optimizer.errors import InternalError
from optimizer.ground_records import (
    ControlRecord,
    FreedomRecord,
    HoleRecord,
    MetRecord,
    ParameterRecord,
    ScanRecord,
    StepRecord,
    ThingRecord,
)
from optimizer.ground_scan.sorted_scan import Hole
from optimizer.record_doubts import record_doubts
from optimizer.scan_ground.build_ground import ScanGround
from optimizer.scan_ground.yard_sorted import SORT_LIMITS
from optimizer.survey.placing.leave_one_out import PointError
from optimizer.survey.placing.placing_report import PlacingReport
from optimizer.survey.scan_survey import ScanSurvey, doubt_frame

#: Standard errors are told from so many points of the ground.
_ASKED: Final = 400


def record_scan(read: SurveyedSite, scan: ScanSurvey, ground: ScanGround) -> ScanRecord:
    """The record of a site's scan and the ground made of it."""
    errors_m = _measure_errors(read, ground)
    report = scan.report
    return ScanRecord(
        file=scan.placed.path.name,
        unit=scan.unit,
        up=scan.up,
        points_read=scan.count_read,
        points_unusable=scan.count_unusable,
        points_too_far=scan.count_too_far,
        points_kept=len(scan.placed.local_m),
        frame_evidence=scan.proposal.evidence,
        control=_record_control(report),
        left_out_plan_m=report.left_out.plan_m,
        left_out_height_m=report.left_out.height_m,
        plan_factor=report.plan.factor,
        height_factor=report.heights.factor,
        freed=tuple(
            FreedomRecord(freedom=one.freedom, is_freed=one.is_freed, reason=one.reason)
            for one in report.freed
        ),
        parameters=tuple(
            ParameterRecord(parameter=one.parameter, value=one.value, standard_error=one.standard_error)
            for one in report.parameters
        ),
        doubts=record_doubts((*doubt_frame(scan), *report.doubts, *doubt_seen(read.seen, ground))),
        points_in_area=ground.points,
        cell_m=ground.cells.edge_m,
        cells=len(ground.cells.level_m),
        cells_poor=ground.cells.poor,
        points_ground=ground.ground,
        points_ghosts=ground.ghosts,
        points_things=ground.things,
        points_unknown=ground.unknown,
        vertices=len(ground.vertices.xyz_m),
        vertices_near_levels=len(ground.vertices.xyz_m) - len(ground.xyz_m),
        bound_m=ground.vertices.bound_m,
        largest_left_m=ground.vertices.left_m,
        is_bounded=ground.vertices.is_bounded,
        cell_error_m=ground.cell_error_m,
        placing_error_m=ground.placing_error_m,
        usual_error_m=float(np.median(errors_m)),
        greatest_error_m=float(errors_m.max()),
        met=tuple(MetRecord(name=one.name, off_m=one.off_m) for one in ground.met),
        limits=SORT_LIMITS,
        things=_record_things(read.seen),
        steps=_record_steps(read),
        holes=tuple(_record_hole(hole) for hole in read.seen.holes),
    )


def _record_control(report: PlacingReport) -> tuple[ControlRecord, ...]:
    """Control points in the order of their file, then check points."""
    foretold = {error.point: error for error in report.left_out.errors}
    records = [
        _record_point(report, error, foretold[error.point], _find_worst(report, error.point))
        for error in report.residuals
    ]
    nothing = PointError(-1, None, None)
    records += [_record_point(report, one.error, nothing, one.worst) for one in report.checked]
    return tuple(records)


def _record_point(
    report: PlacingReport, error: PointError, foretold: PointError, errors: float | None
) -> ControlRecord:
    point = report.control.points[error.point]
    return ControlRecord(
        name=point.name,
        role=point.role,
        plan_m=error.distance_m,
        height_m=error.height_m,
        left_out_plan_m=foretold.distance_m,
        left_out_height_m=foretold.height_m,
        standard_errors=errors,
    )


def _find_worst(report: PlacingReport, point: int) -> float | None:
    """Largest residual of a point in its standard errors; ``None`` where nothing checks it."""
    tested = [one.standardised for one in report.tests if one.point == point and one.standardised is not None]
    return max(map(abs, tested), default=None)


def _measure_errors(read: SurveyedSite, ground: ScanGround) -> NDArray[np.float64]:
    """Standard errors (k,) of heights at points of the ground."""
    site = read.site
    if site.height_errors is None:
        raise InternalError("a scan without errors of its heights")
    places = ground.xyz_m[:: max(1, len(ground.xyz_m) // _ASKED), :2] - site.origin_shift_m[:2]
    model = build_error_model(site.height_errors, site.ground, site.origin_shift_m, places)
    errors: NDArray[np.float64] = model.standard_error(places)
    return errors[np.isfinite(errors)]


def _record_things(seen: SeenInScan) -> tuple[ThingRecord, ...]:
    records = []
    for thing in seen.things:
        length_m, width_m = measure_size(thing)
        records.append(
            ThingRecord(
                number=thing.number,
                place="" if seen.wall is None else describe_place(thing, seen.wall),
                how=thing.place,
                said=thing.said,
                length_m=length_m,
                width_m=width_m,
                top_m=thing.top_m,
                bottom_m=thing.bottom_m,
                above_m=thing.above_m,
                outline_m=tuple((float(x), float(y)) for x, y in thing.outline_m),
            )
        )
    return tuple(records)


def _record_steps(read: SurveyedSite) -> tuple[StepRecord, ...]:
    woven = {line.name for line in read.site.ground.break_lines}
    return tuple(
        StepRecord(
            name=line.name,
            length_m=float(np.hypot(*np.diff(line.xy_m, axis=0).T).sum()),
            # Both ends run out to nothing.
            least_m=float((line.top_m - line.foot_m)[1:-1].min()),
            greatest_m=float((line.top_m - line.foot_m).max()),
            is_woven=line.name in woven,
            line_m=tuple(
                (float(x), float(y), float(z)) for (x, y), z in zip(line.xy_m, line.top_m, strict=True)
            ),
        )
        for line in read.seen.lines
    )


def _record_hole(hole: Hole) -> HoleRecord:
    x, y = (float(value) for value in hole.outline_m.mean(axis=0))
    return HoleRecord(x_m=x, y_m=y, area_m2=hole.area_m2, why=hole.why)
