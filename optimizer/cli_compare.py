"""Options of a saved plan side by side; heavy rooms are imported inside the command, as in ``cli``."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class Studied(StrEnum):
    """What a study changes step by step."""

    SLOPE = "slope"
    WIDTH = "width"
    THRESHOLD = "threshold"


def compare(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    candidate: Annotated[
        list[int] | None,
        typer.Option(help="candidates to compare, counted from 1; else the cheapest of each shape"),
    ] = None,
    study: Annotated[
        Studied | None, typer.Option(help="solve anew with a gentler slope, more width, another threshold")
    ] = None,
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    out: Annotated[Path, typer.Option(help="folder for compare.csv and compare.svg")] = Path("out"),
) -> None:
    """Options side by side: price, what differs and by how much, walk, ground taken, slope, findings."""
    from optimizer.compare.chart import draw_chart
    from optimizer.compare.options import compare_options
    from optimizer.compare_table import draw_comparison, format_csv
    from optimizer.plan_file import read_plan
    from optimizer.plan_table import measure_page_width
    from optimizer.written_files import prepare_folder, write_whole

    plan = read_plan(file)
    comparison = compare_options(plan, candidate or ())
    prepare_folder(out)
    write_whole(out / "compare.csv", format_csv(comparison))
    write_whole(out / "compare.svg", draw_chart(comparison))
    typer.echo(draw_comparison(comparison, measure_page_width()))
    if study is not None:
        typer.echo(f"\n{_run_study(file, study, site, measure_page_width())}")
    for name in ("compare.csv", "compare.svg"):
        typer.echo(f"written: {out / name}", err=True)


def _run_study(file: Path, studied: Studied, site_path: Path | None, width: int) -> str:
    from optimizer.check_again import read_plan_site
    from optimizer.compare.study import study
    from optimizer.compare_table import draw_study
    from optimizer.pipeline import make_plan
    from optimizer.plan_file import read_plan

    plan = read_plan(file)
    site = read_plan_site(plan, file, site_path)
    steps = []
    for step in study(site, studied.value, make_plan):
        steps.append(step)
        typer.echo(f"  {studied.value} {step.asked}: solved", err=True)
    return draw_study(plan, studied.value, steps, width)
