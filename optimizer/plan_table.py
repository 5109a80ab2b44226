"""The plan as tables for a terminal: what an estimator reads first."""

from __future__ import annotations

import io
from typing import cast

from rich.console import Console
from rich.table import Table

from optimizer.brief.site import Site
from optimizer.plan import Candidate, Plan
from optimizer.units import LengthSystem, Slope, format_length, format_money

#: Width of the printed tables, characters.
PAGE_WIDTH = 130
STATUS_WORDS = {
    "optimal_on_lattice": "cheapest found and proven (on the lattice named below)",
    "feasible": "layouts found; the cheapest is not proven",
    "infeasible_on_lattice": "no layout on the lattice named below",
    "unknown": "no layout found so far, and none ruled out",
}
SHAPE_WORDS = {
    "left": "L left",
    "right": "L right",
    "half_left": "switchback left",
    "half_right": "switchback right",
}


def shape_words(candidate: Candidate) -> str:
    """Shape with its hand and the side of the first landing it leaves by."""
    hand = next((SHAPE_WORDS[turn] for turn in candidate.turns if turn != "straight"), "straight")
    leaves = {"front": "straight out", "left": "to the left", "right": "to the right"}
    return f"{hand} ({leaves[candidate.exit]})"


def count_verdicts(candidate: Candidate, verdict: str) -> int:
    """How many findings have a verdict."""
    return sum(finding.verdict == verdict for finding in candidate.findings)


def draw_plan(plan: Plan, site: Site) -> str:
    """Tables of candidates, parts and legs of the first one, findings in short, and what is proven."""
    buffer = io.StringIO()
    console = Console(file=buffer, width=PAGE_WIDTH, highlight=False, color_system=None)
    console.print(f"{plan.site.name}: {STATUS_WORDS[plan.status]}")
    console.print(
        f"rules: {plan.rules}; prices in {plan.currency}, rates of {plan.site.rates_dated}; "
        f"ground from {plan.ground.points_used} levels{ground_words(plan, site)}"
    )
    console.print()
    if plan.candidates:
        console.print(candidate_table(plan, site))
        console.print(leg_table(plan, plan.candidates[0], site))
        console.print(price_table(plan, plan.candidates[0]))
        for line in finding_lines(plan):
            console.print(line)
    for conflict in plan.conflicts:
        console.print(f"- {conflict.reason} What would do (solved): {conflict.remedy}.")
    console.print()
    console.print(plan.search.statement)
    if plan.search.classes_open:
        console.print(
            f"Not settled: {plan.search.classes_open} of "
            f"{plan.search.classes_open + plan.search.classes_proven} kinds of layout; give more time."
        )
    console.print(plan.rules_statement)
    console.print(
        "Not an approval. Local codes, the authority having jurisdiction and licensed professionals decide. "
        "Gloves and eye protection; lift as a team; nobody under an unsupported section."
    )
    return buffer.getvalue().rstrip("\n")


def ground_words(plan: Plan, site: Site) -> str:
    """How far the heights are to be trusted."""
    error = plan.ground.leave_one_out_m
    if error is None:
        return ", too few to judge them by each other"
    return f", rough error {length(site, error)} (each interior level predicted from the others)"


def length(site: Site, value_m: float) -> str:
    """A length in the site's display units."""
    return format_length(value_m, cast("LengthSystem", site.display.system), site.display.step_m)


def candidate_table(plan: Plan, site: Site) -> Table:
    """One row a candidate."""
    table = Table(box=None, pad_edge=False, title="Candidates, by direct cost", title_justify="left")
    columns = (
        ("", "right"),
        ("shape", "left"),
        ("direct", "right"),
        ("price", "right"),
        ("proof", "left"),
        ("walk", "right"),
        ("area m2", "right"),
        ("turns", "right"),
        ("steepest", "left"),
        ("rise at tip", "right"),
        ("tallest leg", "right"),
        ("fails / ?", "right"),
    )
    for name, justify in columns:
        table.add_column(name, justify="right" if justify == "right" else "left")
    for n, candidate in enumerate(plan.candidates):
        legs = [leg.height_m for leg in candidate.legs if leg.kind == "leg"]
        table.add_row(
            str(n + 1),
            shape_words(candidate),
            f"{candidate.direct_cost_cents / 100:,.2f}",
            f"{candidate.price_cents / 100:,.2f}",
            candidate.proof,
            length(site, candidate.walking_length_m),
            f"{candidate.footprint_m2:.1f}",
            str(sum(turn != "straight" for turn in candidate.turns)),
            str(Slope.from_ratio(candidate.steepest_slope)).split(" ")[0],
            length(site, candidate.rise_m),
            length(site, max(legs)) if legs else "none",
            f"{count_verdicts(candidate, 'fails')} / {count_verdicts(candidate, 'cannot tell')}",
        )
    return table


def leg_table(plan: Plan, candidate: Candidate, site: Site) -> Table:
    """Leg schedule of one candidate."""
    del plan
    table = Table(box=None, pad_edge=False, title=f"\nLegs of {candidate.name}", title_justify="left")
    for name in ("no", "piece", "where", "type", "height", "setting"):
        table.add_column(name, justify="right" if name == "height" else "left")
    table.add_column("spare in range, down / up", justify="right")
    for leg in candidate.legs:
        low, high = leg.range_m
        table.add_row(
            leg.id,
            leg.piece,
            leg.station,
            leg.leg_type + (" + brace" if leg.brace else ""),
            length(site, leg.height_m),
            leg.setting,
            f"{length(site, leg.height_m - low)} / {length(site, high - leg.height_m)}",
        )
    return table


def price_table(plan: Plan, candidate: Candidate) -> Table:
    """Every price line with the parts it counts."""
    table = Table(box=None, pad_edge=False, title=f"\nPrice of {candidate.name}", title_justify="left")
    table.add_column("part")
    table.add_column("count", justify="right")
    table.add_column("each", justify="right")
    table.add_column("sum", justify="right")
    table.add_column("used by", overflow="fold")
    for line in candidate.price_lines:
        if line.group == "added" and line.part == "delivery":
            table.add_row("direct cost", "", "", f"{candidate.direct_cost_cents / 100:,.2f}", "")
        table.add_row(
            line.name,
            str(line.count) if line.items else "",
            f"{line.unit_cents / 100:,.2f}" if line.items else "",
            f"{line.total_cents / 100:,.2f}",
            shorten(line.items),
        )
    table.add_row("price", "", "", format_money(candidate.price_cents, plan.currency), "")
    return table


def shorten(items: tuple[str, ...]) -> str:
    """Ids of what a line counts, runs of numbers as a range."""
    shown: list[str] = []
    run: list[str] = []

    def flush() -> None:
        if run:
            shown.append(run[0] if len(run) == 1 else f"{run[0]}-{run[-1]}")
            run.clear()

    for item in dict.fromkeys(items):
        if run and number_of(item) != number_of(run[-1]) + 1:
            flush()
        run.append(item)
    flush()
    return " ".join(shown)


def number_of(item: str) -> int:
    """The number in an id such as ``L07``."""
    digits = "".join(c for c in item if c.isdigit())
    return int(digits) if digits else -2


def finding_lines(plan: Plan) -> list[str]:
    """Findings of every candidate in a line, and each one that fails in its own words."""
    lines = [""]
    for n, candidate in enumerate(plan.candidates):
        counts = ", ".join(
            f"{count_verdicts(candidate, verdict)} {verdict}"
            for verdict in ("meets", "fails", "cannot tell", "does not apply")
        )
        lines.append(f"findings of candidate {n + 1}: {counts}")
        lines += [
            f"   fails {finding.rules} {finding.clause}, {finding.subject}: {finding.text}"
            for finding in candidate.findings
            if finding.verdict == "fails"
        ]
    return lines
