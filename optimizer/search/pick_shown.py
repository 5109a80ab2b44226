"""Which of the proven layouts a person is shown: a choice by CP-SAT, few and different.

The cheapest is always shown.  Among the rest, first as many different shapes as there is room
for, then as many different ways to leave the door, then the least total cost; two layouts that
cover nearly the same ground are not both shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ortools.sat.python import cp_model
from shapely.geometry.base import BaseGeometry

from optimizer.errors import InternalError

#: Two layouts that share more than this of their smaller footprint are near copies.
NEAR_COPY = 0.85
#: Nothing dearer than this many times the cheapest is shown, per cent.
DEAREST_PERCENT = 300


Side = Literal["left", "right", "either"]


@dataclass(frozen=True, slots=True)
class Offer:
    """One layout that could be shown: its cost, its shape with hand, its exit, its footprint."""

    cost_cents: int
    shape: str
    exit: str
    footprint: BaseGeometry


def is_near_copy(first: Offer, second: Offer) -> bool:
    """Whether two offers cover nearly the same ground."""
    smaller = min(first.footprint.area, second.footprint.area)
    return bool(smaller > 0 and first.footprint.intersection(second.footprint).area > NEAR_COPY * smaller)


def pick_shown(offers: tuple[Offer, ...], most: int, side: Side, seed: int) -> tuple[int, ...]:
    """Indices of the offers to show, cheapest first; at most ``most``.

    A preferred side is among them when any offer leaves by it and more than one is shown.
    """
    if not offers:
        return ()
    model = cp_model.CpModel()
    shown = [model.new_bool_var(f"show_{n}") for n in range(len(offers))]
    cheapest = min(range(len(offers)), key=lambda n: (offers[n].cost_cents, n))
    model.add(shown[cheapest] == 1)
    model.add(sum(shown) <= most)
    for n, first in enumerate(offers):
        if offers[n].exit != side and first.cost_cents * 100 > DEAREST_PERCENT * offers[cheapest].cost_cents:
            model.add(shown[n] == 0)
        for m in range(n + 1, len(offers)):
            if is_near_copy(first, offers[m]) and side not in (first.exit, offers[m].exit):
                model.add(shown[n] + shown[m] <= 1)
    preferred = [n for n, offer in enumerate(offers) if offer.exit == side]
    if preferred and most > 1 and cheapest not in preferred:
        # The cheapest of them: not a dearer one that happens to look more different.
        model.add(shown[min(preferred, key=lambda n: (offers[n].cost_cents, n))] == 1)
    seen = []
    for weight, values in (
        (10_000, [offer.shape for offer in offers]),
        (1_000, [offer.exit for offer in offers]),
    ):
        for value in sorted(set(values)):
            is_seen = model.new_bool_var(f"seen_{value}")
            model.add(sum(shown[n] for n, v in enumerate(values) if v == value) >= is_seen)
            seen.append(weight * is_seen)
    total = sum(offer.cost_cents for offer in offers) + 1
    # Variety outweighs number, number outweighs cost.
    model.maximize(
        total * (sum(seen) + sum(shown)) - sum(o.cost_cents * x for o, x in zip(offers, shown, strict=True))
    )
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.catch_sigint_signal = False  # Ctrl-C stays Python's
    if solver.solve(model) != cp_model.OPTIMAL:
        raise InternalError("choosing the layouts to show has no optimum")
    picked = [n for n in range(len(offers)) if solver.boolean_value(shown[n])]
    return tuple(sorted(picked, key=lambda n: (offers[n].cost_cents, n)))
