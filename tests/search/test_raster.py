"""What the raster and the bounds say is never dearer, and never stricter, than the exact rules.

The search trusts them to leave things out: a bound that is too high, or a place called blocked
that is not, would lose a layout without a word.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.search.exact_kernel import exact_cost
from optimizer.search.geometry_kernel import ground_elevation, plate_reach
from optimizer.search.grown import EVERY_SHAPE, Branch, Grown, build_room, grow
from optimizer.search.kernel_tables import NEVER, STRAIGHT, Room, Tables
from optimizer.search.law_kernel import allows_last
from optimizer.search.prepared import least_open, prepare
from optimizer.search.raster_kernel import level_near
from optimizer.search.rest_kernel import least_rest
from optimizer.search.solve_shapes import solve_shapes
from optimizer.search.state_kernel import (
    ANY_LEVEL,
    KIND_AT,
    LAST,
    LEVEL_AT,
    LEVEL_BIT,
    PART_AT,
    SUMS_AT,
    TURNED_BIT,
    encode,
    heading_of,
)
from tests.benchmarks.generated_yards import build_yard
from tests.search.searched import small_yard
from tests.validation.bound_yards import bound, build_bound_yard, build_law

#: Small yards of every family, by seed, and generated ones with whole catalogues, by name.
YARDS = (9, 10, 18, 19, 20, 23, 49, 51, 53, 64, 68)
TINY = (0, 1, 2)
#: Small yards under slopes by length or rise, and generated ones under one.
BOUND = (18, 19, 25, 38, 53)
PLACES = (
    *(("small", seed) for seed in YARDS),
    *(("tiny", seed) for seed in TINY),
    *(("bound", seed) for seed in BOUND),
    *(("tiny under a law", seed) for seed in TINY),
)
#: Layouts up to so many times the best are looked at.
ABOVE_BEST = 1.25
MOST_ARCS = 6000
GROUND_POINTS = 300
#: Turns still due are told apart up to here.
DUE = 4


@cache
def site_of(family: str, seed: int) -> Site:
    match family:
        case "small":
            return small_yard(seed)
        case "bound":
            return build_bound_yard(seed)
        case "tiny under a law":
            return bound(build_yard("tiny", seed), *build_law("formula", 9.0))
    return build_yard(family, seed)


@cache
def grown_of(family: str, seed: int) -> tuple[tuple[Branch, Grown], ...]:
    """Every branch of a yard grown under a ceiling well above its best."""
    site = site_of(family, seed)
    best = solve_shapes(site).best_cents
    assert best is not None
    stop = np.zeros(1, dtype=np.int64)
    branches = prepare(site).branches
    return tuple((one, grow(one, int(ABOVE_BEST * best), stop, EVERY_SHAPE, 1 << 30)) for one in branches)


def price(tables: Tables, room: Room, grown: Grown, n: int, choice: int) -> int:
    """Exact cost of an arc out of a state, ``NEVER`` when a rule stands against it."""
    states = grown.states
    hu, hv = heading_of(int(states.heading[n]))
    half = 1 if states.flag[n] & TURNED_BIT else 0
    return int(exact_cost(tables, room, states.u[n], states.v[n], int(states.step[n]), hu, hv, half, choice))


def owners_of(grown: Grown) -> list[tuple[int, int]]:
    """State and arc, for every arc."""
    states = grown.states
    return [
        (n, a)
        for n in range(int(states.sizes[0]))
        for a in range(int(states.arc_first[n]), int(states.arc_last[n]))
    ]


def runs_behind(grown: Grown, n: int) -> int:
    """How many runs lead to a state."""
    return int(np.searchsorted(grown.levels, n, side="right")) - 1


@pytest.mark.parametrize(("family", "seed"), PLACES)
def test_an_arcs_cost_from_the_raster_is_no_more_than_its_exact_cost(family: str, seed: int) -> None:
    possible = 0
    for branch, grown in grown_of(family, seed):
        tables, states = branch.prepared.tables, grown.states
        room = build_room(tables, 1)
        arcs = owners_of(grown)
        for n, a in Random(seed).sample(arcs, min(len(arcs), MOST_ARCS)):  # noqa: S311  # repeatable
            exact = price(tables, room, grown, n, int(states.arc_choice[a]))
            assert int(states.arc_cost[a]) <= exact
            possible += exact < NEVER
    assert possible > 0


def pay_onward(branch: Branch, grown: Grown) -> np.ndarray:
    """Least exact cost from every state to the ground, by turns still made: (states, DUE)."""
    tables, states = branch.prepared.tables, grown.states
    room = build_room(tables, 1)
    paid = np.full((int(states.sizes[0]), DUE), NEVER, dtype=np.int64)
    for n, a in reversed(owners_of(grown)):
        choice = int(states.arc_choice[a])
        kind = choice % PART_AT // KIND_AT
        rest = np.full(DUE, NEVER, dtype=np.int64)
        if kind == LAST:
            rest[0] = 0
        else:
            turns = 0 if kind == STRAIGHT else 1
            rest[turns:] = paid[states.arc_to[a], : DUE - turns]
        if rest.min() < NEVER:
            paid[n] = np.minimum(paid[n], np.minimum(NEVER, rest + price(tables, room, grown, n, choice)))
    return paid


@pytest.mark.parametrize(("family", "seed"), PLACES)
def test_what_is_left_to_pay_at_least_is_no_more_than_what_is_paid(family: str, seed: int) -> None:
    """From every pose on, against the cheapest way to the ground over arcs priced exactly."""
    reached = 0
    for branch, grown in grown_of(family, seed):
        tables, states = branch.prepared.tables, grown.states
        paid = pay_onward(branch, grown)
        room = build_room(tables, 1)
        most = int(tables.numbers[0].most_runs)
        for n in np.flatnonzero(paid.min(axis=1) < NEVER):
            heading = int(states.heading[n])
            hu, hv = heading_of(heading)
            left = most - runs_behind(grown, int(n))
            for due in range(DUE):
                bound = least_rest(
                    tables, branch.raster, branch.bound, room, due, left, int(states.step[n]),
                    states.u[n], states.v[n], heading, hu, hv, NEVER,
                )  # fmt: skip
                assert int(bound) <= int(paid[n, due:].min())
            reached += 1
        starts = range(len(branch.openings))
        cheapest = min(branch.openings[n].cost_cents + int(paid[n].min()) for n in starts)
        assert least_open(branch, 0) <= cheapest
    assert reached > 0


@pytest.mark.parametrize(("family", "seed"), PLACES)
def test_no_end_that_the_exact_rules_allow_is_missing(family: str, seed: int) -> None:
    """Every choice of sum, level and plate at poses of the growth, within the ceiling."""
    looked = 0
    for branch, grown in grown_of(family, seed):
        tables, states = branch.prepared.tables, grown.states
        room = build_room(tables, 1)
        ceiling = int(ABOVE_BEST * (solve_shapes(site_of(family, seed)).best_cents or 0))
        count = int(states.sizes[0])
        for n in Random(seed).sample(range(count), min(count, 12)):  # noqa: S311  # repeatable
            if runs_behind(grown, n) >= int(tables.numbers[0].most_runs):
                continue
            if 0 <= int(states.flag[n]) // LEVEL_BIT - 1 < ANY_LEVEL or len(tables.locks):
                continue  # one level for all runs, or places still to pass: not every choice is free
            known = {int(states.arc_choice[a]) for a in range(states.arc_first[n], states.arc_last[n])}
            for level, i in zip(*np.nonzero(tables.drops > 0), strict=True):
                for plate in range(len(tables.plates)):
                    choice = int(encode(int(i), int(level), plate, LAST, 0))
                    exact = price(tables, room, grown, n, choice)
                    if int(states.cost[n]) + exact > ceiling or breaks_run_limits(tables, grown, n, choice):
                        continue
                    assert choice in known
                    looked += 1
    wishes = site_of(family, seed).wishes
    assert looked > 0 or wishes.must_pass_m or wishes.landing_at_m or family == "small"


def breaks_run_limits(tables: Tables, grown: Grown, n: int, choice: int) -> bool:
    """Rise and length of a last run and its slope at the ground are looked at before it is priced."""
    numbers, states = tables.numbers[0], grown.states
    i, level = choice // SUMS_AT, choice % SUMS_AT // LEVEL_AT
    part = choice % LEVEL_AT // PART_AT
    assert choice % PART_AT // KIND_AT == LAST
    hu, hv = heading_of(int(states.heading[n]))
    plan = float(tables.plans[level, i])
    drop = float(tables.drops[level, i] * numbers.height_step)
    end = float(numbers.deck) - int(states.step[n]) * float(numbers.height_step) - drop
    u, v = float(states.u[n]) + plan * hu, float(states.v[n]) + plan * hv
    reach = plate_reach(tables, u, v, hu, hv, end, float(tables.plates[part].length))
    fall = end - ground_elevation(tables, u + reach * hu, v + reach * hv)
    return not allows_last(tables.laws, drop, plan, fall, reach)


@pytest.mark.parametrize(("family", "seed"), PLACES)
def test_the_ground_of_a_cell_holds_every_level_in_it(family: str, seed: int) -> None:
    random = Random(f"levels {family} {seed}")  # noqa: S311  # repeatable points, no secrets
    branch = grown_of(family, seed)[0][0]
    tables, raster = branch.prepared.tables, branch.raster
    met = 0
    for _ in range(GROUND_POINTS):
        u = raster.corner_u + random.uniform(0.0, raster.columns * raster.cell)
        v = raster.corner_v + random.uniform(0.0, raster.rows * raster.cell)
        exact = ground_elevation(tables, u, v)
        middle, swing = level_near(raster, u, v)
        if np.isnan(exact) or np.isnan(middle):
            continue  # at the edge of the survey nothing is certain, and nothing is claimed
        met += 1
        assert abs(exact - middle) <= swing + 1e-9
    assert met > GROUND_POINTS // 4


def test_a_yard_without_break_lines_and_obstacles_is_open_where_it_is_surveyed() -> None:
    site = site_of("small", 9)
    empty = replace(site.yard, obstacles=(), zones=(), setback_m=0.0)
    raster = prepare(replace(site, yard=empty)).branches[0].raster
    inside = np.isfinite(raster.ground_low)
    assert inside.any()
    assert (raster.cover[inside] >= raster.ground_low[inside]).any()
    assert (raster.ground_low[inside] <= raster.ground_high[inside]).all()
