"""Clauses about level places: landings and the space at the bottom."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.catalogue.parts import Landing
from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit
from optimizer.standards.bottom import Bottom
from optimizer.standards.chain import Chain, measure_clear_width
from optimizer.standards.findings import (
    judge_length,
    judge_slope,
    judge_value,
    locate,
    tell_inapplicable,
    tell_unmeasured,
)
from optimizer.standards.placed import Placed, mark, measure_clear_size
from optimizer.standards.run_clauses import has_straight_way

BOTTOM = "bottom space"


def check_landing_slope(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Steepest direction of each landing and of the finished surface beyond the tip."""
    yield from tell_porch(limit, rules, chain)
    for landing in chain.all_landings:
        steepest = measure_steepest(landing)
        yield judge_slope(
            limit,
            rules,
            landing.piece.id,
            "slope",
            steepest * landing.plan_length_m,
            landing.plan_length_m,
            mark(landing),
        )
    if np.isfinite(bottom.slope):
        rise = bottom.slope * bottom.length_m
        yield judge_slope(limit, rules, BOTTOM, "slope", rise, bottom.length_m, locate(bottom.middle_m))
    else:
        yield tell_unmeasured(limit, rules, BOTTOM, "it is not surveyed", locate(bottom.middle_m))


def tell_porch(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """A start at an existing edge: the porch is the top landing, and nobody has measured it."""
    if chain.door is None:
        yield tell_unmeasured(
            limit,
            rules,
            "existing porch at the top",
            "its size and slope were not given",
            locate(chain.walked()[0].start_m),
        )


def measure_steepest(landing: Placed[Landing]) -> float:
    """Slope of a landing's surface in its steepest direction, from its corners."""
    z = landing.corners_m[:, 2]
    along = max(abs(z[3] - z[0]), abs(z[2] - z[1])) / landing.plan_length_m
    across = landing.fall_across_m / landing.width_m
    return float(np.hypot(along, across))


def check_landing_length(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Clear length along every direction the way takes on a landing; length of the bottom space."""
    yield from tell_porch(limit, rules, chain)
    for landing in chain.all_landings:
        length, width = measure_clear_size(landing)
        shortest = length if chain.exit_edge(landing) in ("end", "start") else min(length, width)
        yield judge_length(limit, rules, landing.piece.id, "clear length", shortest, mark(landing))
    yield judge_length(limit, rules, BOTTOM, "length", bottom.length_m, locate(bottom.middle_m))


def check_landing_width(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Clear width of landings and bottom space; a limit of 0 means the widest run that meets them."""
    yield from tell_porch(limit, rules, chain)
    for landing in chain.all_landings:
        length, width = measure_clear_size(landing)
        narrowest = width if chain.exit_edge(landing) in ("end", "start") else min(length, width)
        arriving = chain.arriving(landing)
        runs = [chain.leaving(landing)] if arriving is None else [arriving, chain.leaving(landing)]
        widest = max(measure_clear_width(run) for run in runs)
        bound = limit.value_si if limit.value_si > 0.0 else widest
        yield judge_value(limit, rules, landing.piece.id, "clear width", narrowest, bound, mark(landing))
    bound = limit.value_si if limit.value_si > 0.0 else measure_clear_width(chain.runs[-1])
    yield judge_value(limit, rules, BOTTOM, "width", bottom.width_m, bound, locate(bottom.middle_m))


def check_landing_turn(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """Both clear sizes of every landing on which the way changes direction."""
    yield from tell_porch(limit, rules, chain)
    for landing in chain.all_landings:
        if has_straight_way(chain, landing.piece.id):
            yield tell_inapplicable(
                limit, rules, landing.piece.id, "the way does not turn on it", mark(landing)
            )
            continue
        smallest = min(measure_clear_size(landing))
        yield judge_length(limit, rules, landing.piece.id, "clear size for turning", smallest, mark(landing))
