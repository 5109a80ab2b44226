"""Options side by side as text for a terminal, and as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Final

from rich.table import Table

from optimizer.compare.differences import LineDifference, list_differences
from optimizer.compare.options import Comparison, Option
from optimizer.compare.study import StudyStep
from optimizer.fit_words import show_chance, show_tallest_leg
from optimizer.plan import Candidate, Plan
from optimizer.schedule_tables import build_console, build_table, choose_gap, show_cents
from optimizer.shape_words import EXIT_WORDS, describe_shape
from optimizer.units import Slope, format_length

#: So many price lines that differ are shown; the CSV has all.
_SHOWN: Final = 8


def draw_comparison(comparison: Comparison, width: int) -> str:
    """Side by side, what none beats, and why the dearer ones cost more; ``width`` in characters."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    gap = choose_gap(width)
    plan, options = comparison.plan, comparison.options
    dated = plan.site.rates_dated
    console.print(f"{plan.site.name}: options by total price, {plan.currency}, rates of {dated}")
    if comparison.totals_differ:
        console.print("By direct price, which is what is proven, the order is another.")
    else:
        console.print("What is proven is the direct price; the total adds to it.")
    console.print()
    console.print(_draw_options(plan, options, gap))
    unbeaten = [one.candidate.name for one in options if not one.beaten_by]
    console.print(f"\nBeaten by no other in total price, walk and footprint at once: {', '.join(unbeaten)}.")
    for one in options:
        if one.beaten_by:
            console.print(f"{one.candidate.name}: no better in any of them than {', '.join(one.beaten_by)}.")
        if one.best_at:
            console.print(f"{one.candidate.name} has the {', '.join(one.best_at)}.")
    for one in options[1:]:
        more_cents = one.candidate.price_cents - options[0].candidate.price_cents
        first, dearer = options[0].candidate.name, one.candidate.name
        console.print(f"\nWhy {dearer} costs {show_cents(more_cents)} more than {first}\n")
        console.print(_draw_differences(list_differences(options[0].candidate, one.candidate), gap))
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())


def draw_study(plan: Plan, title: str, steps: Sequence[StudyStep], width: int) -> str:
    """One row a step of a study."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    right = ("direct", "total", "less or more\nthan the first", "walk", "area m2")
    table = build_table((title, "shape", *right), right, choose_gap(width))
    first = next((one.candidate for one in steps if one.candidate is not None), None)
    for step in steps:
        if step.candidate is None or first is None:
            word = "none on the lattice" if step.status == "infeasible_on_lattice" else "none found in time"
            table.add_row(step.asked, word, "", "", "", "", "")
            continue
        one = step.candidate
        table.add_row(
            step.asked,
            f"{describe_shape(one)} {EXIT_WORDS[one.exit]}",
            show_cents(one.direct_cost_cents),
            show_cents(one.price_cents),
            _show_more(one.price_cents - first.price_cents),
            _show(plan, one.walking_length_m),
            f"{one.footprint_m2:.1f}",
        )
    console.print(table)
    console.print(
        "\nEach step is solved anew, with slopes of its own to choose from; the cheapest by direct price."
    )
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())


def format_csv(comparison: Comparison) -> str:
    """Every figure of every option, one row a figure, then every price line; lengths in metres."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    options = [one.candidate for one in comparison.options]
    writer.writerow(["figure", "unit", *(_as_text(one.name) for one in options)])
    currency = comparison.plan.currency
    rows: tuple[tuple[str, str, list[object]], ...] = (
        ("shape", "", [describe_shape(one) for one in options]),
        ("proof of the direct price", "", [one.proof for one in options]),
        ("direct price", currency, [f"{one.direct_cost_cents / 100:.2f}" for one in options]),
        ("total price", currency, [f"{one.price_cents / 100:.2f}" for one in options]),
        ("weight", "kg", [f"{one.weight_kg:.1f}" for one in options]),
        ("walking length", "m", [f"{one.walking_length_m:.3f}" for one in options]),
        ("footprint", "m2", [f"{one.footprint_m2:.2f}" for one in options]),
        ("steepest slope", "ratio", [f"{one.steepest_slope:.5f}" for one in options]),
        ("tallest leg", "m", [_as_number(find_tallest(one), 4) for one in options]),
        ("chance that all legs fit", "", [_as_number(one.fit_chance, 4) for one in options]),
        ("findings that fail", "", [count(one, "fails") for one in options]),
        ("findings that cannot be told", "", [count(one, "cannot tell") for one in options]),
    )
    for name, unit, values in rows:
        writer.writerow([name, unit, *values])
    keys = dict.fromkeys((line.group, line.part, line.name) for one in options for line in one.price_lines)
    for group, part, name in keys:
        sums = [
            sum(line.total_cents for line in one.price_lines if (line.group, line.part) == (group, part))
            for one in options
        ]
        writer.writerow([_as_text(f"{group}: {name}"), currency, *(f"{cents / 100:.2f}" for cents in sums)])
    return buffer.getvalue()


def find_tallest(candidate: Candidate) -> float | None:
    """Height of the tallest leg, metres; ``None`` without legs."""
    return max((leg.height_m for leg in candidate.legs if leg.kind == "leg"), default=None)


def count(candidate: Candidate, verdict: str) -> int:
    """Findings of a verdict."""
    return sum(finding.verdict == verdict for finding in candidate.findings)


def _as_number(value: float | None, decimals: int) -> str:
    return "" if value is None else f"{value:.{decimals}f}"


def _as_text(words: str) -> str:
    """Text that a spreadsheet does not take for a formula."""
    return f"'{words}" if words[:1] in "=+-@\t\r" else words


def _draw_options(plan: Plan, options: Sequence[Option], gap: int) -> Table:
    names = [f"{one.number} {one.candidate.shape}" for one in options]
    table = build_table(("", *names), names, gap)
    candidates = [one.candidate for one in options]
    table.add_row("leaves the door", *(EXIT_WORDS[one.exit] for one in candidates))
    table.add_row("total price", *(show_cents(one.price_cents) for one in candidates))
    table.add_row("direct price", *(show_cents(one.direct_cost_cents) for one in candidates))
    table.add_row("direct price is", *(one.proof for one in candidates))
    table.add_row("weight", *(f"{one.weight_kg:.0f} kg" for one in candidates))
    table.add_row("walking length", *(_show(plan, one.walking_length_m) for one in candidates))
    table.add_row("footprint", *(f"{one.footprint_m2:.1f} m2" for one in candidates))
    table.add_row("turns", *(str(sum(turn != "straight" for turn in one.turns)) for one in candidates))
    table.add_row(
        "steepest slope",
        *(str(Slope.from_ratio(one.steepest_slope)).split(" ", maxsplit=1)[0] for one in candidates),
    )
    table.add_row("tallest leg", *(show_tallest_leg(plan, one) for one in candidates))
    if plan.fit is not None:
        table.add_row("all legs fit, %", *(show_chance(one.fit_chance) for one in candidates))
    table.add_row(
        "findings fail / cannot tell",
        *(f"{count(one, 'fails')} / {count(one, 'cannot tell')}" for one in candidates),
    )
    return table


def _draw_differences(differences: Sequence[LineDifference], gap: int) -> Table:
    right = ("count", "count then", "more or less")
    table = build_table(("part", *right), right, gap)
    for one in differences[:_SHOWN]:
        counts = ("", "") if one.group == "added" else (str(one.first_count), str(one.second_count))
        table.add_row(one.name, *counts, _show_more(one.more_cents))
    rest = differences[_SHOWN:]
    if rest:
        table.add_row(f"{len(rest)} other lines", "", "", _show_more(sum(one.more_cents for one in rest)))
    table.add_row("together", "", "", _show_more(sum(one.more_cents for one in differences)))
    return table


def _show_more(cents: int) -> str:
    return f"{'+' if cents > 0 else ''}{show_cents(cents)}"


def _show(plan: Plan, length_m: float) -> str:
    return format_length(length_m, plan.display_units, plan.display_step_m)
