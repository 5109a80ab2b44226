"""The search against brute force on small yards.

Validates: feasibility and least direct cost of every shape, to the cent.  Source: our own page
(DEVELOPERS.md, 'The discrete problem'), from which brute_force.py is written alone; that one is
compared with sums done by hand in test_brute_force_by_hand.py.  Tolerance: none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.terrain.yard import Obstacle
from tests.validation.brute_force import find_cheapest
from tests.validation.brute_layout import Shape
from tests.validation.flat_site import flat_site
from tests.validation.loosened_sites import WITHOUT
from tests.validation.small_yards import (
    FAMILIES,
    MIRRORED_SIDE,
    MIRRORED_TURN,
    build_small_yard,
    frozen,
    mirrored,
    moved,
    turned,
)

SEEDS_A_BLOCK = 5
FIRST_BLOCKS = range(0, 60, SEEDS_A_BLOCK)
MORE_BLOCKS = range(60, 460, 25)

Costs = Mapping[Shape, int]


def brute_costs(site: Site) -> Costs:
    """Least direct cost of every shape that has a layout."""
    return find_cheapest(site).costs


def engine_costs(site: Site) -> Costs:
    """The same of the search, which may name shapes without a layout."""
    from optimizer.search.every_shape import find_best_of_every_shape

    found = find_best_of_every_shape(site)
    return {shape: cents for shape, cents in found.items() if cents is not None}


def disagreements(seeds: Iterable[int]) -> list[str]:
    """One line for every shape in which the two programs differ."""
    found = []
    for seed in seeds:
        site = build_small_yard(seed)
        brute, engine = brute_costs(site), engine_costs(site)
        found += [
            f"seed {seed} ({FAMILIES[seed % len(FAMILIES)]}, {site.catalogue.id}), {shape}: "
            f"brute {brute.get(shape)}, search {engine.get(shape)}"
            for shape in sorted(brute.keys() | engine.keys())
            if brute.get(shape) != engine.get(shape)
        ]
    return found


@pytest.mark.parametrize("first", FIRST_BLOCKS)
def test_the_search_and_brute_force_agree_to_the_cent_on_every_shape(first: int) -> None:
    assert disagreements(range(first, first + SEEDS_A_BLOCK)) == []


@pytest.mark.slow
@pytest.mark.parametrize("first", MORE_BLOCKS)
def test_the_search_and_brute_force_agree_on_many_more_yards(first: int) -> None:
    assert disagreements(range(first, first + 25)) == []


@pytest.mark.parametrize(
    ("threshold_m", "longest_run_m", "most_runs"),
    [(0.4, 3.0, 1), (0.7, 3.0, 2), (1.0, 2.5, 3), (1.3, 5.0, 3)],
)
def test_the_search_agrees_on_the_ramps_whose_prices_were_added_by_hand(
    threshold_m: float, longest_run_m: float, most_runs: int
) -> None:
    site = flat_site(threshold_m, longest_run_m, most_runs)
    costs = brute_costs(site)
    assert costs
    assert engine_costs(site) == costs


# Moving, turning and mirroring

METAMORPHIC_SEEDS = (10, 13, 18, 19, 23, 31, 33, 64, 68, 102)


@pytest.mark.parametrize("seed", METAMORPHIC_SEEDS)
def test_moving_or_turning_the_whole_site_keeps_every_cost(seed: int) -> None:
    site = build_small_yard(seed)
    costs = engine_costs(site)
    assert costs
    assert engine_costs(moved(site, 31.7, -12.9, 4.3)) == costs
    assert engine_costs(turned(site, 90.0)) == costs
    assert engine_costs(turned(site, 203.4)) == costs


@pytest.mark.parametrize("seed", METAMORPHIC_SEEDS)
def test_a_mirror_swaps_left_and_right_and_keeps_every_cost(seed: int) -> None:
    site = build_small_yard(seed)
    assert engine_costs(mirrored(site)) == in_a_mirror(engine_costs(site))


def in_a_mirror(costs: Costs) -> Costs:
    sides: dict[str, str] = dict(MIRRORED_SIDE.items())
    return {
        (sides[side], tuple(MIRRORED_TURN[turn] for turn in turns)): cost
        for (side, turns), cost in costs.items()
    }


@pytest.mark.parametrize("seed", [18, 23, 64])
def test_brute_force_itself_does_not_care_where_north_is(seed: int) -> None:
    site = build_small_yard(seed)
    costs = brute_costs(site)
    assert costs
    assert brute_costs(turned(moved(site, -7.1, 55.2, -2.0), 131.0)) == costs
    assert brute_costs(mirrored(site)) == in_a_mirror(costs)


# More in the way is never cheaper; less to obey is never dearer


def is_nowhere_cheaper(costs: Costs, than: Costs) -> bool:
    return all(shape in than and than[shape] <= cost for shape, cost in costs.items())


@pytest.mark.parametrize("seed", [10, 21, 30, 35, 64, 102])
def test_an_obstacle_more_is_never_cheaper(seed: int) -> None:
    site = build_small_yard(seed)
    random = Random(seed)  # noqa: S311  # repeatable yards, no secrets
    costs = brute_costs(site)
    start = site.yard.starts[0]
    for _ in range(3):
        middle = start.midpoint_m + start.outward * random.uniform(1.0, 5.0)
        middle = middle + random.uniform(-3.0, 3.0) * np.array([start.outward[1], -start.outward[0]])
        square = frozen(middle + 0.15 * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]))
        tree = Obstacle("new tree", square, None, may_stand=False)
        fuller = replace(site, yard=replace(site.yard, obstacles=(*site.yard.obstacles, tree)))
        assert is_nowhere_cheaper(brute_costs(fuller), costs)


@pytest.mark.parametrize("seed", [12, 30, 48, 102])
def test_a_finer_lattice_contains_the_layouts_of_the_coarser_one(seed: int) -> None:
    site = build_small_yard(seed)
    costs = brute_costs(site)
    assert costs
    finer = replace(site, search=replace(site.search, lattice_m=site.search.lattice_m / 2))
    finer_costs = brute_costs(finer)
    assert is_nowhere_cheaper(costs, finer_costs)
    assert engine_costs(finer) == finer_costs


#: A yard that each of them decides.
BINDING: tuple[tuple[int, str], ...] = (
    (28, "rise of a run"),
    (90, "length of a run"),
    (6, "rails by rise"),
    (167, "zones without feet"),
    (25, "zones without pieces"),
    (79, "headroom"),
    (57, "zones without digging"),
    (35, "endless obstacles"),
    (100, "obstacles with tops"),
    (78, "setback"),
    (2, "arrival zones"),
    (8, "exits"),
    (24, "most turns"),
    (10, "rails by height"),
    (1, "landing rails"),
    (11, "clearance"),
    (3, "gap between pieces"),
    (6, "reserve of legs"),
    (6, "gap between legs"),
    (123, "rating of legs"),
    (6, "edge distance of feet"),
    (6, "break lines"),
    (18, "mid supports"),
    (10, "level bottom"),
    (246, "depth of pads"),
    (68, "longest run"),
    (7, "number of runs"),
    (134, "price of relief"),
    (39, "equal slopes"),
    (14, "way between rests"),
    (26, "survey error"),
    (5, "places to pass"),
    (21, "places of landings"),
)


@pytest.mark.parametrize(("seed", "rule"), BINDING)
def test_a_rule_left_out_is_never_dearer_and_each_rule_decides_some_yard(seed: int, rule: str) -> None:
    site = build_small_yard(seed)
    looser = WITHOUT[rule](site)
    costs, loose_costs = brute_costs(site), brute_costs(looser)
    assert is_nowhere_cheaper(costs, loose_costs)
    assert costs != loose_costs
    assert engine_costs(looser) == loose_costs


def test_every_rule_that_can_be_left_out_decides_a_yard_here() -> None:
    assert sorted(rule for _, rule in BINDING) == sorted(WITHOUT)


# Its independence


def test_no_file_of_the_brute_force_imports_more_of_the_program_than_data_classes() -> None:
    allowed = re.compile(
        r"optimizer\.(brief\.site|catalogue\.parts|terrain\.yard"
        r"|rulebook\.(design_limits|door_clearance|run_law))$"
    )
    files = sorted(Path(__file__).parent.glob("brute_*.py"))
    assert len(files) > 5
    for file in files:
        for line in file.read_text().splitlines():
            found = re.match(r"\s*(?:from|import) ([\w.]+)", line)
            if found and found[1].startswith(("optimizer", "viewer", "tests")):
                own = re.match(r"tests\.validation\.brute_\w+$", found[1])
                assert own or allowed.match(found[1]), f"{file.name}: {line}"
