"""Slope by length and slope by rise: runs against the rows of a table or the points of a formula.

A law that ``widens`` lets a run be steeper than the document's own running slope; such runs are
judged by the law, and the running slope of that document does not fail them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from optimizer.plan import XYZ, Finding, Verdict
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.rulebook.run_law import Allowance, RunLaw
from optimizer.standards.chain import Chain, Run
from optimizer.standards.findings import (
    conclude,
    convert_slope_to_document,
    locate,
    tell_inapplicable,
    tell_unmeasured,
)
from optimizer.standards.placed import mark
from optimizer.units import Slope, is_at_least, is_at_most, is_slope_at_most


@dataclass(frozen=True, slots=True)
class Allowed:
    """The steepest slope a law allows a run of some rise and plan length; ``is_strict``: flatter only."""

    slope: float
    is_strict: bool

    def has_room(self, rise_m: float, plan_m: float) -> bool:
        """Is the slope of this rise over this plan length allowed (compared as lengths)."""
        if self.is_strict:
            return not is_at_least(rise_m, self.slope * plan_m)
        return is_slope_at_most(rise_m, plan_m, self.slope)


def find_allowed(law: RunLaw, rise_m: float, plan_m: float) -> Allowed | None:
    """The steepest slope for this rise and plan length; none when the law has no row for them."""
    rows = [row for row in law.allowances if _fits(row, rise_m, plan_m)]
    if not rows:
        return None
    best = max(rows, key=lambda row: (row.steepest(plan_m), not row.is_strict))
    return Allowed(best.steepest(plan_m), best.is_strict)


def _fits(row: Allowance, rise_m: float, plan_m: float) -> bool:
    return (
        is_at_most(plan_m, row.longest_m)
        and is_at_least(plan_m, row.above_m)
        and is_at_most(rise_m, row.greatest_rise_m)
    )


@dataclass(frozen=True, slots=True)
class Permit:
    """A widening law that allows a run steeper than its document's running slope."""

    limit: Limit
    allowed: Allowed


def find_permit(rules: RuleSet, run: Run) -> Permit | None:
    """The widening law of the rule set that allows this run as a whole, the surest one known first."""
    permits = []
    for limit in rules.limits_on("run_law"):
        if limit.law is None or not limit.law.widens:
            continue
        allowed = find_allowed(limit.law, run.rise_m, run.plan_length_m)
        if allowed is not None and allowed.has_room(run.rise_m, run.plan_length_m):
            permits.append(Permit(limit, allowed))
    permits.sort(key=lambda permit: permit.limit.how_known == "memory")
    return permits[0] if permits else None


def judge_permitted(
    limit: Limit, permit: Permit, rules: str, subject: str, rise_m: float, plan_m: float, where_m: XYZ
) -> Finding:
    """The running slope of a run, or of a piece of one, that a widening law allows to be steeper."""
    verdict: Verdict = "meets" if permit.allowed.has_room(rise_m, plan_m) else "fails"
    asked = _say_asked(permit.allowed)
    text = (
        f"{subject}: running slope {_say_slope(rise_m, plan_m)}, steeper than "
        f"{Slope.from_ratio(limit.value_si)}; {permit.limit.clause} allows such a run {asked}."
    )
    known = permit.limit.how_known if permit.limit.how_known == "memory" else limit.how_known
    measured = convert_slope_to_document(limit, rise_m / plan_m)
    bound = convert_slope_to_document(limit, permit.allowed.slope)
    judged = replace(limit, how_known=known)
    return conclude(judged, rules, subject, measured, bound, where_m, verdict, text)


def check_run_law(limit: Limit, rules: RuleSet, chain: Chain) -> Iterator[Finding]:
    """Each run as a whole, the plate included, and its steepest piece as a run of its own length.

    A widening law concerns only runs steeper than the document's running slope; one that it allows
    is held to no other row.
    """
    for run in chain.runs:
        where = locate(run.start_m)
        if limit.law is None:
            yield tell_unmeasured(limit, rules.id, run.name, "its table has no rows here", where)
            continue
        if limit.law.widens and _needs_no_permit(rules, run):
            why = "it is not steeper than the running slope allowed to all"
            yield tell_inapplicable(limit, rules.id, run.name, why, where)
            continue
        permit = None if limit.law.widens else find_permit(rules, run)
        if permit is not None and permit.limit.how_known != "memory":
            why = f"{permit.limit.clause} allows it"
            yield tell_inapplicable(limit, rules.id, run.name, why, where)
            continue
        yield _judge_law(limit, limit.law, rules.id, run.name, run.rise_m, run.plan_length_m, where)
        steepest = max(run.pieces, key=lambda piece: -piece.fall_gradient)
        if not limit.law.widens and not is_slope_at_most(
            steepest.rise_m, steepest.plan_length_m, run.rise_m / run.plan_length_m
        ):
            name, rise, plan = steepest.piece.id, steepest.rise_m, steepest.plan_length_m
            yield _judge_law(limit, limit.law, rules.id, name, rise, plan, mark(steepest))


def _needs_no_permit(rules: RuleSet, run: Run) -> bool:
    """Is every piece of the run within the running slopes of the document; it must state one."""
    slopes = rules.limits_on("running_slope")
    return bool(slopes) and all(
        is_slope_at_most(piece.rise_m, piece.plan_length_m, slope.value_si)
        for slope in slopes
        for piece in (run, *run.pieces)
    )


def _judge_law(
    limit: Limit, law: RunLaw, rules: str, subject: str, rise_m: float, plan_m: float, where_m: XYZ
) -> Finding:
    allowed = find_allowed(law, rise_m, plan_m)
    measured = convert_slope_to_document(limit, rise_m / plan_m)
    size = f"{plan_m:.3f} m long in plan, rising {rise_m:.3f} m"
    if allowed is None:
        text = f"{subject}: {size}, longer or rising more than any run of the table."
        return conclude(limit, rules, subject, measured, None, where_m, "fails", text)
    verdict: Verdict = "meets" if allowed.has_room(rise_m, plan_m) else "fails"
    slope = _say_slope(rise_m, plan_m)
    text = f"{subject}: running slope {slope}, {_say_asked(allowed)} asked of a run {size}."
    bound = convert_slope_to_document(limit, allowed.slope)
    return conclude(limit, rules, subject, measured, bound, where_m, verdict, text)


def _say_slope(rise_m: float, plan_m: float) -> str:
    return str(Slope.from_ratio(rise_m / plan_m))


def _say_asked(allowed: Allowed) -> str:
    return f"{'less than' if allowed.is_strict else 'at most'} {Slope.from_ratio(allowed.slope)}"
