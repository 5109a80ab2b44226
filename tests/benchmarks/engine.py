"""The one door between the benchmarks and the search."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.brief.site import Site

Shape = tuple[str, tuple[str, ...]]
PROVEN = frozenset({"optimal_on_lattice", "infeasible_on_lattice"})


@dataclass(frozen=True, slots=True)
class Solved:
    """What one call found and how long it took.

    ``costs`` has the least cost of each shape found, ``proven`` the shapes whose cost is proven.
    """

    seconds: float
    status: str
    best_cents: int | None
    bound_cents: int | None
    costs: Mapping[Shape, int]
    proven: frozenset[Shape]

    @property
    def is_proven(self) -> bool:
        """Whether the best cost, or that there is no layout, is proven."""
        return self.status in PROVEN

    @property
    def is_honest(self) -> bool:
        """Whether it is proven, or says how far from proven: a bound no higher than the best."""
        if self.is_proven:
            return True
        return self.bound_cents is not None and (
            self.best_cents is None or self.bound_cents <= self.best_cents
        )


def solve(site: Site, wanted: int = 1) -> Solved:
    """Run the search on one site."""
    from optimizer.search.solve_shapes import solve_shapes

    began = time.perf_counter()
    answer = solve_shapes(site, wanted=wanted)
    seconds = time.perf_counter() - began
    return Solved(
        seconds=seconds,
        status=answer.status,
        best_cents=answer.best_cents,
        bound_cents=answer.bound_cents,
        costs={(one.exit, tuple(one.turns)): one.cost_cents for one in answer.shapes},
        proven=frozenset((one.exit, tuple(one.turns)) for one in answer.shapes if one.proof == "proven"),
    )
