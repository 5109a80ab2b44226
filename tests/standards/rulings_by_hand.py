"""Rule sets bound to a case by hand: which bind, what is answered, and the limits to put in them."""

from __future__ import annotations

from dataclasses import replace

from optimizer.plan import Candidate, Finding
from optimizer.rulebook.bound import BoundSet, Rulings
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.rules import HowKnown, Limit, Operator, Place, Quantity, RuleSet
from optimizer.rulebook.run_law import Allowance, RunLaw
from optimizer.standards.check_candidate import CheckCase, check_candidate

#: No end of a row, metres.
ENDLESS = float("inf")
SLOPES = ("running_slope", "run_law", "cross_slope", "handrail_slope")


def bind(*sets: RuleSet, facts: JobFacts | None = None) -> Rulings:
    """These rule sets, all binding, with the answers given (none)."""
    bound = tuple(BoundSet(rules, "binding", "authority") for rules in sets)
    return Rulings(bound, JobFacts() if facts is None else facts)


def with_rules(case: CheckCase, *sets: RuleSet, facts: JobFacts | None = None) -> CheckCase:
    return replace(case, rulings=bind(*sets, facts=facts))


def rules_of(case: CheckCase) -> RuleSet:
    """The one rule set of a case that has one."""
    (bound,) = case.rulings.sets
    return bound.rules


def make_limit(
    quantity: Quantity,
    operator: Operator,
    value: float,
    known: HowKnown = "text",
    place: Place = "any",
    law: RunLaw | None = None,
) -> Limit:
    """A limit of clause 9.9 in metres or as a ratio."""
    unit = "ratio" if quantity in SLOPES or quantity.startswith("landing_slope") else "m"
    return Limit(
        "t", "9.9", quantity, operator, value, unit, value, "a test", known, "", place=place, law=law
    )


def make_rules(*limits: Limit, name: str = "test") -> RuleSet:
    return RuleSet(name, "Test rules", "1", limits, (), "")


def make_row(
    slope: float,
    longest_m: float = ENDLESS,
    greatest_rise_m: float = ENDLESS,
    above_m: float = 0.0,
    until: float | None = None,
    *,
    strict: bool = False,
) -> Allowance:
    """A row of one slope, or of one that changes as n of 1:n does up to ``until``."""
    last = slope if until is None else until
    return Allowance(above_m, longest_m, greatest_rise_m, slope, last, "run_per_rise", strict)


def make_law(*rows: Allowance, widens: bool = False, known: HowKnown = "text") -> Limit:
    limit = make_limit("run_law", "<=", rows[0].slope_at_longest, known, law=RunLaw(rows, widens))
    return replace(limit, clause="9.7")


def judge(candidate: Candidate, case: CheckCase, *limits: Limit) -> list[Finding]:
    """What the checker finds of these limits alone."""
    found = check_candidate(candidate, with_rules(case, make_rules(*limits)))
    return [finding for finding in found if finding.rules == "test"]
