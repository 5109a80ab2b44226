"""Commands on what was surveyed and what to survey; heavy rooms are imported inside, as in ``cli``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

import typer

from optimizer.cli_words import Pictures, SheetUnit
from optimizer.errors import DrawingError, Fault, InputError

#: The picture of ``evenfall ground``.
RELIEF_NAME: Final = "ground.png"


def ground(
    site: Annotated[Path, typer.Argument(help="folder of the site, or its site.toml")],
    out: Annotated[Path, typer.Option(help="folder for ground.json and the picture")] = Path("out"),
    pictures: Annotated[Pictures, typer.Option(help="draw a picture of the relief, or none")] = Pictures.ALL,
    json: Annotated[bool, typer.Option("--json", help="print the report as JSON instead of tables")] = False,
) -> None:
    """What was surveyed: read, thrown away, fitted, and how sure the heights are."""
    from optimizer.brief.read_site import read_surveyed_site
    from optimizer.ground_report import (
        GROUND_NAME,
        build_ground_report,
        format_ground_report,
        write_ground_report,
    )
    from optimizer.ground_table import draw_ground
    from optimizer.plan_table import measure_page_width
    from optimizer.written_files import prepare_folder, remove_earlier

    read = read_surveyed_site(site)
    prepare_folder(out)
    remove_earlier(out, (RELIEF_NAME,))
    report = build_ground_report(read)
    write_ground_report(report, out / GROUND_NAME)
    typer.echo(format_ground_report(report) if json else draw_ground(report, read.site, measure_page_width()))
    typer.echo(f"written: {out / GROUND_NAME}", err=True)
    if pictures is Pictures.ALL:
        typer.echo(draw_relief_picture(site, out), err=True)


def draw_relief_picture(site: Path, out: Path) -> str:
    """Draw the relief, or tell what would mend that it cannot be drawn."""
    from viewer.relief_still import write_relief

    try:
        return f"written: {write_relief(site, out / RELIEF_NAME)}"
    except DrawingError as error:
        return f"no picture of the ground: {error}"


def survey_sheet(
    site: Annotated[Path | None, typer.Argument(help="folder of the site, or its site.toml")] = None,
    blank: Annotated[bool, typer.Option("--blank", help="a sheet for a job that has no files yet")] = False,
    plan: Annotated[  # the option's name
        Path | None, typer.Option(help="plan.json: the levels to take again, with limits")
    ] = None,
    candidate: Annotated[int, typer.Option(help="candidate of the plan, counted from 1")] = 1,
    unit: Annotated[SheetUnit, typer.Option(help="unit of a blank sheet")] = SheetUnit.M,
    out: Annotated[Path, typer.Option(help="folder for the sheet and the level book to fill")] = Path("out"),
) -> None:
    """A sheet to print for a visit: what to ask, level and photograph; after a plan, what to level again."""
    from optimizer.visit_files import choose_sheet, write_sheet

    if (site is None) != blank:
        what = "a blank sheet is of no site." if blank else "no site is named."
        raise InputError(Fault("SITE", what, "Name a site, or give --blank."))
    for path in write_sheet(choose_sheet(site, plan, candidate, unit.value), out):
        typer.echo(f"written: {path}", err=True)
