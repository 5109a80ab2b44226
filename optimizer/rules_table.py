"""The rule sets as text: what each asks and how that is known; what the search keeps of them all."""

from __future__ import annotations

import io
import math
import textwrap
from collections.abc import Iterator
from typing import Final

from optimizer.brief.ask_facts import QUESTIONS, list_questions_of
from optimizer.named_limit import is_advice, list_advice
from optimizer.rule_coverage import list_enforced, list_quantities
from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.rulebook.own_limits import OWN_LIMITS_ID
from optimizer.rulebook.read_rule_set import list_rule_sets, read_rule_set
from optimizer.rulebook.rules import HowKnown, Limit, Quantity, RuleSet
from optimizer.rulebook.run_law import Allowance
from optimizer.schedule_tables import build_console, build_table, choose_gap
from optimizer.units import METRES_PER_UNIT, Slope

KNOWN: Final[tuple[HowKnown, ...]] = ("text", "restated", "memory")
_OWN_LINE: Final = (
    f"{OWN_LIMITS_ID}: your own numbers, under [rules.own] of a site; "
    "for ramps that no published standard binds."
)
#: A number is short when two decimals tell it to within this.
_SHORT: Final = 1e-9
_WORDS: Final = {"<=": "at most", "<": "below", ">=": "at least", ">": "above"}


def draw_rule_sets(width: int) -> str:
    """Every rule set: title, edition, how many limits, how they are known, what it asks."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    table = build_table(
        ("rule set", "title", "edition", "limits", *KNOWN), ("limits", *KNOWN), choose_gap(width)
    )
    sets = list_rule_sets()
    for rules in sets:
        counts = [sum(limit.how_known == known for limit in rules.limits) for known in KNOWN]
        table.add_row(
            rules.id, rules.title, rules.edition, str(len(rules.limits)), *(str(count) for count in counts)
        )
    table.columns[1].no_wrap = table.columns[2].no_wrap = False
    console.print(table)
    console.print()
    console.print(_OWN_LINE)
    console.print("\ntext: read in the document; restated: another document of the same body says it;")
    console.print("memory: nobody has read it, so it passes nothing.\n")
    console.print("What each asks of the job (answered under [facts] of a site, never assumed):")
    for rules in sets:
        asked = ", ".join(list_questions_of(rules.limits)) or "nothing"
        console.print(textwrap.fill(f"- {rules.id}: {asked}", width, subsequent_indent="  "))
    return _finish(buffer)


def draw_clauses(name: str, width: int) -> str:
    """The limits of one rule set, in its own order; then its questions and what is not checked.

    Raises ``InputError`` for an unknown id, and for ``own-limits``, which has no clauses.
    """
    rules = read_rule_set(name, "rules")
    buffer = io.StringIO()
    console = build_console(buffer, width)
    console.print(f"{rules.title}, {rules.edition} ({rules.id})\n{rules.statement}\n")
    table = build_table(("clause", "quantity", "limit", "where", "when", "known"), (), choose_gap(width))
    for limit in rules.limits:
        table.add_row(
            limit.clause,
            limit.quantity.replace("_", " "),
            describe_limit(limit),
            "" if limit.place == "any" else limit.place.replace("_", " "),
            "; ".join(f"{one.fact} is {' or '.join(one.values)}" for one in limit.when),
            limit.how_known,
        )
    for column in table.columns[1:5]:
        column.no_wrap = False
    console.print(table)
    for line in (*_list_tolerances(rules), *_list_questions(rules)):
        console.print(textwrap.fill(line, width, subsequent_indent="  "))
    console.print("\nNot checked:")
    for words in rules.not_checked:
        console.print(textwrap.fill(f"- {words}", width, subsequent_indent="  "))
    return _finish(buffer)


def describe_limit(limit: Limit) -> str:
    """``at most 30 in``; of a table its rows."""
    if limit.law is not None:
        rows = "; ".join(_describe_allowance(one, limit.unit) for one in limit.law.allowances)
        return f"{rows} (also where the running slope says less)" if limit.law.widens else rows
    if limit.door is not None:
        return _describe_door(limit.door, limit.unit)
    if limit.quantity == "landing_width" and limit.value_si == 0.0:
        return "as wide as the run"
    if limit.unit == "ratio":
        shown = _show_slope(limit.value_si)
    else:
        shown = f"{limit.value:g}" + ("" if limit.unit == "count" else f" {limit.unit}")
    return f"{_WORDS[limit.operator]} {shown}"


def _describe_allowance(row: Allowance, unit: str) -> str:
    """``over 2 m up to 5 m long, rising at most 0.5 m: 1:12 to 1:15``."""
    spans = []
    if row.above_m > 0.0:
        spans.append(f"over {_show_length(row.above_m, unit)}")
    if math.isfinite(row.longest_m):
        spans.append(f"up to {_show_length(row.longest_m, unit)}")
    of_length = f"{' '.join(spans)} long" if spans else "any length"
    rising = ""
    if math.isfinite(row.greatest_rise_m):
        rising = f", rising at most {_show_length(row.greatest_rise_m, unit)}"
    first, last = _show_slope(row.slope_at_above), _show_slope(row.slope_at_longest)
    changes = row.slope_at_above != row.slope_at_longest and math.isfinite(row.longest_m)
    evenly = "the slope" if row.between == "ratio" else "the n of 1:n"
    slope = f"{first} to {last}, {evenly} evenly between" if changes else last
    return f"{of_length}{rising}: {'below' if row.is_strict else 'at most'} {slope}"


def _describe_door(row: DoorClearance, unit: str) -> str:
    """Depth, room beyond the door on either side, and what closer and latch add."""
    parts = [f"{_show_length(row.depth_m, unit)} deep"]
    parts += [
        f"{_show_length(length_m, unit)} {words}"
        for length_m, words in (
            (row.beyond_latch_m, "beyond the latch"),
            (row.beyond_hinge_m, "beyond the hinge"),
            (row.closer_depth_m, "deeper with a closer"),
            (row.closer_latch_depth_m, "deeper with closer and latch"),
            (row.closer_latch_beyond_m, "more beyond the latch with closer and latch"),
        )
        if length_m > 0.0
    ]
    return f"{row.side} side, {row.approach} approach: {', '.join(parts)}"


def _show_length(length_m: float, unit: str) -> str:
    """In the document's unit; where that is a slope's, in the first unit that makes it a short number."""
    known = {name: float(metres) for name, metres in METRES_PER_UNIT}
    names = (unit,) if unit in known else ("m", "in", "ft")
    shown = [(length_m / known[name], name) for name in names]
    short = [one for one in shown if math.isclose(one[0], round(one[0], 2), abs_tol=_SHORT)]
    number, name = (short or shown)[0]
    return f"{round(number, 4):g} {name}"


def _show_slope(ratio: float) -> str:
    return str(Slope.from_ratio(ratio)).split(" ", maxsplit=1)[0]


def draw_coverage() -> str:
    """For each quantity who keeps it and which rule sets speak of it, as a Markdown table."""
    sets, enforced = list_rule_sets(), list_enforced()
    lines = ["| quantity | kept by | rule sets |", "| --- | --- | --- |"]
    for quantity in list_quantities():
        kept = "search and checker" if quantity in enforced else "checker only"
        users = ", ".join(rules.id for rules in sets if _speaks_of(rules, quantity)) or "-"
        lines.append(f"| {quantity} | {kept} | {users} |")
    return "\n".join(lines) + "\n"


def _speaks_of(rules: RuleSet, quantity: Quantity) -> bool:
    return any(limit.quantity == quantity for limit in rules.limits)


def _list_tolerances(rules: RuleSet) -> Iterator[str]:
    yield from (f"\n{words}" for words in list_advice(rules))
    for one in rules.tolerances:
        if is_advice(one):
            continue
        yield f"\nBuilding tolerance of {one.quantity.replace('_', ' ')}: {one.text} ({one.source})."


def _list_questions(rules: RuleSet) -> Iterator[str]:
    asked = list_questions_of(rules.limits)
    if asked:
        yield "\nIt asks, under [facts] of a site:"
    for fact, question, answers in QUESTIONS:
        if fact in asked:
            yield f"- {fact} = {answers}: {question}"


def _finish(buffer: io.StringIO) -> str:
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())
