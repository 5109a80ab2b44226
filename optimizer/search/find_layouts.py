"""The cheapest layout of every class, with proof or with its gap."""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.layout.spec import Exit, TurnSpec
from optimizer.search.bound_kernel import least_to_finish
from optimizer.search.geometry_kernel import scratch
from optimizer.search.kernel_tables import NEVER, RECORD_HEAD, STRAIGHT, Pool, Room
from optimizer.search.openings import EXITS, HEADINGS, Opening, list_openings
from optimizer.search.search_kernel import explore
from optimizer.search.tables import TURN_CODES, PreparedStart, build_tables
from optimizer.search.usable_parts import find_usable_parts
from optimizer.terrain.frames import DoorFrame, build_door_frame

Turn = Literal["none", "left", "right", "half_left", "half_right"]
StopWord = Literal["", "time limit", "interrupted"]
TURNS: tuple[Turn, ...] = ("none", "left", "right", "half_left", "half_right")
#: How often the waiting thread looks for Ctrl-C and the deadline, seconds.
LOOK_EVERY_S = 0.05


@dataclass(frozen=True, slots=True)
class SkeletonRun:
    """One run of a skeleton: its surface length."""

    surface_m: float


@dataclass(frozen=True, slots=True)
class Skeleton:
    """Where a layout goes, before sections and legs are named; one slope for all its runs."""

    opening: Opening
    slope: float
    runs: tuple[SkeletonRun, ...]
    turns: tuple[TurnSpec, ...]
    plate: str
    cost_cents: int
    walk_m: float


@dataclass(frozen=True, slots=True)
class ClassAnswer:
    """What is known of one class.

    ``cost_cents`` is ``None`` when nothing was found; ``bound_cents`` a proven lower bound
    (``None``: proven that there is none).  ``skeletons`` ascend in cost; the list is complete
    up to its last cost when ``proven`` and shorter than asked.
    """

    exit: Exit
    turn: Turn
    cost_cents: int | None
    bound_cents: int | None
    proven: bool
    skeletons: tuple[Skeleton, ...]


@dataclass(frozen=True, slots=True)
class SearchAnswer:
    """Every class searched.  ``stopped`` says why the search ended early, if it did."""

    classes: tuple[ClassAnswer, ...]
    missing: tuple[str, ...]
    stopped: StopWord
    nodes: int
    slopes: tuple[float, ...]

    @property
    def best_cents(self) -> int | None:
        """Least cost found, or ``None``."""
        costs = [c.cost_cents for c in self.classes if c.cost_cents is not None]
        return min(costs) if costs else None


@dataclass(frozen=True, slots=True)
class SearchEvent:
    """Progress: one class is done (or given up)."""

    done: int
    of: int
    exit: Exit
    turn: Turn
    cost_cents: int | None
    proven: bool


@dataclass(frozen=True, slots=True)
class ClassQuestion:
    """One class to search: how many layouts to keep, and nothing dearer than the ceiling."""

    exit: Exit
    turn: Turn
    kept: int
    ceiling_cents: int


def build_pool(size: int, runs: int, ceiling: int) -> Pool:
    """An empty pool for ``size`` layouts."""
    return Pool(
        cost=np.full(size, NEVER, dtype=np.int64),
        walk=np.zeros(size),
        record=np.zeros((size, RECORD_HEAD + 2 * runs), dtype=np.int64),
        kept=np.zeros(1, dtype=np.int64),
        ceiling=np.array([ceiling], dtype=np.int64),
    )


def build_room(runs: int, sums: int) -> Room:
    """Scratch space for one worker."""
    return Room(
        clip=scratch(),
        inner=np.zeros((runs, 2, sums), dtype=np.int64),
        rectangles=np.zeros((2 * runs + 3, 4)),
        path=np.zeros(RECORD_HEAD + 2 * runs, dtype=np.int64),
        nodes=np.zeros(1, dtype=np.int64),
    )


def read_skeleton(opening: Opening, record: NDArray[np.int64], cost: int, walk: float) -> Skeleton:
    """Turn one kept record back into words."""
    prepared = opening.prepared
    slope = float(prepared.tables.slopes[int(record[1])])
    runs, turns = [], []
    for level in range(int(record[2])):
        i, o = (int(word) for word in record[RECORD_HEAD + 2 * level : RECORD_HEAD + 2 * level + 2])
        runs.append(SkeletonRun(float(prepared.tables.sums[i].length)))
        if level + 1 < int(record[2]):
            turns.append(prepared.turns[o])
    plate = prepared.parts.plates[int(record[3])].id
    return Skeleton(opening, slope, tuple(runs), tuple(turns), plate, cost, walk)


def root_bound(opening: Opening, slope: float, turn: Turn) -> int:
    """Lower bound on any layout of a class behind one opening at one slope."""
    tables = opening.prepared.tables
    due = 0 if turn == "none" else 1
    rest = least_to_finish(tables, slope, opening.deck_m, int(tables.numbers[0].most_runs), due)
    return int(min(NEVER, opening.cost_cents + rest))


def search_class(
    question: ClassQuestion, openings: tuple[Opening, ...], stop: NDArray[np.int64]
) -> tuple[ClassAnswer, int]:
    """Search one class over all its openings and slopes; also returns the nodes explored.

    The most promising opening and slope come first, so that a good layout cuts the rest short.
    """
    code = STRAIGHT if question.turn == "none" else TURN_CODES[question.turn]
    mine = [o for o in openings if o.exit == question.exit]
    tasks = sorted(
        (root_bound(opening, float(slope), question.turn), n, k)
        for n, opening in enumerate(mine)
        for k, slope in enumerate(opening.prepared.tables.slopes)
    )
    runs = max((int(o.prepared.tables.numbers[0].most_runs) for o in mine), default=1)
    pool = build_pool(question.kept, runs, question.ceiling_cents)
    open_bound: int | None = None
    nodes = 0
    for bound, n, k in tasks:
        if bound >= NEVER:
            break
        opening = mine[n]
        tables = opening.prepared.tables
        room = build_room(runs, len(tables.sums))
        pieces = 0
        if opening.rectangle is not None:
            room.rectangles[0] = opening.rectangle
            pieces = 1
        hu, hv = HEADINGS[opening.exit]
        room.path[0] = n
        room.path[1] = k
        stopped = explore(
            tables,
            pool,
            room,
            float(tables.slopes[k]),
            0,
            code,
            0,
            opening.u,
            opening.v,
            hu,
            hv,
            opening.deck_m,
            opening.cost_cents,
            opening.walk_m,
            pieces,
            0,
            stop,
        )
        nodes += int(room.nodes[0])
        if stopped:
            open_bound = bound
            break
    found = tuple(
        read_skeleton(mine[int(pool.record[k, 0])], pool.record[k], int(pool.cost[k]), float(pool.walk[k]))
        for k in range(int(pool.kept[0]))
    )
    best = found[0].cost_cents if found else None
    proven_bound = best
    if open_bound is not None:
        proven_bound = open_bound if best is None else min(best, open_bound)
    return (
        ClassAnswer(question.exit, question.turn, best, proven_bound, open_bound is None, found),
        nodes,
    )


def prepare_starts(site: Site) -> tuple[tuple[PreparedStart, ...], tuple[str, ...]]:
    """Prepare every start that has all its parts; the rest is named in words."""
    prepared, missing = [], []
    for start in site.yard.starts:
        parts = find_usable_parts(site, start)
        if parts.missing:
            missing += [f"start {start.name!r}: {what}" for what in parts.missing]
            continue
        frame: DoorFrame = build_door_frame(start)
        prepared.append(build_tables(site, start, frame, parts))
    return tuple(prepared), tuple(missing)


def list_questions(site: Site) -> tuple[ClassQuestion, ...]:
    """The classes the wishes allow, one layout of each."""
    turns = TURNS if site.wishes.most_turns > 0 else TURNS[:1]
    has_edge = any(start.kind == "edge" for start in site.yard.starts)
    return tuple(
        ClassQuestion(leaves, turn, 1, NEVER - 1)
        for leaves in EXITS
        if leaves in site.wishes.exits or (has_edge and leaves == "front")
        for turn in turns
    )


def find_layouts(
    site: Site, on_event: Callable[[SearchEvent], None] | None = None, only: tuple[ClassQuestion, ...] = ()
) -> SearchAnswer:
    """Search every class of a site (or ``only`` some), two at a time, until done, out of time or interrupted.

    The answer of a finished class does not depend on the clock or the number of workers.
    """
    prepared, missing = prepare_starts(site)
    openings = tuple(o for one in prepared for o in list_openings(site, one))
    questions = only or list_questions(site)
    stop = np.zeros(1, dtype=np.int64)
    answers, stopped = _search_all(questions, openings, stop, site.search.time_limit_s, on_event)
    classes = tuple(answer for answer, _ in answers)
    slopes = tuple(float(s) for s in prepared[0].tables.slopes) if prepared else ()
    return SearchAnswer(
        classes,
        missing,
        "" if all(answer.proven for answer in classes) else stopped,
        sum(nodes for _, nodes in answers),
        slopes,
    )


def _search_all(
    questions: tuple[ClassQuestion, ...],
    openings: tuple[Opening, ...],
    stop: NDArray[np.int64],
    time_limit_s: float,
    on_event: Callable[[SearchEvent], None] | None,
) -> tuple[tuple[tuple[ClassAnswer, int], ...], StopWord]:
    """Work through the questions; ``stop`` is the flag the kernels look at."""
    deadline = time.monotonic() + time_limit_s
    stopped: StopWord = ""
    told = 0
    with ThreadPoolExecutor(max_workers=2) as workers:
        futures = [workers.submit(search_class, question, openings, stop) for question in questions]
        waiting: set[Future[tuple[ClassAnswer, int]]] = set(futures)
        while waiting:
            try:
                finished, waiting = wait(waiting, timeout=LOOK_EVERY_S, return_when=FIRST_COMPLETED)
                for future in sorted(finished, key=futures.index):
                    answer, _ = future.result()
                    told += 1
                    if on_event is not None:
                        on_event(
                            SearchEvent(
                                told,
                                len(questions),
                                answer.exit,
                                answer.turn,
                                answer.cost_cents,
                                answer.proven,
                            )
                        )
                if not stopped and time.monotonic() > deadline:
                    stopped = "time limit"
                    stop[0] = 1
            except KeyboardInterrupt:
                stopped = "interrupted"
                stop[0] = 1
    return tuple(future.result() for future in futures), stopped
