"""The report on a plan: job, survey, candidates, findings, price, pictures, and how to make it again."""

from __future__ import annotations

from optimizer.documents.job import DocumentJob
from optimizer.findings_table import NOT_AN_APPROVAL
from optimizer.ground_records import GroundReport
from optimizer.report.candidate_parts import list_candidate_parts
from optimizer.report.finding_parts import list_finding_parts
from optimizer.report.ground_parts import list_ground_parts
from optimizer.report.job_parts import list_job_parts
from optimizer.report.parts import Chapter, Part, Report, Still, Stills, Words
from optimizer.report.price_parts import list_price_parts
from optimizer.report.remake_parts import list_remake_parts
from optimizer.report.source_files import SourceFile
from optimizer.shape_words import describe_shape

#: Common practice, no source.
_CAUTIONS = (
    "Gloves and eye protection; lift as a team; nobody under an unsupported section.",
    "Utilities are located before anybody digs; the makers' instructions and local rules go first.",
)


def build_plan_report(
    job: DocumentJob,
    ground: GroundReport,
    stills: tuple[Still, ...],
    no_stills: str,
    files: tuple[SourceFile, ...],
) -> Report:
    """The whole report on a plan and one of its candidates.

    ``ground``: what the survey says of itself; ``no_stills``: why there are no pictures, told where
    ``stills`` is empty; ``files``: what the plan was made from.
    """
    plan, candidate = job.plan, job.candidate
    return Report(
        title=f"Report: {plan.site.name}",
        below=f"{candidate.name}, {describe_shape(candidate)}; site of {plan.site.dated}",
        warning=plan.ground.warning and f"Not to order legs by: {plan.ground.warning}.",
        parts=(
            *list_job_parts(job),
            *list_ground_parts(job, ground),
            *list_candidate_parts(job),
            *_list_still_parts(stills, no_stills),
            *list_finding_parts(job),
            *list_price_parts(job),
            *list_remake_parts(job, files),
            Words("Cautions", _CAUTIONS, "dash"),
        ),
        foot=NOT_AN_APPROVAL,
        paper=job.paper,
    )


def _list_still_parts(stills: tuple[Still, ...], no_stills: str) -> tuple[Part, ...]:
    chapter = Chapter("Pictures")
    return (chapter, Stills(stills)) if stills else (chapter, Words("", (no_stills,)))
