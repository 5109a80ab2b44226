"""One CP-SAT model for a whole tiny yard: a third program for the discrete problem.

Validates: the search and the brute force.  Source: DEVELOPERS.md, 'The discrete problem'; single
pieces are judged by the brute force's rooms, the choice of the way and the rule that pieces do not
overlap are this model's alone.  Tolerance: none, costs agree to the cent.

The way is a flow of one unit through the arcs of monolithic_graph.py.  Pieces that overlap exclude
each other; there are too many pairs to write down, so the model is grown: solve, look where chosen
pieces overlap, and add for a point there that at most one of all pieces of the two kinds may cover
it.  A model that lacks clauses costs no more than the whole one, so its bound holds; the first way
without an overlap is the optimum of the whole model.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from ortools.sat.python import cp_model

from optimizer.brief.site import Site
from tests.validation.brute_geometry import E, Rect, is_overlapping, is_within, shrunk
from tests.validation.monolithic_graph import SINK, SOURCE, Arc, Graph, Placement

WORKERS = 2
SEED = 1


@dataclass(frozen=True, slots=True)
class WholeAnswer:
    """What the one model says.

    ``status``: ``optimal``, ``infeasible``, or ``unknown`` when the time ran out; then
    ``cost_cents`` is ``None`` and ``bound_cents`` what no layout is cheaper than (``None`` while
    the arcs were still being built).
    """

    status: Literal["optimal", "infeasible", "unknown"]
    cost_cents: int | None
    bound_cents: int | None
    seconds: float
    arcs: int
    clauses: int
    rounds: int

    @property
    def is_proven(self) -> bool:
        """Whether nothing is left open."""
        return self.status != "unknown"


def solve_whole_yard(site: Site, time_limit_s: float, ceiling_cents: int | None = None) -> WholeAnswer:
    """The least direct cost of a yard by one model, within ``time_limit_s`` seconds of the clock.

    ``ceiling_cents``, the search's own optimum, bids the model look at nothing dearer: a search
    that is too dear is beaten, one that is too cheap finds the model infeasible.
    """
    began = time.perf_counter()
    ends = began + time_limit_s
    graph = Graph(site, is_late=lambda: time.perf_counter() > ends)
    whole = _WholeModel(site, graph, ceiling_cents)
    bound, rounds = None, 0

    def answer(status: Literal["optimal", "infeasible", "unknown"], cents: int | None) -> WholeAnswer:
        seconds = time.perf_counter() - began
        return WholeAnswer(status, cents, bound, seconds, len(graph.arcs), whole.clauses, rounds)

    while graph.is_whole and (left := ends - time.perf_counter()) > 0:
        rounds += 1
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = WORKERS
        solver.parameters.random_seed = SEED
        solver.parameters.max_time_in_seconds = left
        told = solver.solve(whole.model)
        if told == cp_model.INFEASIBLE:
            return answer("infeasible", None)
        if told not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            break
        bound = max(bound or 0, round(solver.best_objective_bound))
        if (
            not whole.forbid_overlaps([solver.value(one) for one in whole.chosen])
            and told == cp_model.OPTIMAL
        ):
            return answer("optimal", round(solver.objective_value))
    return answer("unknown", None)


class _WholeModel:
    """Flow, locks, relief and the clauses added so far."""

    def __init__(self, site: Site, graph: Graph, ceiling_cents: int | None) -> None:
        self.arcs, self.gap = graph.arcs, site.catalogue.piece_gap_m
        self.foot_room = graph.foot_room
        self.model = cp_model.CpModel()
        self.chosen = [self.model.new_bool_var("") for _ in self.arcs]
        self.clauses = 0
        self.of_slot: dict[tuple[str, int, str], list[tuple[int, Rect]]] = {}
        for number, arc in enumerate(self.arcs):
            for piece in arc.pieces:
                self.of_slot.setdefault(_slot(piece), []).append((number, piece.rect))
        self._flow()
        self._locks(graph)
        cost: cp_model.LinearExprT = sum(
            arc.cents * one for arc, one in zip(self.arcs, self.chosen, strict=True)
        )
        cost += self._relief(site, graph)
        if ceiling_cents is not None:
            self.model.add(cost <= ceiling_cents)
        self.model.minimize(cost)

    def _flow(self) -> None:
        into: dict[int, list[cp_model.IntVar]] = {SINK: [], SOURCE: []}
        out_of: dict[int, list[cp_model.IntVar]] = {SINK: [], SOURCE: []}
        for arc, one in zip(self.arcs, self.chosen, strict=True):
            out_of.setdefault(arc.tail, []).append(one)
            into.setdefault(arc.head, []).append(one)
        self.model.add_exactly_one(out_of[SOURCE])
        self.model.add_exactly_one(into[SINK])
        for node in (into.keys() | out_of.keys()) - {SOURCE, SINK}:
            self.model.add(sum(into.get(node, ())) == sum(out_of.get(node, ())))

    def _locks(self, graph: Graph) -> None:
        """Every locked point is covered by a chosen piece; points of each start in its own frame."""
        for name, yard in graph.yards.items():
            others = [n for n, arc in enumerate(self.arcs) if arc.pieces and arc.pieces[0].start != name]
            for points, roles in (
                (yard.must_pass, {"landing", "run", "plate"}),
                (yard.landing_at, {"landing"}),
            ):
                for u, v in points:
                    covering = {
                        number
                        for number, arc in enumerate(self.arcs)
                        for piece in arc.pieces
                        if piece.start == name and piece.role in roles and is_within((u, v), piece.rect)
                    }
                    self.model.add_bool_or(self.chosen[n] for n in sorted({*covering, *others}))

    def _relief(self, site: Site, graph: Graph) -> cp_model.LinearExpr | int:
        if site.yard.relief_cents == 0:
            return 0
        is_asked = self.model.new_bool_var("relief")
        for arc, one in zip(self.arcs, self.chosen, strict=True):
            if any(p.role != "bottom" and graph.yards[p.start].is_in_setback(p.rect) for p in arc.pieces):
                self.model.add_implication(one, is_asked)
        return site.yard.relief_cents * is_asked

    def forbid_overlaps(self, values: Sequence[int]) -> bool:
        """Add a clause for every overlap of the chosen pieces; whether there was one."""
        way = [arc for arc, value in zip(self.arcs, values, strict=True) if value]
        way.sort(key=lambda arc: min((_order(piece) for piece in arc.pieces), default=(0, 0)))
        found = list(find_overlaps(way, self.gap, self.foot_room))
        for earlier, later, (u, v) in found:
            grown = self.foot_room if later.role == "bottom" else self.gap
            covering = [
                number
                for slot, by in ((_slot(earlier), -grown), (_slot(later), E))
                for number, rect in self.of_slot[slot]
                if _is_inside((u, v), shrunk(rect, by))
            ]
            self.model.add_at_most_one(self.chosen[number] for number in covering)
            self.clauses += 1
        return bool(found)


def find_overlaps(
    way: Sequence[Arc], gap: float, foot_room: float
) -> Iterator[tuple[Placement, Placement, tuple[float, float]]]:
    """Pairs of pieces of a way that overlap by the page's rule, each with a point inside both."""
    pieces = sorted((piece for arc in way for piece in arc.pieces), key=_order)
    for number, later in enumerate(pieces):
        for earlier in pieces[:number]:
            if not _is_tested(earlier, later):
                continue
            a = shrunk(earlier.rect, -foot_room if later.role == "bottom" else -gap)
            b = shrunk(later.rect, E)
            if is_overlapping(a, b):
                u = (max(a[0], b[0]) + min(a[2], b[2])) / 2
                v = (max(a[1], b[1]) + min(a[3], b[3])) / 2
                yield earlier, later, (u, v)


def _is_tested(earlier: Placement, later: Placement) -> bool:
    """Not the landing against the run that arrives, nor a run or its plate against what it leaves."""
    if later.role == "landing":
        return not (earlier.role == "run" and earlier.layer == later.layer - 1)
    if later.role == "run":
        return not (earlier.role == "landing" and earlier.layer == later.layer)
    if later.role == "plate":
        return earlier.layer != later.layer
    if later.role == "bottom":
        return not (earlier.role in ("run", "plate") and earlier.layer == later.layer)
    return True


def _order(piece: Placement) -> tuple[int, int]:
    return piece.layer, ("landing", "run", "plate", "bottom").index(piece.role)


def _slot(piece: Placement) -> tuple[str, int, str]:
    return piece.start, piece.layer, piece.role


def _is_inside(point: tuple[float, float], rect: Rect) -> bool:
    return rect[0] < point[0] < rect[2] and rect[1] < point[1] < rect[3]
