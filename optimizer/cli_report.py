"""The command that writes the report on a plan; heavy rooms are imported inside it, as in ``cli``."""

from __future__ import annotations

import tempfile
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from optimizer.cli_words import Pictures
from optimizer.errors import DrawingError, Fault, InputError

if TYPE_CHECKING:
    from optimizer.documents.job import DocumentJob
    from optimizer.report.parts import Still

NO_PICTURES: Final = "None were asked for."


class ReportPaper(StrEnum):
    """Paper of the report."""

    A4 = "a4"
    LETTER = "us-letter"


def report(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    candidate: Annotated[int, typer.Option(help="candidate told in full, counted from 1")] = 1,
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE.pdf", help="the file; left out: report.pdf beside the plan")
    ] = None,
    paper: Annotated[ReportPaper, typer.Option(help="paper of the pages")] = ReportPaper.A4,
    pictures: Annotated[Pictures, typer.Option(help="put pictures into the report, or none")] = Pictures.ALL,
) -> None:
    """Everything about a plan in one PDF: survey, candidates, findings, price, and how to make it again."""
    if out is not None and out.suffix.lower() != ".pdf":
        raise InputError(Fault("--out", f"{out} is no PDF.", "Name a file that ends in .pdf."))
    from optimizer.brief.read_site import read_surveyed_site
    from optimizer.documents.job import read_job
    from optimizer.ground_report import build_ground_report
    from optimizer.report.build_report import build_plan_report
    from optimizer.report.parts import set_report
    from optimizer.report.source_files import list_source_files
    from optimizer.written_files import prepare_folder, write_whole_bytes

    job = read_job(file, site, candidate, paper.value)
    files = list_source_files(file, job.site.path)
    path = file.parent / "report.pdf" if out is None else out
    # Before the pictures, which take seconds: a place that cannot be written is told at once.
    prepare_folder(path.parent)
    stills: tuple[Still, ...] = ()
    without = NO_PICTURES
    if pictures is Pictures.ALL:
        try:
            stills = _find_stills(job, file)
        except DrawingError as error:
            without = f"None could be drawn: {error}"
            typer.echo(f"no pictures in the report: {error}", err=True)
    ground = build_ground_report(read_surveyed_site(job.site.path))
    (content,) = set_report(build_plan_report(job, ground, stills, without, files))
    write_whole_bytes(path, content)
    typer.echo(f"written: {path}", err=True)


def _find_stills(job: DocumentJob, file: Path) -> tuple[Still, ...]:
    """Those that lie beside the plan and are no older than it; else they are drawn for the report alone."""
    from optimizer.report.read_stills import StillFile, are_current, read_stills
    from viewer.stills import name_still, write_stills

    named = [
        StillFile(name_still(number, one, "overview"), f"{one.name}, the whole ramp")
        for number, one in enumerate(job.plan.candidates, start=1)
    ]
    best = job.plan.candidates[0]
    named.insert(1, StillFile(name_still(1, best, "street"), f"{best.name}, as seen from the street"))
    if are_current(named, file):
        return read_stills(named, file.parent)
    with tempfile.TemporaryDirectory() as folder:
        write_stills(file, job.site.path, Path(folder))
        return read_stills(named, Path(folder))
