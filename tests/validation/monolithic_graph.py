"""Every landing and run of a tiny yard as arcs of a layered graph, for one CP-SAT model.

Source: DEVELOPERS.md, 'The discrete problem'.  Single pieces are judged and priced by the brute
force's own rooms (brute_pieces.py, brute_toe.py); that pieces may not overlap is left to the model.
A node stands for a place, a height and the number of runs used; nothing is bounded or dominated:
an arc is left out only when its piece may not be there or no ramp can end beyond it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, LandingUse
from optimizer.terrain.yard import Start
from tests.validation.brute_geometry import Lattice, Pose, Rect
from tests.validation.brute_layout import BruteTurn
from tests.validation.brute_parts import RunChoice, UsableParts
from tests.validation.brute_pieces import Pieces
from tests.validation.brute_surroundings import Surroundings
from tests.validation.brute_toe import Toes
from tests.validation.brute_walk import TURNS, Walk

Role = Literal["landing", "run", "plate", "bottom"]
SOURCE, SINK = 0, 1


@dataclass(frozen=True, slots=True)
class Placement:
    """One piece of an arc.  ``layer``: how many runs come before it."""

    start: str
    layer: int
    role: Role
    rect: Rect


@dataclass(frozen=True, slots=True)
class Arc:
    """Pieces that are chosen together and what they cost."""

    tail: int
    head: int
    cents: int
    pieces: tuple[Placement, ...]


@dataclass(frozen=True, slots=True)
class State:
    """Where a run leaves a landing (or arrives on one) and what the past still bears on.

    ``at_turn``: the landing there is a turn.  ``level``: the one level under the wish for
    equal slopes.  ``turns`` so far where their number is limited, else 0.
    """

    start: str
    is_arrival: bool
    layer: int
    pose: Pose
    z: float
    at_turn: bool
    level: int | None
    turns: int

    @property
    def key(self) -> object:
        """The same for states a nanometre apart."""
        past = self.at_turn, self.level, self.turns
        return self.start, self.is_arrival, self.layer, self.pose.key, round(self.z, 9), past


class Graph:
    """All arcs from the doors to the low ends."""

    def __init__(self, site: Site, is_late: Callable[[], bool]) -> None:
        """``is_late`` is asked now and then; what is built when it says yes is not the whole."""
        self.site, self.is_late = site, is_late
        self.arcs: list[Arc] = []
        self.numbers: dict[object, int] = {}
        self.is_whole = True
        self.yards: dict[str, Surroundings] = {}
        self.foot_room = 0.0
        for start in site.yard.starts:
            parts = UsableParts(site, start)
            self.foot_room = max(self.foot_room, parts.foot_room)
            one = _OneStart(self, site, start, parts)
            self.yards[start.name] = one.yard
            one.build()
        self.arcs = keep_useful(self.arcs)

    def node(self, state: State) -> tuple[int, bool]:
        """Number of a state, and whether it is new."""
        known = len(self.numbers)
        number = self.numbers.setdefault(state.key, known + 2)
        return number, len(self.numbers) > known

    def add(self, tail: int, head: int, cents: int, pieces: Iterable[Placement]) -> None:
        """One more arc."""
        self.arcs.append(Arc(tail, head, cents, tuple(pieces)))


class _OneStart:
    """The arcs of one start, layer by layer."""

    def __init__(self, graph: Graph, site: Site, start: Start, parts: UsableParts) -> None:
        self.graph, self.site, self.start, self.parts = graph, site, start, parts
        self.yard = Surroundings(site, start)
        self.pieces = Pieces(parts, self.yard)
        self.toes = Toes(parts, self.yard, self.pieces)
        self.lattice = Lattice(site.search.lattice_m, parts.width, start.gap_m + parts.width / 2)
        # How a landing may lie to a run and be left again is the brute force's own list.
        self.ways = Walk(site, start, parts, {})
        self.z0 = start.threshold_m - start.drop_m
        self.most_runs = parts.most_runs(self.z0, self.yard.highest_on_lot())
        self.is_equal = site.wishes.slopes == "equal"

    def build(self) -> None:
        """Forward from the door; a state is gone on from once."""
        layer = list(self._doors())
        for _ in range(self.most_runs):
            beyond: list[State] = []
            for state in layer:
                if self.graph.is_late():
                    self.graph.is_whole = False
                    return
                self._end_at(state)
                beyond += self._arrive_from(state)
            layer = [after for arrival in beyond for after in self._landings_at(arrival)]

    def _place(self, layer: int, role: Role, rect: Rect) -> Placement:
        return Placement(self.start.name, layer, role, rect)

    def _doors(self) -> Iterator[State]:
        start, parts = self.start, self.parts
        plate = parts.cheapest(p for p in parts.thresholds if p.reach_m >= start.gap_m - 1e-6)
        if plate is None or not parts.sections:
            return
        cents, pitch = parts.cents(plate), self.lattice.pitch_m
        first = State(start.name, False, 0, Pose(0.0, start.gap_m, "front"), self.z0, False, None, 0)
        if start.kind == "edge":
            play = (start.clear_width_m - parts.width) / 2
            for k in self.lattice.whole_steps(-play, play):
                yield from self._reach(
                    SOURCE, replace(first, pose=first.pose.turned(0, k * pitch, 0)), cents, ()
                )
            return
        for landing in dict.fromkeys(one for side in parts.at_door.values() for one in side):
            play = (landing.width_m - start.clear_width_m) / 2
            for k in self.lattice.whole_steps(-play, play):
                yield from self._leave_door(landing, first, first.pose.turned(0, k * pitch, 0), cents)

    def _leave_door(self, landing: Landing, first: State, pose: Pose, threshold: int) -> Iterator[State]:
        stands = self.pieces.landing_stands(landing, pose, self.z0, "door")
        if stands is None:
            return
        rect = self.pieces.landing_rect(landing, pose)
        wide, long = landing.width_m, landing.length_m
        for side in self.site.wishes.exits:
            if landing not in self.parts.at_door[side] or not self.ways.door.has_room(landing, pose.u, side):
                continue
            edge, size, name = {
                "front": (pose.turned(long, 0, 0), wide, "end"),
                "left": (pose.turned(long / 2, -wide / 2, 3), long, "left"),
                "right": (pose.turned(long / 2, wide / 2, 1), long, "right"),
            }[side]
            rails = self.pieces.landing_rails(landing, pose, self.z0, "start", (name,), None)
            for _, leaving in self.lattice.poses_on(edge, size):
                cents = threshold + stands.cents + rails.cents
                piece = self._place(0, "landing", rect)
                yield from self._reach(SOURCE, replace(first, pose=leaving), cents, (piece,))

    def _reach(self, tail: int, state: State, cents: int, pieces: tuple[Placement, ...]) -> Iterator[State]:
        """An arc to a state; the state itself when it was not reached before."""
        head, is_new = self.graph.node(state)
        self.graph.add(tail, head, cents, pieces)
        if is_new:
            yield state

    def _groups(self, state: State) -> list[list[RunChoice]]:
        """Runs of one length and level: they differ only in the order and sizes of sections."""
        groups: dict[tuple[float, int], list[RunChoice]] = {}
        for run in self.parts.runs:
            if not self.is_equal or state.level in {None, run.level}:
                groups.setdefault((round(run.surface, 9), run.level), []).append(run)
        return list(groups.values())

    def _end_at(self, state: State) -> None:
        """Arcs of last runs with their plates."""
        tail, _ = self.graph.node(state)
        low = self.site.catalogue.low_clearance_m
        for runs in self._groups(state):
            for plate in self.parts.plates:
                best: int | None = None
                pieces: tuple[Placement, ...] = ()
                for run in runs:
                    toe = self.toes.find(state.pose, state.z, run, plate)
                    if toe is None:
                        continue
                    stands = self.pieces.run_stands(state.pose, state.z, run, low)
                    if stands is None:
                        continue
                    rails = self.pieces.run_rails(
                        state.pose, state.z, run, int(state.at_turn), toe.laid_plate
                    )
                    cents = stands.cents + rails.cents + toe.sum.cents
                    if best is None or cents < best:
                        best = cents
                        rect = self.pieces.run_rect(state.pose, run)
                        pieces = (
                            self._place(state.layer, "run", rect),
                            self._place(state.layer, "plate", toe.plate_rect),
                            self._place(state.layer, "bottom", toe.apron_rect),
                        )
                if best is not None:
                    self.graph.add(tail, SINK, best, pieces)

    def _arrive_from(self, state: State) -> list[State]:
        """Arcs of runs that end on a landing, half turn or not; arrivals not reached before."""
        found: list[State] = []
        if state.layer + 1 >= self.most_runs:
            return found
        tail, _ = self.graph.node(state)
        clearance = self.site.catalogue.clearance_m
        for runs in self._groups(state):
            stand = [(run, self.pieces.run_stands(state.pose, state.z, run, clearance)) for run in runs]
            for turns in (False, True):
                costs = [
                    sums.cents
                    + self.pieces.run_rails(state.pose, state.z, run, state.at_turn + turns, None).cents
                    for run, sums in stand
                    if sums is not None
                ]
                if not costs:
                    continue
                run = runs[0]
                arrival = replace(
                    state, is_arrival=True, pose=state.pose.turned(run.plan, 0, 0), z=state.z - run.drop,
                    at_turn=turns, level=run.level if self.is_equal else None,
                )  # fmt: skip
                piece = self._place(state.layer, "run", self.pieces.run_rect(state.pose, run))
                found += self._reach(tail, arrival, min(costs), (piece,))
        return found

    def _landings_at(self, arrival: State) -> Iterator[State]:
        """Arcs of landings at the end of a run with every way on."""
        tail, _ = self.graph.node(arrival)
        most = self.site.wishes.most_turns
        may_turn = most is None or arrival.turns < most
        for kind in ("straight", *(TURNS if may_turn else ())):
            use: LandingUse = "straight" if kind == "straight" else "half" if "half" in kind else "quarter"
            if (use != "straight") is not arrival.at_turn:
                continue
            for landing in self.parts.landings[use]:
                for to_right in self.ways._places(kind, landing.width_m):
                    turn = BruteTurn(kind, landing.id, -to_right, 0.0)
                    middle = arrival.pose.turned(0, to_right, 0)
                    yield from self._leave(tail, arrival, landing, turn, middle)

    def _leave(
        self, tail: int, arrival: State, landing: Landing, turn: BruteTurn, middle: Pose
    ) -> Iterator[State]:
        use = "half" if "half" in turn.kind else turn.kind
        stands = self.pieces.landing_stands(landing, middle, arrival.z, use)
        if stands is None:
            return
        edge = {"straight": "end", "half_left": "start", "half_right": "start"}.get(turn.kind, turn.kind)
        shared = "start" if use == "half" else None
        rails = self.pieces.landing_rails(landing, middle, arrival.z, None, ("start", edge), shared)
        piece = self._place(arrival.layer + 1, "landing", self.pieces.landing_rect(landing, middle))
        turns = 0
        if self.site.wishes.most_turns is not None:
            turns = arrival.turns + (turn.kind != "straight")
        for _, pose in self.ways._leaving(landing, turn, middle):
            after = replace(arrival, is_arrival=False, layer=arrival.layer + 1, pose=pose, turns=turns)
            yield from self._reach(tail, after, stands.cents + rails.cents, (piece,))


def keep_useful(arcs: list[Arc]) -> list[Arc]:
    """The arcs from which the low end can be reached."""
    into: dict[int, list[Arc]] = {}
    for arc in arcs:
        into.setdefault(arc.head, []).append(arc)
    useful, waiting = {SINK}, [SINK]
    while waiting:
        for arc in into.get(waiting.pop(), ()):
            if arc.tail not in useful:
                useful.add(arc.tail)
                waiting.append(arc.tail)
    return [arc for arc in arcs if arc.head in useful]
