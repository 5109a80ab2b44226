"""Clauses about edge protection: the curb of sections and landings, and what a plate lacks."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import shapely

from optimizer.catalogue.parts import Landing
from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit, RuleSet
from optimizer.standards.chain import Chain, Run
from optimizer.standards.findings import judge_length, locate, tell_inapplicable, tell_unmeasured
from optimizer.standards.measure_heights import measure_heights
from optimizer.standards.measure_rails import SIDES, find_attached, find_steps_on
from optimizer.standards.measured import Measured
from optimizer.standards.placed import EdgeName, Placed, mark
from optimizer.standards.rail_need import find_rail_need
from optimizer.units import is_at_most

#: A side that stands at most this (1/2 in) over the ground beside it is flush: what ADA 405.9 (exception 3)
#: allows at landings, taken for a plate as well (common practice, no source).
FLUSH_M: Final = 0.0127
_EDGES: Final[tuple[EdgeName, ...]] = ("left", "right", "start", "end")


def check_edge_protection(limit: Limit, rules: RuleSet, measured: Measured) -> Iterator[Finding]:
    """Curb of each run's sections and of each landing's open sides; a plate's is stated nowhere."""
    chain = measured.chain
    yield _judge_plate(limit, rules, measured)
    for run in chain.runs:
        lowest = min(section.part.curb_height_m for section in run.sections)
        yield judge_length(
            limit, rules.id, name_sections(run), "edge protection", lowest, locate(run.start_m)
        )
    for landing in chain.all_landings:
        name, where = landing.piece.id, mark(landing)
        sides = list_open_sides(chain, landing)
        if not sides:
            why = "every side of it serves a run or steps or meets the wall"
            yield tell_inapplicable(limit, rules.id, name, why, where)
            continue
        what = f"edge protection of its sides {', '.join(sides)}"
        yield judge_length(limit, rules.id, name, what, landing.part.curb_height_m, where)


def name_sections(run: Run) -> str:
    """How findings call the sections of a run without its plate."""
    return f"sections of {run.name}"


def list_open_sides(chain: Chain, landing: Placed[Landing]) -> tuple[EdgeName, ...]:
    """The sides of a landing that serve neither a run nor steps and do not meet the wall."""
    serving = {edge for edge, _ in find_attached(chain, landing)}
    serving |= {edge for edge, _ in find_steps_on(chain, landing)}
    if landing.piece.use == "door":
        serving.add("start")
    return tuple(edge for edge in _EDGES if edge not in serving)


def _judge_plate(limit: Limit, rules: RuleSet, measured: Measured) -> Finding:
    """No catalogue states a curb of a plate; it needs none where no rail is asked and its sides are flush."""
    plate, last = measured.chain.plate, measured.chain.runs[-1]
    name, where = plate.piece.id, mark(plate)
    if find_rail_need(rules, last, measured.facets) != "not asked":
        why = "the catalogue states no curb of a plate, and its run needs handrails"
        return tell_unmeasured(limit, rules.id, name, why, where)
    heights = [
        measure_heights(measured.facets, shapely.LineString([a[:2], b[:2]]), plate.surface_plane())
        for a, b in (plate.edge(side) for side in SIDES)
    ]
    greatest = [side.greatest_m for side in heights if side is not None and side.is_whole]
    if len(greatest) == len(heights) and is_at_most(max(greatest), FLUSH_M):
        why = "its run needs no handrails and its sides are flush with the ground"
        return tell_inapplicable(limit, rules.id, name, why, where)
    shown = f"{max(greatest):.3f} m over the ground" if greatest else "over ground that is not surveyed"
    why = (
        f"the catalogue states no curb of a plate; its sides stand up to {shown} "
        "and need none where earth is graded up to them"
    )
    return tell_unmeasured(limit, rules.id, name, why, where)
