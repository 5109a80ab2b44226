"""An audit as text: the numbers that rules are about, every clause with its worst, what disagrees."""

from __future__ import annotations

import io
import json
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Final

from rich.console import Console
from rich.table import Table

from optimizer.audit.report import CLAUSES, DRAWN_M, NOT_COMPARED, AuditFinding, AuditReport
from optimizer.schedule_tables import build_console, build_table, choose_gap
from optimizer.written_files import write_whole

RULE: Final = "rule."
#: Pieces that lie elsewhere are told one by one; when most do, so is the likely reason.
_PLACES: Final = ("drawn.place", "drawn.level")
OTHER_STATE: Final = (
    "Most pieces lie elsewhere than in the plan: the model was probably drawn from another state of it. "
    "Draw it again with `evenfall plan`."
)
CAUTION: Final = (
    "This compares a drawing with its plan. It is no approval: local codes, the authority having "
    "jurisdiction and licensed professionals decide."
)


def draw_audit(report: AuditReport, width: int) -> str:
    """The report for a page of ``width`` characters."""
    buffer = io.StringIO()
    console = build_console(buffer, width)
    console.print(f"{report.candidate} of {report.site} as drawn in {report.model}")
    console.print(f"Measured from triangles; counts as agreeing within {1000.0 * DRAWN_M:g} mm.\n")
    _print_rule_numbers(console, report, width)
    _print_clauses(console, report, width)
    for verdict in ("disagrees", "cannot tell"):
        for finding in report.pick(verdict):
            console.print(f"{verdict}: {finding.clause}: {finding.text}")
    if _is_most_elsewhere(report):
        console.print(f"\n{OTHER_STATE}")
    console.print(
        f"\n{len(report.findings)} findings: {len(report.pick('agrees'))} agree, "
        f"{len(report.pick('disagrees'))} disagree, {len(report.pick('cannot tell'))} cannot be told"
    )
    console.print("\nNot compared:")
    for words in NOT_COMPARED:
        console.print(f"- {words}")
    console.print(CAUTION)
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines())


def _print_rule_numbers(console: Console, report: AuditReport, width: int) -> None:
    table = _build_table(("verdict", "finding"), (), width)
    for finding in report.findings:
        if finding.clause.startswith(RULE):
            table.add_row(finding.verdict, finding.text)
    console.print("What rules are about:")
    console.print(table)


def _print_clauses(console: Console, report: AuditReport, width: int) -> None:
    numbers = ("looked at", "agree", "worst mm")
    table = _build_table(("clause", *numbers, "what is compared"), numbers, width)
    for clause, words in CLAUSES:
        found = [finding for finding in report.findings if finding.clause == clause]
        if clause.startswith(RULE) or not found:
            continue
        agreeing = sum(finding.verdict == "agrees" for finding in found)
        table.add_row(clause, str(len(found)), str(agreeing), _format_worst(found), words)
    console.print("\nEvery clause, with the largest difference found:")
    console.print(table)
    console.print()


def _build_table(columns: tuple[str, ...], right: tuple[str, ...], width: int) -> Table:
    """Only the last column may run over several lines."""
    table = build_table(columns, right, choose_gap(width))
    for column in table.columns:
        column.no_wrap = column is not table.columns[-1]
    return table


def _format_worst(found: Iterable[AuditFinding]) -> str:
    known = [finding.difference_m for finding in found if finding.difference_m is not None]
    return f"{1000.0 * max(known):.2f}" if known else "?"


def _is_most_elsewhere(report: AuditReport) -> bool:
    looked_at = {finding.subject for finding in report.findings if finding.clause in _PLACES}
    elsewhere = {finding.subject for finding in report.pick("disagrees") if finding.clause in _PLACES}
    return 2 * len(elsewhere) > len(looked_at)


def format_audit(report: AuditReport) -> str:
    """The report as JSON text."""
    return json.dumps(asdict(report), indent=1, ensure_ascii=False)


def write_audit(report: AuditReport, path: Path) -> None:
    """Write the report as JSON, whole or not at all; raises OutputError."""
    write_whole(path, format_audit(report) + "\n")
