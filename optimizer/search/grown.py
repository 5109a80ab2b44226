"""The poses that layouts within a ceiling can pass, grown run by run from one start and exit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.layout.spec import Exit
from optimizer.search.arc_kernel import expand
from optimizer.search.geometry_kernel import scratch
from optimizer.search.kernel_tables import NEVER, Bound, Raster, Room, States, Tables
from optimizer.search.openings import Opening
from optimizer.search.state_kernel import ANY_LEVEL, LEVEL_BIT, ROOM, enter_slots, locks_met
from optimizer.search.tables import PreparedStart

#: Places of the exits in ``state_kernel.heading_of``.
HEADING_OF: dict[Exit, int] = {"front": 0, "right": 1, "left": 3}
#: Answers of ``least_rest`` remembered; a power of two.
MEMO = 1 << 14
#: No one shape in particular.
EVERY_SHAPE = np.zeros(0, dtype=np.int64)
#: Arcs kept at most in one growth: about half a gigabyte.
MOST_ARCS = 16_000_000
#: Full arrays are made so many times as large.
LARGER = 3


@dataclass(frozen=True, slots=True)
class Branch:
    """One start and one exit, ready to grow."""

    prepared: PreparedStart
    exit: Exit
    openings: tuple[Opening, ...]
    raster: Raster
    bound: Bound
    most_turns: int
    equal_slopes: bool


@dataclass(frozen=True, slots=True)
class Grown:
    """What grew under one ceiling.

    ``levels``: first state of each count of runs behind, and the end.
    ``is_whole``: nothing is missing below the ceiling; ``aside_cents``: the least bound
    that was left aside for it (``NEVER``: nothing was, the growth is exhaustive).
    """

    states: States
    levels: NDArray[np.int64]
    is_whole: bool
    stopped_by: str
    aside_cents: int


def build_states(states: int, arcs: int) -> States:
    """Empty arrays for so many states and arcs."""
    slots = 1
    while slots < 2 * states:
        slots *= 2
    return States(
        u=np.empty(states),
        v=np.empty(states),
        step=np.empty(states, dtype=np.int32),
        heading=np.empty(states, dtype=np.int8),
        turned=np.empty(states, dtype=np.int32),
        flag=np.empty(states, dtype=np.int32),
        cost=np.empty(states, dtype=np.int64),
        rest=np.empty(states, dtype=np.int64),
        arc_first=np.empty(states, dtype=np.int32),
        arc_last=np.empty(states, dtype=np.int32),
        slots=np.full(slots, -1, dtype=np.int32),
        sizes=np.array([0, 0, NEVER, 0], dtype=np.int64),
        arc_to=np.empty(arcs, dtype=np.int32),
        arc_cost=np.empty(arcs, dtype=np.int64),
        arc_choice=np.empty(arcs, dtype=np.int32),
        arc_exact=np.empty(arcs, dtype=np.uint8),
    )


def enlarge(old: States, states: int, arcs: int) -> States:
    """The same states and arcs in larger arrays."""
    new = build_states(states, arcs)
    n, a = int(old.sizes[0]), int(old.sizes[1])
    for name in ("u", "v", "step", "heading", "turned", "flag", "cost", "rest", "arc_first", "arc_last"):
        getattr(new, name)[:n] = getattr(old, name)[:n]
    for name in ("arc_to", "arc_cost", "arc_choice", "arc_exact"):
        getattr(new, name)[:a] = getattr(old, name)[:a]
    new.sizes[:] = old.sizes
    if len(new.slots) == len(old.slots):
        new.slots[:] = old.slots
    else:
        enter_slots(new, n)
    return new


def build_room(tables: Tables, widest: int) -> Room:
    """Scratch space; ``widest``: the most arcs out of one state, for diving (1 for growing)."""
    runs, sums = int(tables.numbers[0].most_runs), len(tables.sums)
    return Room(
        clip=scratch(),
        inner=np.zeros((2, sums), dtype=np.int64),
        runs=np.zeros((4, sums), dtype=np.int64),
        memo_key=np.full(MEMO if widest == 1 else 1, -1, dtype=np.int64),
        memo=np.zeros(MEMO if widest == 1 else 1, dtype=np.int64),
        aside=np.full(1, NEVER, dtype=np.int64),
        rectangles=np.zeros((2 * runs + 4, 4)),
        order=np.zeros((runs + 1, widest), dtype=np.int64),
        price=np.zeros((runs + 1, widest), dtype=np.int64),
        path=np.full(runs + 2, -1, dtype=np.int64),
        at=np.zeros(runs + 2, dtype=np.int64),
        cost=np.zeros(runs + 2, dtype=np.int64),
        walk=np.zeros(runs + 2),
        cursor=np.zeros(runs + 2, dtype=np.int64),
        listed=np.zeros(runs + 2, dtype=np.int64),
        pops=np.zeros(2, dtype=np.int64),
    )


def grow(
    branch: Branch,
    ceiling_cents: int,
    stop: NDArray[np.int64],
    shape: NDArray[np.int64],
    most_states: int,
) -> Grown:
    """Grow every pose that a layout of at most ``ceiling_cents`` can pass, overlap of pieces left out.

    ``shape``: numbers of the beginnings of the only shape asked for; ``most_states``: give up
    when so many have grown.
    """
    tables = branch.prepared.tables
    room = build_room(tables, 1)
    states = build_states(max(2, len(branch.openings) // ROOM + 2) * ROOM, 8 * ROOM)
    enter_openings(branch, states)
    runs = int(tables.numbers[0].most_runs)
    levels = [0, int(states.sizes[0])]
    for behind in range(runs):
        n, last = levels[-2], levels[-1]
        states.sizes[3] = last
        while n < last:
            n = int(
                expand(
                    tables,
                    branch.raster,
                    branch.bound,
                    states,
                    room,
                    shape,
                    n,
                    last,
                    runs - behind,
                    branch.most_turns,
                    ceiling_cents,
                    stop,
                )
            )
            if n == last:
                break
            if stop[0]:
                return close(states, levels, "stopped")
            if LARGER * len(states.arc_to) > MOST_ARCS:
                return close(states, levels, "memory")
            states = enlarge(states, LARGER * len(states.u), LARGER * len(states.arc_to))
        levels.append(int(states.sizes[0]))
        if levels[-1] > most_states:
            return close(states, levels, "effort")
    return Grown(states, np.array(levels, dtype=np.int64), True, "", int(states.sizes[2]))


def close(states: States, levels: list[int], why: str) -> Grown:
    """What has grown when it could not grow on."""
    count = int(states.sizes[0])
    # Half a level's arcs tell nothing that is certain.
    states.sizes[1] = int(states.arc_last[: levels[-2]].max(initial=0))
    states.arc_first[levels[-2] : count] = 0
    states.arc_last[levels[-2] : count] = 0
    return Grown(states, np.array([*levels, count], dtype=np.int64), False, why, 0)


def enter_openings(branch: Branch, states: States) -> None:
    """The first states, one an opening; nothing leads back to them, so they are not in the hash table."""
    tables = branch.prepared.tables
    for n, opening in enumerate(branch.openings):
        locks = 0
        if opening.rectangle is not None:
            u0, u1, v0, v1 = opening.rectangle
            locks = int(locks_met(tables, 0, True, (u0 + u1) / 2, v0, 0.0, 1.0, (u1 - u0) / 2, v1 - v0))
        # Not by ``add_state``: two door landings may offer one pose, and differ by their rectangles.
        states.u[n], states.v[n], states.step[n] = opening.u, opening.v, 0
        states.heading[n], states.turned[n] = HEADING_OF[branch.exit], 0
        states.flag[n] = locks + (LEVEL_BIT * (ANY_LEVEL + 1) if branch.equal_slopes else 0)
        states.cost[n] = opening.cost_cents
        states.sizes[0] = n + 1
