"""The best layouts of every shape, by a rising ceiling, on one lattice."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.layout.spec import Exit, TurnKind, TurnSpec
from optimizer.search.arc_kernel import KIND_AT, LAST, LEVEL_AT, PART_AT, SUMS_AT, heading_of, landing_shift
from optimizer.search.bounds import build_bound
from optimizer.search.check_sizes import check_sizes
from optimizer.search.exact_kernel import dive, sweep
from optimizer.search.grown import EVERY_SHAPE, HEADING_OF, Branch, Grown, build_room, grow
from optimizer.search.kernel_tables import NEVER, TURN_COUNT, Bound, Pool, Room
from optimizer.search.openings import EXITS, Opening, list_openings
from optimizer.search.raster import build_raster
from optimizer.search.rest_kernel import least_rest
from optimizer.search.tables import TURN_CODES, PreparedStart, build_tables
from optimizer.search.usable_parts import find_usable_parts
from optimizer.terrain.frames import build_door_frame

Turns = tuple[TurnKind, ...]
KIND_WORDS: dict[int, TurnKind] = {code: word for word, code in TURN_CODES.items()}
#: How far the next ceiling lies above the last: while little grows, at least, at most.
FIRST_RISE, LEAST_RISE, MOST_RISE = 1.08, 1.01, 1.5
#: Growth below so many poses costs next to nothing and says little about what follows.
FEW_STATES = 150
#: Rounds after one with fewer poses than this are not worth a second thread.
WORTH_A_THREAD = 500
#: A round should grow about so many times as many poses as the one before.
GROWTH = 3.0


@dataclass(frozen=True, slots=True)
class Skeleton:
    """Where a layout goes, before sections and legs are named; slope and surface length run by run."""

    opening: Opening
    slopes: tuple[float, ...]
    surfaces_m: tuple[float, ...]
    turns: tuple[TurnSpec, ...]
    plate: str
    cost_cents: int
    walk_m: float


@dataclass(frozen=True, slots=True)
class ShapeAnswer:
    """The best layouts of one shape, ascending in cost.

    All layouts of the shape up to ``bound_cents`` were looked at; the first is proven best when
    it costs no more.  ``is_whole``: there are no others than these.
    """

    exit: Exit
    turns: Turns
    skeletons: tuple[Skeleton, ...]
    bound_cents: int
    is_whole: bool

    @property
    def cost_cents(self) -> int:
        """Cost of the best."""
        return self.skeletons[0].cost_cents

    @property
    def is_proven(self) -> bool:
        """Whether nothing cheaper of this shape exists on the lattice."""
        return self.cost_cents <= self.bound_cents

    @property
    def proof(self) -> str:
        """``proven``, or the gap."""
        if self.is_proven:
            return "proven"
        return f"gap {100.0 * (self.cost_cents - self.bound_cents) / self.cost_cents:.1f} %"


@dataclass(frozen=True, slots=True)
class Round:
    """One ceiling of the certificate: what grew under it."""

    lattice_m: float
    ceiling_cents: int
    states: int
    arcs: int
    tried: int
    priced: int
    settled: int


@dataclass(frozen=True, slots=True)
class LatticeAnswer:
    """What one lattice gave.

    ``bound_cents``: no layout costs less, except those found (``None``: there are no others).
    ``stopped_by``: ``""``, ``"stopped"`` or ``"memory"``.
    """

    lattice_m: float
    shapes: tuple[ShapeAnswer, ...]
    bound_cents: int | None
    rounds: tuple[Round, ...]
    stopped_by: str

    @property
    def best_cents(self) -> int | None:
        """Least cost found."""
        return min((shape.cost_cents for shape in self.shapes), default=None)

    @property
    def is_over(self) -> bool:
        """Whether nothing was given up."""
        return not self.stopped_by


@dataclass(frozen=True, slots=True)
class SearchEvent:
    """Progress: what is proven so far on which lattice."""

    phase: str
    lattice_m: float
    ceiling_cents: int | None
    bound_cents: int | None
    incumbent_cents: int | None
    shapes: int

    @property
    def gap(self) -> float | None:
        """How far the incumbent can lie above the optimum, as a share of it; ``None`` without both."""
        if self.incumbent_cents is None or not self.bound_cents:
            return None
        return max(0.0, self.incumbent_cents / self.bound_cents - 1.0)


@dataclass(frozen=True, slots=True)
class ShapeQuestion:
    """What is asked of one lattice.

    ``wanted`` shapes are settled, none dearer than ``budget`` times the best; ``kept`` layouts
    of each; ``known_cents``: a layout of this cost is known to exist on the lattice, or nothing
    dearer is of interest (the ceiling never rises above it); ``least_cents``: nothing cheaper exists;
    ``most_states``: give up when so many poses have grown; ``only``: no other shape is asked for.
    """

    wanted: int
    kept: int
    budget: float
    known_cents: int | None
    least_cents: int = 0
    most_states: int = 1 << 40
    only: tuple[Exit, Turns] | None = None


@dataclass(frozen=True, slots=True)
class Looked:
    """What one round found behind one start and exit.

    ``aside_cents``: least bound left aside for the ceiling; ``counts``: states, arcs, arcs tried, priced.
    """

    answers: tuple[ShapeAnswer, ...]
    aside_cents: int
    stopped_by: str
    counts: tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Prepared:
    """A site made ready on one lattice."""

    lattice_m: float
    branches: tuple[Branch, ...]
    missing: tuple[str, ...]
    slopes: tuple[float, ...]
    most_runs: int

    def for_turns(self, most_due: int) -> Prepared:
        """The same with bounds that know of so many landings ahead."""
        known: dict[int, Bound | None] = {}
        branches = []
        for branch in self.branches:
            key = id(branch.prepared)
            if key not in known:
                known[key] = build_bound(branch.prepared.tables, branch.raster, most_due)
            bound = known[key]
            if bound is not None:
                branches.append(replace(branch, bound=bound))
        return replace(self, branches=tuple(branches))

    def on_lattice(self, site: Site, lattice_m: float) -> Prepared:
        """The same on another lattice: only where runs are fixed to landings changes."""
        fresh: dict[int, PreparedStart] = {}
        branches = []
        finer = replace(site, search=replace(site.search, lattice_m=lattice_m))
        for branch in self.branches:
            key = id(branch.prepared)
            if key not in fresh:
                numbers = branch.prepared.tables.numbers.copy()
                numbers.pitch = lattice_m
                fresh[key] = branch.prepared._replace(tables=branch.prepared.tables._replace(numbers=numbers))
                check_sizes(finer, fresh[key].tables)
            openings = tuple(o for o in list_openings(finer, fresh[key]) if o.exit == branch.exit)
            if openings:
                branches.append(replace(branch, prepared=fresh[key], openings=openings))
        return replace(self, lattice_m=lattice_m, branches=tuple(branches))


def prepare(site: Site) -> Prepared:
    """Every start (and, where the setback may be bought, every start again) with every exit."""
    branches: list[Branch] = []
    missing: list[str] = []
    slopes: tuple[float, ...] = ()
    most = 0
    reliefs: list[int | None] = [None]
    if site.yard.setback_kind == "needs_relief" and site.yard.setback_m > 0:
        reliefs.append(site.yard.relief_cents)
    for start in site.yard.starts:
        parts = find_usable_parts(site, start)
        if parts.missing:
            missing += [f"start {start.name!r}: {what}" for what in parts.missing]
            continue
        for relief in reliefs:
            one = build_tables(site, start, build_door_frame(start), parts, relief)
            check_sizes(site, one.tables)
            sines = one.tables.sines
            slopes = tuple(float(s) for s in sines / np.sqrt(1.0 - sines * sines))
            most = max(most, int(one.tables.numbers[0].most_runs))
            branches += _branches_of(site, one)
    return Prepared(site.search.lattice_m, tuple(branches), tuple(missing), slopes, most)


def _branches_of(site: Site, prepared: PreparedStart) -> list[Branch]:
    raster = build_raster(prepared.tables)
    bound = build_bound(prepared.tables, raster, 1)
    if bound is None:
        return []
    openings = list_openings(site, prepared)
    runs = int(prepared.tables.numbers[0].most_runs)
    turns = runs if site.wishes.most_turns is None else site.wishes.most_turns
    found = []
    for leaves in EXITS:
        mine = tuple(o for o in openings if o.exit == leaves)
        if mine:
            found.append(Branch(prepared, leaves, mine, raster, bound, turns, site.wishes.slopes == "equal"))
    return found


def read_turns(code: int) -> Turns:
    """The turns of a shape from its number (see ``arc_kernel.add_turn``)."""
    found: list[TurnKind] = []
    while code > 0:
        found.append(KIND_WORDS[code % TURN_COUNT])
        code //= TURN_COUNT
    return tuple(reversed(found))


def number_of(turns: Turns) -> int:
    """The number of a shape (see ``arc_kernel.add_turn``)."""
    code = 0
    for turn in turns:
        code = code * TURN_COUNT + TURN_CODES[turn]
    return code


def list_beginnings(code: int) -> NDArray[np.int64]:
    """Numbers of a shape's beginnings, from no turn to all."""
    found = [code]
    while code > 0:
        code //= TURN_COUNT
        found.append(code)
    return np.array(found[::-1], dtype=np.int64)


def least_open(branch: Branch, due: int) -> int:
    """Least bound of any layout of a branch that makes ``due`` turns or more."""
    tables = branch.prepared.tables
    runs = int(tables.numbers[0].most_runs)
    heading = HEADING_OF[branch.exit]
    hu, hv = heading_of(heading)
    room = build_room(tables, 1)
    raster, bound = branch.raster, branch.bound
    return min(
        int(o.cost_cents)
        + int(least_rest(tables, raster, bound, room, due, runs, 0, o.u, o.v, heading, hu, hv, NEVER))
        for o in branch.openings
    )


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
            return FIRST_RISE if len(self.rounds) < 12 else MOST_RISE
        before, last = self.rounds[-2:]
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
            self.shapes[key] = merge_answers(answers_of, self.question.kept, reached)
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


def merge_answers(answers: list[ShapeAnswer], kept: int, bound_cents: int) -> ShapeAnswer:
    """One shape found from several starts."""
    every = sorted(
        (skeleton for one in answers for skeleton in one.skeletons), key=lambda s: (s.cost_cents, s.walk_m)
    )
    return ShapeAnswer(
        answers[0].exit, answers[0].turns, tuple(every[:kept]), bound_cents, all(o.is_whole for o in answers)
    )


def list_ends(grown: Grown) -> list[int]:
    """Numbers of the shapes that end somewhere, the one with the least bound first."""
    states = grown.states
    count, arcs = int(states.sizes[0]), int(states.sizes[1])
    ends = np.flatnonzero(states.arc_to[:arcs] < 0)
    firsts = states.arc_first[:count]
    order = np.argsort(firsts, kind="stable")
    # Arcs of a state lie together: the last state that starts at or before an arc, and is not empty, owns it.
    has = order[(states.arc_last[:count] > firsts)[order]]
    owners = has[np.searchsorted(firsts[has], ends, side="right") - 1]
    least: dict[int, int] = {}
    for owner, cost in zip(owners.tolist(), states.arc_cost[ends].tolist(), strict=True):
        code, total = int(states.turned[owner]), int(states.cost[owner]) + int(cost)
        least[code] = min(total, least.get(code, NEVER))
    return sorted(least, key=lambda code: (least[code], code))


def settle_shape(
    branch: Branch, grown: Grown, code: int, kept: int, ceiling: int, stop: NDArray[np.int64]
) -> tuple[ShapeAnswer | None, Pool, Room, bool]:
    """The cheapest layouts of one shape that cost at most the ceiling."""
    tables, states = branch.prepared.tables, grown.states
    runs = int(tables.numbers[0].most_runs)
    shape = list_beginnings(code)
    sweep(states, grown.levels, shape)
    widest = int((states.arc_last[: int(states.sizes[0])] - states.arc_first[: int(states.sizes[0])]).max())
    pool = Pool(
        cost=np.full(kept, NEVER, dtype=np.int64),
        walk=np.zeros(kept),
        record=np.full((kept, runs + 2), -1, dtype=np.int64),
        kept=np.zeros(1, dtype=np.int64),
        ceiling=np.array([ceiling], dtype=np.int64),
        aside=np.array([NEVER], dtype=np.int64),
    )
    room = build_room(tables, widest)
    first = int(grown.levels[1])
    starts = sorted(range(first), key=lambda n: (int(states.cost[n]) + int(states.rest[n]), n))
    is_stopped = False
    for n in starts:
        opening = branch.openings[n]
        room.path[0] = n
        pieces = 0
        if opening.rectangle is not None:
            room.rectangles[0] = opening.rectangle
            pieces = 1
        if dive(tables, states, pool, room, shape, n, pieces, opening.cost_cents, opening.walk_m, stop):
            is_stopped = True
            break
    if not pool.kept[0]:
        return None, pool, room, is_stopped
    skeletons = tuple(read_skeleton(branch, grown, pool, k) for k in range(int(pool.kept[0])))
    is_whole = not is_stopped and int(pool.kept[0]) < kept and int(pool.aside[0]) >= NEVER
    return (
        ShapeAnswer(branch.exit, read_turns(code), skeletons, 0 if is_stopped else ceiling, is_whole),
        pool,
        room,
        is_stopped,
    )


def read_skeleton(branch: Branch, grown: Grown, pool: Pool, k: int) -> Skeleton:
    """One kept layout in words."""
    states, prepared = grown.states, branch.prepared
    tables = prepared.tables
    n = int(pool.record[k, 0])
    opening = branch.openings[n]
    u, v = float(states.u[n]), float(states.v[n])
    heading = int(states.heading[n])
    slopes, surfaces, turns = [], [], []
    plate = ""
    for word in pool.record[k, 1:]:
        if word < 0:
            break
        choice, to = int(states.arc_choice[word]), int(states.arc_to[word])
        i, level = choice // SUMS_AT, choice % SUMS_AT // LEVEL_AT
        part, kind, place = choice % LEVEL_AT // PART_AT, choice % PART_AT // KIND_AT, choice % KIND_AT
        drop = int(tables.drops[level, i]) * float(tables.numbers[0].height_step)
        plan = float(tables.plans[level, i])
        slopes.append(drop / plan)
        surfaces.append(float(tables.sums[i].length))
        if kind == LAST:
            plate = prepared.parts.plates[part].id
            break
        hu, hv = ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0))[heading]
        du, dv = float(states.u[to]) - u - plan * hu, float(states.v[to]) - v - plan * hv
        along, right = du * hu + dv * hv, du * hv - dv * hu
        landing = prepared.parts.landings[part]
        shift = float(landing_shift(tables, part, kind, place))
        word_of = KIND_WORDS[kind]
        leave = {
            "straight": right - shift,
            "left": along - landing.length_m / 2.0,
            "right": landing.length_m / 2.0 - along,
        }.get(word_of, 0.0)
        is_half = word_of in ("half_left", "half_right")
        turns.append(TurnSpec(word_of, landing.id, 0.0 if is_half else -shift, leave))
        u, v, heading = float(states.u[to]), float(states.v[to]), int(states.heading[to])
    return Skeleton(
        opening,
        tuple(slopes),
        tuple(surfaces),
        tuple(turns),
        plate,
        int(pool.cost[k]),
        float(pool.walk[k]),
    )
