"""What the checker found, set by set and clause by clause, and what nobody has looked at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.documents.job import DocumentJob
from optimizer.findings_report import FindingsReport, LayoutReport, ReportedFinding, SetReport, build_report
from optimizer.findings_table import NOT_AN_APPROVAL, ROLE_WORDS
from optimizer.plan import RuleSetRecord
from optimizer.report.finding_rows import list_clause_rows, list_failures, list_inapplicable
from optimizer.report.parts import Chapter, Part, Rows, Words
from optimizer.rulebook.deciders import say_decides
from optimizer.standards.findings import BUILD

_HEAD: Final = ("verdict", "clause", "what", "measured", "limit", "building tolerance")
_WIDTHS: Final = (3, 4, 8, 3, 4, 3)
_COUNTED: Final = ("meets", "fails", "cannot tell", "does not apply")


def list_finding_parts(job: DocumentJob) -> Iterator[Part]:
    """Counts of every candidate, failures of all, then the job's candidate clause by clause."""
    report = build_report(job.site, job.plan.candidates)
    yield Chapter("Findings")
    yield Words("", (NOT_AN_APPROVAL,), "frame")
    counts = tuple(row for layout in report.layouts for row in _list_counts(report, layout))
    head = ("layout", "rule set", "role", *_COUNTED)
    yield Rows("Counted", head, counts, (4, 5, 5, 2, 2, 2, 2), right=(3, 4, 5, 6))
    failures = tuple(
        (layout.name, *row[1:-1]) for layout in report.layouts for row in list_failures(layout.findings)
    )
    if failures:
        yield Rows("What fails", ("layout", *_HEAD[1:-1]), failures, (3, 5, 9, 3, 4))
    else:
        yield Words("What fails", ("Nothing that was checked fails.",))
    layout = report.layouts[job.number - 1]
    for rules, told in zip(report.rules, layout.sets, strict=True):
        yield from _list_set(rules, told, layout)
    yield from _list_build(layout)
    yield from _list_ending(report, layout)


def _list_counts(report: FindingsReport, layout: LayoutReport) -> Iterator[tuple[str, ...]]:
    for rules, told in zip(report.rules, layout.sets, strict=True):
        yield layout.name, rules.id, ROLE_WORDS[rules.role], *_count(told)
    yield layout.name, "(our own checks)", "pieces fit, stand, cost", *_count(layout.build)


def _count(told: SetReport) -> tuple[str, ...]:
    return str(told.meets), str(told.fails), str(told.cannot_tell), str(told.does_not_apply)


def _list_set(rules: RuleSetRecord, told: SetReport, layout: LayoutReport) -> Iterator[Part]:
    of_set = [one for one in layout.findings if one.finding.rules == rules.id]
    says = say_decides(rules.id, rules.role, rules.decided_by)
    heading = f"{layout.name} under {rules.title}, {rules.edition} ({rules.id})"
    yield Words(heading, (f"{ROLE_WORDS[rules.role]}; {says}", rules.statement))
    yield from _list_rows(of_set)
    yield Words("", (*_say_inapplicable(of_set), *_say_tolerances(of_set), *told.advice, told.sentence))


def _list_build(layout: LayoutReport) -> Iterator[Part]:
    of_build = [one for one in layout.findings if one.finding.rules == BUILD]
    yield Words(f"{layout.name} by our own checks", ("Do the pieces fit, stand and cost as stated?",))
    yield from _list_rows(of_build)
    yield Words("", (*_say_inapplicable(of_build), layout.build.sentence))


def _list_rows(findings: list[ReportedFinding]) -> Iterator[Part]:
    rows = tuple(list_clause_rows(findings))
    # Few limits have a published building tolerance.
    if any(row[-1] for row in rows):
        yield Rows("", _HEAD, rows, _WIDTHS)
    elif rows:
        yield Rows("", _HEAD[:-1], tuple(row[:-1] for row in rows), _WIDTHS[:-1])


def _say_inapplicable(findings: list[ReportedFinding]) -> Iterator[str]:
    clauses = list_inapplicable(findings)
    if clauses:
        yield f"Looked at, does not apply here: {', '.join(clauses)}."


def _say_tolerances(findings: list[ReportedFinding]) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(
            f"Building tolerance {one.building_tolerance.text}: {one.building_tolerance.source}. "
            "The limit stays the limit."
            for one in findings
            if one.building_tolerance is not None and one.finding.verdict != "does not apply"
        )
    )


def _list_ending(report: FindingsReport, layout: LayoutReport) -> Iterator[Part]:
    for rules in report.rules:
        heading = f"Not checked of {rules.title}, {rules.edition} ({rules.id})"
        yield Words(heading, rules.not_checked, "dash")
    if layout.to_decide:
        yield Words("For those who decide", layout.to_decide, "dash")
