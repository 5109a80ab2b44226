"""Clauses about the slope of level places, and about passing: landings and the space at the bottom."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.catalogue.parts import Landing
from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit
from optimizer.standards.bottom import BOTTOM, Bottom
from optimizer.standards.chain import Chain
from optimizer.standards.findings import (
    judge_length,
    judge_slope,
    locate,
    tell_unmeasured,
)
from optimizer.standards.open_findings import judge_unsure_slope
from optimizer.standards.placed import Placed, mark, measure_clear_size
from optimizer.standards.places import landings_at, speaks_of_bottom, speaks_of_porch


def check_landing_slope(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Steepest direction of each landing and of the finished surface beyond the tip."""
    yield from tell_porch(limit, rules, chain)
    for landing in landings_at(limit, chain):
        along, across = _measure_axes(landing)
        yield _judge_landing(limit, rules, landing, "slope", float(np.hypot(along, across)))
    yield from _judge_bottom(limit, rules, "slope", bottom, bottom.slope, bottom.slope_error)


def check_landing_slope_along(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Slope along the way: on a landing that turns a quarter the way runs along both its sides."""
    yield from tell_porch(limit, rules, chain)
    for landing in landings_at(limit, chain):
        along, across = _measure_axes(landing)
        if chain.exit_edge(landing) in ("left", "right"):
            along = max(along, across)
        yield _judge_landing(limit, rules, landing, "slope along the way", along)
    what = "slope along the way"
    yield from _judge_bottom(limit, rules, what, bottom, bottom.slope_along, bottom.along_error)


def check_landing_slope_across(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Slope across the way that arrives."""
    yield from tell_porch(limit, rules, chain)
    for landing in landings_at(limit, chain):
        yield _judge_landing(limit, rules, landing, "slope across the way", _measure_axes(landing)[1])
    what = "slope across the way"
    yield from _judge_bottom(limit, rules, what, bottom, bottom.slope_across, bottom.across_error)


def _measure_axes(landing: Placed[Landing]) -> tuple[float, float]:
    """Slopes of a landing's surface along its heading and across it, from its corners."""
    z = landing.corners_m[:, 2]
    along = max(abs(z[3] - z[0]), abs(z[2] - z[1])) / landing.plan_length_m
    return float(along), landing.fall_across_m / landing.width_m


def _judge_landing(limit: Limit, rules: str, landing: Placed[Landing], what: str, slope: float) -> Finding:
    length = landing.plan_length_m
    return judge_slope(limit, rules, landing.piece.id, what, slope * length, length, mark(landing))


def _judge_bottom(
    limit: Limit, rules: str, what: str, bottom: Bottom, slope: float, error: float
) -> Iterator[Finding]:
    """The surface beyond the tip: a pad is as level as built, bare ground as well known as surveyed."""
    if not speaks_of_bottom(limit):
        return
    where = locate(bottom.middle_m)
    if not np.isfinite(slope):
        yield tell_unmeasured(limit, rules, BOTTOM, "it is not surveyed", where)
    elif error > 0.0:
        yield judge_unsure_slope(limit, rules, BOTTOM, what, slope, error, where)
    else:
        yield judge_slope(limit, rules, BOTTOM, what, slope * bottom.length_m, bottom.length_m, where)


def tell_porch(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """A start at an existing edge: the porch is the top landing, and nobody has measured it."""
    if speaks_of_porch(limit, chain):
        yield tell_unmeasured(
            limit,
            rules,
            "existing porch at the top",
            "its size and slope were not given",
            locate(chain.walked()[0].start_m),
        )


def check_landing_passing(limit: Limit, rules: str, chain: Chain) -> Iterator[Finding]:
    """Both clear sizes of the largest landing: one where two can pass is enough."""
    landings = tuple(landings_at(limit, chain))
    if not landings:
        yield from tell_porch(limit, rules, chain)
        return
    largest = max(landings, key=lambda landing: min(measure_clear_size(landing)))
    size = min(measure_clear_size(largest))
    what = "the largest landing, clear both ways,"
    yield judge_length(limit, rules, largest.piece.id, what, size, mark(largest))
