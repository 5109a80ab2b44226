"""Clauses about runs: slopes, rise, length, clear width, edge protection.

Every function takes one limit and the measured chain and returns one finding per thing.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit
from optimizer.standards.chain import Chain, Run, measure_clear_width
from optimizer.standards.findings import judge_length, judge_slope, locate, tell_unmeasured
from optimizer.standards.placed import mark, measure_clear_size


def check_running_slope(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """Rise over plan of each run as a whole and of each of its pieces; the plate is one."""
    for run in chain.runs:
        yield judge_slope(
            limit, rules, run.name, "running slope", run.rise_m, run.plan_length_m, locate(run.start_m)
        )
        for piece in run.pieces:
            yield judge_slope(
                limit,
                rules,
                piece.piece.id,
                "running slope",
                piece.rise_m,
                piece.plan_length_m,
                mark(piece),
            )


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
    """Clear width all along the way: every run and every landing."""
    for run in chain.runs:
        width = measure_clear_width(run)
        yield judge_length(limit, rules, run.name, "clear width", width, locate(run.start_m))
    for landing in chain.all_landings:
        length, width = measure_clear_size(landing)
        narrowest = width if has_straight_way(chain, landing.piece.id) else min(length, width)
        yield judge_length(limit, rules, landing.piece.id, "clear width", narrowest, mark(landing))


def has_straight_way(chain: Chain, landing_id: str) -> bool:
    """Does the way leave this landing in the direction it came (from the door: straight out)."""
    for landing in chain.all_landings:
        if landing.piece.id == landing_id:
            return chain.exit_edge(landing) == "end"
    return False


def check_edge_protection(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """Curb of the sections and landings; the catalogue states none for a transition plate."""
    yield tell_unmeasured(
        limit, rules, chain.plate.piece.id, "the catalogue states no curb of a plate", mark(chain.plate)
    )
    for run in chain.runs:
        lowest = min(section.part.curb_height_m for section in run.sections)
        yield judge_length(limit, rules, _name_sections(run), "edge protection", lowest, locate(run.start_m))
    for landing in chain.all_landings:
        yield judge_length(
            limit,
            rules,
            landing.piece.id,
            "edge protection",
            landing.part.curb_height_m,
            mark(landing),
        )


def _name_sections(run: Run) -> str:
    return f"sections of {run.name}"
