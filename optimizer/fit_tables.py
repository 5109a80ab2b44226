"""Spares to load and places to shoot, as tables for a terminal."""

from __future__ import annotations

import io

from rich.console import Console
from rich.table import Table

from optimizer.brief.site import Site
from optimizer.chance.joint_chance import Chance
from optimizer.chance.measure_here import LegShot, UsefulShot
from optimizer.chance.spare_sets import NoSpareSet, SpareSet
from optimizer.fit_plans import SHOTS, FitQuestion, ShotsFound, SparesFound
from optimizer.fit_words import TWO, show_chance
from optimizer.schedule_tables import build_console, build_table, choose_gap, show_cents, show_length


def draw_spares(asked: FitQuestion, spares: SparesFound, width: int) -> str:
    """What to load beyond the plan, what it costs and what it promises; ``width`` in characters."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    console.print(
        f"{asked.plan.site.name}, {asked.candidate.name}: spare legs for {spares.share:g} of days\n"
    )
    _print_warning(console, asked)
    console.print(f"Without spares every leg can be set with a chance of {_show_counted(spares.bare)}.")
    found = spares.found
    if isinstance(found, NoSpareSet):
        console.print(
            f"No spares reach {show_chance(spares.share)} %: {show_chance(found.best_share)} % is the most."
        )
        if found.culprits:
            console.print(
                f"No type fits often enough at {', '.join(found.culprits)}: shoot there again "
                "(evenfall measure-here)."
            )
    elif not found.spares:
        console.print("No spare is needed for that.")
    else:
        console.print()
        console.print(_draw_spare_table(asked, found, choose_gap(width)))
        console.print(f"\nTogether {show_cents(found.cost_cents)} {asked.plan.currency} with their feet.")
    if spares.promised is not None:
        console.print(
            f"Promised: {_show_counted(spares.promised)}, counted on grounds that did not choose the spares."
        )
    console.print("Braces that a taller leg asks for are not counted, and the foot's place is kept.")
    return _finish(buffer)


def draw_shots(asked: FitQuestion, shots: ShotsFound, width: int) -> str:
    """Where to shoot next, and what a shot at every leg would tell; ``width`` in characters."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    console.print(f"{asked.plan.site.name}, {asked.candidate.name}: where a shot helps most\n")
    _print_warning(console, asked)
    if shots.useful:
        console.print(_draw_useful(asked.site, shots.useful, choose_gap(width)))
    if len(shots.useful) < SHOTS:
        console.print("No further shot would tell anything of whether the legs fit.")
    console.print(f"\nOne shot at each leg ({len(shots.at_legs)}), those that tell most first\n")
    console.print(_draw_at_legs(asked.site, shots.at_legs, choose_gap(width)))
    console.print(
        '\n"told": how much of the doubt whether legs fit a shot is expected to settle (in the first table '
        "together with those above it; in the second that leg's own); bedding and setting stay. "
        f"Standard error of a shot {show_length(asked.site, shots.shot_error_m)}. x and y are the survey's."
    )
    return _finish(buffer)


def _print_warning(console: Console, asked: FitQuestion) -> None:
    if asked.site.heights.warning:
        console.print(f"Do not order by these: {asked.site.heights.warning}.")


def _draw_spare_table(asked: FitQuestion, found: SpareSet, gap: int) -> Table:
    names = {one.id: one.name for one in (*asked.site.catalogue.legs, *asked.site.catalogue.low_supports)}
    table = build_table(("load", "type", "part"), ("load",), gap)
    for one in found.spares:
        table.add_row(str(one.count), one.type_id, names[one.type_id])
    return table


def _draw_useful(site: Site, shots: tuple[UsefulShot, ...], gap: int) -> Table:
    table = build_table(("shot", "x", "y", "nearest to", "told\n%"), ("shot", "x", "y", "told\n%"), gap)
    for number, one in enumerate(shots, start=1):
        table.add_row(str(number), *_show_place(site, one.xy_m), one.near, show_chance(one.removes))
    return table


def _draw_at_legs(site: Site, shots: tuple[LegShot, ...], gap: int) -> Table:
    right = ("x", "y", "does not\nfit %", "told\n%")
    table = build_table(("leg", *right), right, gap)
    for one in shots:
        place = _show_place(site, one.xy_m)
        table.add_row(one.leg, *place, show_chance(one.fails), show_chance(one.removes))
    return table


def _show_place(site: Site, xy_m: tuple[float, float]) -> tuple[str, str]:
    x, y = (show_length(site, at + float(off)) for at, off in zip(xy_m, site.origin_shift_m[:2], strict=True))
    return x, y


def _show_counted(chance: Chance) -> str:
    return f"{show_chance(chance.share)} % (+/- {100.0 * TWO * chance.standard_error:.1f} %)"


def _finish(buffer: io.StringIO) -> str:
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())
