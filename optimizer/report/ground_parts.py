"""The survey: how many levels, how far they may be off, and what to look at again."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.documents.job import DocumentJob
from optimizer.ground_records import GroundReport
from optimizer.plan import FitRecord
from optimizer.plan_table import describe_ground
from optimizer.report.parts import Chapter, Part, Rows, Words
from optimizer.report.survey_parts import list_survey_parts
from optimizer.schedule_tables import format_doubt
from optimizer.sheets.lengths import show_along_and_out, show_height
from optimizer.visit.shots import to_door


def list_ground_parts(job: DocumentJob, ground_report: GroundReport) -> Iterator[Part]:
    """What the heights rest on, with every doubt; places are told from the door, looking out."""
    ground = job.plan.ground
    yield Chapter("The survey and its error")
    if ground.warning:
        yield Words("", (f"{ground.warning[:1].upper()}{ground.warning[1:]}.",), "frame")
    yield Rows("", ("", ""), tuple(_list_ground_rows(job)), (2, 5))
    yield from list_survey_parts(ground_report, job.site)
    if ground.doubts:
        rows = tuple((one.where, one.what, one.remedy) for one in ground.doubts)
        yield Rows("Look again before relying on it", ("where", "what", "what to do"), rows, (3, 5, 5))
    else:
        yield Words("", ("Nothing in the survey contradicts itself, so far as it can be looked at.",))
    if ground.thin_places_m:
        yield Rows(
            "Thinly surveyed places",
            ("from the middle of the door", "ground there, from the sill"),
            tuple(_list_thin_rows(job)),
            (3, 3),
        )


def _list_ground_rows(job: DocumentJob) -> Iterator[tuple[str, str]]:
    plan = job.plan
    yield "points of the ground", str(plan.ground.points_used)
    yield "how sure", describe_ground(plan, job.site)
    if plan.fit is not None:
        yield "standard errors beside the ground's own", _describe_spreads(job, plan.fit)
        yield "possible grounds counted", f"{plan.fit.grounds} (seed {plan.fit.seed})"


def _describe_spreads(job: DocumentJob, fit: FitRecord) -> str:
    told = (("reading", fit.reading_m), ("bedding", fit.bedding_m), ("setting", fit.frame_m))
    return ", ".join(f"{what} {format_doubt(job.site, error_m)}" for what, error_m in told)


def _list_thin_rows(job: DocumentJob) -> Iterator[tuple[str, str]]:
    start, lengths = job.start, job.lengths
    for x_m, y_m, z_m in job.plan.ground.thin_places_m:
        place = show_along_and_out(lengths, *to_door(start, x_m, y_m))
        yield place, show_height(lengths, z_m - start.threshold_m)
