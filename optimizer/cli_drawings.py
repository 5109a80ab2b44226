"""The command that draws a saved plan; heavy rooms are imported inside it, as in ``cli``."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class PaperFamily(StrEnum):
    """Sheets to draw on."""

    ISO = "iso"
    US = "us"


def drawings(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    candidate: Annotated[int, typer.Option(help="candidate of the plan, counted from 1")] = 1,
    paper: Annotated[
        PaperFamily | None,
        typer.Option(help="A3 and larger, or 11 x 17 in and larger; by the site's units when left out"),
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="folder for the files; beside the plan when left out")
    ] = None,
) -> None:
    """Drawing set of a candidate: sheets to scale as PDF, the same lines as DXF, outlines as GeoJSON."""
    from optimizer.check_again import read_plan_site
    from optimizer.drawings.scales import choose_kind
    from optimizer.drawings.write_drawings import write_drawings
    from optimizer.plan_file import read_plan

    plan = read_plan(file)
    read = read_plan_site(plan, file, site)
    kind = choose_kind(read.display.system) if paper is None else paper.value
    for path in write_drawings(read, plan, candidate, kind, file.parent if out is None else out):
        typer.echo(f"written: {path}", err=True)
