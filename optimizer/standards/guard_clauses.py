"""Clauses about guards: where the drop asks for one, how high it is, what may pass through it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from optimizer.catalogue.parts import RailPanel
from optimizer.plan import Finding, Rail
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards.findings import (
    PLACE_M,
    judge_length,
    judge_need,
    locate,
    tell_inapplicable,
    tell_unmeasured,
)
from optimizer.standards.measure_rails import expect_rail_kind, measure_gap
from optimizer.standards.measured import Measured
from optimizer.standards.open_edges import OpenEdge
from optimizer.standards.places import landings_at
from optimizer.standards.rail_clauses import list_panels


def check_guard_drop(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Greatest drop from an open edge to the lowest ground within reach of it, run by run and landing."""
    for group in measured.open_edges:
        if not group.edges:
            yield tell_inapplicable(limit, rules.id, group.subject, "it has no open edge", None)
            continue
        worst = group.worst()
        where = locate(worst.where_m)
        beyond = group.beyond(limit)
        if not beyond and not all(np.isfinite(edge.drop_m) for edge in group.edges):
            why = "no ground near some edge of it is surveyed"
            yield tell_unmeasured(limit, rules.id, group.subject, why, where)
            continue
        gaps = [gap for edge in beyond if (gap := _find_gap(edge, measured))]
        missing = "; ".join(gaps) or None
        yield judge_need(limit, rules.id, group.subject, worst.drop_m, where, "a drop of", missing, "guard")


def _find_gap(edge: OpenEdge, measured: Measured) -> str | None:
    """What is missing for the edge to be guarded, in words."""
    rails, name = measured.candidate.rails, edge.placed.piece.id
    kind = "panel"
    for landing in measured.chain.all_landings:
        if landing.piece.id == name:
            kind = expect_rail_kind(measured.chain, landing, edge.name) or kind
    if kind == "panel":
        gap = measure_gap(rails, edge.placed, edge.name)
        return f"the {edge.name} edge is open over {gap:.2f} m of {name}" if gap > PLACE_M else None
    found = any(rail.kind == kind and rail.piece == name and rail.edge == edge.name for rail in rails)
    return None if found else f"the {edge.name} edge of {name} has no {kind.replace('_', ' ')}"


def check_guard_height(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """The lowest rail on the edges that need a guard, above the walking surface.

    A limit on a place speaks of the landings there alone.
    """
    yield from _judge_guards(
        limit, rules, measured, "height of the guard", lambda rail, panel: min(rail.height_m, panel.height_m)
    )


def check_guard_opening(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """The largest opening of the rails on the edges that need a guard, as the catalogue states it."""
    yield from _judge_guards(
        limit, rules, measured, "largest opening", lambda _, panel: panel.largest_opening_m
    )


def _judge_guards(
    limit: Limit,
    rules: RuleSet,
    measured: Measured,
    what: str,
    value: Callable[[Rail, RailPanel], float],
) -> Iterator[Finding]:
    triggers = [one for one in rules.limits if one.quantity == "guard_drop"]
    there = {landing.piece.id for landing in landings_at(limit, measured.chain)}
    for group in measured.open_edges:
        if limit.place != "any" and group.subject not in there:
            continue
        beyond = {(edge.placed.piece.id, edge.name) for one in triggers for edge in group.beyond(one)}
        pieces = {edge.placed.piece.id for edge in group.edges}
        found = [
            value(rail, panel)
            for rail, panel in list_panels(measured.candidate.rails, measured.case.catalogue, pieces)
            if not triggers or (rail.piece, rail.edge) in beyond
        ]
        where = locate(group.worst().where_m) if group.edges else None
        extreme = (max if limit.operator in ("<=", "<") else min)(found, default=float("nan"))
        if not triggers:
            has = f"; its rails: {what} {extreme:.3f} m" if found else "; it has no rails"
            why = f"the document states no drop that asks for a guard{has}"
            yield tell_unmeasured(limit, rules.id, group.subject, why, where)
        elif not beyond:
            surveyed = all(np.isfinite(edge.drop_m) for edge in group.edges)
            tell = tell_inapplicable if surveyed else tell_unmeasured
            why = "no drop of it asks for a guard" if surveyed else "no ground near some edge is surveyed"
            yield tell(limit, rules.id, group.subject, why, where)
        elif not found:
            yield tell_unmeasured(limit, rules.id, group.subject, "the guard it needs is not there", where)
        elif all(one.how_known == "memory" for one in triggers):
            why = "the drop that asks for a guard is known from memory only"
            yield tell_unmeasured(limit, rules.id, group.subject, why, where)
        else:
            yield judge_length(limit, rules.id, group.subject, what, extreme, where)
