"""What the findings come to: counts and one sentence that never claims more."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.plan import Finding
from optimizer.rulebook.rules import RuleSet
from optimizer.standards.findings import BUILD


@dataclass(frozen=True, slots=True)
class Summary:
    """Counts of a candidate's findings; ``failed`` and ``open`` (cannot tell) over both groups.

    ``sentence`` speaks of the rule set, ``build_sentence`` of the physical checks.
    """

    looked_at: int
    met: int
    failed: int
    open: int
    inapplicable: int
    sentence: str
    build_sentence: str


def summarise_findings(findings: tuple[Finding, ...], rules: RuleSet) -> Summary:
    """Count the findings and say what they come to."""
    by_rules = tuple(finding for finding in findings if finding.rules != BUILD)
    by_build = tuple(finding for finding in findings if finding.rules == BUILD)
    return Summary(
        looked_at=len(findings),
        met=_count(findings, "meets"),
        failed=_count(findings, "fails"),
        open=_count(findings, "cannot tell"),
        inapplicable=_count(findings, "does not apply"),
        sentence=_say_rules(by_rules, rules),
        build_sentence=_say_build(by_build),
    )


def _count(findings: tuple[Finding, ...], verdict: str) -> int:
    return sum(1 for finding in findings if finding.verdict == verdict)


def _say_rules(findings: tuple[Finding, ...], rules: RuleSet) -> str:
    failed, unsure = _count(findings, "fails"), _count(findings, "cannot tell")
    title = f"{rules.title} {rules.edition}".strip()
    if not _count(findings, "meets") and not failed and not unsure:
        return f"No limit of {title} was checked; the authority having jurisdiction decides."
    rest = "the authority having jurisdiction decides."
    if failed:
        clauses = sorted({finding.clause for finding in findings if finding.verdict == "fails"})
        also = f" and cannot be told for {unsure}" if unsure else ""
        named = ", ".join(clauses)
        places = "1 place" if failed == 1 else f"{failed} places"
        return f"Fails limits of {title} that were checked, in {places} ({named}){also}; {rest}"
    if unsure:
        return f"Meets the limits of {title} that could be checked, and cannot be told for {unsure}; {rest}"
    return f"Meets the limits of {title} that were checked; {rest}"


def _say_build(findings: tuple[Finding, ...]) -> str:
    failed = _count(findings, "fails")
    if not findings:
        return "Nothing physical was checked."
    if not failed:
        return "The pieces fit, stand and are priced as stated, as far as checked."
    clauses = sorted({finding.clause for finding in findings if finding.verdict == "fails"})
    return f"Fails {failed} of the physical checks ({', '.join(clauses)})."
