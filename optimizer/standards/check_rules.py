"""Every limit of the rule set, looked at on every thing it speaks of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.plan import Candidate, Finding
from optimizer.rulebook.rules import Limit
from optimizer.standards import end_clauses, landing_clauses, rail_clauses, run_clauses
from optimizer.standards.bottom import Bottom
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.ground_measure import Facets


@dataclass(frozen=True, slots=True)
class Measured:
    """A candidate measured once, for all clauses."""

    candidate: Candidate
    case: CheckCase
    chain: Chain
    facets: Facets
    bottom: Bottom


def check_rules(measured: Measured) -> Iterator[Finding]:
    """One finding per clause and thing, in the rule set's own order."""
    for limit in measured.case.rules.limits:
        yield from _check_limit(limit, measured)


def _check_limit(limit: Limit, measured: Measured) -> Iterator[Finding]:
    rules, chain = measured.case.rules.id, measured.chain
    match limit.quantity:
        case "running_slope":
            return run_clauses.check_running_slope(limit, rules, chain)
        case "cross_slope":
            return run_clauses.check_cross_slope(limit, rules, chain)
        case "rise_per_run":
            return run_clauses.check_rise_per_run(limit, rules, chain)
        case "length_per_run":
            return run_clauses.check_length_per_run(limit, rules, chain)
        case "clear_width":
            return run_clauses.check_clear_width(limit, rules, chain)
        case "edge_protection_height":
            return run_clauses.check_edge_protection(limit, rules, chain)
        case _:
            return _check_level_limit(limit, measured)


def _check_level_limit(limit: Limit, measured: Measured) -> Iterator[Finding]:
    rules, chain, bottom = measured.case.rules.id, measured.chain, measured.bottom
    match limit.quantity:
        case "landing_slope":
            return landing_clauses.check_landing_slope(limit, rules, chain, bottom)
        case "landing_length":
            return landing_clauses.check_landing_length(limit, rules, chain, bottom)
        case "landing_width":
            return landing_clauses.check_landing_width(limit, rules, chain, bottom)
        case "landing_turn":
            return landing_clauses.check_landing_turn(limit, rules, chain)
        case "tip_vertical_change":
            return end_clauses.check_tip_change(limit, rules, chain, bottom)
        case "threshold_drop":
            return end_clauses.check_threshold_drop(limit, rules, chain, measured.case.start())
        case _:
            return _check_rail_limit(limit, measured)


def _check_rail_limit(limit: Limit, measured: Measured) -> Iterator[Finding]:
    rules, chain, rails = measured.case.rules, measured.chain, measured.candidate.rails
    catalogue = measured.case.catalogue
    match limit.quantity:
        case "handrail_rise":
            return rail_clauses.check_handrail_rise(limit, rules, chain, rails)
        case "handrail_sides":
            return rail_clauses.check_handrail_sides(limit, rules, chain, rails)
        case "handrail_height_min" | "handrail_height_max":
            return rail_clauses.check_handrail_height(limit, rules, chain, rails, catalogue)
        case "handrail_extension":
            return rail_clauses.check_handrail_extension(limit, rules, chain, rails, catalogue)
        case "guard_drop":
            return rail_clauses.check_guard_drop(limit, rules, chain, rails, measured.facets)
        case unknown:
            raise ValueError(f"no check is written for the quantity {unknown}")
