"""Faults that a review of the bounds found, each pinned by the yard that showed it.

Validates against the brute force; no outside source.  Costs must agree to the cent.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.errors import InputError
from optimizer.search.every_shape import find_best_of_every_shape
from optimizer.search.solve_shapes import solve_shapes
from tests.search.flat_yard import (
    FAR_M,
    GAP_M,
    HEIGHT_STEP_M,
    INCH,
    LANDING_M,
    LOT_M,
    SECTION_M,
    SLOPE,
    THRESHOLD_M,
    box_at,
    flat_site,
    with_parts,
    with_search,
    with_start,
    with_starts,
    with_steepest,
    with_yard,
)
from tests.validation.brute_force import find_cheapest


@pytest.mark.parametrize("gap_m", [0.06, 0.09])
def test_the_way_straight_ahead_is_counted_from_anywhere_in_the_first_cell(gap_m: float) -> None:
    """An arrival zone that begins at the tip, a second start that costs more."""
    site = flat_site()
    first = replace(site.catalogue.sections[0], pitch_m=2.43)
    second = replace(first, id="section-97", pitch_m=SECTION_M * 1.02, price_cents=first.price_cents + 50_000)
    site = with_parts(site, sections=(first, second))
    site = with_search(site, longest_run_m=2 * SECTION_M + 0.1, most_runs=1)
    sine = SLOPE / math.hypot(1.0, SLOPE)
    drop = math.floor(sine * 2.43 / HEIGHT_STEP_M + 1e-9) * HEIGHT_STEP_M
    run, hinge = math.sqrt(2.43**2 - drop**2), THRESHOLD_M - drop
    tip = GAP_M + LANDING_M + run + math.sqrt((36 * INCH) ** 2 - hinge**2)
    site = with_yard(
        site,
        lot_m=box_at(-LOT_M, -LOT_M - 0.025, LOT_M, FAR_M),
        arrivals_m=(box_at(-1.0, tip - 0.0005, 1.0, tip + 2.0),),
    )
    plate = site.catalogue.threshold_plates[0]
    longer = replace(plate, id="long-threshold", reach_m=0.2, price_cents=plate.price_cents + 5_000)
    site = with_parts(site, threshold_plates=(replace(plate, reach_m=0.05), longer))
    start = site.yard.starts[0]
    site = with_starts(site, start, replace(start, name="second", gap_m=gap_m))
    solved = solve_shapes(site)
    assert solved.status == "optimal_on_lattice"
    assert solved.best_cents == find_cheapest(site).best_cents


@pytest.mark.parametrize("threshold_m", [3.6, 4.1])
def test_legs_taller_than_three_metres_are_known(threshold_m: float) -> None:
    site = flat_site()
    leg = replace(site.catalogue.legs[-1], max_m=6.0, min_m=0.05, brace_above_m=1.0)
    site = with_parts(site, legs=(leg,))
    site = with_parts(
        site,
        landings=tuple(replace(one, legs=(leg.id,)) for one in site.catalogue.landings),
        sections=tuple(replace(one, legs=(leg.id,)) for one in site.catalogue.sections),
    )
    site = with_steepest(site, 1 / 3)
    site = with_search(
        site, longest_run_m=7 * SECTION_M + 0.1, slope_levels=30, flattest_share=0.5, height_step_m=0.0025
    )
    site = with_start(with_yard(site, lot_m=box_at(-LOT_M, -LOT_M, LOT_M, 25.0)), threshold_m=threshold_m)
    best = {shape: cost for shape, cost in find_cheapest(site).costs.items() if cost is not None}
    assert best
    assert dict(find_best_of_every_shape(site)) == best


def test_a_height_step_too_coarse_for_the_ground_cells_is_refused() -> None:
    site = with_search(flat_site(), height_step_m=0.05)
    with pytest.raises(InputError, match=r"height step of 0\.0500 m is too coarse"):
        solve_shapes(site)


def test_more_slope_levels_than_the_search_can_hold_are_refused() -> None:
    with pytest.raises(InputError, match="33 slope levels are more than the 32"):
        solve_shapes(with_search(flat_site(), slope_levels=33))


def test_a_lattice_too_fine_for_the_tables_is_refused_with_numbers() -> None:
    with pytest.raises(InputError, match=r"a lattice of 0\.0050 m gives \d+ ways over one landing"):
        solve_shapes(with_search(flat_site(), lattice_m=0.005, finest_lattice_m=0.005))
