"""The report of the checker: per rule set what it found, told and left to others.

The terminal and the JSON file (``evenfall check FILE --report OUT.json``) are drawn from the same
records; ``FindingsReport.model_json_schema()`` is the published schema.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final, Literal

from pydantic import Field

from optimizer.brief.site import Site
from optimizer.finding_numbers import is_within_limit
from optimizer.named_limit import find_limits_of, find_tolerance, list_advice
from optimizer.plan import Candidate, FactsRecord, Finding, Record, RuleSetRecord
from optimizer.record_rules import record_facts, record_rules
from optimizer.rulebook.bound import BoundSet
from optimizer.standards.findings import BUILD
from optimizer.standards.verdict import summarise_findings
from optimizer.undecided import list_undecided
from optimizer.written_files import write_whole

REPORT_SCHEMA: Final = "evenfall-report-1"


class ToleranceRecord(Record):
    """What a published text allows for building; the limit stays what it is."""

    text: str
    source: str


class ReportedFinding(Record):
    """A finding with what it is about (``quantity``, empty for our own checks) and the published
    building tolerance of that quantity, where there is one.
    """

    quantity: str
    finding: Finding
    building_tolerance: ToleranceRecord | None


class SetReport(Record):
    """What one rule set comes to on one layout.

    ``from_memory``: clauses known only from memory, which pass nothing (counted in ``cannot_tell``);
    ``beyond_memory``: those of them whose remembered limit is not kept, or was not compared.
    ``advice``: how the document advises to design, one sentence each; it grants nothing.
    """

    id: str
    meets: int
    fails: int
    cannot_tell: int
    does_not_apply: int
    from_memory: tuple[str, ...]
    beyond_memory: tuple[str, ...]
    advice: tuple[str, ...]
    sentence: str


class LayoutReport(Record):
    """One layout: the sets in the order of the site file, then our own checks (``build``).

    ``is_broken``: a binding set or one of our own checks fails.  ``to_decide``: what somebody else has
    to decide or confirm, one sentence each.
    """

    name: str
    start: str
    is_broken: bool
    sets: tuple[SetReport, ...]
    build: SetReport
    to_decide: tuple[str, ...]
    findings: tuple[ReportedFinding, ...]


class FindingsReport(Record):
    """A whole report.  Not an approval.

    ``heights``: why legs may not be ordered by the ground's heights; empty where they may.
    """

    schema_id: Literal["evenfall-report-1"] = Field(alias="schema")
    site: str
    rules: tuple[RuleSetRecord, ...]
    facts: tuple[FactsRecord, ...]
    heights: str
    layouts: tuple[LayoutReport, ...]


def build_report(site: Site, candidates: tuple[Candidate, ...]) -> FindingsReport:
    """The report on candidates that were checked on this site."""
    return FindingsReport(
        schema=REPORT_SCHEMA,
        site=site.name,
        rules=record_rules(site.rulings.sets),
        facts=record_facts(site),
        heights=site.heights.warning,
        layouts=tuple(_report_layout(site, one) for one in candidates),
    )


def is_broken(findings: tuple[Finding, ...], rules: tuple[RuleSetRecord, ...]) -> bool:
    """Whether a binding set or one of our own checks fails; guides and wishes break nothing."""
    told_only = {one.id for one in rules if one.role != "binding"}
    return any(one.verdict == "fails" and one.rules not in told_only for one in findings)


def format_report(report: FindingsReport) -> str:
    """The report as JSON text, the same bytes for the same report."""
    return json.dumps(report.model_dump(mode="json", by_alias=True), indent=1, ensure_ascii=False) + "\n"


def write_report(report: FindingsReport, path: Path) -> None:
    """Write the report whole or not at all; raises ``OutputError``."""
    write_whole(path, format_report(report))


def report_schema() -> str:
    """JSON Schema of the report as text."""
    return json.dumps(FindingsReport.model_json_schema(by_alias=True), indent=1) + "\n"


def _report_layout(site: Site, candidate: Candidate) -> LayoutReport:
    sets = site.rulings.sets
    return LayoutReport(
        name=candidate.name,
        start=candidate.start,
        is_broken=is_broken(candidate.findings, record_rules(sets)),
        sets=tuple(_sum_up(one, candidate.findings, sets) for one in sets),
        build=_count(BUILD, candidate.findings, sets, (), _say_build(sets[0], candidate.findings)),
        to_decide=list_undecided(site, candidate),
        findings=tuple(_report_finding(finding, sets) for finding in candidate.findings),
    )


def _sum_up(bound: BoundSet, findings: tuple[Finding, ...], sets: tuple[BoundSet, ...]) -> SetReport:
    sentence = summarise_findings(findings, bound.rules, bound.decided_by, bound.role).sentence
    return _count(bound.rules.id, findings, sets, list_advice(bound.rules), sentence)


def _say_build(bound: BoundSet, findings: tuple[Finding, ...]) -> str:
    return summarise_findings(findings, bound.rules, bound.decided_by).build_sentence


def _count(
    rules: str,
    findings: tuple[Finding, ...],
    sets: tuple[BoundSet, ...],
    advice: tuple[str, ...],
    sentence: str,
) -> SetReport:
    of_set = tuple(one for one in findings if one.rules == rules)
    verdicts = [one.verdict for one in of_set]
    recalled = [one for one in of_set if is_from_memory(one)]
    beyond = (one.clause for one in recalled if not is_within_limit(one, _name_quantity(one, sets)))
    return SetReport(
        id=rules,
        meets=verdicts.count("meets"),
        fails=verdicts.count("fails"),
        cannot_tell=verdicts.count("cannot tell"),
        does_not_apply=verdicts.count("does not apply"),
        from_memory=tuple(dict.fromkeys(one.clause for one in recalled)),
        beyond_memory=tuple(dict.fromkeys(beyond)),
        advice=advice,
        sentence=sentence,
    )


def is_from_memory(finding: Finding) -> bool:
    """Whether a finding is open only because nobody has read the limit in its document."""
    return finding.how_known == "memory" and finding.verdict == "cannot tell"


def _name_quantity(finding: Finding, sets: tuple[BoundSet, ...]) -> str:
    """What the finding is about; empty where its clause limits several quantities alike."""
    quantities = {one.quantity for one in find_limits_of(finding, sets)}
    return str(quantities.pop()) if len(quantities) == 1 else ""


def _report_finding(finding: Finding, sets: tuple[BoundSet, ...]) -> ReportedFinding:
    limits = find_limits_of(finding, sets)
    tolerance = find_tolerance(finding, limits, sets)
    return ReportedFinding(
        quantity=_name_quantity(finding, sets),
        finding=finding,
        building_tolerance=(
            None if tolerance is None else ToleranceRecord(text=tolerance.text, source=tolerance.source)
        ),
    )
