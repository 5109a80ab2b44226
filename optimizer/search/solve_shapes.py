"""Search a site: coarse lattice first, then its own, finer ones before 'no'; then more shapes.

```python
from optimizer.search.solve_shapes import solve_shapes

solved = solve_shapes(site, wanted=5)
print(solved.status, solved.best_cents)
for shape in solved.shapes:
    print(shape.exit, shape.turns, shape.cost_cents, shape.proof)
```
"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.errors import InternalError
from optimizer.layout.spec import Exit, TurnKind
from optimizer.search.answers import LatticeAnswer, Round, SearchEvent, ShapeAnswer, ShapeQuestion, Turns
from optimizer.search.grown import EVERY_SHAPE, grow
from optimizer.search.prepared import Prepared, prepare
from optimizer.search.settle_shape import settle_shape
from optimizer.search.shape_search import search_lattice

Status = Literal["optimal_on_lattice", "feasible", "infeasible_on_lattice", "unknown"]
StopWord = Literal["", "time limit", "interrupted", "cancelled", "memory"]
ENGINE = "layered shortest paths under a rising ceiling, exact best-first completion"
#: The lattice of the first, quick look: so many times the site's own pitch (its layouts are the site's too).
COARSER = 2
#: More shapes, and dearer ones, than any site has.
ALL = 1_000_000
#: The quick look gives up when so many poses have grown.
QUICK_STATES = 3000
#: A shape by itself keeps its gap when so many poses have grown for it under one ceiling.
SHAPE_STATES = 25_000
#: Looking for one shape on the coarse lattice gives up past so many poses: without turns, with one, with two.
STATES_BY_TURNS = (8000, 8000, 1500)
#: Shapes are first looked for on a lattice so many times as coarse as the site's own.
COARSER_FOR_SHAPES = 3
#: Shapes dearer than this many times the best are not looked for.
BUDGET = 1.6
TURN_KINDS: tuple[TurnKind, ...] = ("left", "right", "half_left", "half_right")
#: Shapes of up to so many turns are looked for one by one when more are wanted.
TURNS_ONE_BY_ONE = 2


class Stop:
    """A flag that the compiled search looks at: ``cancel()`` from any thread ends it within a moment."""

    def __init__(self) -> None:
        """Not cancelled."""
        self.flag: NDArray[np.int64] = np.zeros(1, dtype=np.int64)
        self.word: StopWord = ""

    def cancel(self, word: StopWord = "cancelled") -> None:
        """End the search; the first reason given stands."""
        if not self.word:
            self.word = word
        self.flag[0] = 1

    @contextmanager
    def after(self, seconds: float) -> Iterator[None]:
        """Cancel when the time is up."""
        timer = threading.Timer(seconds, self.cancel, ("time limit",))
        timer.daemon = True
        timer.start()
        try:
            yield
        finally:
            timer.cancel()


@dataclass(frozen=True, slots=True)
class Certificate:
    """What the proof is about and how it was reached: enough to repeat it.

    The guard is 0: pieces, heights and ground are not rounded (DEVELOPERS.md, 'The discrete problem').
    """

    engine: str
    lattice_m: float
    height_step_m: float
    slopes: tuple[float, ...]
    most_runs: int
    longest_run_m: float
    bound_cents: int | None
    rounds: tuple[Round, ...]


@dataclass(frozen=True, slots=True)
class SolvedShapes:
    """Every shape settled, cheapest first, and what is proven.

    ``bound_cents``: no layout at all costs less (``None``: there is none beyond the shapes
    given); ``searched_to_cents``: all layouts cheaper than this were looked at (``None``: all);
    ``not_settled``: shapes looked for and neither found nor ruled out.
    """

    status: Status
    lattice_m: float
    shapes: tuple[ShapeAnswer, ...]
    bound_cents: int | None
    searched_to_cents: int | None
    not_settled: tuple[tuple[Exit, Turns], ...]
    missing: tuple[str, ...]
    stopped: StopWord
    certificate: Certificate

    @property
    def best_cents(self) -> int | None:
        """Least cost found."""
        return min((shape.cost_cents for shape in self.shapes), default=None)


@dataclass(frozen=True, slots=True)
class Effort:
    """How much is asked: shapes wanted, and layouts kept of each.

    With ``ceiling_cents``: every layout on the site's own lattice that costs no more, of all shapes.
    """

    wanted: int = 1
    kept: int = 1
    ceiling_cents: int | None = None


def solve_shapes(
    site: Site,
    wanted: int = 1,
    on_event: Callable[[SearchEvent], None] | None = None,
    stop: Stop | None = None,
) -> SolvedShapes:
    """The best layout of the ``wanted`` cheapest-looking shapes of a site, each proven or with its gap.

    Ends at the site's time limit, or when ``stop`` is cancelled, with what is known by then.
    Ctrl-C is taken as a cancel.
    """
    return solve_with(site, Effort(wanted), on_event, stop or Stop())


def solve_with(
    site: Site, effort: Effort, on_event: Callable[[SearchEvent], None] | None, stop: Stop
) -> SolvedShapes:
    """``solve_shapes`` with every setting of the effort."""
    solving = _Solving(site, effort, on_event, stop)
    try:
        own = prepare(site)
        compile_kernels(own)
    except KeyboardInterrupt:
        stop.cancel("interrupted")
        nothing = Prepared(site.search.lattice_m, (), (), (), 0)
        return solving.close(nothing, LatticeAnswer(nothing.lattice_m, (), 0, (), "interrupted"), {}, [])
    # The clock starts only now: the first run ever compiles for longer than many a limit.
    with stop.after(site.search.time_limit_s):
        return solving.solve(own)


def compile_kernels(prepared: Prepared) -> None:
    """Have every kernel of the search compiled, or read from its cache, by a search of nothing."""
    still = np.zeros(1, dtype=np.int64)
    for branch in prepared.branches[:1]:
        settle_shape(branch, grow(branch, -1, still, EVERY_SHAPE, 1), 0, 1, -1, still)


class _Solving:
    """One solve; used once."""

    def __init__(
        self, site: Site, effort: Effort, on_event: Callable[[SearchEvent], None] | None, stop: Stop
    ) -> None:
        self.site = site
        self.effort = effort
        self.on_event = on_event
        self.stop = stop
        self.rounds: list[Round] = []

    def solve(self, own: Prepared) -> SolvedShapes:
        """Coarse, own, finest lattice; then more shapes."""
        pitch = self.site.search.lattice_m
        if not own.branches:
            return self.close(own, LatticeAnswer(pitch, (), None, (), ""), {}, [])
        if self.effort.ceiling_cents is not None:
            question = ShapeQuestion(ALL, self.effort.kept, float(ALL), self.effort.ceiling_cents)
            answer = self._look(own, question)
            return self.close(own, answer, {(one.exit, one.turns): one for one in answer.shapes}, [])
        coarse = self._look(
            own.on_lattice(self.site, pitch * COARSER),
            ShapeQuestion(1, 1, 1.0, None, most_states=QUICK_STATES),
        )
        answer = self._look(own, ShapeQuestion(1, self.effort.kept, 1.0, coarse.best_cents))
        if coarse.shapes and not answer.shapes and not answer.stopped_by:
            raise InternalError("a layout of the coarse lattice was not found again on the site's own")
        prepared = own
        finest = self.site.search.finest_lattice_m
        if not answer.shapes and answer.bound_cents is None and finest < pitch - 1e-9:
            prepared = own.on_lattice(self.site, finest)
            answer = self._look(prepared, ShapeQuestion(1, self.effort.kept, 1.0, None))
        shapes = {(one.exit, one.turns): one for one in answer.shapes}
        if answer.stopped_by and not shapes:
            # What the coarse lattice gave stands, with the gap to what is proven.
            shapes = {(one.exit, one.turns): replace(one, bound_cents=0) for one in coarse.shapes}
        open_shapes: list[tuple[Exit, Turns]] = []
        if not answer.stopped_by and answer.shapes and self.effort.wanted > 1:
            open_shapes = self._find_more(prepared, answer, shapes)
        return self.close(prepared, answer, shapes, open_shapes)

    def _look(self, prepared: Prepared, question: ShapeQuestion) -> LatticeAnswer:
        answer = search_lattice(prepared, question, self.stop.flag, self.on_event)
        if answer.stopped_by == "interrupted":
            self.stop.cancel("interrupted")
        self.rounds += answer.rounds
        return answer

    def _find_more(
        self, prepared: Prepared, answer: LatticeAnswer, shapes: dict[tuple[Exit, Turns], ShapeAnswer]
    ) -> list[tuple[Exit, Turns]]:
        """Find more shapes one by one, those of few turns first; returns those that stay open.

        All are looked for on a coarse lattice; the cheapest of them, as many as are wanted, are then
        settled on the site's own.
        """
        best = min(one.cost_cents for one in shapes.values())
        prepared = prepared.for_turns(TURNS_ONE_BY_ONE + 1)
        coarse = prepared.on_lattice(self.site, prepared.lattice_m * COARSER_FOR_SHAPES)
        least = answer.bound_cents or 0
        most = prepared.most_runs - 1
        if self.site.wishes.most_turns is not None:
            most = min(most, self.site.wishes.most_turns)
        exits = list(dict.fromkeys(branch.exit for branch in prepared.branches))
        rough: dict[tuple[Exit, Turns], ShapeAnswer] = {}
        absent: list[tuple[Exit, Turns]] = []
        dearest = int(best * BUDGET)
        for count in range(min(most, TURNS_ONE_BY_ONE) + 1):
            if len(shapes) + len(rough) >= self.effort.wanted:
                break
            asked = [
                key
                for key in itertools.product(exits, itertools.product(TURN_KINDS, repeat=count))
                if key not in shapes
            ]
            caps = [dearest] * len(asked)
            for key, one in self._look_each(coarse, asked, caps, 0, STATES_BY_TURNS[count]):
                if one.shapes:
                    # A bound on the coarse lattice says nothing about the own one.
                    rough[key] = replace(one.shapes[0], bound_cents=min(least, one.shapes[0].cost_cents))
                else:
                    absent.append(key)
        unknown = absent
        if len(shapes) + len(rough) < self.effort.wanted:
            # A shape that the coarse lattice has not may be one of the own lattice all the same.
            unknown = []
            caps = [dearest] * len(absent)
            for key, one in self._look_each(prepared, absent, caps, least, QUICK_STATES):
                if one.shapes:
                    shapes[key] = one.shapes[0]
                elif one.stopped_by:
                    unknown.append(key)
        self._settle_rough(prepared, rough, least, shapes)
        return unknown

    def _settle_rough(
        self,
        prepared: Prepared,
        rough: dict[tuple[Exit, Turns], ShapeAnswer],
        least_cents: int,
        shapes: dict[tuple[Exit, Turns], ShapeAnswer],
    ) -> None:
        """Settle the cheapest shapes of the coarse lattice, as many as are wanted; others keep their gap."""
        chosen = sorted(rough, key=lambda key: (rough[key].cost_cents, key))
        chosen = chosen[: max(0, self.effort.wanted - len(shapes))]
        caps = [rough[key].cost_cents for key in chosen]
        for key, one in self._look_each(prepared, chosen, caps, least_cents, SHAPE_STATES):
            if one.shapes and one.shapes[0].cost_cents <= rough[key].cost_cents:
                shapes[key] = one.shapes[0]
            else:
                reached = (one.bound_cents or rough[key].cost_cents + 1) - 1
                bound = min(max(reached, least_cents), rough[key].cost_cents)
                shapes[key] = replace(rough[key], bound_cents=bound)
        for key, found in rough.items():
            shapes.setdefault(key, found)

    def _look_each(
        self,
        prepared: Prepared,
        keys: list[tuple[Exit, Turns]],
        caps_cents: list[int],
        least_cents: int,
        most_states: int,
    ) -> list[tuple[tuple[Exit, Turns], LatticeAnswer]]:
        """Look for shapes one by one, two at a time, each up to a cap of its own."""
        questions = [
            ShapeQuestion(
                1,
                self.effort.kept,
                BUDGET,
                cap,
                least_cents,
                most_states=most_states,
                only=key,
            )
            for key, cap in zip(keys, caps_cents, strict=True)
        ]
        with ThreadPoolExecutor(max_workers=2) as workers:
            futures = [
                workers.submit(search_lattice, prepared, question, self.stop.flag, self.on_event)
                for question in questions
            ]
            try:
                wait(futures)
            except KeyboardInterrupt:
                self.stop.cancel("interrupted")
        answers = [future.result() for future in futures]
        self.rounds += [one for answer in answers for one in answer.rounds]
        return list(zip(keys, answers, strict=True))

    def close(
        self,
        prepared: Prepared,
        answer: LatticeAnswer,
        shapes: dict[tuple[Exit, Turns], ShapeAnswer],
        open_shapes: list[tuple[Exit, Turns]],
    ) -> SolvedShapes:
        """What is known, with what it proves."""
        found = tuple(sorted(shapes.values(), key=lambda one: (one.cost_cents, one.exit, one.turns)))
        best = found[0].cost_cents if found else None
        status: Status
        if best is not None:
            proven = answer.bound_cents is None or answer.bound_cents >= best
            status = "optimal_on_lattice" if proven else "feasible"
        elif answer.bound_cents is None and not answer.stopped_by:
            status = "infeasible_on_lattice"
        else:
            status = "unknown"
        bound = answer.bound_cents
        if best is not None:
            bound = best if bound is None else min(bound, best)
        stopped: StopWord = self.stop.word
        if answer.stopped_by == "memory":
            stopped = "memory"
        search = self.site.search
        return SolvedShapes(
            status=status,
            lattice_m=prepared.lattice_m,
            shapes=found,
            bound_cents=bound,
            searched_to_cents=answer.bound_cents,
            not_settled=tuple(open_shapes),
            missing=prepared.missing,
            stopped=stopped if status in ("feasible", "unknown") or open_shapes else "",
            certificate=Certificate(
                ENGINE,
                prepared.lattice_m,
                search.height_step_m,
                prepared.slopes,
                prepared.most_runs,
                search.longest_run_m,
                bound,
                tuple(self.rounds),
            ),
        )
