"""Commands on whether a saved plan's legs will fit; heavy rooms are imported inside them, as in ``cli``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from optimizer.errors import Fault, InputError


def spares(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    share: Annotated[
        float, typer.Option(help="chance that every leg can be set on the day, such as 0.95 or 0.99")
    ] = 0.95,
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    candidate: Annotated[int, typer.Option(help="candidate of the plan, counted from 1")] = 1,
) -> None:
    """The cheapest spare legs to load, so that hardly any ground finds the crew without the right one."""
    if not 0.0 < share < 1.0:
        remedy = "Give more than 0 and less than 1, as 0.95."
        raise InputError(Fault("--share", f"{share:g} is no chance.", remedy))
    from optimizer.fit_plans import ask_plan, find_plan_spares
    from optimizer.fit_tables import draw_spares
    from optimizer.plan_table import measure_page_width

    asked = ask_plan(file, site, candidate)
    typer.echo(draw_spares(asked, find_plan_spares(asked, share), measure_page_width()))


def measure_here(
    file: Annotated[Path, typer.Argument(help="plan.json")],
    site: Annotated[
        Path | None, typer.Option(help="folder of the plan's site, when it has moved since the plan was made")
    ] = None,
    candidate: Annotated[int, typer.Option(help="candidate of the plan, counted from 1")] = 1,
) -> None:
    """Where one more shot tells most of whether the legs fit, and what a shot at every leg would tell."""
    from optimizer.fit_plans import ask_plan, find_plan_shots, find_plan_winners
    from optimizer.fit_tables import draw_shots
    from optimizer.plan_table import measure_page_width

    asked = ask_plan(file, site, candidate)
    typer.echo(draw_shots(asked, find_plan_shots(asked), find_plan_winners(asked), measure_page_width()))
