"""Compiled: states and arcs as packed numbers: turns so far, headings, choices, locks, the hash table."""

from __future__ import annotations

import math

from optimizer.search.compiled import compiled, inlined
from optimizer.search.geometry_kernel import E
from optimizer.search.kernel_tables import (
    LEFT,
    NEVER,
    RIGHT,
    STRAIGHT,
    TURN_COUNT,
)

#: Choice = ((((sum * 32 + level) * 16 + landing or plate) * 8 + kind) * 128 + place)
SUMS_AT, LEVEL_AT, PART_AT, KIND_AT = 1 << 19, 1 << 14, 1 << 10, 1 << 7
#: Kind of an arc that ends the ramp.
LAST = 7
#: Bits of a flag that hold which locks are met; then one for 'starts at a half turn', then the level.
LOCK_BITS = 15
TURNED_BIT = 1 << LOCK_BITS
LEVEL_BIT = 1 << (LOCK_BITS + 1)
#: Level of a flag in which all runs must have one level and none is laid yet.
ANY_LEVEL = 99
#: Poses nearer than this are one pose, metres.
SAME_POSE = 2e-6
#: Room kept free in ``States`` for what one run can lead to: every place of every landing.
ROOM = 1 << 13


@inlined
def add_turn(turned, kind):
    """Turns so far with one more: digits to the base of ``TURN_COUNT``; straight on is no turn."""
    return turned if kind == STRAIGHT else turned * TURN_COUNT + kind


@inlined
def heading_of(place):
    """Unit heading: 0 front, 1 right, 2 back, 3 left (each turned right from the one before)."""
    if place == 0:
        return 0.0, 1.0
    if place == 1:
        return 1.0, 0.0
    if place == 2:
        return 0.0, -1.0
    return -1.0, 0.0


@inlined
def turn_heading(place, kind):
    """Heading after a turn."""
    if kind == RIGHT:
        return (place + 1) % 4
    if kind == LEFT:
        return (place + 3) % 4
    if kind == STRAIGHT:
        return place
    return (place + 2) % 4


@inlined
def encode(i, level, part, kind, place):
    """Choice of an arc as one number."""
    return i * SUMS_AT + level * LEVEL_AT + part * PART_AT + kind * KIND_AT + place


@inlined
def locks_met(tables, locks, is_landing, u, v, hu, hv, half, length):
    """Locks (bits) met after a piece that lies from a pose on."""
    for n in range(tables.locks.shape[0]):
        if tables.locks[n, 2] > 0.5 and not is_landing:
            continue
        du = tables.locks[n, 0] - u
        dv = tables.locks[n, 1] - v
        t = du * hu + dv * hv
        side = du * hv - dv * hu
        if -E <= t <= length + E and abs(side) <= half + E:
            locks |= 1 << n
    return locks


@inlined
def count_turns(turned):
    """How many turns there are so far."""
    count = 0
    while turned > 0:
        count += 1
        turned //= TURN_COUNT
    return count


@inlined
def leads_on(shape, turned, kind):
    """Whether a turn leads on towards the only shape asked for, if one is."""
    if shape.shape[0] == 0:
        return True
    after = add_turn(turned, kind)
    for k in range(shape.shape[0]):  # noqa: SIM110 - numba compiles no generator expression
        if shape[k] == after:
            return True
    return False


@inlined
def turns_due(shape, turned):
    """Turns still to make to the only shape asked for; 0 when none is."""
    for k in range(shape.shape[0]):
        if shape[k] == turned:
            return shape.shape[0] - 1 - k
    return 0


@inlined
def find_slot(states, u, v, step, turned, flag):
    """Place in the hash table where a state with as many runs behind is, or would be."""
    iu = int(math.floor(u / SAME_POSE + 0.5))
    iv = int(math.floor(v / SAME_POSE + 0.5))
    size = states.slots.shape[0]
    mixed = iu * 73856093 ^ iv * 19349663 ^ step * 83492791 ^ turned * 49979687 ^ flag * 86028121
    mixed ^= mixed >> 15
    slot = mixed & (size - 1)
    while True:
        n = states.slots[slot]
        if n < 0:
            return slot
        if (
            n >= states.sizes[3]
            and states.step[n] == step
            and states.turned[n] == turned
            and states.flag[n] == flag
            and abs(states.u[n] - u) < SAME_POSE / 2.0
            and abs(states.v[n] - v) < SAME_POSE / 2.0
        ):
            return slot
        slot = (slot + 1) & (size - 1)


@compiled
def enter_slots(states, count):
    """Enter the first ``count`` states, all different, into an empty hash table."""
    since = states.sizes[3]
    for n in range(count):
        states.sizes[3] = n
        slot = find_slot(states, states.u[n], states.v[n], states.step[n], states.turned[n], states.flag[n])
        states.slots[slot] = n
    states.sizes[3] = since


@inlined
def add_state(states, u, v, step, heading, turned, flag, cost):
    """The state of a pose, made when it is new; its cost is lowered to ``cost``."""
    slot = find_slot(states, u, v, step, turned, flag)
    n = states.slots[slot]
    if n < 0:
        n = states.sizes[0]
        states.sizes[0] = n + 1
        states.slots[slot] = n
        states.u[n] = u
        states.v[n] = v
        states.step[n] = step
        states.heading[n] = heading
        states.turned[n] = turned
        states.flag[n] = flag
        states.cost[n] = cost
        states.rest[n] = NEVER
        states.arc_first[n] = 0
        states.arc_last[n] = 0
    elif cost < states.cost[n]:
        states.cost[n] = cost
    return n


@inlined
def add_arc(states, to, cost, choice, is_exact):
    """Append an arc."""
    n = states.sizes[1]
    states.sizes[1] = n + 1
    states.arc_to[n] = to
    states.arc_cost[n] = cost
    states.arc_choice[n] = choice
    states.arc_exact[n] = is_exact


@inlined
def note_dearer(states, cost):
    """Remember the least cost that was left aside for the limit."""
    if cost < states.sizes[2]:
        states.sizes[2] = cost
