"""Build and write the report of ``evenfall ground``."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from optimizer.brief.read_site import SurveyedSite
from optimizer.brief.thin_places import list_thin_places
from optimizer.ground_records import (
    GROUND_SCHEMA,
    AverageRecord,
    ClosureRecord,
    ControlRecord,
    FileRecord,
    FreedomRecord,
    GroundReport,
    MetRecord,
    ParameterRecord,
    RowRecord,
    ScanRecord,
    SumRecord,
)
from optimizer.plan import XYZ
from optimizer.record_doubts import record_doubts
from optimizer.survey.level_reduction import LevelBookReport
from optimizer.survey.placing.leave_one_out import PointError
from optimizer.survey.placing.placing_report import PlacingReport
from optimizer.survey.scan_filter import FILTER_LIMITS
from optimizer.survey.scan_ground import ScanGround
from optimizer.survey.scan_survey import ScanSurvey, doubt_frame
from optimizer.survey.survey_file import LevellingReport, SurveyFile
from optimizer.written_files import write_whole

GROUND_NAME = "ground.json"


def build_ground_report(read: SurveyedSite) -> GroundReport:
    """The report on a site's survey."""
    site, surveyed = read.site, read.surveyed
    scan_points = 0 if read.scan_ground is None else len(read.scan_ground.xyz_m)
    thin = list_thin_places(site) + site.origin_shift_m
    return GroundReport(
        schema=GROUND_SCHEMA,
        site=site.name,
        warning=site.heights.warning,
        basis=site.heights.basis,
        rough_error_m=site.ground.leave_one_out_m,
        levelled_points=len(site.ground.points_m) - scan_points,
        scan_points=scan_points,
        triangles=len(site.ground.triangles_xy),
        files=tuple(_record_file(file) for file in surveyed.files),
        scan=(
            None
            if surveyed.scan is None or read.scan_ground is None
            else _record_scan(surveyed.scan, read.scan_ground)
        ),
        thin_places_m=tuple(_as_xyz(place) for place in thin.tolist()),
    )


def format_ground_report(report: GroundReport) -> str:
    """The report as JSON text, the same bytes for the same report."""
    return json.dumps(report.model_dump(mode="json", by_alias=True), indent=1, ensure_ascii=False) + "\n"


def ground_schema() -> str:
    """JSON Schema of the report as text."""
    return json.dumps(GroundReport.model_json_schema(by_alias=True), indent=1) + "\n"


def write_ground_report(report: GroundReport, path: Path) -> None:
    """Write the report whole or not at all; raises ``OutputError``."""
    write_whole(path, format_ground_report(report))


def _as_xyz(place: Sequence[float]) -> XYZ:
    x, y, z = place
    return (x, y, z)


def _record_file(file: SurveyFile) -> FileRecord:
    used = () if file.spots is None else file.spots.names
    levelled = () if file.levelled is None else tuple(point.name for point in file.levelled.points)
    report = file.report
    book = report if isinstance(report, LevelBookReport) else None
    return FileRecord(
        file=file.path.name,
        kind=file.kind,
        used=len(used),
        not_ground=tuple(name for name in levelled if name not in used),
        shot_once=() if book is None else book.shot_once,
        rows=() if book is None else _record_rows(book),
        sums=() if book is None else _record_sums(book),
        closures=() if report is None else _record_closures(report),
        averages=() if report is None else _record_averages(report),
        setup_error_m=None if book is None else book.setup_error_m,
        doubts=() if report is None else record_doubts(report.doubts),
    )


def _record_rows(book: LevelBookReport) -> tuple[RowRecord, ...]:
    return tuple(
        RowRecord(
            line=row.line,
            name=row.name,
            height_of_instrument_m=row.height_m,
            rise_m=row.rise_m,
            elevation_m=row.elevation_m,
            correction_m=row.correction_m,
            adjusted_m=row.adjusted_m,
        )
        for row in book.rows
    )


def _record_sums(book: LevelBookReport) -> tuple[SumRecord, ...]:
    return tuple(
        SumRecord(
            title=one.title,
            source=one.source,
            backsights_m=one.backsights_m,
            foresights_m=one.foresights_m,
            rises_m=one.rises_m,
            falls_m=one.falls_m,
            level_change_m=one.level_change_m,
            agrees=one.agrees,
        )
        for one in book.arithmetic
    )


def _record_closures(report: LevellingReport) -> tuple[ClosureRecord, ...]:
    return tuple(
        ClosureRecord(
            start=one.start,
            end=one.end,
            line=one.end_line,
            setups=one.setups,
            counted=one.counted,
            misclosure_m=one.misclosure_m,
            limit_m=one.limit_m,
            rule=one.rule,
            verdict=one.verdict,
        )
        for one in report.closures
    )


def _record_averages(report: LevellingReport) -> tuple[AverageRecord, ...]:
    return tuple(
        AverageRecord(
            name=one.name,
            count=one.count,
            range_m=one.range_m,
            standard_error_m=one.standard_error_m,
            is_flagged=one.is_flagged,
        )
        for one in report.averages
    )


def _record_scan(scan: ScanSurvey, ground: ScanGround) -> ScanRecord:
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
        doubts=record_doubts((*doubt_frame(scan), *report.doubts)),
        points_in_area=ground.points,
        cell_m=ground.edge_m,
        cells=ground.cells,
        cells_poor=ground.poor,
        cells_ghosts=ground.ghosts,
        cells_objects=ground.objects,
        vertices=len(ground.vertices.xyz_m),
        vertices_near_levels=len(ground.vertices.xyz_m) - len(ground.xyz_m),
        bound_m=ground.vertices.bound_m,
        largest_left_m=ground.vertices.left_m,
        is_bounded=ground.vertices.is_bounded,
        cell_error_m=ground.cell_error_m,
        placing_error_m=ground.placing_error_m,
        met=tuple(MetRecord(name=one.name, off_m=one.off_m) for one in ground.met),
        limits=FILTER_LIMITS,
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


def find_largest_met(report: GroundReport) -> MetRecord | None:
    """The levelled point that the scan misses most."""
    met = () if report.scan is None else report.scan.met
    return max(met, key=lambda one: abs(one.off_m), default=None)


def measure_met(report: GroundReport) -> float | None:
    """Root mean square of what the scan misses levelled points by; ``None`` without any."""
    met = () if report.scan is None else report.scan.met
    return math.sqrt(float(np.mean([one.off_m**2 for one in met]))) if met else None
