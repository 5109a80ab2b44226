"""The plan as tables for a terminal: what an estimator reads first."""

from __future__ import annotations

import io
import shutil
import textwrap
from collections.abc import Iterator

from rich.console import Console
from rich.table import Table

from optimizer.brief.site import Site
from optimizer.findings_report import FindingsReport, SetReport, build_report
from optimizer.findings_table import list_ending, list_open_tables
from optimizer.fit_words import list_fit_lines, show_chance, show_fit, show_height
from optimizer.plan import Candidate, ConstraintPrice, Plan, StockAdvice
from optimizer.record_rules import describe_rules
from optimizer.schedule_tables import (
    build_console,
    build_table,
    choose_gap,
    describe_doubt,
    draw_legs,
    draw_parts,
    format_doubt,
    list_leg_notes,
    show_cents,
    show_length,
)
from optimizer.shape_words import EXIT_WORDS, describe_shape
from optimizer.units import Slope

#: Least, usual and greatest width of the printed tables, characters.
LEAST_WIDTH, USUAL_WIDTH, GREATEST_WIDTH = 100, 110, 130
#: So many doubts about the survey stand above the candidates; ``evenfall ground`` tells all.
DOUBTS_SHOWN = 3
STATUS_WORDS = {
    "optimal_on_lattice": "cheapest found and proven (on the lattice named below)",
    "feasible": "layouts found; the cheapest is not proven",
    "infeasible_on_lattice": "no layout on the lattice named below",
    "unknown": "no layout found so far, and none ruled out",
}


def measure_page_width() -> int:
    """Width for the tables, characters: the terminal's between two bounds, the usual one for a file."""
    columns = shutil.get_terminal_size((USUAL_WIDTH, 40)).columns
    return min(max(columns, LEAST_WIDTH), GREATEST_WIDTH)


def draw_plan(plan: Plan, site: Site, width: int) -> str:
    """Tables of the candidates, legs and parts of the first one, findings in short, and what is proven.

    ``width`` in characters; lines may be shorter.
    """
    buffer = io.StringIO()
    console = build_console(buffer, width)
    report = build_report(site, plan.candidates)
    console.print(f"{plan.site.name}: {STATUS_WORDS[plan.status]}")
    console.print(
        f"rules {describe_rules(plan.rules)}; prices in {plan.currency}, rates of {plan.site.rates_dated}"
    )
    for line in list_ground_lines(plan, site, width):
        console.print(line)
    if plan.candidates:
        best = plan.candidates[0]
        print_candidates(console, plan, site, width)
        console.print(f"\nLegs of {best.name}: {count_supports(best)}\n")
        console.print(draw_legs(plan, best, site, choose_gap(width)))
        console.print()
        for line in list_leg_notes(plan, best, site):
            console.print(line)
        console.print(f"\nParts of {best.name}, to tick off\n")
        console.print(draw_parts(plan, best, site, choose_gap(width)))
        console.print()
        for line in list_finding_lines(report):
            console.print(line)
        console.print(f"\nFindings of {best.name} that fail or cannot be told (evenfall check shows all)\n")
        for part in list_open_tables(report, report.layouts[0], width):
            console.print(part)
    for line in list_conflict_lines(plan):
        console.print(line)
    if plan.to_buy is not None:
        console.print(f"\nWhat to buy beyond the stock: {describe_gain(plan, plan.to_buy)}\n")
        console.print(draw_parts_to_buy(plan.to_buy, choose_gap(width)))
    if plan.constraint_prices:
        console.print("\nWhat each constraint costs (each dropped alone and solved again, direct cost)\n")
        console.print(draw_constraint_prices(plan, choose_gap(width)))
    console.print(f"\n{plan.search.statement}")
    if plan.search.not_settled:
        console.print(
            f"{len(plan.search.not_settled)} other shapes were neither found nor ruled out (see plan.json)."
        )
    for rules in plan.rules:
        console.print(f"{rules.id}: {rules.statement}")
    for line in list_ending(report, report.layouts[:1], width):
        console.print(line)
    console.print("Gloves and eye protection; lift as a team; nobody under an unsupported section.")
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())


def list_ground_lines(plan: Plan, site: Site, width: int) -> list[str]:
    """What the heights rest on, why legs may not be ordered by them, and the first doubts, wrapped."""
    ground = plan.ground
    lines = [f"ground from {ground.points_used} levels, {describe_ground(plan, site)}"]
    if ground.warning:
        lines.append(f"{ground.warning[:1].upper()}{ground.warning[1:]}.")
    shown = ground.doubts[:DOUBTS_SHOWN]
    lines += [f"Look again: {one.where}: {one.what} {one.remedy}" for one in shown]
    if len(ground.doubts) > len(shown):
        lines.append(f"And {len(ground.doubts) - len(shown)} more to look at: evenfall ground tells them.")
    return [textwrap.fill(line, width, break_on_hyphens=False) for line in lines]


def print_candidates(console: Console, plan: Plan, site: Site, width: int) -> None:
    """The table of the candidates and what its column of chances says."""
    console.print(f"\nCandidates, {describe_order(plan)}\n")
    console.print(draw_candidates(plan, site, choose_gap(width)))
    console.print()
    for line in list_fit_lines(plan):
        console.print(line)


def list_conflict_lines(plan: Plan) -> list[str]:
    """Why there is no layout, what would make one possible at which direct cost, and what would not."""
    lines = []
    remedies = [one for one in plan.conflicts if one.cost_cents is not None]
    lines += [f"\n- {one.reason}\n  {one.remedy}" for one in plan.conflicts if one.cost_cents is None]
    if remedies:
        lines.append("\nWhat would make a layout possible (any one of these alone; each was solved)")
    for one in remedies:
        at = "at" if one.cost_is_least else "at most"
        granted = f"; granted by {one.granted_by}" if one.granted_by else ""
        cost = f"{show_cents(one.cost_cents)} {plan.currency}" if one.cost_cents is not None else ""
        lines.append(f"\n- {one.reason}\n  {one.remedy}: {at} {cost} direct{granted}")
    return lines + [f"\n{sentence}" for sentence in plan.trials]


def describe_gain(plan: Plan, advice: StockAdvice) -> str:
    """What buying brings."""
    at = "at" if advice.is_least else "at most"
    cost = f"{at} {show_cents(advice.cost_cents)} {plan.currency} direct"
    if advice.saving_cents is None:
        return f"a layout {cost}; the stock allows none"
    return f"a layout {cost}, {show_cents(advice.saving_cents)} less than the {name_baseline(plan)}'s ramp"


def name_baseline(plan: Plan) -> str:
    """Whose ramp savings are counted from: the cheapest, which a wish may have put further down."""
    cheapest = min(plan.candidates, key=lambda one: one.direct_cost_cents, default=None)
    is_first = cheapest is None or cheapest is plan.candidates[0]
    return "first candidate" if is_first else "cheapest candidate"


def draw_parts_to_buy(advice: StockAdvice, gap: int) -> Table:
    """One row a part of which there are too few."""
    right = ("buy", "in stock", "each")
    table = build_table(("buy", "part", "in stock", "each"), right, gap)
    for one in advice.parts:
        table.add_row(str(one.count), one.part, str(one.in_stock), show_cents(one.unit_cents))
    return table


def draw_constraint_prices(plan: Plan, gap: int) -> Table:
    """One row a constraint, what saves most first."""
    right = ("saves", "direct then")
    table = build_table(("constraint", "saves", "direct then", "granted by"), right, gap)
    # Names come from the site's file and may be long.
    table.columns[0].no_wrap = table.columns[-1].no_wrap = False
    for one in plan.constraint_prices:
        table.add_row(
            one.subject,
            describe_saving(one),
            "" if one.cost_cents is None else show_cents(one.cost_cents),
            one.granted_by,
        )
    return table


def describe_saving(price: ConstraintPrice) -> str:
    """What dropping a constraint saves, or why that is not known."""
    if price.verdict == "costs nothing":
        return "nothing"
    if price.saving_cents is None:
        return "not settled in time" if price.verdict == "not settled" else price.verdict
    amount = show_cents(abs(price.saving_cents))
    words = {"saves at least": f"at least {amount}", "costs more": f"{amount} more"}
    return words.get(price.verdict, f"at most {amount} more" if price.verdict == "costs at most" else amount)


def describe_ground(plan: Plan, site: Site) -> str:
    """How far the heights are to be trusted."""
    error_m = plan.ground.leave_one_out_m
    if error_m is None:
        return "too few to judge them by each other"
    return f"rough error {format_doubt(site, error_m)} ({site.heights.basis.removeprefix('rough: ')})"


def count_verdicts(candidate: Candidate, verdict: str) -> int:
    """How many findings have a verdict."""
    return sum(finding.verdict == verdict for finding in candidate.findings)


def count_supports(candidate: Candidate) -> str:
    """``12 legs, 2 low supports``."""
    legs = sum(leg.kind == "leg" for leg in candidate.legs)
    low = len(candidate.legs) - legs
    return f"{legs} {'leg' if legs == 1 else 'legs'}, {low} low {'support' if low == 1 else 'supports'}"


def draw_candidates(plan: Plan, site: Site, gap: int) -> Table:
    """One row a candidate."""
    doubt = describe_doubt(plan, site)
    rise, fit, fails = f"rise\nat tip\n{doubt}", "legs fit\n/ all\nholds %", "fail\n/ ?"
    # With errors of their own, heights of legs need no common one in the head.
    is_told = plan.fit is not None
    tallest = "tallest\nleg" if is_told else f"tallest\nleg\n{doubt}"
    right = ("direct\nprice", "walk", "area\nm2", "turns", rise, tallest, fit, fails)
    table = build_table(
        (
            "",
            "shape",
            "direct\nprice",
            "proof",
            "walk",
            "area\nm2",
            "turns",
            "slope",
            rise,
            tallest,
            fit,
            fails,
        ),
        right,
        gap,
    )
    for n, candidate in enumerate(plan.candidates, start=1):
        table.add_row(
            str(n),
            f"{describe_shape(candidate)}\n{EXIT_WORDS[candidate.exit]}",
            f"{show_cents(candidate.direct_cost_cents)}\n{show_cents(candidate.price_cents)}",
            candidate.proof,
            show_length(site, candidate.walking_length_m),
            f"{candidate.footprint_m2:.1f}",
            str(sum(turn != "straight" for turn in candidate.turns)),
            str(Slope.from_ratio(candidate.steepest_slope)).split(" ", maxsplit=1)[0],
            show_length(site, candidate.rise_m),
            show_tallest(site, candidate),
            f"{show_fit(candidate)}\n{show_chance(candidate.holds_chance)}" if is_told else "",
            f"{count_verdicts(candidate, 'fails')} / {count_verdicts(candidate, 'cannot tell')}",
        )
    return table


def show_tallest(site: Site, candidate: Candidate) -> str:
    """The height of the tallest leg, below it its plus-minus where that is told."""
    legs = [leg for leg in candidate.legs if leg.kind == "leg"]
    if not legs:
        return "none"
    tallest = max(legs, key=lambda leg: leg.height_m)
    if tallest.height_error_m is None:
        return show_length(site, tallest.height_m)
    height, plus_minus = show_height(site, tallest)
    return f"{height}\n± {plus_minus}"


def describe_order(plan: Plan) -> str:
    """How the candidates are ordered."""
    if plan.fit is None or plan.fit.at_least is None:
        return "by direct cost"
    return "those that reach the wished chance first, then by direct cost"


def list_finding_lines(report: FindingsReport) -> Iterator[str]:
    """What the checker found of every candidate, set by set."""
    for layout in report.layouts:
        for rules, one in zip(report.rules, layout.sets, strict=True):
            yield f"{layout.name} under {rules.id} ({rules.role}): {_say_counts(one)}"
        yield f"{layout.name} by our own checks: {_say_counts(layout.build)}"


def _say_counts(one: SetReport) -> str:
    return (
        f"{one.meets} met, {one.fails} failed, {one.cannot_tell} cannot be told, "
        f"{one.does_not_apply} do not apply"
    )
