"""The rail round the inside of a turn: where it takes the place of extensions, and how far it is open.

On the side to which the way turns the handrail carries on from the arriving run's corner along the
landing's edges to the leaving run's, so that neither run has an extension there.  Half turn: 2010 ADA
Standards 505.3 and 505.10 exception 1; quarter turn: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.catalogue.parts import Landing
from optimizer.plan import Rail
from optimizer.standards.chain import Chain, Run
from optimizer.standards.findings import PLACE_M
from optimizer.standards.measure_rails import RunEnd, Side, distance_to_edge
from optimizer.standards.placed import EdgeName, Placed, Vector


def find_turn_side(landing: Placed[Landing]) -> Side | None:
    """The side to which the way between two runs turns on a landing; the door's landing lies between none."""
    match landing.piece.use:
        case "left" | "half_left":
            return "left"
        case "right" | "half_right":
            return "right"
        case _:
            return None


def find_inner_landing(chain: Chain, run: Run, run_end: RunEnd, side: Side) -> Placed[Landing] | None:
    """The landing at the inside of whose turn this corner of the run lies, if it does."""
    landing = chain.upper_landing(run) if run_end == "upper" else chain.lower_landing(run)
    return landing if landing is not None and find_turn_side(landing) == side else None


@dataclass(frozen=True, slots=True)
class _Leg:
    """A stretch of a landing's edge that the inner rail follows, from one point (3,) to the other."""

    edge: EdgeName
    start_m: Vector
    end_m: Vector

    @property
    def length_m(self) -> float:
        return float(np.hypot(*(self.end_m - self.start_m)[:2]))


def measure_inner_opening(chain: Chain, rails: tuple[Rail, ...], landing: Placed[Landing]) -> float:
    """Longest stretch (m, along the landing's edges) of the inside of its turn without a rail.

    0 where the way does not turn.
    """
    longest, position, reached = 0.0, 0.0, 0.0
    for leg in _list_legs(chain, landing):
        for first, last in sorted(_list_covered(rails, landing, leg)):
            longest = max(longest, position + first - reached)
            reached = max(reached, position + last)
        position += leg.length_m
    return max(longest, position - reached)


def _list_legs(chain: Chain, landing: Placed[Landing]) -> Iterator[_Leg]:
    """The way of the inner rail: along the shared edge of a half turn, round the corner of a quarter turn."""
    side, arriving = find_turn_side(landing), chain.arriving(landing)
    if side is None or arriving is None:
        return
    upper = arriving.sections[-1].edge(side)[1]
    lower = chain.leaving(landing).sections[0].edge(side)[0]
    if chain.exit_edge(landing) == "start":
        yield _Leg("start", upper, lower)
        return
    corner = landing.edge(side)[0]
    yield _Leg("start", upper, corner)
    yield _Leg(side, corner, lower)


def _list_covered(
    rails: tuple[Rail, ...], landing: Placed[Landing], leg: _Leg
) -> Iterator[tuple[float, float]]:
    """Parts of a leg along which a rail of that edge runs, from its start (m)."""
    length = leg.length_m
    if length <= 0.0:
        return
    way = (leg.end_m - leg.start_m)[:2] / length
    edge = landing.edge(leg.edge)
    for rail in rails:
        if (rail.piece, rail.edge) != (landing.piece.id, leg.edge):
            continue
        line = np.array(rail.line_m)
        if max(distance_to_edge(point, *edge) for point in line) > PLACE_M:
            continue
        first, last = sorted(float((point - leg.start_m)[:2] @ way) for point in line)
        if last > 0.0 and first < length:
            yield max(0.0, first), min(length, last)
