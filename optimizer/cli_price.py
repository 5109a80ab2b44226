"""Commands on what a saved plan costs; heavy rooms are imported inside them, as in ``cli``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def take_off(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    candidate: Annotated[int, typer.Option(help="candidate of the plan, counted from 1")] = 1,
    out: Annotated[Path, typer.Option(help="folder for take-off.csv")] = Path("out"),
) -> None:
    """Every part of one candidate counted once, with the ids of what uses it, to be ticked by hand."""
    from optimizer.check_again import read_plan_site
    from optimizer.errors import Fault, InputError
    from optimizer.estimate.take_off import build_take_off
    from optimizer.plan_file import read_plan
    from optimizer.plan_table import measure_page_width
    from optimizer.take_off_table import draw_take_off, format_take_off
    from optimizer.written_files import prepare_folder, write_whole

    plan = read_plan(file)
    if not 1 <= candidate <= len(plan.candidates):
        what = f"the plan has {len(plan.candidates)} candidates, {candidate} is none of them."
        raise InputError(Fault("--candidate", what, "Count from 1; a plan without one has nothing to count."))
    chosen = plan.candidates[candidate - 1]
    counted = build_take_off(chosen, read_plan_site(plan, file, site).catalogue)
    prepare_folder(out)
    write_whole(out / "take-off.csv", format_take_off(counted))
    typer.echo(draw_take_off(plan, chosen, counted, measure_page_width()))
    typer.echo(f"written: {out / 'take-off.csv'}", err=True)
