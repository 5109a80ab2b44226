"""The best layouts of every shape, by a rising ceiling, on one lattice."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.layout.spec import Exit
from optimizer.search.answers import LatticeAnswer, Round, SearchEvent, ShapeAnswer, ShapeQuestion, Turns
from optimizer.search.grown import EVERY_SHAPE, Branch, grow
from optimizer.search.kernel_tables import NEVER
from optimizer.search.prepared import Prepared, least_open
from optimizer.search.settle_shape import list_beginnings, list_ends, number_of, read_turns, settle_shape

#: How far the next ceiling lies above the last: while little grows, at least, at most.
FIRST_RISE, LEAST_RISE, MOST_RISE = 1.08, 1.01, 1.09
#: ... when the last rise made nothing grow.
IDLE_RISE = 2.0
#: Growth below so many poses costs next to nothing and says little about what follows.
FEW_STATES = 150
#: Rounds after one with fewer poses than this are not worth a second thread.
WORTH_A_THREAD = 500
#: A round should grow about so many times as many poses as the one before.
GROWTH = 3.0


@dataclass(frozen=True, slots=True)
class Looked:
    """What one round found behind one start and exit.

    ``aside_cents``: least bound left aside for the ceiling; ``counts``: states, arcs, arcs tried, priced.
    """

    answers: tuple[ShapeAnswer, ...]
    aside_cents: int
    stopped_by: str
    counts: tuple[int, int, int, int]


def search_lattice(
    prepared: Prepared,
    question: ShapeQuestion,
    stop: NDArray[np.int64],
    on_event: Callable[[SearchEvent], None] | None = None,
) -> LatticeAnswer:
    """Raise the ceiling until the wanted shapes are settled, nothing is left, or it is stopped."""
    search = _LatticeSearch(prepared, question, stop, on_event)
    return search.run()


class _LatticeSearch:
    """One rising ceiling; used once."""

    def __init__(
        self,
        prepared: Prepared,
        question: ShapeQuestion,
        stop: NDArray[np.int64],
        on_event: Callable[[SearchEvent], None] | None,
    ) -> None:
        self.prepared = prepared
        self.branches = tuple(
            b for b in prepared.branches if question.only is None or b.exit == question.only[0]
        )
        self.shape = EVERY_SHAPE if question.only is None else list_beginnings(number_of(question.only[1]))
        self.question = question
        self.stop = stop
        self.on_event = on_event
        self.shapes: dict[tuple[Exit, Turns], ShapeAnswer] = {}
        self.rounds: list[Round] = []
        self.bound: int | None = None
        least = min((least_open(b, max(0, len(self.shape) - 1)) for b in self.branches), default=NEVER)
        if least < NEVER:
            self.bound = max(least, question.least_cents)
        self.stopped_by = ""

    def run(self) -> LatticeAnswer:
        """All rounds."""
        try:
            while self.bound is not None and not self.stopped_by and not self._is_enough():
                caps = [c for c in (self.question.known_cents, self._dearest_wanted()) if c is not None]
                self._look_under(min([int(self.bound * self._next_rise()), *caps]))
        except KeyboardInterrupt:
            # What whole rounds have proven stands; a round that was broken off proves nothing.
            self.stop[0] = 1
            self.stopped_by = "interrupted"
        return LatticeAnswer(
            self.prepared.lattice_m,
            tuple(sorted(self.shapes.values(), key=lambda one: (one.cost_cents, one.exit, one.turns))),
            self.bound,
            tuple(self.rounds),
            self.stopped_by,
        )

    def _next_rise(self) -> float:
        """How far to raise the ceiling, judged by how the growth answered to the last rise."""
        if len(self.rounds) < 2 or self.rounds[-1].states < FEW_STATES:
            return FIRST_RISE
        before, last = self.rounds[-2:]
        if last.arcs > 0 and (last.states, last.arcs) == (before.states, before.arcs):
            # Nothing grows any more: what is left is to show that nothing can.
            return IDLE_RISE
        pace = np.log(last.states / before.states) / np.log(last.ceiling_cents / before.ceiling_cents)
        return float(np.clip(GROWTH ** (1.0 / max(pace, 1.0)), LEAST_RISE, MOST_RISE))

    def _best(self) -> int | None:
        return min((shape.cost_cents for shape in self.shapes.values()), default=None)

    def _dearest_wanted(self) -> int | None:
        best = self._best()
        return None if best is None else int(best * self.question.budget)

    def _is_enough(self) -> bool:
        known = self.question.known_cents
        if known is not None and self.bound is not None and self.bound > known:
            return True
        settled = [shape for shape in self.shapes.values() if shape.is_proven]
        last = self._dearest_wanted()
        return bool(settled) and (
            len(settled) >= self.question.wanted
            or (self.bound is not None and last is not None and self.bound > last)
        )

    def _look_under(self, ceiling: int) -> None:
        """One round: grow every branch under the ceiling, then settle its shapes."""
        if len(self.branches) == 1 or not self.rounds or self.rounds[-1].states < WORTH_A_THREAD:
            found = [self._look_at(branch, ceiling) for branch in self.branches]
        else:
            found = self._look_at_two(ceiling)
        aside = NEVER
        merged: dict[tuple[Exit, Turns], list[ShapeAnswer]] = {}
        for looked in found:
            aside = min(aside, looked.aside_cents)
            self.stopped_by = self.stopped_by or looked.stopped_by
            for answer in looked.answers:
                merged.setdefault((answer.exit, answer.turns), []).append(answer)
        is_over = not self.stopped_by
        # A round that was given up proves no more than the rounds before it.
        reached = ceiling if is_over else max(0, (self.bound or 1) - 1)
        for key, answers_of in merged.items():
            is_whole = is_over and aside >= NEVER and all(one.is_whole for one in answers_of)
            merged_one = merge_answers(answers_of, self.question.kept, reached, is_whole)
            known = self.shapes.get(key)
            if is_over or known is None or merged_one.cost_cents < known.cost_cents:
                self.shapes[key] = merged_one
        if is_over:
            self.bound = None if aside >= NEVER else max(aside, ceiling + 1)
        states, arcs, tried, priced = (
            int(n) for n in np.array([looked.counts for looked in found]).reshape(-1, 4).sum(axis=0)
        )
        self.rounds.append(
            Round(self.prepared.lattice_m, ceiling, states, arcs, tried, priced, len(self.shapes))
        )
        if self.on_event is not None:
            self.on_event(
                SearchEvent(
                    "searching",
                    self.prepared.lattice_m,
                    ceiling,
                    self.bound,
                    self._best(),
                    len(self.shapes),
                )
            )

    def _look_at_two(self, ceiling: int) -> list[Looked]:
        """All branches, two at a time; Ctrl-C stops both and keeps what they know."""
        with ThreadPoolExecutor(max_workers=2) as workers:
            futures = [workers.submit(self._look_at, branch, ceiling) for branch in self.branches]
            try:
                wait(futures)
            except KeyboardInterrupt:
                self.stop[0] = 1
                self.stopped_by = "interrupted"
        return [future.result() for future in futures]

    def _look_at(self, branch: Branch, ceiling: int) -> Looked:
        """Grow one branch and settle its shapes."""
        grown = grow(branch, ceiling, self.stop, self.shape, self.question.most_states)
        states = grown.states
        answers: list[ShapeAnswer] = []
        aside = grown.aside_cents if grown.is_whole else 0
        stopped_by = grown.stopped_by
        tried = priced = 0
        for code in list_ends(grown):
            turns = read_turns(code)
            if self.question.only is not None and turns != self.question.only[1]:
                continue
            answer, pool, room, is_stopped = settle_shape(
                branch, grown, code, self.question.kept, ceiling, self.stop
            )
            aside = min(aside, int(pool.aside[0]))
            tried += int(room.pops[0])
            priced += int(room.pops[1])
            if answer is not None:
                answers.append(answer)
            if is_stopped:
                stopped_by = "stopped"
        counts = (int(states.sizes[0]), int(states.sizes[1]), tried, priced)
        return Looked(tuple(answers), aside, stopped_by, counts)


def merge_answers(
    answers: list[ShapeAnswer],
    kept: int,
    bound_cents: int,
    is_whole: bool,  # noqa: FBT001 (what is so)
) -> ShapeAnswer:
    """One shape found from several starts."""
    every = sorted(
        (skeleton for one in answers for skeleton in one.skeletons), key=lambda s: (s.cost_cents, s.walk_m)
    )
    return ShapeAnswer(answers[0].exit, answers[0].turns, tuple(every[:kept]), bound_cents, is_whole)
