"""Costs by class, compared."""

from __future__ import annotations

import math

from optimizer.brief.site import Site
from optimizer.search.find_layouts import find_layouts

Costs = dict[tuple[str, str], int | None]


def class_costs(site: Site) -> Costs:
    """Least cost of every class, all of them proven."""
    answer = find_layouts(site)
    assert all(one.proven for one in answer.classes), site.name
    return {(one.exit, one.turn): one.cost_cents for one in answer.classes}


def is_nowhere_dearer(costs: Costs, than: Costs) -> bool:
    """Whether no class costs more than it does in the other; no layout is dearer than any."""
    return all(or_endless(costs.get(key)) <= or_endless(cost) for key, cost in than.items())


def or_endless(cost: int | None) -> float:
    return math.inf if cost is None else float(cost)
