"""Clauses about handrail extensions: how long they are, what lies under them, what they reach into."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards.chain import Run
from optimizer.standards.clause_facts import judge_clause, worst_of
from optimizer.standards.extension_reach import list_matters
from optimizer.standards.findings import PLACE_M, judge_length, locate, tell_inapplicable
from optimizer.standards.inner_rails import find_inner_landing, measure_inner_opening
from optimizer.standards.measure_rails import (
    GREATEST_OPENING_M,
    RUN_ENDS,
    SIDES,
    RunEnd,
    Side,
    count_railed_sides,
    find_extension,
    measure_extension,
    measure_gap,
)
from optimizer.standards.measured import Measured
from optimizer.standards.placed import Vector
from optimizer.standards.rail_clauses import find_railed_runs
from optimizer.standards.rail_need import count_asked_sides
from optimizer.units import is_at_most


def check_handrail_extension(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Level extension at every corner of a run but at the inside of a turn where the rail carries on.

    A side that has no handrail and needs none has no extension either.  Each extension there is, asked
    for or not, has a second finding on where it reaches.
    """
    for run, settled in find_railed_runs(limit, rules, measured):
        if settled is not None:
            yield settled
            continue
        for run_end in RUN_ENDS:
            for side in SIDES:
                yield from _check_corner(limit, rules, measured, run, run_end, side)


def _check_corner(
    limit: Limit, rules: RuleSet, measured: Measured, run: Run, run_end: RunEnd, side: Side
) -> Iterator[Finding]:
    chain, rails = measured.chain, measured.candidate.rails
    subject = f"{run.name}, {run_end} end, {side}"
    where = locate(_find_corner(run, run_end, side))
    parts = measured.case.catalogue.rail_ends
    line = find_extension(rails, parts, run, run_end, side)
    what = "handrail extension"
    turn = find_inner_landing(chain, run, run_end, side)
    opening = 0.0 if turn is None else measure_inner_opening(chain, rails, turn)
    if turn is not None and not is_at_most(opening, GREATEST_OPENING_M):
        what = f"the rail round the inside of {turn.piece.id} is open over {opening:.4f} m; {what}"
    if turn is not None and is_at_most(opening, GREATEST_OPENING_M):
        why = f"the handrail carries on round the inside of {turn.piece.id}"
        yield tell_inapplicable(limit, rules.id, subject, why, where)
    elif line is None and _needs_no_rail(rules, measured, run, side):
        why = "this side has no handrail and the other side's is enough"
        yield tell_inapplicable(limit, rules.id, subject, why, where)
    else:
        length = measure_extension(rails, parts, run, run_end, side)
        yield judge_length(limit, rules.id, subject, what, length, where)
    if line is not None:
        matters = list_matters(line, rules, measured, run, run_end)
        verdict = worst_of(tuple(matter.verdict for matter in matters))
        told = [matter.says for matter in matters if matter.verdict == verdict]
        yield judge_clause(
            limit, rules.id, f"{subject}, reach of its extension", verdict, "; ".join(told), where
        )


def _needs_no_rail(rules: RuleSet, measured: Measured, run: Run, side: Side) -> bool:
    rails = measured.candidate.rails
    if any(piece.plan_length_m - measure_gap(rails, piece, side) > PLACE_M for piece in run.pieces):
        return False
    return count_railed_sides(rails, run) >= count_asked_sides(rules)


def _find_corner(run: Run, run_end: RunEnd, side: Side) -> Vector:
    upper, lower = (run.pieces[0] if run_end == "upper" else run.pieces[-1]).edge(side)
    return upper if run_end == "upper" else lower
