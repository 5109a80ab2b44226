"""Findings that may stay open: what the survey is not good enough for, and what is no part of the plan."""

from __future__ import annotations

from optimizer.plan import XYZ, Finding, Verdict
from optimizer.rulebook.rules import Limit
from optimizer.standards.findings import (
    WORDS,
    conclude,
    convert_slope_to_document,
    convert_to_document,
    is_within,
    judge_need,
    show_numbers,
    stands,
)
from optimizer.units import Slope


def judge_unsure_slope(
    limit: Limit, rules: str, subject: str, what: str, slope: float, error: float, where_m: XYZ | None
) -> Finding:
    """A slope of surveyed ground: judged when the limit lies beyond two standard errors (``error`` is one).

    Between them a slope within the limit may be one beyond it, and the other way round.
    """
    bound = limit.value_si
    margin = 2.0 * error
    surely = stands(slope + margin, limit.operator, bound) and stands(slope, limit.operator, bound)
    never = not stands(max(0.0, slope - margin), limit.operator, bound)
    text = f"{subject}: {what} {Slope.from_ratio(slope)}"
    if margin > 0.0:
        text += f", give or take {margin * 100:.1f} % (two standard errors of the survey)"
    text += f", {WORDS[limit.operator]} {Slope.from_ratio(bound)} asked."
    verdict: Verdict = "meets" if surely else "fails" if never else "cannot tell"
    if verdict == "cannot tell":
        text += " The levels are not good enough to tell; measure it on site."
    measured = convert_slope_to_document(limit, slope)
    return conclude(limit, rules, subject, measured, limit.value, where_m, verdict, text)


def judge_open_need(
    limit: Limit,
    rules: str,
    subject: str,
    measured_m: float,
    where_m: XYZ | None,
    what: str,
    need: str,
) -> Finding:
    """A trigger whose ``need`` is met or not by things that are no part of the plan."""
    if is_within(limit, measured_m):
        return judge_need(limit, rules, subject, measured_m, where_m, what, None, "more")
    measured = convert_to_document(limit, measured_m)
    bound = convert_to_document(limit, limit.value_si)
    shown, shown_limit = show_numbers(measured, bound, "fails")
    text = f"{subject}: {what} {shown} {limit.unit} (limit {shown_limit} {limit.unit}) asks for {need}."
    return conclude(limit, rules, subject, measured, bound, where_m, "cannot tell", text)
