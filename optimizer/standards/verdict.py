"""What the findings come to: counts and one sentence that never claims more."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.plan import Finding
from optimizer.rulebook.bound import DecidedBy, Role
from optimizer.rulebook.deciders import say_decides
from optimizer.rulebook.rules import RuleSet
from optimizer.standards.findings import BUILD


@dataclass(frozen=True, slots=True)
class Summary:
    """What one rule set and the physical checks come to.

    Counts are over the findings of that set and of ``build``: ``failed``, ``open`` (cannot tell), of
    which ``from_memory`` rest on a limit of the set that is known from memory only.  ``sentence``
    speaks of the rule set, ``build_sentence`` of the physical checks.
    """

    looked_at: int
    met: int
    failed: int
    open: int
    from_memory: int
    inapplicable: int
    sentence: str
    build_sentence: str


def summarise_findings(
    findings: tuple[Finding, ...],
    rules: RuleSet,
    decided_by: DecidedBy = "authority",
    role: Role = "binding",
) -> Summary:
    """Count the findings of one rule set and of the physical checks, and say what they come to.

    Findings of other rule sets are left out: each set is summed up on its own.
    """
    by_rules = tuple(finding for finding in findings if finding.rules == rules.id)
    by_build = tuple(finding for finding in findings if finding.rules == BUILD)
    both = (*by_rules, *by_build)
    recalled = tuple(finding for finding in by_rules if finding.how_known == "memory")
    return Summary(
        looked_at=len(both),
        met=_count(both, "meets"),
        failed=_count(both, "fails"),
        open=_count(both, "cannot tell"),
        from_memory=_count(recalled, "cannot tell"),
        inapplicable=_count(both, "does not apply"),
        sentence=_say_rules(by_rules, rules, f"{say_decides(rules.id, role, decided_by)}."),
        build_sentence=_say_build(by_build),
    )


def _count(findings: tuple[Finding, ...], verdict: str) -> int:
    return sum(1 for finding in findings if finding.verdict == verdict)


def _say_rules(findings: tuple[Finding, ...], rules: RuleSet, rest: str) -> str:
    failed, unsure = _count(findings, "fails"), _count(findings, "cannot tell")
    title = f"{rules.title} {rules.edition}".strip()
    if not _count(findings, "meets") and not failed and not unsure:
        return f"No limit of {title} was checked; {rest}"
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
