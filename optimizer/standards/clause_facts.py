"""Findings of a rule set that are no plain length against a limit: facts, and needs by slope."""

from __future__ import annotations

from optimizer.plan import XYZ, Finding, Verdict
from optimizer.rulebook.rules import Limit
from optimizer.standards.findings import (
    conclude,
    convert_slope_to_document,
    convert_to_document,
    is_slope_within,
)
from optimizer.units import Slope


def judge_clause(
    limit: Limit,
    rules: str,
    subject: str,
    verdict: Verdict,
    says: str,
    where_m: XYZ | None,
    measured_m: float | None = None,
) -> Finding:
    """A finding whose verdict the clause itself has found; ``says`` is the sentence without its stop.

    A limit known from memory passes nothing and fails nothing.  ``measured_m`` in metres.
    """
    measured = None if measured_m is None else convert_to_document(limit, measured_m)
    return conclude(limit, rules, subject, measured, limit.value, where_m, verdict, f"{subject}: {says}.")


def judge_slope_need(
    limit: Limit,
    rules: str,
    subject: str,
    rise_m: float,
    run_m: float,
    where_m: XYZ | None,
    missing: str | None,
) -> Finding:
    """A trigger by slope ('no handrail is needed while the slope is operator limit').

    Compared as lengths, so exactly the limit counts as within it (a strict one: as beyond it).
    """
    shown = f"a slope of {Slope.from_ratio(rise_m / run_m)}"
    bound = Slope.from_ratio(limit.value_si)
    measured = convert_slope_to_document(limit, rise_m / run_m)
    if is_slope_within(limit, rise_m, run_m):
        says = f"{shown} asks for no handrail (limit {bound})"
        text = f"{subject}: {says}."
        return conclude(limit, rules, subject, measured, limit.value, where_m, "does not apply", text)
    says = f"{shown} (limit {bound}) asks for a handrail; {missing or 'it is there'}"
    verdict: Verdict = "meets" if missing is None else "fails"
    return conclude(limit, rules, subject, measured, limit.value, where_m, verdict, f"{subject}: {says}.")


def worst_of(verdicts: tuple[Verdict, ...]) -> Verdict:
    """What several looks at one thing come to: a failure, else a doubt, else met."""
    for verdict in ("fails", "cannot tell", "meets"):
        if verdict in verdicts:
            return verdict
    return "does not apply"
