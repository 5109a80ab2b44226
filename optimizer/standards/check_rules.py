"""Every limit of every rule set, looked at on every thing it speaks of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import assert_never

from optimizer.plan import Finding
from optimizer.rulebook.bound import BoundSet
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.resolve import list_open_questions, resolve_rules
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards import end_clauses, landing_clauses, landing_size_clauses, law_clauses, run_clauses
from optimizer.standards import whole_ramp_clauses as whole
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.check_rail_limits import check_rail_limit, check_room_limit
from optimizer.standards.findings import locate, tell_inapplicable, tell_unmeasured
from optimizer.standards.measured import Measured
from optimizer.standards.quantity_groups import LevelQuantity, RunQuantity


@dataclass(frozen=True, slots=True)
class ResolvedSet:
    """One rule set for one start: ``rules`` hold, for ``undecided`` nobody can tell whether they do."""

    rules: RuleSet
    undecided: tuple[Limit, ...]


def resolve_set(bound: BoundSet, case: CheckCase) -> ResolvedSet:
    """The limits of one set that bind the case's start.

    A yard without that start has no door whose swing could decide.
    """
    start, rules = case.start(), bound.rules
    if start is not None:
        return ResolvedSet(resolve_rules(rules, case.rulings.facts, start.swing), ())
    undecided = tuple(limit for limit in rules.limits if any(one.fact == "door_swing" for one in limit.when))
    known = replace(rules, limits=tuple(limit for limit in rules.limits if limit not in undecided))
    return ResolvedSet(resolve_rules(known, case.rulings.facts, "in"), undecided)


def check_rules(measured: Measured) -> Iterator[Finding]:
    """One finding per clause and thing: set by set as the site names them, in each set's own order."""
    where = locate(measured.chain.walked()[0].start_m)
    subject, runs = measured.candidate.name, len(measured.chain.runs)
    for bound in measured.case.rulings.sets:
        resolved = resolve_set(bound, measured.case)
        rules = replace(
            resolved.rules,
            limits=tuple(limit for limit in resolved.rules.limits if _binds_runs(limit, measured.chain)),
        )
        for limit in resolved.rules.limits:
            if not _binds_runs(limit, measured.chain):
                why = f"it does not bind a ramp of {runs} runs"
                yield tell_inapplicable(limit, rules.id, subject, why, where)
                continue
            found = tuple(_check_limit(limit, rules, measured))
            yield from _doubt_unanswered(found, limit, rules, measured.case.rulings.facts)
            if not found:
                why = "nothing on the way is what it speaks of"
                yield tell_inapplicable(limit, rules.id, subject, why, where)
        for limit in resolved.undecided:
            why = "the yard has no such start, and the swing of its door decides"
            yield tell_unmeasured(limit, rules.id, subject, why, where)


def _binds_runs(limit: Limit, chain: Chain) -> bool:
    """Does the limit bind a ramp of so many runs."""
    count = {1: "one", 2: "two"}.get(len(chain.runs), "three_and_more")
    return all(count in condition.values for condition in limit.when if condition.fact == "runs")


def _doubt_unanswered(
    found: tuple[Finding, ...], limit: Limit, rules: RuleSet, facts: JobFacts
) -> Iterator[Finding]:
    """What breaks a limit that may not bind at all is open until somebody answers."""
    unanswered = list_open_questions(replace(rules, limits=(limit,)), facts)
    for finding in found:
        if not unanswered or finding.verdict != "fails":
            yield finding
            continue
        names = " and ".join(name.replace("_", " ") for name in unanswered)
        text = f"{finding.text} Whether this binds depends on what nobody answered: {names}."
        yield finding.model_copy(update={"verdict": "cannot tell", "text": text})


def tell_no_chain(case: CheckCase, subject: str) -> Iterator[Finding]:
    """Every limit when the pieces make no chain: nothing can be measured."""
    why = "the pieces make no chain from door to ground"
    for bound in case.rulings.sets:
        resolved = resolve_set(bound, case)
        for limit in (*resolved.rules.limits, *resolved.undecided):
            yield tell_unmeasured(limit, bound.rules.id, subject, why, None)


def _check_limit(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    quantity = limit.quantity
    match quantity:
        case (
            "running_slope"
            | "run_law"
            | "cross_slope"
            | "rise_per_run"
            | "length_per_run"
            | "clear_width"
            | "surface_width"
            | "total_rise"
            | "steps_rise"
        ):
            return _check_run_limit(quantity, limit, rules, measured.chain)
        case (
            "landing_slope"
            | "landing_slope_along"
            | "landing_slope_across"
            | "landing_length"
            | "landing_width"
            | "landing_turn"
            | "landing_passing"
            | "threshold_drop"
            | "tip_vertical_change"
        ):
            return _check_level_limit(quantity, limit, rules.id, measured)
        case (
            "headroom"
            | "soffit"
            | "door_clearance"
            | "door_swing_takes"
            | "door_swing_leaves"
            | "swing_clear_length"
        ):
            return check_room_limit(quantity, limit, rules, measured)
        case _:
            return check_rail_limit(quantity, limit, rules, measured)


def _check_run_limit(quantity: RunQuantity, limit: Limit, rules: RuleSet, chain: Chain) -> Iterator[Finding]:
    match quantity:
        case "running_slope":
            return run_clauses.check_running_slope(limit, rules, chain)
        case "run_law":
            return law_clauses.check_run_law(limit, rules, chain)
        case "cross_slope":
            return run_clauses.check_cross_slope(limit, rules.id, chain)
        case "rise_per_run":
            return run_clauses.check_rise_per_run(limit, rules.id, chain)
        case "length_per_run":
            return run_clauses.check_length_per_run(limit, rules.id, chain)
        case "clear_width":
            return run_clauses.check_clear_width(limit, rules.id, chain)
        case "surface_width":
            return run_clauses.check_surface_width(limit, rules.id, chain)
        case "total_rise":
            return whole.check_total_rise(limit, rules.id, chain)
        case "steps_rise":
            return whole.check_steps_rise(limit, rules.id, chain)
    assert_never(quantity)


def _check_level_limit(
    quantity: LevelQuantity, limit: Limit, rules: str, measured: Measured
) -> Iterator[Finding]:
    chain, bottom = measured.chain, measured.bottom
    match quantity:
        case "landing_slope":
            return landing_clauses.check_landing_slope(limit, rules, chain, bottom)
        case "landing_slope_along":
            return landing_clauses.check_landing_slope_along(limit, rules, chain, bottom)
        case "landing_slope_across":
            return landing_clauses.check_landing_slope_across(limit, rules, chain, bottom)
        case "landing_length":
            return landing_size_clauses.check_landing_length(limit, rules, chain, bottom)
        case "landing_width":
            return landing_size_clauses.check_landing_width(limit, rules, chain, bottom)
        case "landing_turn":
            return landing_size_clauses.check_landing_turn(limit, rules, chain, bottom)
        case "landing_passing":
            return landing_clauses.check_landing_passing(limit, rules, chain)
        case "tip_vertical_change":
            return end_clauses.check_tip_change(limit, rules, chain, bottom)
        case "threshold_drop":
            return end_clauses.check_threshold_drop(limit, rules, chain, measured.case.start())
    assert_never(quantity)
