"""Clauses about runs: slopes, rise, length, widths.

Every function takes one limit and the measured chain and returns one finding per thing.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.plan import XYZ, Finding
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards.chain import Chain, Run, measure_clear_width
from optimizer.standards.findings import (
    is_slope_within,
    is_within,
    judge_length,
    judge_slope,
    locate,
    tell_unmeasured,
)
from optimizer.standards.law_clauses import Permit, find_permit, judge_permitted
from optimizer.standards.placed import mark, measure_clear_size
from optimizer.standards.places import has_turn


def check_running_slope(limit: Limit, rules: RuleSet, chain: Chain) -> Iterator[Finding]:
    """Rise over plan of each run as a whole and of each of its pieces; the plate is one.

    A run that a widening law of the same document allows is held to that law's slope.
    """
    for run in chain.runs:
        permit = find_permit(rules, run)
        subjects = [(run.name, run.rise_m, run.plan_length_m, locate(run.start_m))]
        subjects += [(piece.piece.id, piece.rise_m, piece.plan_length_m, mark(piece)) for piece in run.pieces]
        for name, rise_m, plan_m, where in subjects:
            yield _judge_running_slope(limit, permit, rules.id, name, rise_m, plan_m, where)


def _judge_running_slope(
    limit: Limit, permit: Permit | None, rules: str, name: str, rise_m: float, plan_m: float, where_m: XYZ
) -> Finding:
    if permit is None or is_slope_within(limit, rise_m, plan_m):
        return judge_slope(limit, rules, name, "running slope", rise_m, plan_m, where_m)
    return judge_permitted(limit, permit, rules, name, rise_m, plan_m, where_m)


def check_cross_slope(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """The steepest fall across either end of any piece of a run."""
    for run in chain.runs:
        worst = max(run.pieces, key=lambda piece: piece.fall_across_m / max(piece.width_m, 1e-9))
        yield judge_slope(
            limit, rules, run.name, "cross slope", worst.fall_across_m, worst.width_m, mark(worst)
        )


def check_rise_per_run(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """Rise between the ends of each run, the plate included."""
    for run in chain.runs:
        yield judge_length(limit, rules, run.name, "rise", run.rise_m, locate(run.start_m))


def check_length_per_run(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """Plan length of each run, the plate included."""
    for run in chain.runs:
        yield judge_length(limit, rules, run.name, "plan length", run.plan_length_m, locate(run.start_m))


def check_clear_width(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """Clear width all along the way: every run and every landing.

    The catalogue's clear width is between the rails with all that projects from them.
    """
    for run in chain.runs:
        width = measure_clear_width(run)
        yield judge_length(limit, rules, run.name, "clear width", width, locate(run.start_m))
    for landing in chain.all_landings:
        length, width = measure_clear_size(landing)
        narrowest = min(length, width) if has_turn(chain, landing) else width
        yield judge_length(limit, rules, landing.piece.id, "clear width", narrowest, mark(landing))


def check_surface_width(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """Width between the kerbs of each run, which no catalogue states; two sizes bound it.

    Rails stand on or within the kerbs (common practice, no source), so it is at least the clear
    width between them, and the frame is at least as wide as it.  Between the two nobody can tell.
    """
    for run in chain.runs:
        clear, overall = measure_clear_width(run), _measure_overall_width(run)
        where = locate(run.start_m)
        if is_within(limit, clear):
            what = "width between kerbs, by the clear width between the rails,"
            yield judge_length(limit, rules, run.name, what, clear, where)
        elif not is_within(limit, overall):
            what = "width between kerbs, by the overall width,"
            yield judge_length(limit, rules, run.name, what, overall, where)
        else:
            why = f"the catalogue states no width between kerbs; it is {clear:.3f} to {overall:.3f} m"
            yield tell_unmeasured(limit, rules, run.name, why, where)


def _measure_overall_width(run: Run) -> float:
    return min(piece.width_m for piece in run.pieces)
