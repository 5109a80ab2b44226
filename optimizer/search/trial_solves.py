"""Solving many changed sites within one budget of time, two at a time."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TypeVar

from optimizer.brief.site import Site
from optimizer.search.answers import ShapeQuestion
from optimizer.search.prepared import prepare
from optimizer.search.shape_search import search_lattice
from optimizer.search.solve_shapes import Effort, Stop, solve_with
from optimizer.search.stock_streams import least_total, solve_with_stock

Asked = TypeVar("Asked")
Answered = TypeVar("Answered")
#: How many trials are solved at the same time.
AT_ONCE = 2


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a changed site gave: the least cost found, and whether nothing cheaper exists on its lattice.

    ``cost_cents`` is ``None`` when nothing was found (under the ceiling, if there was one);
    with ``is_proven`` there is nothing to find.
    """

    cost_cents: int | None
    is_proven: bool


#: A trial that was not begun, or stopped before it said anything.
NOT_SETTLED = Outcome(None, is_proven=False)


class TrialRunner:
    """Solves trials until its budget is spent; what comes later is not begun.  Ctrl-C ends it early."""

    def __init__(self, budget_s: float) -> None:
        """``budget_s`` for all trials together."""
        self.deadline = time.monotonic() + budget_s
        self._running: list[Stop] = []

    def solve(self, site: Site, ceiling_cents: int | None, at_most_s: float) -> Outcome:
        """One trial, under the site's stock.

        With a ceiling nothing dearer is of interest, and only the site's own lattice is searched.
        """
        seconds = min(at_most_s, self.deadline - time.monotonic())
        if seconds <= 0.0:
            return NOT_SETTLED
        timed = replace(site, search=replace(site.search, time_limit_s=seconds))
        stop = Stop()
        self._running.append(stop)
        try:
            if site.catalogue.stock:
                return _solve_under_stock(timed, ceiling_cents, stop)
            if ceiling_cents is not None:
                return _solve_under_ceiling(timed, ceiling_cents, stop)
            solved = solve_with(timed, Effort(), None, stop)
            is_proven = solved.status in ("optimal_on_lattice", "infeasible_on_lattice")
            return Outcome(solved.best_cents, is_proven)
        finally:
            self._running.remove(stop)

    def each(self, ask: Callable[[Asked], Answered], asked: Sequence[Asked]) -> list[Answered]:
        """``ask`` of everything, two at a time, answers in order."""
        with ThreadPoolExecutor(max_workers=AT_ONCE) as workers:
            waiting = [workers.submit(ask, one) for one in asked]
            try:
                return [one.result() for one in waiting]
            except KeyboardInterrupt:
                # What is left is answered at once as not settled.
                self.deadline = 0.0
                for stop in tuple(self._running):
                    stop.cancel("interrupted")
                return [one.result() for one in waiting]


def _solve_under_ceiling(site: Site, ceiling_cents: int, stop: Stop) -> Outcome:
    with stop.after(site.search.time_limit_s):
        answer = search_lattice(prepare(site), ShapeQuestion(1, 1, 1.0, ceiling_cents), stop.flag)
    cost = answer.best_cents
    if cost is None:
        return Outcome(None, not answer.stopped_by)
    return Outcome(cost, answer.bound_cents is None or answer.bound_cents >= cost)


def _solve_under_stock(site: Site, ceiling_cents: int | None, stop: Stop) -> Outcome:
    stocked = solve_with_stock(site, 1, None, stop)
    cost = least_total(stocked.settled)
    is_over = stocked.is_complete and stocked.solved.status != "unknown"
    if cost is None:
        return Outcome(None, is_over)
    is_proven = is_over and (stocked.bound_cents is None or stocked.bound_cents >= cost)
    if ceiling_cents is not None and cost > ceiling_cents:
        return Outcome(None, is_proven)
    return Outcome(cost, is_proven)


def on_one_lattice(site: Site, lattice_m: float) -> Site:
    """The site with one lattice and no finer one."""
    return replace(site, search=replace(site.search, lattice_m=lattice_m, finest_lattice_m=lattice_m))
