"""Small yards searched once for all tests of one process."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

from optimizer.brief.site import Site
from optimizer.search.answers import LatticeAnswer, ShapeAnswer, ShapeQuestion, Skeleton
from optimizer.search.name_parts import NamedParts, name_parts
from optimizer.search.prepared import prepare
from optimizer.search.shape_search import search_lattice
from optimizer.search.solve import Solved, solve_site
from optimizer.search.solve_shapes import ALL
from optimizer.search.stock_streams import retrace
from tests.search.flat_yard import with_wishes
from tests.validation.small_yards import build_small_yard

#: More than any small yard has.
MOST_SHOWN = 5


def search_all(site: Site, kept: int = 1) -> LatticeAnswer:
    """Every shape of a site on its own lattice, searched to the end."""
    question = ShapeQuestion(ALL, kept, float(ALL), None)
    return search_lattice(prepare(site), question, np.zeros(1, dtype=np.int64))


@cache
def small_yard(seed: int) -> Site:
    """A small yard that wants several layouts shown."""
    return with_wishes(build_small_yard(seed), shown=MOST_SHOWN)


@cache
def every_shape(seed: int) -> tuple[ShapeAnswer, ...]:
    """Every shape of a small yard."""
    return search_all(small_yard(seed)).shapes


@cache
def solved_yard(seed: int) -> Solved:
    """A small yard solved as for a plan."""
    return solve_site(small_yard(seed))


@cache
def named_layouts(seed: int) -> tuple[tuple[Skeleton, NamedParts], ...]:
    """The cheapest layout of every shape of a small yard with its parts named."""
    return tuple(name_each(small_yard(seed), [one.skeletons[0] for one in every_shape(seed)]))


def name_each(site: Site, skeletons: Sequence[Skeleton]) -> list[tuple[Skeleton, NamedParts]]:
    """Layouts with their parts named."""
    found = []
    for skeleton in skeletons:
        named = name_parts(site, retrace(skeleton))
        assert named is not None
        found.append((skeleton, named))
    return found
