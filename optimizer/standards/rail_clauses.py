"""Clauses about handrails: when they are asked for, on how many sides, how high, how thick."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from optimizer.catalogue.parts import Catalogue, RailPanel
from optimizer.plan import XYZ, Finding, Rail
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards.chain import Run
from optimizer.standards.clause_facts import judge_slope_need
from optimizer.standards.findings import (
    is_within,
    judge_length,
    judge_need,
    locate,
    tell_inapplicable,
    tell_unmeasured,
)
from optimizer.standards.measure_rails import SIDES, count_railed_sides, find_side_gaps, has_rails
from optimizer.standards.measured import Measured
from optimizer.standards.placed import mark
from optimizer.standards.places import landings_at
from optimizer.standards.rail_need import find_rail_need, find_steepest, measure_side_drop


def check_handrail_rise(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """A run whose rise exceeds the trigger has a handrail at least on one side."""
    for run in measured.chain.runs:
        missing = _find_missing(run, measured.candidate.rails)
        where = locate(run.start_m)
        yield judge_need(limit, rules.id, run.name, run.rise_m, where, "a rise of", missing, "handrail")


def check_handrail_slope(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """A run steeper than the trigger in any piece, the plate included, has a handrail."""
    for run in measured.chain.runs:
        missing = _find_missing(run, measured.candidate.rails)
        steepest = find_steepest(run)
        rise, length = steepest.rise_m, steepest.plan_length_m
        yield judge_slope_need(limit, rules.id, run.name, rise, length, mark(steepest), missing)


def check_handrail_drop(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """A run that lies higher over the ground beside it than the trigger has a handrail."""
    for run in measured.chain.runs:
        drop, place, is_whole = measure_side_drop(run, measured.facets)
        where = locate(place)
        if not np.isfinite(drop):
            yield tell_unmeasured(limit, rules.id, run.name, "no ground beside it is surveyed", where)
            continue
        missing = _find_missing(run, measured.candidate.rails)
        finding = judge_need(
            limit, rules.id, run.name, drop, where, "a height over the ground of", missing, "handrail"
        )
        if finding.verdict == "does not apply" and not is_whole:
            yield tell_unmeasured(
                limit, rules.id, run.name, "the ground beside it is surveyed in part only", where
            )
            continue
        yield finding


def _find_missing(run: Run, rails: tuple[Rail, ...]) -> str | None:
    return None if count_railed_sides(rails, run) else "no side has one from end to end"


def find_railed_runs(
    limit: Limit, rules: RuleSet, measured: Measured
) -> Iterator[tuple[Run, Finding | None]]:
    """Each run, with the finding that settles it when it has no handrails and need not, or may not, have."""
    for run in measured.chain.runs:
        need = find_rail_need(rules, run, measured.facets)
        where = locate(run.start_m)
        if need == "asked" or has_rails(measured.candidate.rails, run):
            yield run, None
        elif need == "unsure":
            why = "it has no handrails and whether it needs them is not known"
            yield run, tell_unmeasured(limit, rules.id, run.name, why, where)
        else:
            yield run, tell_inapplicable(limit, rules.id, run.name, "it needs and has no handrails", where)


def check_handrail_sides(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Sides railed from end to end, the plate included; a rail that nobody asked for may be on one alone."""
    rails = measured.candidate.rails
    for run in measured.chain.runs:
        where = locate(run.start_m)
        need = find_rail_need(rules, run, measured.facets)
        sides = float(count_railed_sides(rails, run))
        if need == "not asked":
            yield tell_inapplicable(limit, rules.id, run.name, "it needs no handrails", where)
        elif need == "unsure" and not is_within(limit, sides):
            why = f"{sides:g} of its sides are railed and whether it needs handrails is not known"
            yield tell_unmeasured(limit, rules.id, run.name, why, where)
        else:
            gaps = [f"{side} of {name}" for side in SIDES for name, _ in find_side_gaps(rails, run, side)]
            what = "sides railed from end to end" + (f" (open: {', '.join(gaps)}):" if gaps else ":")
            yield judge_length(limit, rules.id, run.name, what, sides, where)


def check_handrail_height(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Height of the panels along a run: the lowest against a minimum, the highest against a maximum.

    A limit on a place looks at the panels of the landings there instead.
    """
    rails, catalogue = measured.candidate.rails, measured.case.catalogue
    if limit.place != "any":
        for landing in landings_at(limit, measured.chain):
            heights = _list_heights(rails, catalogue, {landing.piece.id})
            yield _judge_extreme(limit, rules, landing.piece.id, "handrail height", heights, mark(landing))
        return
    yield from _judge_panels(limit, rules, measured, "handrail height", _list_heights)


def check_handrail_grip(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Diameter of the grip of a run's panels, as the catalogue states it."""
    yield from _judge_panels(limit, rules, measured, "diameter of the grip", _list_grips)


Lister = Callable[[tuple[Rail, ...], Catalogue, set[str]], list[float]]


def _judge_panels(
    limit: Limit, rules: RuleSet, measured: Measured, what: str, list_values: Lister
) -> Iterator[Finding]:
    for run, settled in find_railed_runs(limit, rules, measured):
        if settled is not None:
            yield settled
            continue
        ids = {placed.piece.id for placed in run.pieces}
        found = list_values(measured.candidate.rails, measured.case.catalogue, ids)
        yield _judge_extreme(limit, rules, run.name, what, found, locate(run.start_m))


def _judge_extreme(
    limit: Limit, rules: RuleSet, subject: str, what: str, found: list[float], where: XYZ
) -> Finding:
    if not found:
        return tell_unmeasured(limit, rules.id, subject, "it has no rail panels", where)
    extreme = max(found) if limit.operator in ("<=", "<") else min(found)
    return judge_length(limit, rules.id, subject, what, extreme, where)


def list_panels(
    rails: tuple[Rail, ...], catalogue: Catalogue, pieces: set[str]
) -> Iterator[tuple[Rail, RailPanel]]:
    """The panels on these pieces, infills and inner loops too, each with its part."""
    panels = {panel.id: panel for panel in catalogue.rail_panels}
    for rail in rails:
        if rail.kind in ("panel", "infill", "inner_loop") and rail.piece in pieces:
            panel = panels.get(rail.catalogue_id)
            if panel is not None:
                yield rail, panel


def _list_heights(rails: tuple[Rail, ...], catalogue: Catalogue, pieces: set[str]) -> list[float]:
    return [
        height
        for rail, panel in list_panels(rails, catalogue, pieces)
        for height in (rail.height_m, panel.height_m)
    ]


def _list_grips(rails: tuple[Rail, ...], catalogue: Catalogue, pieces: set[str]) -> list[float]:
    return [panel.grip_diameter_m for _, panel in list_panels(rails, catalogue, pieces)]
