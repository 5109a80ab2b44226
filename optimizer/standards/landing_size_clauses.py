"""Clauses about the clear sizes of level places, each by the place it holds at.

Sizes are inside rails and posts.  A limit that holds anywhere, at the top or between runs is met
along every direction the way takes on the landing: a landing that turns a quarter lies at the end
of both its runs.  A limit on turns speaks of the way that arrives, as documents that name one do.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.catalogue.parts import Landing
from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit
from optimizer.standards.bottom import BOTTOM, Bottom
from optimizer.standards.chain import Chain, measure_clear_width
from optimizer.standards.findings import judge_length, judge_value, locate, tell_inapplicable
from optimizer.standards.landing_clauses import tell_porch
from optimizer.standards.placed import Placed, mark, measure_clear_size
from optimizer.standards.places import TURNS, has_turn, landings_at, speaks_of_bottom


def check_landing_length(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Clear length along the way; length of the bottom space."""
    yield from tell_porch(limit, rules, chain)
    for landing in landings_at(limit, chain):
        length, width = measure_clear_size(landing)
        shortest = min(length, width) if _runs_both_ways(limit, chain, landing) else length
        yield judge_length(limit, rules, landing.piece.id, "clear length", shortest, mark(landing))
    if speaks_of_bottom(limit):
        yield judge_length(limit, rules, BOTTOM, "length", bottom.length_m, locate(bottom.middle_m))


def check_landing_width(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Clear width of landings and bottom space; a limit of 0 means the widest run that meets them."""
    yield from tell_porch(limit, rules, chain)
    for landing in landings_at(limit, chain):
        length, width = measure_clear_size(landing)
        narrowest = min(length, width) if _runs_both_ways(limit, chain, landing) else width
        arriving = chain.arriving(landing)
        runs = [chain.leaving(landing)] if arriving is None else [arriving, chain.leaving(landing)]
        widest = max(measure_clear_width(run) for run in runs)
        bound = limit.value_si if limit.value_si > 0.0 else widest
        yield judge_value(limit, rules, landing.piece.id, "clear width", narrowest, bound, mark(landing))
    if speaks_of_bottom(limit):
        bound = limit.value_si if limit.value_si > 0.0 else measure_clear_width(chain.runs[-1])
        yield judge_value(limit, rules, BOTTOM, "width", bottom.width_m, bound, locate(bottom.middle_m))


def _runs_both_ways(limit: Limit, chain: Chain, landing: Placed[Landing]) -> bool:
    return limit.place not in TURNS and chain.exit_edge(landing) in ("left", "right")


def check_landing_turn(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Both clear sizes of every landing on which the way changes direction.

    At the bottom only where the limit names it: what direction people take beyond the tip is theirs.
    """
    yield from tell_porch(limit, rules, chain)
    for landing in landings_at(limit, chain):
        if not has_turn(chain, landing):
            why = "the way does not turn on it"
            yield tell_inapplicable(limit, rules, landing.piece.id, why, mark(landing))
            continue
        smallest = min(measure_clear_size(landing))
        yield judge_length(limit, rules, landing.piece.id, "clear size for turning", smallest, mark(landing))
    if limit.place == "bottom":
        smallest = min(bottom.length_m, bottom.width_m)
        yield judge_length(limit, rules, BOTTOM, "size for turning", smallest, locate(bottom.middle_m))
