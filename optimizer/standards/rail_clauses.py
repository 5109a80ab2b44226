"""Clauses about handrails and guards: when they are asked for, where they run, how high they are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from optimizer.catalogue.parts import Catalogue, Part
from optimizer.plan import XYZ, Finding, Rail
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards.chain import Chain, Run
from optimizer.standards.findings import (
    is_within,
    judge_length,
    judge_need,
    locate,
    tell_inapplicable,
    tell_unmeasured,
)
from optimizer.standards.ground_measure import Facets
from optimizer.standards.measure_rails import (
    RUN_ENDS,
    SIDES,
    RunEnd,
    count_railed_sides,
    expect_rail_kind,
    find_landing_gaps,
    find_side_gaps,
    has_inner_loop,
    has_rails,
    is_inner,
    measure_extension,
)
from optimizer.standards.placed import EdgeName, Placed, Vector

#: A guard is asked by the lowest ground within 36 in of an edge (IRC R312.1.1, IBC 1015.2).
GUARD_REACH_M: Final = 0.9144
#: Edges are walked in steps of at most this when the lowest ground near them is looked for.
_EDGE_STEP_M: Final = 0.1


def check_handrail_rise(
    limit: Limit, rules: RuleSet, chain: Chain, rails: tuple[Rail, ...]
) -> Iterator[Finding]:
    """A run whose rise exceeds the trigger has handrails at least on one side."""
    for run in chain.runs:
        missing = None if count_railed_sides(rails, run) else "no side has one from end to end"
        yield judge_need(
            limit, rules.id, run.name, run.rise_m, locate(run.start_m), "a rise of", missing, "handrail"
        )


def asks_handrails(rules: RuleSet, run: Run) -> bool:
    """Does any trigger of the rule set ask for handrails on this run."""
    return any(
        limit.quantity == "handrail_rise" and not is_within(limit, run.rise_m) for limit in rules.limits
    )


def _find_railed_runs(
    limit: Limit, rules: RuleSet, chain: Chain, rails: tuple[Rail, ...]
) -> Iterator[tuple[Run, Finding | None]]:
    """Each run, with the finding that settles it when it neither has nor needs handrails."""
    for run in chain.runs:
        if asks_handrails(rules, run) or has_rails(rails, run):
            yield run, None
        else:
            where = locate(run.start_m)
            yield run, tell_inapplicable(limit, rules.id, run.name, "it needs and has no handrails", where)


def check_handrail_sides(
    limit: Limit, rules: RuleSet, chain: Chain, rails: tuple[Rail, ...]
) -> Iterator[Finding]:
    """Sides railed from end to end, the plate included."""
    for run, settled in _find_railed_runs(limit, rules, chain, rails):
        if settled is not None:
            yield settled
            continue
        sides = count_railed_sides(rails, run)
        gaps = [f"{side} of {name}" for side in SIDES for name, _ in find_side_gaps(rails, run, side)]
        what = "sides railed from end to end" + (f" (open: {', '.join(gaps)}):" if gaps else ":")
        yield judge_length(limit, rules.id, run.name, what, float(sides), locate(run.start_m))


def check_handrail_height(
    limit: Limit, rules: RuleSet, chain: Chain, rails: tuple[Rail, ...], catalogue: Catalogue
) -> Iterator[Finding]:
    """Height of the panels along a run: the lowest against a minimum, the highest against a maximum."""
    heights = {panel.id: panel.height_m for panel in catalogue.rail_panels}
    for run, settled in _find_railed_runs(limit, rules, chain, rails):
        if settled is not None:
            yield settled
            continue
        ids = {placed.piece.id for placed in run.pieces}
        found = [
            height
            for rail in rails
            if rail.kind == "panel" and rail.piece in ids and rail.catalogue_id in heights
            for height in (rail.height_m, heights[rail.catalogue_id])
        ]
        where = locate(run.start_m)
        if not found:
            yield tell_unmeasured(limit, rules.id, run.name, "it has no rail panels", where)
            continue
        extreme = max(found) if limit.operator in ("<=", "<") else min(found)
        yield judge_length(limit, rules.id, run.name, "handrail height", extreme, where)


def check_handrail_extension(
    limit: Limit, rules: RuleSet, chain: Chain, rails: tuple[Rail, ...], catalogue: Catalogue
) -> Iterator[Finding]:
    """Level extension at every corner of a run; at the inside of a half turn the rail must run on."""
    for run, settled in _find_railed_runs(limit, rules, chain, rails):
        if settled is not None:
            yield settled
            continue
        for run_end in RUN_ENDS:
            for side in SIDES:
                subject = f"{run.name}, {run_end} end, {side}"
                where = _locate_corner(run, run_end, side)
                if is_inner(chain, run, run_end, side) and has_inner_loop(chain, rails, run, run_end):
                    yield tell_inapplicable(
                        limit, rules.id, subject, "the inner rail runs on in a loop", where
                    )
                    continue
                length = measure_extension(rails, catalogue.rail_ends, run, run_end, side)
                yield judge_length(limit, rules.id, subject, "handrail extension", length, where)


def _locate_corner(run: Run, run_end: RunEnd, side: EdgeName) -> XYZ:
    if run_end == "upper":
        return locate(run.pieces[0].edge(side)[0])
    return locate(run.pieces[-1].edge(side)[1])


def check_guard_drop(
    limit: Limit, rules: RuleSet, chain: Chain, rails: tuple[Rail, ...], facets: Facets
) -> Iterator[Finding]:
    """Greatest drop from an open edge to the lowest ground within reach of it, run by run and landing."""
    for run in chain.runs:
        edges: list[tuple[Placed[Part], EdgeName]] = [(piece, side) for piece in run.pieces for side in SIDES]
        gaps = [
            f"the {side} of {name} is open" for side in SIDES for name, _ in find_side_gaps(rails, run, side)
        ]
        yield _judge_drop(limit, rules.id, run.name, edges, gaps, facets)
    for landing in chain.all_landings:
        names: tuple[EdgeName, ...] = ("left", "right", "start", "end")
        edges = [(landing, edge) for edge in names if expect_rail_kind(chain, landing, edge) is not None]
        gaps = list(find_landing_gaps(chain, landing, rails))
        yield _judge_drop(limit, rules.id, landing.piece.id, edges, gaps, facets)


def _judge_drop(
    limit: Limit,
    rules: str,
    subject: str,
    edges: list[tuple[Placed[Part], EdgeName]],
    gaps: list[str],
    facets: Facets,
) -> Finding:
    drops = [_measure_drop(*placed.edge(name), facets) for placed, name in edges]
    drop, where = max(drops, key=lambda found: found[0] if np.isfinite(found[0]) else -np.inf)
    if not np.isfinite(drop):
        return tell_unmeasured(limit, rules, subject, "no ground near it is surveyed", locate(where))
    return judge_need(
        limit, rules, subject, drop, locate(where), "a drop of", "; ".join(gaps) or None, "guard"
    )


def _measure_drop(start_m: Vector, end_m: Vector, facets: Facets) -> tuple[float, Vector]:
    """Greatest drop along an edge and the point of the edge (3,) it was found at."""
    steps = max(1, int(np.ceil(np.hypot(*(end_m - start_m)[:2]) / _EDGE_STEP_M)))
    worst, where = float("nan"), start_m
    for share in np.linspace(0.0, 1.0, steps + 1):
        point = start_m + share * (end_m - start_m)
        drop = float(point[2]) - facets.lowest_within(point[:2], GUARD_REACH_M)
        if np.isfinite(drop) and not drop <= worst:
            worst, where = drop, point
    return worst, where
