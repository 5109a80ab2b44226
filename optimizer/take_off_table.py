"""A take-off as a finger count for a terminal, every item named so that it can be ticked, and as CSV."""

from __future__ import annotations

import csv
import io
from textwrap import wrap
from typing import Final

from optimizer.estimate.take_off import GROUPS, TakeOff
from optimizer.plan import Candidate, Plan
from optimizer.schedule_tables import build_console, show_cents

#: Ids stand below their part's name.
_INDENT: Final = " " * 7


def draw_take_off(plan: Plan, candidate: Candidate, take_off: TakeOff, width: int) -> str:
    """Groups with their sums; ``width`` in characters."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    console.print(f"{plan.site.name}: take-off of {candidate.name}; tick each id as it is counted\n")
    for group in GROUPS:
        lines = [line for line in take_off.lines if line.group == group]
        if lines:
            console.print(f"{take_off.count(group)} x {group}")
        for line in lines:
            name = f"{line.part.name}, {line.detail.replace('_', ' ')}" if line.detail else line.part.name
            money = f"{show_cents(line.total_cents)} {plan.currency}"
            said = f"{line.count:>4} {name}: {line.weight_kg:.1f} kg, {money}"
            console.print("\n".join(wrap(said, width, initial_indent="  ", subsequent_indent=_INDENT)))
            ticks = " ".join(f"[_]{item}" for item in line.items)
            indent = _INDENT
            console.print(
                "\n".join(wrap(ticks, width, initial_indent=indent, subsequent_indent=indent)), markup=False
            )
    if take_off.relief_cents:
        console.print(f"\nRelief from the setback: {show_cents(take_off.relief_cents)} {plan.currency}.")
    direct = show_cents(take_off.direct_cents)
    console.print(
        f"\nTogether {take_off.weight_kg:.1f} kg; direct cost {direct} {plan.currency}, as in the plan."
    )
    console.print("Bolts and other small fixings are not in the catalogue and are not counted.")
    console.print("Gloves and eye protection, team lifts, nobody under an unsupported section.")
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())


def format_take_off(take_off: TakeOff) -> str:
    """One row a line as CSV; money in whole cents, mass in kilograms.

    A text that a spreadsheet would take for a formula is kept text by an apostrophe before it.
    """
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(
        ("group", "part", "name", "use_or_setting", "count", "each_kg", "each_cents", "cents", "items")
    )
    for line in take_off.lines:
        part = line.part
        texts = [_as_text(words) for words in (line.group, part.id, part.name, line.detail)]
        row = (line.count, part.weight_kg, line.unit_cents, line.total_cents)
        writer.writerow((*texts, *row, " ".join(line.items)))
    return buffer.getvalue()


def _as_text(words: str) -> str:
    return f"'{words}" if words.startswith(("=", "+", "-", "@")) else words
