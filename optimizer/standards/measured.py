"""A candidate measured once, for the clauses of every rule set."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.plan import Candidate
from optimizer.rulebook.design_limits import LandingNeed
from optimizer.standards.bottom import Bottom, measure_bottom
from optimizer.standards.case import CheckCase
from optimizer.standards.chain import Chain
from optimizer.standards.ground_measure import Facets, build_facets
from optimizer.standards.open_edges import OpenEdges, list_open_edges


@dataclass(frozen=True, slots=True)
class Measured:
    """What is measured of a candidate before any clause is looked at (site frame, metres).

    ``bottom`` is the space beyond the tip as the binding rule sets together ask it;
    ``open_edges`` has one entry for each run and each landing, from the door down.
    """

    candidate: Candidate
    case: CheckCase
    chain: Chain
    facets: Facets
    bottom: Bottom
    open_edges: tuple[OpenEdges, ...]


def measure_candidate(candidate: Candidate, case: CheckCase, chain: Chain, need: LandingNeed) -> Measured:
    """Measure it once; ``need`` is the space at the bottom that all binding rule sets together ask."""
    facets = build_facets(case.ground)
    bottom = measure_bottom(candidate, chain, need, facets, case.ground.leave_one_out_m)
    edges = tuple(list_open_edges(chain, facets))
    return Measured(candidate, case, chain, facets, bottom, edges)
