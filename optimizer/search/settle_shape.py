"""The cheapest layouts of one shape among the poses that have grown, and their words."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimizer.layout.spec import TurnKind, TurnSpec
from optimizer.search.answers import ShapeAnswer, Skeleton, Turns
from optimizer.search.arc_kernel import landing_shift
from optimizer.search.exact_kernel import dive, sweep
from optimizer.search.grown import Branch, Grown, build_room
from optimizer.search.kernel_tables import NEVER, TURN_COUNT, Pool, Room
from optimizer.search.state_kernel import KIND_AT, LAST, LEVEL_AT, PART_AT, SUMS_AT
from optimizer.search.tables import TURN_CODES

KIND_WORDS: dict[int, TurnKind] = {code: word for word, code in TURN_CODES.items()}


def read_turns(code: int) -> Turns:
    """The turns of a shape from its number (see ``state_kernel.add_turn``)."""
    found: list[TurnKind] = []
    while code > 0:
        found.append(KIND_WORDS[code % TURN_COUNT])
        code //= TURN_COUNT
    return tuple(reversed(found))


def number_of(turns: Turns) -> int:
    """The number of a shape (see ``state_kernel.add_turn``)."""
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
    is_whole = not is_stopped and int(pool.kept[0]) < kept
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
