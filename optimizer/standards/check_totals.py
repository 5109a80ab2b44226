"""Are the numbers a candidate states about itself the ones that its corners give.

Clauses of our own: ``build.stated`` for measures, ``build.story`` for what it calls itself.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.catalogue.parts import Landing, Part
from optimizer.plan import Candidate, Finding
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.check_chain import all_placed
from optimizer.standards.check_prices import weigh_candidate
from optimizer.standards.check_toe import judge_slope_number
from optimizer.standards.findings import JOINT_M, judge_build, judge_fact, locate
from optimizer.standards.placed import Placed, Vector

#: Masses are added to the gram.
_GRAM_KG = 5e-4


def check_totals(candidate: Candidate, chain: Chain, case: CheckCase) -> Iterator[Finding]:
    """Slopes, lengths, areas, masses; shape, turns, exit, runs."""
    for placed in all_placed(chain):
        yield _judge_slope(placed)
    steepest = max(piece.rise_m / piece.plan_length_m for run in chain.runs for piece in run.pieces)
    yield judge_slope_number(
        "build.stated", candidate.name, "steepest slope", candidate.steepest_slope, steepest
    )
    rise = float(chain.walked()[0].start_m[2] - chain.plate.end_m[2])
    yield _judge_stated("rise", candidate.rise_m, rise, JOINT_M, "m")
    walking = measure_walking_length(chain, case)
    yield _judge_stated("walking length", candidate.walking_length_m, walking, JOINT_M, "m")
    area = sum(placed.plan_length_m * placed.width_m for placed in chain.walked())
    yield _judge_stated("footprint", candidate.footprint_m2, area, JOINT_M, "m2")
    weight = float(weigh_candidate(candidate, case.catalogue))
    yield _judge_stated("weight", candidate.weight_kg, weight, _GRAM_KG, "kg")
    yield from _check_story(candidate, chain, case)


def _judge_slope(placed: Placed[Part]) -> Finding:
    """A piece's stated slope; landings and the pad are level, a plate over no gap is as well."""
    measured = 0.0
    if placed.piece.kind not in ("landing", "bottom_pad") and placed.plan_length_m > JOINT_M:
        measured = placed.rise_m / placed.plan_length_m
    return judge_slope_number("build.stated", placed.piece.id, "slope", placed.piece.slope, measured)


def _judge_stated(what: str, stated: float, measured: float, tolerance: float, unit: str) -> Finding:
    says = f"stated {stated:.4f} {unit}, off the measured by"
    return judge_build("build.stated", what, says, abs(stated - measured), "<=", tolerance, unit, None)


def measure_walking_length(chain: Chain, case: CheckCase) -> float:
    """Surface lengths of sections and plate, and along and across each landing.

    At the door the way begins at the middle of the sill, so the gap counts.
    """
    length = sum(piece.surface_length_m for run in chain.runs for piece in run.pieces)
    start = case.start()
    for landing in chain.all_landings:
        arriving = chain.arriving(landing)
        entry = landing.start_m[:2] if arriving is None else arriving.hinge_m[:2]
        if arriving is None and start is not None:
            entry = start.midpoint_m[:2]
        length += _measure_way(landing, entry, chain.leaving(landing).start_m[:2])
    return length


def _measure_way(landing: Placed[Landing], entry: Vector, leave: Vector) -> float:
    first, second = landing.axes(entry), landing.axes(leave)
    return abs(second[0] - first[0]) + abs(second[1] - first[1])


def _check_story(candidate: Candidate, chain: Chain, case: CheckCase) -> Iterator[Finding]:
    """Start, turns, shape and run numbers as the pieces tell them."""
    fault = None if candidate.start == case.start_name else f'it says it starts at "{candidate.start}"'
    yield judge_fact("build.story", "start", f'it starts at "{case.start_name}"', fault, None)
    turns = tuple(landing.piece.use for landing in chain.landings)
    fault = (
        None if candidate.turns == turns else f"it says its turns are {', '.join(candidate.turns) or 'none'}"
    )
    yield judge_fact("build.story", "turns", "its turns are those of its landings", fault, None)
    shape = name_shape(chain)
    fault = None if candidate.shape == shape else f'it calls itself "{candidate.shape}" but is "{shape}"'
    yield judge_fact("build.story", "shape", f'it is "{shape}"', fault, None)
    for run in chain.runs:
        for placed in run.pieces:
            number = placed.piece.run
            fault = None if number == run.number else f"it says run {number} but is part of {run.name}"
            yield judge_fact(
                "build.story", placed.piece.id, f"it is part of {run.name}", fault, locate(placed.start_m)
            )
    for other in all_placed(chain):
        is_of_run = other.piece.kind in ("section", "transition_plate")
        if not is_of_run and other.piece.run is not None:
            fault = f"it is part of no run but says run {other.piece.run}"
            yield judge_fact("build.story", other.piece.id, "", fault, locate(other.start_m))


def name_shape(chain: Chain) -> str:
    """``switchback`` with a half turn, ``L`` with a quarter turn, else ``straight``."""
    uses = {landing.piece.use for landing in chain.landings}
    if uses & {"half_left", "half_right"}:
        return "switchback"
    return "L" if uses & {"left", "right"} else "straight"
