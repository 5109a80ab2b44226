"""Spares to load and places to shoot, as tables for a terminal."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Final

import numpy as np
from rich.console import Console
from rich.table import Table

from optimizer.brief.site import Site
from optimizer.chance.joint_chance import Chance
from optimizer.chance.measure_here import LegShot, UsefulShot
from optimizer.chance.spare_sets import NoSpareSet, SpareSet
from optimizer.fit_plans import SHOTS, FitQuestion, FootShot, ShotsFound, SparesFound, WinnersFound
from optimizer.fit_words import TWO, show_chance
from optimizer.schedule_tables import build_console, build_table, choose_gap, show_cents, show_length
from optimizer.terrain.frames import build_door_frame

#: Heads of a place told from the door.
_ALONG: Final = ("along the wall", "out from it")


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


def draw_shots(asked: FitQuestion, shots: ShotsFound, winners: WinnersFound, width: int) -> str:
    """Where to shoot next, and what a shot at every leg would tell; ``width`` in characters."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    console.print(f"{asked.plan.site.name}, {asked.candidate.name}: where a shot helps most\n")
    _print_warning(console, asked)
    if shots.useful:
        console.print(_draw_useful(asked, shots.useful, choose_gap(width)))
    if len(shots.useful) < SHOTS:
        console.print("No further shot would tell anything of whether the legs fit.")
    console.print(f"\nOne shot at each leg ({len(shots.at_legs)}), those that tell most first\n")
    console.print(_draw_at_legs(asked, shots.at_legs, choose_gap(width)))
    console.print(
        '\n"told": how much of the doubt whether legs fit a shot is expected to settle (in the first table '
        "together with those above it; in the second that leg's own); bedding and setting stay. "
        f"Standard error of a shot {show_length(asked.site, shots.shot_error_m)}. Along the wall "
        "counts from the middle of the door, looking out; x and y are the survey's."
    )
    console.print("\n" + " ".join(_tell_winners(winners)))
    if winners.shots:
        console.print("\nWhere one shot may change that, each on its own\n")
        console.print(_draw_foot_shots(asked, winners.shots, choose_gap(width)))
        console.print(
            '\n"changes": the chance that what it reads makes another candidate, or none, the one that most '
            "often is the cheapest that fits."
        )
    else:
        console.print("No single shot at a foot is likely to change that.")
    return _finish(buffer)


def _tell_winners(found: WinnersFound) -> Iterator[str]:
    """Whether what the ground turns out to be may change which candidate is the one to build."""
    shares = ", ".join(
        f"{candidate.name} on {show_chance(one.share)} %"
        for candidate, one in zip(found.candidates, found.winners.first, strict=True)
        if one.share > 0.0
    )
    if shares:
        yield f"The cheapest whose legs all fit as planned: {shares} of the possible grounds"
        yield f"({show_chance(found.winners.none.share)} %: none)."
    else:
        yield "On none of the possible grounds do all legs of any candidate fit as planned."
    if found.winners.open_ones:
        names = ", ".join(found.candidates[number].name for number in found.winners.open_ones)
        yield f"Not counted, over ground left open: {names}."


def _print_warning(console: Console, asked: FitQuestion) -> None:
    if asked.site.heights.warning:
        console.print(f"Do not order by these: {asked.site.heights.warning}.")


def _draw_spare_table(asked: FitQuestion, found: SpareSet, gap: int) -> Table:
    names = {one.id: one.name for one in (*asked.site.catalogue.legs, *asked.site.catalogue.low_supports)}
    table = build_table(("load", "type", "part"), ("load",), gap)
    for one in found.spares:
        table.add_row(str(one.count), one.type_id, names[one.type_id])
    return table


def _draw_useful(asked: FitQuestion, shots: tuple[UsefulShot, ...], gap: int) -> Table:
    right = ("shot", "x", "y", "told\n%")
    table = build_table(("shot", *_ALONG, "nearest to", "told\n%", "x", "y"), right, gap)
    for number, one in enumerate(shots, start=1):
        place = _show_from_door(asked, one.xy_m)
        told = show_chance(one.removes)
        table.add_row(str(number), *place, one.near, told, *_show_place(asked.site, one.xy_m))
    return table


def _draw_at_legs(asked: FitQuestion, shots: tuple[LegShot, ...], gap: int) -> Table:
    right = ("x", "y", "does not\nfit %", "told\n%")
    table = build_table(("leg", *_ALONG, *right[2:], *right[:2]), right, gap)
    for one in shots:
        told = (show_chance(one.fails), show_chance(one.removes))
        table.add_row(one.leg, *_show_from_door(asked, one.xy_m), *told, *_show_place(asked.site, one.xy_m))
    return table


def _draw_foot_shots(asked: FitQuestion, shots: tuple[FootShot, ...], gap: int) -> Table:
    right = ("x", "y", "changes\n%")
    table = build_table(("at", *_ALONG, right[2], *right[:2]), right, gap)
    for one in shots:
        place = (
            *_show_from_door(asked, one.xy_m),
            show_chance(one.changes),
            *_show_place(asked.site, one.xy_m),
        )
        table.add_row(f"{one.candidate} {one.leg}", *place)
    return table


def _show_from_door(asked: FitQuestion, xy_m: tuple[float, float]) -> tuple[str, str]:
    """``2.350 m right`` of the middle of the door, looking out, and how far out from the wall."""
    start = next(one for one in asked.site.yard.starts if one.name == asked.candidate.start)
    ((along_m, out_m),) = build_door_frame(start).to_door(np.array([xy_m])).tolist()
    side = "right" if along_m >= 0.0 else "left"
    inward = "out" if out_m >= 0.0 else "in"
    return (
        f"{show_length(asked.site, abs(along_m))} {side}",
        f"{show_length(asked.site, abs(out_m))} {inward}",
    )


def _show_place(site: Site, xy_m: tuple[float, float]) -> tuple[str, str]:
    x, y = (show_length(site, at + float(off)) for at, off in zip(xy_m, site.origin_shift_m[:2], strict=True))
    return x, y


def _show_counted(chance: Chance) -> str:
    return f"{show_chance(chance.share)} % (+/- {100.0 * TWO * chance.standard_error:.1f} %)"


def _finish(buffer: io.StringIO) -> str:
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())
