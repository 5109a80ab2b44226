"""The search against brute force under slope by length, room at the door and landings by role.

Validates: feasibility and least direct cost of every shape, to the cent, as test_brute_force_agrees.py
does under plain limits.  Source: our own page (DEVELOPERS.md, 'What binds', 'Slopes', 'The start').
Tolerance: none.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.brief.site import Site
from optimizer.search.every_shape import find_best_of_every_shape
from tests.validation.bound_yards import LAW_KINDS, build_bound_yard, build_named_yard
from tests.validation.brute_force import find_cheapest
from tests.validation.brute_layout import Shape
from tests.validation.small_yards import mirrored, moved, turned

SEEDS_A_BLOCK = 10
FIRST_BLOCKS = range(0, 60, SEEDS_A_BLOCK)
MORE_BLOCKS = range(60, 360, 50)
NAMED = ("law", "door", "turn", "strict")


def brute_costs(site: Site) -> dict[Shape, int]:
    """Least direct cost of every shape that has a layout."""
    return dict(find_cheapest(site).costs)


def engine_costs(site: Site) -> dict[Shape, int]:
    """The same of the search."""
    return dict(find_best_of_every_shape(site))


@pytest.mark.parametrize("first", FIRST_BLOCKS)
def test_the_search_and_brute_force_agree_to_the_cent(first: int) -> None:
    for seed in range(first, first + SEEDS_A_BLOCK):
        site = build_bound_yard(seed)
        assert engine_costs(site) == brute_costs(site), f"bound yard {seed}"


@pytest.mark.slow
@pytest.mark.parametrize("first", MORE_BLOCKS)
def test_the_search_and_brute_force_agree_on_many_more(first: int) -> None:
    for seed in range(first, first + 50):
        site = build_bound_yard(seed)
        assert engine_costs(site) == brute_costs(site), f"bound yard {seed}"


def test_every_kind_of_law_has_a_ramp_among_the_first_yards() -> None:
    found = {LAW_KINDS[seed % len(LAW_KINDS)] for seed in range(60) if brute_costs(build_bound_yard(seed))}
    assert found == set(LAW_KINDS)


@pytest.mark.parametrize("name", NAMED)
def test_they_agree_on_the_yards_made_for_one_rule(name: str) -> None:
    site = build_named_yard(name)
    assert engine_costs(site) == brute_costs(site)


def test_no_run_of_the_yard_under_a_law_is_steeper_than_its_length_allows() -> None:
    # Approved Document M, volume 2, table 1, between its points: 1:n with n = plan length + 10.
    layouts = find_cheapest(build_named_yard("law")).layouts
    runs = [run for layout in layouts for run in layout.runs]
    assert len(runs) > 5
    for run in runs:
        assert run.drop_m <= run.plan_m / (run.plan_m + 10) + 1e-6
    # Within a step of what the law leaves: slopes are not those of the longest run for all.
    assert max(run.drop_m / run.plan_m for run in runs) > 1 / 13.2


@pytest.mark.parametrize("name", ["law", "door", "turn"])
def test_moving_turning_and_a_mirror_keep_every_cost(name: str) -> None:
    site = build_named_yard(name)
    costs = engine_costs(site)
    assert costs
    assert engine_costs(turned(moved(site, 31.7, -12.9, 4.3), 203.4)) == costs
    assert sorted(engine_costs(mirrored(site)).values()) == sorted(costs.values())


@pytest.mark.parametrize(("name", "opened"), [("door", "doors"), ("turn", "landing_quarter")])
def test_what_binds_decides_the_yard(name: str, opened: str) -> None:
    site = build_named_yard(name)
    design = site.designs[0]
    free = {"doors": (), "landing_quarter": design.landing_straight}[opened]
    looser = replace(site, designs=(replace(design, **{opened: free}),))  # type: ignore[arg-type]
    costs, loose_costs = brute_costs(site), brute_costs(looser)
    assert costs
    assert costs != loose_costs
    assert all(loose_costs[shape] <= cost for shape, cost in costs.items())
    assert engine_costs(looser) == loose_costs
