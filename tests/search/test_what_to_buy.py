"""What to buy beyond the stock: these parts do, one fewer does not, and only when it is worth it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.brief.site import Site
from optimizer.catalogue.parts import StockLevel
from optimizer.catalogue.rates import part_cost_cents
from optimizer.search.constraint_prices import Baseline
from optimizer.search.plan_records import record_advice
from optimizer.search.solve import Solved, solve_site
from optimizer.search.solve_shapes import Effort, Stop, solve_with
from optimizer.search.stock_streams import name_skeleton
from optimizer.search.what_to_buy import StockAdvice, count_parts, find_what_to_buy, is_worth_buying
from tests.search.flat_yard import flat_site, with_parts, with_sections, with_stock
from tests.validation.small_yards import build_small_yard


def baseline(site: Site, solved: Solved) -> Baseline | None:
    """What the plan has under stock; ``None`` when it proves that there is nothing."""
    if not solved.shown:
        assert solved.status == "infeasible_on_lattice"
        return None
    best = min(one.cost_cents for one in solved.shown)
    return Baseline(best, solved.status == "optimal_on_lattice", site.search.lattice_m)


def advise(site: Site) -> StockAdvice | None:
    return find_what_to_buy(site, baseline(site, solve_site(site)))


def bought(site: Site, advice: StockAdvice, fewer: str) -> Site:
    """The site with the parts bought, one fewer of the part ``fewer``."""
    more = {one.part: one.count - (one.part == fewer) for one in advice.parts}
    levels = tuple(
        StockLevel(level.part, level.count + more.get(level.part, 0)) for level in site.catalogue.stock
    )
    return with_parts(site, stock=levels)


def test_without_limits_there_is_nothing_to_buy() -> None:
    assert advise(flat_site()) is None


def test_a_part_of_which_there_is_none_and_nothing_else_does_is_bought() -> None:
    site = with_stock(flat_site(), section_96=0)
    advice = advise(site)
    assert advice is not None
    assert [(one.part, one.in_stock, one.count) for one in advice.parts] == [("section-96", 0, 1)]
    assert advice.saving_cents is None
    assert advice.is_least
    part = site.catalogue.part("section-96")
    assert advice.parts[0].unit_cents == part_cost_cents(part, site.rates)


def test_stock_that_suffices_asks_for_nothing() -> None:
    assert advise(with_stock(flat_site(), section_96=1)) is None


@pytest.mark.parametrize(
    ("in_stock_cents", "is_worth"),
    [(104_999, False), (105_000, False), (105_001, True)],
    ids=["just inside", "exactly five per cent dearer", "just outside"],
)
def test_buying_is_worth_it_where_stock_makes_it_more_than_five_per_cent_dearer(
    in_stock_cents: int, *, is_worth: bool
) -> None:
    assert is_worth_buying(in_stock_cents, 100_000) == is_worth


def test_one_long_section_is_bought_where_two_short_ones_are_much_dearer() -> None:
    site = with_sections(flat_site(), "section-96", "section-48")
    dear = with_parts(
        site,
        sections=tuple(
            replace(one, price_cents=one.price_cents * (3 if one.id == "section-48" else 1))
            for one in site.catalogue.sections
        ),
    )
    free = solve_site(dear)
    site = with_stock(dear, section_96=0)
    solved = solve_site(site)
    advice = advise(site)
    assert advice is not None
    assert [(one.part, one.count) for one in advice.parts] == [("section-96", 1)]
    assert advice.cost_cents == min(one.cost_cents for one in free.shown)
    assert advice.saving_cents == min(one.cost_cents for one in solved.shown) - advice.cost_cents


def test_the_plan_carries_the_parts_to_buy() -> None:
    advice = advise(with_stock(flat_site(), section_96=0))
    assert advice is not None
    record = record_advice(advice)
    assert [(one.part, one.count, one.unit_cents) for one in record.parts] == [
        (one.part, one.count, one.unit_cents) for one in advice.parts
    ]
    assert (record.cost_cents, record.saving_cents) == (advice.cost_cents, advice.saving_cents)


YARDS = (1, 6, 10, 12, 19, 20)
LEAST_ADVISED = 3


@pytest.mark.slow
def test_buying_what_is_advised_makes_the_ramp_cost_what_was_said_and_one_fewer_does_not() -> None:
    advised = 0
    for seed in YARDS:
        free = build_small_yard(seed)
        skeleton = solve_with(free, Effort(), None, Stop()).shapes[0].skeletons[0]
        named = name_skeleton(free, skeleton)
        assert named is not None
        used = count_parts(free, skeleton, named)
        # Half of every section, landing and leg that the cheapest ramp takes.
        levels = tuple(
            StockLevel(part.id, used[part.id] // 2)
            for part in (*free.catalogue.sections, *free.catalogue.landings, *free.catalogue.legs)
            if used[part.id]
        )
        site = with_parts(free, stock=levels)
        solved = solve_site(site)
        if not solved.shown and solved.status != "infeasible_on_lattice":
            continue
        advice = find_what_to_buy(site, baseline(site, solved))
        if advice is None:
            best = baseline(site, solved)
            assert best is not None
            assert not is_worth_buying(best.cost_cents, skeleton.cost_cents)
            continue
        advised += 1
        assert advice.cost_cents == skeleton.cost_cents
        after = solve_site(bought(site, advice, ""))
        assert min(one.cost_cents for one in after.shown) == advice.cost_cents
        for one in advice.parts:
            less = solve_site(bought(site, advice, one.part))
            assert all(found.cost_cents > advice.cost_cents for found in less.shown), one.part
    assert advised >= LEAST_ADVISED
