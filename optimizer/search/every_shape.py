"""The least cost of every shape of a site on its own lattice, searched to the very end."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from optimizer.brief.site import Site
from optimizer.layout.spec import Exit
from optimizer.search.answers import ShapeQuestion, Turns
from optimizer.search.prepared import prepare
from optimizer.search.shape_search import search_lattice
from optimizer.search.solve_shapes import ALL


def find_best_of_every_shape(site: Site) -> Mapping[tuple[Exit, Turns], int]:
    """Least direct cost, cents, of every shape that has a layout at all.

    For small sites: nothing bounds the search but the lattice itself.
    """
    answer = search_lattice(
        prepare(site), ShapeQuestion(ALL, 1, float(ALL), None), np.zeros(1, dtype=np.int64)
    )
    return {(shape.exit, shape.turns): shape.cost_cents for shape in answer.shapes}
