"""Findings as text, for somebody who has to show them to a building official."""

from __future__ import annotations

import io
import re
import textwrap
from collections.abc import Iterable, Iterator
from typing import Final

from rich.console import Console
from rich.table import Table

from optimizer.brief.site import Site
from optimizer.finding_numbers import TRIGGERS, find_tightest, is_within_limit, show_limit, show_measured
from optimizer.findings_report import FindingsReport, LayoutReport, ReportedFinding, SetReport, is_from_memory
from optimizer.fit_words import list_near_ends
from optimizer.plan import Candidate, Finding, RuleSetRecord, Verdict
from optimizer.rulebook.deciders import WHO, is_for_the_authority, name_confirmer, say_decides
from optimizer.schedule_tables import build_console, build_table, choose_gap, show_length
from optimizer.shape_words import describe_shape
from optimizer.standards.findings import BUILD

#: What is read first.
LISTED_FIRST: Final[tuple[Verdict, ...]] = ("fails", "cannot tell")
COLUMNS: Final = ("verdict", "clause", "thing", "measured", "limit", "building\ntolerance")
ROLE_WORDS: Final = {
    "binding": "binding",
    "guide": "guide, never enforced",
    "wish": "wish, never enforced",
}
#: How a sentence says that its limit was not read.
_RECALLED: Final = re.compile(r" The limit is (?:known|restated) from memory[^.]*\.$")
#: How a sentence ends on its limit.
_ASKED: Final = re.compile(r",? (?:at most|less than|at least|more than) [^,;]+ asked\.$")
NO_LAYOUT: Final = "There is no layout here to check: the plan has none."
NOT_AN_APPROVAL: Final = (
    "Not an approval. Local codes, the authority having jurisdiction and licensed professionals decide."
)


def draw_report(report: FindingsReport, site: Site, candidates: tuple[Candidate, ...], width: int) -> str:
    """The report of ``evenfall check``; ``width`` in characters.  ``candidates`` are the report's layouts."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    if report.heights:
        console.print(f"{report.heights[:1].upper()}{report.heights[1:]}.\n")
    if not report.layouts:
        console.print(NO_LAYOUT)
    for number, (candidate, layout) in enumerate(zip(candidates, report.layouts, strict=True)):
        console.print("\n" if number else "", end="")
        rise = show_length(site, candidate.rise_m)
        console.print(f"{candidate.name}: {describe_shape(candidate)}, rise {rise}\n")
        near_ends = list_near_ends(candidate)
        if near_ends:
            console.print(f"{near_ends}\n")
        console.print(draw_counts(report, layout, choose_gap(width)))
        _print_failures(console, layout, width)
        for rules in report.rules:
            _print_set(console, rules, layout, width)
        _print_build(console, layout, width)
    for line in list_ending(report, report.layouts, width):
        console.print(line)
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())


def draw_counts(report: FindingsReport, layout: LayoutReport, gap: int) -> Table:
    """One row a rule set, then our own checks: whose it is and how many findings of each verdict."""
    counted = ("meets", "fails", "cannot\ntell", "does not\napply")
    table = build_table(("rule set", "role", "decided by", *counted), counted, gap)
    for rules, one in zip(report.rules, layout.sets, strict=True):
        table.add_row(rules.id, ROLE_WORDS[rules.role], _show_decider(rules), *_show_counts(one))
    table.add_row("(our own checks)", "pieces fit, stand, cost", "", *_show_counts(layout.build))
    return table


def _show_decider(rules: RuleSetRecord) -> str:
    if is_for_the_authority(rules.id, rules.role, rules.decided_by):
        return "authority, where it applies"
    return rules.decided_by


def _show_counts(one: SetReport) -> tuple[str, ...]:
    return str(one.meets), str(one.fails), str(one.cannot_tell), str(one.does_not_apply)


def _print_failures(console: Console, layout: LayoutReport, width: int) -> None:
    """What fails, of every set and of our own checks, before anything else."""
    rows = list(_list_rows(layout.findings, "fails", "with set"))
    console.print("\nWhat fails\n" if rows else "\nNothing that was checked fails.")
    if rows:
        console.print(_draw_rows(rows, width))


def _print_set(console: Console, rules: RuleSetRecord, layout: LayoutReport, width: int) -> None:
    """One rule set: what cannot be told, what is met; then what stands together."""
    of_set = [one for one in layout.findings if one.finding.rules == rules.id]
    (told,) = (one for one in layout.sets if one.id == rules.id)
    says = say_decides(rules.id, rules.role, rules.decided_by)
    console.print(f"\n{_name(rules)}: {ROLE_WORDS[rules.role]}; {says}")
    console.print(f"{_wrap(rules.statement, width)}\n")
    rows = [*_list_rows(of_set, "cannot tell", "alone"), *_list_met_rows(of_set)]
    if rows:
        console.print(_draw_rows(rows, width))
        console.print()
    for part in _list_memory(told, of_set, "alone", width):
        console.print(part)
    for line in (*_list_inapplicable(of_set), *_list_tolerances(of_set), *told.advice, told.sentence):
        console.print(_wrap(line, width))


def _print_build(console: Console, layout: LayoutReport, width: int) -> None:
    of_build = [one for one in layout.findings if one.finding.rules == BUILD]
    console.print("\nOur own checks: do the pieces fit, stand and cost as stated\n")
    rows = list(_list_rows(of_build, "cannot tell", "alone"))
    if rows:
        console.print(_draw_rows(rows, width))
        console.print()
    for part in _list_memory(layout.build, of_build, "alone", width):
        console.print(part)
    console.print(_wrap(layout.build.sentence, width))


def list_open_tables(report: FindingsReport, layout: LayoutReport, width: int) -> Iterator[Table | str]:
    """What fails and what cannot be told, of all sets and of our own checks, in one table."""
    rows = [row for verdict in LISTED_FIRST for row in _list_rows(layout.findings, verdict, "with set")]
    if rows:
        yield _draw_rows(rows, width)
    for rules, told in zip(report.rules, layout.sets, strict=True):
        of_set = [one for one in layout.findings if one.finding.rules == rules.id]
        yield from _list_memory(told, of_set, "with set", width)
        yield _wrap(told.sentence, width)
    of_build = [one for one in layout.findings if one.finding.rules == BUILD]
    yield from _list_memory(layout.build, of_build, "with set", width)


def list_ending(report: FindingsReport, layouts: tuple[LayoutReport, ...], width: int) -> Iterator[str]:
    """What was not checked, then what others decide; ends by saying that this is no approval."""
    for rules in report.rules:
        yield f"\nNot checked of {_name(rules)}:"
        for words in rules.not_checked:
            yield _wrap(f"- {words}", width)
    yield "\nFor those who decide:"
    for rules in report.rules:
        yield from (_wrap(f"- {line}", width) for line in _list_deciders(rules))
    for words in dict.fromkeys(words for layout in layouts for words in layout.to_decide):
        yield _wrap(f"- {words}", width)
    yield _wrap(f"\n{NOT_AN_APPROVAL}", width)


def _list_deciders(rules: RuleSetRecord) -> Iterator[str]:
    if is_for_the_authority(rules.id, rules.role, rules.decided_by):
        authority = name_confirmer(rules.decided_by)
        yield f"{authority}: whether {_name(rules)} applies, and if so whether the ramp may stand under it"
        yield f"{WHO[rules.decided_by]}: where it does not, whether to follow {rules.id}"
    else:
        yield f"{WHO[rules.decided_by]}: whether the ramp may stand under {_name(rules)}"


def _name(rules: RuleSetRecord) -> str:
    return f"{rules.title}, {rules.edition} ({rules.id})"


Row = tuple[str, str, str, str, str, str]


def _draw_rows(rows: Iterable[Row], width: int) -> Table:
    table = build_table(COLUMNS, (), choose_gap(width))
    for row in rows:
        table.add_row(*row)
    return table


def _list_rows(findings: Iterable[ReportedFinding], verdict: Verdict, naming: str) -> Iterator[Row]:
    """One row a finding in its own words; clauses known from memory only stand elsewhere, together."""
    for one in findings:
        finding = one.finding
        if finding.verdict != verdict or is_from_memory(finding):
            continue
        clause = f"{finding.rules} {finding.clause}" if naming == "with set" else finding.clause
        yield (
            finding.verdict,
            clause,
            _shorten(finding),
            show_measured(finding),
            show_limit(finding, one.quantity),
            _show_tolerance(one),
        )


def _shorten(finding: Finding) -> str:
    """Its words without the limit, which has a column of its own; whole where nothing was measured."""
    return finding.text if finding.measured is None else _ASKED.sub("", finding.text)


def _list_met_rows(findings: list[ReportedFinding]) -> Iterator[Row]:
    """One row a clause: the finding nearest to its limit, and how many more meet it."""
    groups: dict[tuple[object, ...], list[ReportedFinding]] = {}
    for one in findings:
        if one.finding.verdict == "meets":
            key = (
                one.finding.clause,
                one.quantity,
                one.finding.operator,
                show_limit(one.finding, one.quantity),
            )
            groups.setdefault(key, []).append(one)
    for group in groups.values():
        tightest = find_tightest(tuple(one.finding for one in group))
        (shown, *_) = (one for one in group if one.finding is tightest)
        what = shown.quantity.replace("_", " ")
        thing = f"{what}: {tightest.subject}" if what else tightest.subject
        if len(group) > 1:
            thing += f" (tightest of {len(group)})"
        yield (
            "meets",
            tightest.clause,
            thing,
            show_measured(tightest),
            show_limit(tightest, shown.quantity),
            _show_tolerance(shown),
        )


def _show_tolerance(one: ReportedFinding) -> str:
    return "-" if one.building_tolerance is None else one.building_tolerance.text


def _list_memory(
    told: SetReport, findings: list[ReportedFinding], naming: str, width: int
) -> Iterator[Table | str]:
    """One line for all clauses known from memory only; then a row for each that is not kept as remembered."""
    if not told.from_memory:
        return
    many = len(told.from_memory) > 1
    start = f"{len(told.from_memory)} clauses are" if many else "1 clause is"
    ending = "pass" if many else "passes"
    named = f"{told.id}: " if naming == "with set" else ""
    line = f"{named}{start} known from memory only and {ending} nothing: {', '.join(told.from_memory)}."
    rows = list(_list_memory_rows(findings, naming))
    if not rows:
        yield _wrap(f"{line} What was measured is within the limits as remembered.", width)
        return
    yield _wrap(f"{line} Not kept as remembered, or not compared:", width) + "\n"
    yield _draw_rows(rows, width)
    yield ""


def _list_memory_rows(findings: list[ReportedFinding], naming: str) -> Iterator[Row]:
    """One row a clause and limit: the finding furthest beyond it; of a trigger every one."""
    groups: dict[tuple[object, ...], list[ReportedFinding]] = {}
    for one in findings:
        finding = one.finding
        within = is_within_limit(finding, one.quantity)
        if is_from_memory(finding) and not within:
            apart = finding.text if one.quantity in TRIGGERS else ""
            key = (finding.clause, one.quantity, finding.operator, finding.limit, finding.unit, within, apart)
            groups.setdefault(key, []).append(one)
    for group in groups.values():
        worst = find_tightest(tuple(one.finding for one in group))
        (shown, *_) = (one for one in group if one.finding is worst)
        more = f" (furthest of {len(group)})" if len(group) > 1 else ""
        yield (
            worst.verdict,
            f"{worst.rules} {worst.clause}" if naming == "with set" else worst.clause,
            _say_beyond(shown) + more,
            show_measured(worst),
            show_limit(worst, shown.quantity),
            _show_tolerance(shown),
        )


def _say_beyond(one: ReportedFinding) -> str:
    """Its words; where two numbers tell, that they are on the wrong sides of each other."""
    if is_within_limit(one.finding, one.quantity) is None:
        return one.finding.text
    words = _ASKED.sub("", _RECALLED.sub("", one.finding.text)).rstrip(".")
    beyond = "asked for" if one.quantity in TRIGGERS else "beyond the limit"
    return f"{words}: {beyond} as remembered; read the clause."


def _list_inapplicable(findings: list[ReportedFinding]) -> Iterator[str]:
    """Clauses of which no finding has another verdict."""
    of_others = {one.finding.clause for one in findings if one.finding.verdict != "does not apply"}
    clauses = dict.fromkeys(one.finding.clause for one in findings if one.finding.clause not in of_others)
    if clauses:
        yield f"Looked at, does not apply here: {', '.join(clauses)}."


def _list_tolerances(findings: list[ReportedFinding]) -> Iterator[str]:
    """Where each building tolerance in the table is published."""
    sources = dict.fromkeys(
        (one.building_tolerance.text, one.building_tolerance.source)
        for one in findings
        if one.building_tolerance is not None and one.finding.verdict != "does not apply"
    )
    for text, source in sources:
        yield f"Building tolerance {text}: {source}. The limit stays the limit."


def _wrap(text: str, width: int) -> str:
    """Lines of at most ``width`` characters; those of a list are indented below their dash."""
    indent = "  " if text.startswith("- ") else ""
    lead = "\n" if text.startswith("\n") else ""
    return lead + textwrap.fill(
        text.strip("\n"), width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    )
