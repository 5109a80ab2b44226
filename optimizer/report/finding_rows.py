"""Findings of one layout as rows, by clause: failures each by itself, the others the nearest to its limit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from optimizer.finding_numbers import find_tightest, show_limit, show_measured
from optimizer.findings_report import ReportedFinding, is_from_memory
from optimizer.plan import Verdict
from optimizer.standards.findings import BUILD

#: Verdicts in the order in which they are read.
_ORDER: Final[tuple[Verdict, ...]] = ("fails", "cannot tell", "meets")

FindingRow = tuple[str, str, str, str, str, str]


def list_failures(findings: Iterable[ReportedFinding]) -> Iterator[FindingRow]:
    """One row a finding that fails, its clause with its rule set."""
    for one in findings:
        if one.finding.verdict == "fails":
            yield _show([one], f"{one.finding.rules} {show_clause(one.finding.clause)}")


def list_clause_rows(findings: Iterable[ReportedFinding]) -> Iterator[FindingRow]:
    """Clause by clause, what fails first; findings of one verdict and one limit share a row.

    What is open and has no number keeps a row for each of its sentences.
    """
    groups: dict[tuple[str, ...], list[ReportedFinding]] = {}
    for one in findings:
        finding = one.finding
        is_told_alone = finding.verdict == "fails" or (
            finding.verdict == "cannot tell" and finding.measured is None
        )
        words = finding.text if is_told_alone else ""
        key = (finding.verdict, finding.clause, one.quantity, show_limit(finding, one.quantity), words)
        groups.setdefault(key, []).append(one)
    for verdict in _ORDER:
        for (of_verdict, clause, *_), group in groups.items():
            if of_verdict == verdict:
                yield _show(group, show_clause(clause))


def show_clause(clause: str) -> str:
    """A clause as it is printed: our own checks are named in plain words."""
    own = clause.removeprefix(f"{BUILD}.")
    return clause if own == clause else own.replace("_", " ")


def list_inapplicable(findings: Iterable[ReportedFinding]) -> tuple[str, ...]:
    """Clauses that were looked at and of which no finding has another verdict."""
    told = [(one.finding.clause, one.finding.verdict == "does not apply") for one in findings]
    applied = {clause for clause, is_out in told if not is_out}
    return tuple(dict.fromkeys(show_clause(clause) for clause, _ in told if clause not in applied))


def _show(group: list[ReportedFinding], clause: str) -> FindingRow:
    tightest = find_tightest(tuple(one.finding for one in group))
    (shown, *_) = (one for one in group if one.finding is tightest)
    quantity = shown.quantity.replace("_", " ")
    subject = f"{quantity}: {tightest.subject}" if quantity else tightest.subject
    thing = tightest.text if tightest.measured is None or tightest.verdict != "meets" else subject
    if len(group) > 1:
        thing += f" ({'one' if tightest.measured is None else 'tightest'} of {len(group)})"
    recalled = " (limit known from memory only)" if is_from_memory(tightest) else ""
    tolerance = "" if shown.building_tolerance is None else shown.building_tolerance.text
    return (
        f"{tightest.verdict}{recalled}",
        clause,
        thing,
        show_measured(tightest),
        show_limit(tightest, shown.quantity),
        tolerance,
    )
