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
    FileRecord,
    GroundReport,
    MetRecord,
    RowRecord,
    SumRecord,
)
from optimizer.plan import XYZ
from optimizer.record_doubts import record_doubts
from optimizer.record_scan import record_scan
from optimizer.survey.level_reduction import LevelBookReport
from optimizer.survey.survey_file import LevellingReport, SurveyFile
from optimizer.written_files import write_whole

GROUND_NAME = "ground.json"


def build_ground_report(read: SurveyedSite) -> GroundReport:
    """The report on a site's survey."""
    site, surveyed = read.site, read.surveyed
    scan_points = 0 if read.scan_ground is None else len(read.scan_ground.xyz_m)
    thin = list_thin_places(site) + site.origin_shift_m
    files = tuple(_record_file(file) for file in surveyed.files)
    scan = (
        None
        if surveyed.scan is None or read.scan_ground is None
        else record_scan(read, surveyed.scan, read.scan_ground)
    )
    told = {doubt for file in files for doubt in file.doubts} | set(() if scan is None else scan.doubts)
    return GroundReport(
        schema=GROUND_SCHEMA,
        site=site.name,
        warning=site.heights.warning,
        basis=site.heights.basis,
        rough_error_m=site.ground.leave_one_out_m,
        levelled_points=len(site.ground.points_m) - scan_points,
        scan_points=scan_points,
        triangles=len(site.ground.triangles_xy),
        files=files,
        scan=scan,
        doubts=tuple(one for one in record_doubts(site.heights.doubts) if one not in told),
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


def find_largest_met(report: GroundReport) -> MetRecord | None:
    """The levelled point that the scan misses most."""
    met = () if report.scan is None else report.scan.met
    return max(met, key=lambda one: abs(one.off_m), default=None)


def measure_met(report: GroundReport) -> float | None:
    """Root mean square of what the scan misses levelled points by; ``None`` without any."""
    met = () if report.scan is None else report.scan.met
    return math.sqrt(float(np.mean([one.off_m**2 for one in met]))) if met else None
