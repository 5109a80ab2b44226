"""Does a rule set ask for handrails on a run, and how many sides."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal

import numpy as np
import shapely

from optimizer.catalogue.parts import Section, TransitionPlate
from optimizer.rulebook.rules import Limit, Quantity, RuleSet
from optimizer.standards.chain import Run
from optimizer.standards.findings import is_slope_within, is_within
from optimizer.standards.ground_measure import Facets
from optimizer.standards.measure_heights import measure_heights
from optimizer.standards.measure_rails import SIDES
from optimizer.standards.placed import Placed, Vector

Need = Literal["asked", "not asked", "unsure"]
RAIL_TRIGGERS: Final[tuple[Quantity, ...]] = ("handrail_rise", "handrail_slope", "handrail_drop")


def find_rail_need(rules: RuleSet, run: Run, facets: Facets) -> Need:
    """Whether the set (only limits that bind) asks for handrails on this run.

    A set that asks for sides and names no trigger asks always.  ``unsure``: only a trigger known from
    memory asks, or the ground beside the run is not surveyed.
    """
    triggers = [limit for limit in rules.limits if limit.quantity in RAIL_TRIGGERS]
    if not triggers:
        asks = any(limit.quantity == "handrail_sides" for limit in rules.limits)
        return "asked" if asks else "not asked"
    answers = [_ask(limit, run, facets) for limit in triggers]
    if "asked" in answers:
        return "asked"
    return "unsure" if "unsure" in answers else "not asked"


def _ask(limit: Limit, run: Run, facets: Facets) -> Need:
    match limit.quantity:
        case "handrail_rise":
            within = is_within(limit, run.rise_m)
        case "handrail_slope":
            steepest = find_steepest(run)
            within = is_slope_within(limit, steepest.rise_m, steepest.plan_length_m)
        case _:
            drop, _, is_whole = measure_side_drop(run, facets)
            within = bool(np.isfinite(drop)) and is_within(limit, drop)
            if (within or not np.isfinite(drop)) and not is_whole:
                return "unsure"
    if within:
        return "not asked"
    return "unsure" if limit.how_known == "memory" else "asked"


def count_asked_sides(rules: RuleSet) -> float:
    """The greatest number of sides the set asks for; one where it says none."""
    return max((limit.value_si for limit in rules.limits if limit.quantity == "handrail_sides"), default=1.0)


def find_steepest(run: Run) -> Placed[Section] | Placed[TransitionPlate]:
    """The steepest piece of a run, its plate included."""
    return max(run.pieces, key=lambda piece: piece.rise_m / piece.plan_length_m)


def measure_side_drop(run: Run, facets: Facets) -> tuple[float, Vector, bool]:
    """Greatest height (m) of a run's sides over the ground beside them, where (3,), and is all surveyed.

    NaN when no ground beside it is surveyed.
    """
    worst, where, whole = float("nan"), run.start_m, True
    for piece, line in _list_sides(run):
        heights = measure_heights(facets, line, piece.surface_plane())
        whole = whole and heights is not None and heights.is_whole
        if heights is not None and not heights.greatest_m <= worst:
            a, b, c = piece.surface_plane()
            worst, (x, y) = heights.greatest_m, heights.greatest_at
            where = np.array([x, y, a * x + b * y + c])
    return worst, where, whole


def _list_sides(run: Run) -> Iterator[tuple[Placed[Section] | Placed[TransitionPlate], shapely.LineString]]:
    for piece in run.pieces:
        for side in SIDES:
            start, end = piece.edge(side)
            yield piece, shapely.LineString([start[:2], end[:2]])
