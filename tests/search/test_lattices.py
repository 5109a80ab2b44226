"""Lattices: nested ones, finer ones before 'no', and the certificate that says what was looked at."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optimizer.brief.site import Site
from optimizer.search.answers import ShapeAnswer
from optimizer.search.solve_shapes import ENGINE, Effort, SolvedShapes, Stop, solve_shapes, solve_with
from optimizer.terrain.yard import Obstacle
from tests.benchmarks.generated_yards import build_yard
from tests.search.flat_yard import with_search, with_wishes
from tests.search.searched import every_shape, search_all, small_yard
from tests.validation.small_yards import frozen

#: Yards with a layout on their own lattice.
YARDS = (9, 18, 19, 23, 30, 49, 51, 68)
#: Yards without a layout on their own lattice of 0.2 to 0.45 m that have one on the finest.
FINER = (28, 36, 54)
#: Generated yards, whole demo catalogues and all exits.
TINY = (0, 1, 2)

Costs = dict[tuple[str, tuple[str, ...]], int]


def costs_of(shapes: tuple[ShapeAnswer, ...]) -> Costs:
    return {(one.exit, one.turns): one.cost_cents for one in shapes}


def is_nowhere_dearer(costs: Costs, than: Costs) -> bool:
    return all(costs.get(shape, math.inf) <= cost for shape, cost in than.items())


@cache
def solved_tiny(seed: int) -> SolvedShapes:
    """A generated yard solved as it is."""
    solved = solve_shapes(build_yard("tiny", seed))
    assert solved.status == "optimal_on_lattice"
    return solved


def best_of(site: Site) -> float:
    """Least cost of a site; no layout is dearer than any."""
    solved = solve_shapes(site)
    assert solved.status in ("optimal_on_lattice", "infeasible_on_lattice")
    return math.inf if solved.best_cents is None else float(solved.best_cents)


def finer(site: Site, times: int) -> Site:
    """The site on a lattice of a whole part of its pitch."""
    pitch = site.search.lattice_m / times
    return with_search(site, lattice_m=pitch, finest_lattice_m=pitch)


# Nested choices


@pytest.mark.parametrize("times", [2, 3])
@pytest.mark.parametrize("seed", YARDS)
def test_a_lattice_that_divides_another_is_nowhere_dearer(seed: int, times: int) -> None:
    costs = costs_of(search_all(finer(small_yard(seed), times)).shapes)
    assert is_nowhere_dearer(costs, than=costs_of(every_shape(seed)))


@pytest.mark.parametrize("seed", TINY)
def test_a_finer_lattice_of_a_generated_yard_is_never_dearer(seed: int) -> None:
    best = solved_tiny(seed).best_cents
    assert best is not None
    assert best_of(finer(build_yard("tiny", seed), 2)) <= best


def test_a_finer_lattice_is_cheaper_somewhere_and_a_lattice_that_does_not_divide_dearer_somewhere() -> None:
    finer_costs = [costs_of(search_all(finer(small_yard(seed), 2)).shapes) for seed in YARDS]
    own = [costs_of(every_shape(seed)) for seed in YARDS]
    assert finer_costs != own
    other = [
        costs_of(
            search_all(with_search(small_yard(n), lattice_m=0.71 * small_yard(n).search.lattice_m)).shapes
        )
        for n in YARDS
    ]
    pairs = zip(other, own, strict=True)
    assert not all(is_nowhere_dearer(costs, than=known) for costs, known in pairs)


@pytest.mark.parametrize("seed", YARDS)
def test_twice_as_many_slope_levels_less_one_are_never_dearer(seed: int) -> None:
    site = small_yard(seed)
    levels = 2 * site.search.slope_levels - 1
    costs = costs_of(search_all(with_search(site, slope_levels=levels)).shapes)
    assert is_nowhere_dearer(costs, than=costs_of(every_shape(seed)))


@pytest.mark.parametrize("seed", TINY)
def test_nine_levels_hold_the_five_and_are_never_dearer(seed: int) -> None:
    site = build_yard("tiny", seed)
    assert site.search.slope_levels == 5
    nine = solve_shapes(with_search(site, slope_levels=9))
    # Every second of the nine is one of the five.
    assert nine.certificate.slopes[::2] == pytest.approx(solved_tiny(seed).certificate.slopes, abs=1e-12)
    assert nine.best_cents is not None
    assert nine.best_cents <= (solved_tiny(seed).best_cents or 0)


@pytest.mark.parametrize("seed", YARDS)
def test_a_larger_survey_error_is_never_cheaper(seed: int) -> None:
    site = small_yard(seed)
    before = costs_of(every_shape(seed))
    error = site.wishes.survey_error_m
    for more_m in (0.005, 0.02, 0.08):
        costs = costs_of(search_all(with_wishes(site, survey_error_m=error + more_m)).shapes)
        assert is_nowhere_dearer(before, than=costs)
        before = costs


def test_a_survey_error_of_half_the_narrowest_range_leaves_nothing_anywhere() -> None:
    for seed in YARDS[:3]:
        site = small_yard(seed)
        lows = site.catalogue.low_supports
        error = max(one.max_m - one.min_m for one in lows) / 2 + 1e-5
        assert search_all(with_wishes(site, survey_error_m=error)).shapes == ()


@pytest.mark.parametrize("seed", YARDS)
def test_an_obstacle_on_the_cheapest_ramp_is_never_cheaper(seed: int) -> None:
    site = small_yard(seed)
    start = every_shape(seed)[0].skeletons[0].opening.prepared.start
    square = 0.2 * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    ring = frozen(start.midpoint_m + 2.0 * start.outward + square)
    tree = Obstacle("tree", ring, None, may_stand=False)
    fuller = replace(site, yard=replace(site.yard, obstacles=(*site.yard.obstacles, tree)))
    assert is_nowhere_dearer(costs_of(every_shape(seed)), than=costs_of(search_all(fuller).shapes))


# Finer before 'no'


@pytest.mark.parametrize("seed", FINER)
def test_where_the_sites_lattice_has_no_layout_the_finest_is_searched_before_no(seed: int) -> None:
    site = small_yard(seed)
    finest = site.search.finest_lattice_m
    assert every_shape(seed) == ()
    alone = solve_shapes(with_search(site, finest_lattice_m=site.search.lattice_m))
    assert (alone.status, alone.bound_cents) == ("infeasible_on_lattice", None)
    assert alone.certificate.lattice_m == site.search.lattice_m
    solved = solve_shapes(site)
    assert solved.status == "optimal_on_lattice"
    assert solved.lattice_m == solved.certificate.lattice_m == finest
    there = search_all(with_search(site, lattice_m=finest))
    assert solved.best_cents == there.best_cents


def test_no_is_said_of_the_finest_lattice() -> None:
    for seed in (0, 2, 5, 8):
        site = small_yard(seed)
        assert site.search.finest_lattice_m < site.search.lattice_m
        solved = solve_shapes(site)
        assert (solved.status, solved.shapes) == ("infeasible_on_lattice", ())
        assert (solved.bound_cents, solved.searched_to_cents) == (None, None)
        assert solved.lattice_m == site.search.finest_lattice_m
        assert search_all(with_search(site, lattice_m=site.search.finest_lattice_m)).shapes == ()


# The certificate


@pytest.mark.parametrize("seed", TINY)
def test_the_certificate_names_engine_lattice_steps_slopes_and_runs(seed: int) -> None:
    site, solved = build_yard("tiny", seed), solved_tiny(seed)
    proof = solved.certificate
    assert proof.engine == ENGINE
    assert proof.lattice_m == solved.lattice_m == site.search.lattice_m
    assert proof.height_step_m == site.search.height_step_m
    assert proof.longest_run_m == site.search.longest_run_m
    assert proof.most_runs == site.search.most_runs
    assert proof.bound_cents == solved.bound_cents == solved.best_cents
    assert len(proof.slopes) == site.search.slope_levels
    sines = [math.sin(math.atan(slope)) for slope in proof.slopes]
    steps = [a - b for a, b in itertools.pairwise(sines)]
    assert min(steps) > 0.0
    assert max(steps) == pytest.approx(min(steps))
    assert sines[-1] == pytest.approx(sines[0] * site.search.flattest_share)


@pytest.mark.parametrize("seed", TINY)
def test_the_rounds_of_a_certificate_rise_to_the_cost_that_is_proven(seed: int) -> None:
    solved = solved_tiny(seed)
    rounds = solved.certificate.rounds
    by_lattice = {
        pitch: tuple(group) for pitch, group in itertools.groupby(rounds, key=lambda one: one.lattice_m)
    }
    assert list(by_lattice) == [2 * solved.lattice_m, solved.lattice_m]
    for group in by_lattice.values():
        ceilings = [one.ceiling_cents for one in group]
        assert ceilings == sorted(set(ceilings))
        assert all(one.priced <= one.tried <= 10**9 and one.states > 0 for one in group)
        assert all(a.settled <= b.settled for a, b in itertools.pairwise(group))
    assert solved.best_cents is not None
    assert by_lattice[solved.lattice_m][-1].ceiling_cents >= solved.best_cents
    # Nothing was settled under the ceilings that lie below the cost.
    for one in by_lattice[solved.lattice_m]:
        assert (one.settled > 0) is (one.ceiling_cents >= solved.best_cents)


@pytest.mark.parametrize("seed", [9, 19, 51])
def test_a_search_under_a_ceiling_finds_every_shape_that_costs_no_more(seed: int) -> None:
    site = small_yard(seed)
    costs = costs_of(every_shape(seed))
    for ceiling in sorted({*costs.values(), *(cost - 1 for cost in costs.values())}):
        under = solve_with(site, Effort(1, 1, ceiling), None, Stop())
        assert costs_of(under.shapes) == {shape: cost for shape, cost in costs.items() if cost <= ceiling}
        assert under.searched_to_cents is None or under.searched_to_cents > ceiling


@pytest.mark.parametrize("seed", [19, 23, 51])
def test_several_shapes_wanted_are_those_of_the_whole_search(seed: int) -> None:
    costs = costs_of(every_shape(seed))
    solved = solve_shapes(small_yard(seed), wanted=3)
    assert len(solved.shapes) >= min(3, len(costs))
    for one in solved.shapes:
        assert one.is_proven
        assert costs[one.exit, one.turns] == one.cost_cents
    assert solved.shapes[0].cost_cents == min(costs.values())
