"""One CP-SAT model for a whole tiny yard against brute force and against the search.

Validates: the least direct cost over all shapes, to the cent, and that there is no layout.  Source:
our own page (DEVELOPERS.md, 'The discrete problem').  Tolerance: none.  The model prices single
pieces with the brute force's rooms; choosing the way and keeping pieces apart are its own.
"""

from __future__ import annotations

import math

import pytest

from optimizer.brief.site import Site
from tests.benchmarks.engine import solve
from tests.benchmarks.generated_yards import build_yard, cut_down, with_lattice
from tests.validation.brute_force import find_cheapest
from tests.validation.monolithic_cp_sat import WholeAnswer, find_overlaps, solve_whole_yard
from tests.validation.monolithic_graph import SINK, SOURCE, Arc, Graph, Placement, keep_useful
from tests.validation.small_yards import build_small_yard

LIMIT_S = 120.0
#: One in each demo catalogue; in the last the cheapest way crosses itself.
FIRST_SEEDS = (0, 4, 5)
#: At 12 in; tiny 3 has no layout.
TINY_SEEDS = tuple(range(12))


def tiny(seed: int) -> Site:
    return with_lattice(cut_down(build_yard("tiny", seed)), 2.0)


def settled(site: Site, ceiling_cents: int | None = None) -> WholeAnswer:
    answer = solve_whole_yard(site, LIMIT_S, ceiling_cents)
    assert answer.is_proven, f"{site.name}: not settled in {answer.seconds:.0f} s"
    return answer


@pytest.mark.parametrize("seed", FIRST_SEEDS)
def test_the_whole_model_costs_what_brute_force_finds(seed: int) -> None:
    site = tiny(seed)
    assert settled(site).cost_cents == find_cheapest(site).best_cents


@pytest.mark.parametrize("seed", FIRST_SEEDS)
def test_the_whole_model_costs_what_the_search_finds(seed: int) -> None:
    _agrees_with_the_search(tiny(seed))


@pytest.mark.slow
@pytest.mark.parametrize("seed", TINY_SEEDS)
def test_the_whole_model_agrees_on_twelve_tiny_yards(seed: int) -> None:
    site = tiny(seed)
    assert settled(site).cost_cents == find_cheapest(site).best_cents
    _agrees_with_the_search(site)


def _agrees_with_the_search(site: Site) -> None:
    found = solve(site)
    assert found.is_proven
    # The search's own answer as ceiling: it must be reached, and nothing may be cheaper.
    assert settled(site, found.best_cents).cost_cents == found.best_cents


@pytest.mark.slow
def test_the_whole_model_agrees_with_brute_force_on_sixty_small_yards() -> None:
    differing = []
    for seed in range(60):
        site = build_small_yard(seed)
        brute, whole = find_cheapest(site).best_cents, settled(site).cost_cents
        if brute != whole:
            differing.append(f"yard {seed}: brute force {brute}, one model {whole}")
    assert differing == []


def test_a_ceiling_below_the_optimum_leaves_nothing() -> None:
    site = tiny(1)
    cents = settled(site).cost_cents
    assert cents is not None
    assert settled(site, cents).cost_cents == cents
    assert settled(site, cents - 1).status == "infeasible"


def test_time_that_runs_out_claims_nothing() -> None:
    answer = solve_whole_yard(tiny(1), 0.0)
    assert (answer.status, answer.cost_cents, answer.bound_cents) == ("unknown", None, None)


def test_a_yard_where_the_cheapest_way_would_cross_itself_costs_more() -> None:
    site = tiny(5)
    crossing = _cheapest_way_that_may_cross(site)
    answer = settled(site)
    assert crossing is not None
    assert answer.cost_cents is not None
    assert answer.clauses > 0
    assert answer.cost_cents > crossing


def _cheapest_way_that_may_cross(site: Site) -> int | None:
    arcs = Graph(site, is_late=lambda: False).arcs
    least = {SOURCE: 0}
    for _ in range(4 * (site.search.most_runs or 4)):  # more rounds than a way has arcs
        for arc in arcs:
            if arc.tail in least:
                least[arc.head] = min(least.get(arc.head, 10**12), least[arc.tail] + arc.cents)
    return least.get(SINK)


def _piece(layer: int, role: str, u0: float, u1: float) -> Placement:
    return Placement("door", layer, role, (u0, 0.0, u1, 1.0))  # type: ignore[arg-type]  # a Role by name


@pytest.mark.parametrize(
    ("between", "is_found"),
    [(0.19, True), (0.2 - 2e-6, True), (0.2, False), (0.2 + 2e-6, False), (math.inf, False)],
)
def test_a_later_run_keeps_the_gap_to_an_earlier_one(between: float, *, is_found: bool) -> None:
    way = [
        Arc(0, 2, 0, (_piece(0, "run", 0.0, 1.0),)),
        Arc(2, 1, 0, (_piece(1, "run", 1.0 + between, 2.0 + between),)),
    ]
    assert bool(list(find_overlaps(way, 0.2, 0.1))) is is_found


@pytest.mark.parametrize(
    ("earlier", "later", "is_tested"),
    [
        ((0, "landing"), (0, "run"), False),
        ((0, "run"), (1, "landing"), False),
        ((1, "landing"), (1, "plate"), False),
        ((1, "run"), (1, "plate"), False),
        ((0, "landing"), (1, "landing"), True),
        ((0, "landing"), (1, "run"), True),
        ((0, "run"), (1, "run"), True),
        ((0, "run"), (2, "landing"), True),
        ((0, "run"), (1, "plate"), True),
        ((1, "run"), (1, "bottom"), False),
        ((1, "plate"), (1, "bottom"), False),
        ((0, "run"), (1, "bottom"), True),
        ((0, "landing"), (1, "bottom"), True),
    ],
)
def test_only_neighbours_may_touch(
    earlier: tuple[int, str], later: tuple[int, str], *, is_tested: bool
) -> None:
    way = [Arc(0, 2, 0, (_piece(*earlier, 0.0, 1.0),)), Arc(2, 1, 0, (_piece(*later, 0.5, 1.5),))]
    assert bool(list(find_overlaps(way, 0.2, 0.1))) is is_tested


def test_the_bottom_space_keeps_room_for_feet_from_earlier_pieces() -> None:
    for start, is_found in ((1.1, False), (1.1 - 5e-7, False), (1.09, True)):
        way = [
            Arc(0, 2, 0, (_piece(0, "run", 0.0, 1.0),)),
            Arc(2, 1, 0, (_piece(1, "bottom", start, 2.0),)),
        ]
        assert bool(list(find_overlaps(way, 0.2, 0.1))) is is_found


def test_arcs_that_lead_nowhere_are_left_out() -> None:
    leads, stray, last = Arc(0, 2, 5, ()), Arc(0, 3, 1, ()), Arc(2, 1, 5, ())
    assert keep_useful([leads, stray, last]) == [leads, last]
