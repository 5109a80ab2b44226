"""Costs by shape, compared."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from optimizer.brief.site import Site
from optimizer.layout.spec import Exit, TurnKind
from optimizer.search.answers import ShapeQuestion
from optimizer.search.prepared import prepare
from optimizer.search.shape_search import search_lattice
from optimizer.search.solve_shapes import ALL

Costs = Mapping[tuple[Exit, tuple[TurnKind, ...]], int]


def shape_costs(site: Site, ceiling_cents: int | None) -> Costs:
    """Least cost of every shape that has a layout within the ceiling, all of them proven."""
    question = ShapeQuestion(ALL, 1, float(ALL), ceiling_cents)
    answer = search_lattice(prepare(site), question, np.zeros(1, dtype=np.int64))
    assert answer.stopped_by == ""
    assert all(shape.is_proven for shape in answer.shapes)
    return {(shape.exit, shape.turns): shape.cost_cents for shape in answer.shapes}


def is_nowhere_dearer(costs: Costs, than: Costs) -> bool:
    """Whether no shape costs more than it does in the other; no layout is dearer than any."""
    return all(costs.get(shape, math.inf) <= cost for shape, cost in than.items())
