"""The cheapest spare legs to load, so that nearly always every support can be served on the day.

On one ground every support needs one of the types that take its height.  By Hall's theorem (P. Hall,
J. London Math. Soc. 10 (1935) 26) all can be served exactly when, for every set of types, no more
supports depend on that set alone than there are of it.  So a ground asks for a number of spares in each
set of types; grounds that ask for the same are one pattern, and CP-SAT picks the cheapest spares that
satisfy patterns of enough grounds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from optimizer.chance.layout_question import SupportType
from optimizer.chance.sampled_layout import SampledLayout
from optimizer.errors import Fault, InputError, InternalError

#: More types than this make too many sets.
_MOST_TYPES: Final = 10


@dataclass(frozen=True, slots=True)
class Spare:
    """``count`` of one type to load beyond the plan."""

    type_id: str
    count: int


@dataclass(frozen=True, slots=True)
class SpareSet:
    """Spares and what they cost; ``share`` of the sampled grounds on which all supports are served."""

    spares: tuple[Spare, ...]
    cost_cents: int
    share: float


@dataclass(frozen=True, slots=True)
class NoSpareSet:
    """No spares reach the share: ``best_share`` is the most that any could, with what stock allows.

    ``culprits``: supports that take none of their types on more grounds than the share leaves, worst first.
    """

    best_share: float
    culprits: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Demand:
    """What grounds ask for.  ``sets`` (s, types): sets of types; ``beyond`` (p, s): spares that a pattern
    asks for of each set, 0 or more; ``counts`` (p,): its grounds.  Grounds where a support takes no type
    at all are in no pattern.
    """

    types: tuple[SupportType, ...]
    sets: NDArray[np.bool_]
    beyond: NDArray[np.int64]
    counts: NDArray[np.int64]
    grounds: int

    def count_served(self, spares: NDArray[np.int64]) -> int:
        """Grounds on which every support is served with so many spares (types,)."""
        served = (self.sets @ spares >= self.beyond).all(axis=1)
        return int(self.counts[served].sum())


def find_spares(sampled: SampledLayout, share: float, seed: int) -> SpareSet | NoSpareSet:
    """The cheapest spares with which all supports are served on at least ``share`` of the grounds.

    A support may be given any type its piece takes; the foot's place is taken to stay.  Braces that a
    taller leg asks for are not counted.  One worker, a fixed seed: the same spares every time.  The
    share holds on these grounds; try it on others with ``measure_served``.
    Raises ``InputError`` for a share not within 0 to 1 and for ground left open under a support.
    """
    if not 0.0 < share <= 1.0:
        raise InputError(Fault("share", f"the share is {share}.", "Give 0.95 or 0.99, at most 1."))
    demand = build_demand(sampled)
    needed = math.ceil(share * demand.grounds - 1e-9)
    bounds = np.array([_bound(one, i, demand) for i, one in enumerate(demand.types)])
    best = demand.count_served(bounds)
    if best < needed:
        return NoSpareSet(best / demand.grounds, _find_culprits(sampled, 1.0 - share))
    spares = _solve(demand, bounds, needed, seed)
    cost = int(spares @ np.array([one.spare_cents for one in demand.types]))
    loaded = tuple(Spare(one.id, int(n)) for one, n in zip(demand.types, spares, strict=True) if n)
    return SpareSet(loaded, cost, demand.count_served(spares) / demand.grounds)


def measure_served(sampled: SampledLayout, spares: tuple[Spare, ...]) -> NDArray[np.bool_]:
    """On which grounds (grounds,) every support is served by the planned legs and these spares."""
    demand_types = sampled.question.types
    extra = np.zeros(len(demand_types), dtype=np.int64)
    for spare in spares:
        extra[[one.id for one in demand_types].index(spare.type_id)] += spare.count
    sets, beyond, is_lost = _ask(sampled)
    served: NDArray[np.bool_] = (sets @ extra >= beyond).all(axis=1) & ~is_lost
    return served


def build_demand(sampled: SampledLayout) -> Demand:
    """Gather the grounds by what they ask for.  Raises as ``find_spares``."""
    sets, beyond, is_lost = _ask(sampled)
    patterns, counts = np.unique(np.maximum(beyond[~is_lost], 0), axis=0, return_counts=True)
    return Demand(sampled.question.types, sets, patterns, counts.astype(np.int64), len(beyond))


def _ask(
    sampled: SampledLayout,
) -> tuple[NDArray[np.bool_], NDArray[np.int64], NDArray[np.bool_]]:
    """Sets (s, types), spares asked for of each (grounds, s), grounds where a support takes no type."""
    question = sampled.question
    types = question.types
    faults = [
        Fault(one.id, "the ground under it is open.", "Survey it, or keep the ramp off.")
        for one, heights in zip(question.supports, sampled.heights_m.T, strict=True)
        if np.isnan(heights).any()
    ]
    if len(types) > _MOST_TYPES:
        what = f"the layout takes {len(types)} types of support."
        faults.append(Fault("types", what, f"Spares are worked out for at most {_MOST_TYPES} types."))
    if faults:
        raise InputError(*faults)
    masks = np.zeros(sampled.heights_m.shape, dtype=np.int64)
    for bit, one in enumerate(types):
        takes = (sampled.heights_m >= one.low_m) & (sampled.heights_m <= one.high_m)
        takes &= np.array([one.id in spot.options for spot in question.supports])
        masks |= takes.astype(np.int64) << bit
    planned = np.array([sum(spot.planned == one.id for spot in question.supports) for one in types])
    numbers = np.arange(1, 1 << len(types))
    sets = (numbers[:, None] >> np.arange(len(types)) & 1).astype(np.bool_)
    occurring = np.unique(masks[masks > 0])
    # Only unions of what occurs can ask for most; of the others a smaller set asks for as much.
    kept = np.array(
        [np.bitwise_or.reduce(occurring[(occurring & ~n) == 0], initial=0) == n for n in numbers.tolist()]
    )
    numbers, sets = numbers[kept], sets[kept]
    depend = np.zeros((len(masks), len(numbers)), dtype=np.int64)
    for column, number in enumerate(numbers.tolist()):
        depend[:, column] = ((masks & ~number) == 0).sum(axis=1)
    return sets, depend - sets @ planned, (masks == 0).any(axis=1)


def _bound(one: SupportType, column: int, demand: Demand) -> int:
    """More spares of a type than this never help."""
    asked = demand.beyond[:, demand.sets[:, column]]
    most = int(asked.max(initial=0))
    return most if one.most is None else min(most, one.most)


def _find_culprits(sampled: SampledLayout, allowed: float) -> tuple[str, ...]:
    lost = []
    for column, spot in enumerate(sampled.question.supports):
        heights = sampled.heights_m[:, column]
        takes = np.zeros(len(heights), dtype=np.bool_)
        for one in sampled.question.types:
            if one.id in spot.options:
                takes |= (heights >= one.low_m) & (heights <= one.high_m)
        lost.append((float((~takes).mean()), spot.id))
    return tuple(name for share, name in sorted(lost, key=lambda one: (-one[0], one[1])) if share > allowed)


def _solve(demand: Demand, bounds: NDArray[np.int64], needed: int, seed: int) -> NDArray[np.int64]:
    model = cp_model.CpModel()
    spares = [model.new_int_var(0, int(most), one.id) for one, most in zip(demand.types, bounds, strict=True)]
    loaded = [sum(x for x, is_in in zip(spares, row, strict=True) if is_in) for row in demand.sets.tolist()]
    served = []
    for number, (asks, count) in enumerate(zip(demand.beyond.tolist(), demand.counts.tolist(), strict=True)):
        is_served = model.new_bool_var(f"pattern_{number}")
        for total, ask in zip(loaded, asks, strict=True):
            if ask > 0:
                model.add(total >= ask).only_enforce_if(is_served)
        served.append(count * is_served)
    model.add(sum(served) >= needed)
    # Of equally cheap ones the fewest legs.
    model.minimize(sum((one.spare_cents * 1000 + 1) * x for one, x in zip(demand.types, spares, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.catch_sigint_signal = False  # Ctrl-C stays Python's
    if solver.solve(model) != cp_model.OPTIMAL:
        raise InternalError("the spares that all could be served with are no answer to CP-SAT")
    return np.array([solver.value(x) for x in spares], dtype=np.int64)
