"""Edges people could fall from, and how far: measured once for the guards of every rule set."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.catalogue.parts import Part
from optimizer.rulebook.rules import Limit
from optimizer.standards.chain import Chain
from optimizer.standards.findings import is_within
from optimizer.standards.ground_measure import Facets
from optimizer.standards.measure_rails import SIDES, expect_rail_kind
from optimizer.standards.placed import EdgeName, Placed, Vector

#: A guard is asked by the lowest ground within 36 in of an edge (IRC R312.1.1, IBC 1015.2; a county's
#: own note to the IRC says the same in plain words).
GUARD_REACH_M: Final = 0.9144
#: Edges are walked in steps of at most this, then in a tenth of it around the greatest drop.
_EDGE_STEP_M: Final = 0.1


@dataclass(frozen=True, slots=True)
class OpenEdge:
    """An edge people could fall from: greatest drop (m, NaN where nothing near is surveyed), where (3,)."""

    placed: Placed[Part]
    name: EdgeName
    drop_m: float
    where_m: Vector


@dataclass(frozen=True, slots=True)
class OpenEdges:
    """The open edges of a run or a landing."""

    subject: str
    edges: tuple[OpenEdge, ...]

    def worst(self) -> OpenEdge:
        """The edge with the greatest drop (any, where none is known)."""
        return max(self.edges, key=lambda edge: edge.drop_m if np.isfinite(edge.drop_m) else -np.inf)

    def beyond(self, limit: Limit) -> tuple[OpenEdge, ...]:
        """The edges whose drop asks for a guard."""
        return tuple(
            edge for edge in self.edges if np.isfinite(edge.drop_m) and not is_within(limit, edge.drop_m)
        )


def list_open_edges(chain: Chain, facets: Facets) -> Iterator[OpenEdges]:
    """Both sides of every piece of a run; of a landing all edges that meet no wall, run or steps."""
    for run in chain.runs:
        sides = ((piece, side) for piece in run.pieces for side in SIDES)
        yield OpenEdges(run.name, tuple(_measure_edge(piece, side, facets) for piece, side in sides))
    for landing in chain.all_landings:
        names: tuple[EdgeName, ...] = ("left", "right", "start", "end")
        free = (name for name in names if expect_rail_kind(chain, landing, name) is not None)
        yield OpenEdges(landing.piece.id, tuple(_measure_edge(landing, name, facets) for name in free))


def _measure_edge(placed: Placed[Part], name: EdgeName, facets: Facets) -> OpenEdge:
    """Greatest drop along an edge to the lowest ground within reach of each point of it."""
    start, end = placed.edge(name)
    steps = max(1, int(np.ceil(np.hypot(*(end - start)[:2]) / _EDGE_STEP_M)))
    share, drop = _find_greatest(start, end, np.linspace(0.0, 1.0, steps + 1), facets)
    if np.isfinite(drop):
        near = np.linspace(max(0.0, share - 1.0 / steps), min(1.0, share + 1.0 / steps), 21)
        share, drop = _find_greatest(start, end, near, facets)
    return OpenEdge(placed, name, drop, start + share * (end - start))


def _find_greatest(start_m: Vector, end_m: Vector, shares: Vector, facets: Facets) -> tuple[float, float]:
    points = start_m + shares[:, None] * (end_m - start_m)
    drops = points[:, 2] - facets.lowest_near(points[:, :2], GUARD_REACH_M)
    if not np.isfinite(drops).any():
        return 0.0, float("nan")
    worst = int(np.nanargmax(drops))
    return float(shares[worst]), float(drops[worst])
