"""Every remedy that is named really makes room, and what would not help is not named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from optimizer.brief.site import Site
from optimizer.search.find_layouts import find_layouts
from optimizer.search.remedies import find_remedies
from optimizer.search.solve import solve_site
from tests.search.flat_yard import (
    BOTTOM_M,
    RAMP,
    SLOPE,
    THRESHOLD_M,
    box_at,
    flat_site,
    is_feasible,
    with_limits,
    with_obstacle,
    with_search,
    with_start,
    with_stock,
    with_yard,
    with_zone,
)
from tests.validation.small_yards import build_small_yard


def changes(site: Site) -> list[str]:
    assert find_layouts(site).best_cents is None
    return [one.change for one in find_remedies(site)]


def in_the_run() -> tuple[float, float, float, float]:
    return (-0.2, 2.6, 0.2, 2.9)


def far_off(number: int) -> tuple[float, float, float, float]:
    return (8.0 + number, 8.0, 8.5 + number, 8.5)


def test_the_obstacle_in_the_way_is_named_and_another_is_not() -> None:
    site = with_obstacle(flat_site(), box_at(*far_off(0)), None)
    blocked = with_obstacle(site, box_at(*in_the_run()), None)
    assert changes(blocked) == ["moving thing 1"]


def test_the_zone_in_the_way_is_named_and_another_is_not() -> None:
    site = with_zone(flat_site(), "no_build", box_at(*far_off(0)))
    assert changes(with_zone(site, "vehicle", box_at(*in_the_run()))) == ["a waiver for vehicle 1"]


def test_of_two_things_in_the_way_neither_alone_is_a_remedy() -> None:
    site = with_zone(flat_site(), "vehicle", box_at(*in_the_run()))
    assert changes(with_obstacle(site, box_at(*in_the_run()), None)) == []


def test_relief_from_the_setback_is_named_where_it_makes_room() -> None:
    site = with_yard(flat_site(), lot_m=box_at(-29.0, -29.0, 29.0, RAMP.tip_m + BOTTOM_M + 0.1))
    assert is_feasible(site)
    assert changes(with_yard(site, setback_m=1.5)) == ["relief from the setback"]


def test_one_run_more_is_named_where_one_run_is_too_few() -> None:
    site = with_start(flat_site(), threshold_m=THRESHOLD_M + SLOPE * RAMP.run_plan_m)
    # Steeper would overshoot: one section at 1:6 leaves the hinge too high for the plate still.
    assert "a layout of 2 runs" in changes(site)
    assert is_feasible(with_search(site, most_runs=2))


def test_a_steeper_slope_is_named_where_the_lot_is_too_short() -> None:
    # 0.5 m of rise on one section: at 1:8 the plate does not reach, at 1:6 it does.
    site = with_start(flat_site(), threshold_m=0.5)
    assert "a slope of 1:6, if the rules and the rider allow it" in changes(site)
    assert is_feasible(with_limits(site, running_slope=1 / 6))


def setback_gone(site: Site) -> Site:
    return with_yard(site, setback_m=0.0)


def one_run_more(site: Site) -> Site:
    return with_search(site, most_runs=site.search.most_runs + 1)


def sloping(run: float) -> Callable[[Site], Site]:
    def steeper(site: Site) -> Site:
        limits = tuple(
            replace(one, value_si=1 / run) if one.quantity == "running_slope" else one
            for one in site.rules.limits
        )
        rules = replace(site.rules, limits=limits)
        return replace(site, rules=rules, wishes=replace(site.wishes, steepest=None))

    return steeper


def remedied(site: Site, change: str) -> Site:
    """The site after a remedy, read from its words alone."""
    if change == "relief from the setback":
        return setback_gone(site)
    if change.startswith("a layout of"):
        assert change == f"a layout of {site.search.most_runs + 1} runs"
        return one_run_more(site)
    if change.startswith("a slope of 1:"):
        return sloping(float(change.removeprefix("a slope of 1:").split(",")[0]))(site)
    if change.startswith("moving "):
        name = change.removeprefix("moving ")
        return with_yard(site, obstacles=tuple(one for one in site.yard.obstacles if one.name != name))
    name = change.removeprefix("a waiver for ")
    return with_yard(site, zones=tuple(one for one in site.yard.zones if one.name != name))


YARDS = range(30)
#: Yards of those that have no ramp, at least; which ones follows from the parts and the rules.
LEAST_WITHOUT = 8


def test_every_remedy_of_a_yard_without_a_ramp_makes_one() -> None:
    bare = [site for site in map(build_small_yard, YARDS) if find_layouts(site).best_cents is None]
    assert len(bare) >= LEAST_WITHOUT
    kinds = set()
    for site in bare:
        for change in changes(site):
            solved = solve_site(remedied(site, change))
            assert solved.shown, f"{site.name}: {change}"
            assert solved.status == "optimal_on_lattice"
            kinds.add(change.split()[1])
    assert len(kinds) >= 2, "only one kind of remedy was tried"


def test_no_remedy_is_named_that_stock_still_forbids() -> None:
    # Every threshold plate is out: nothing in the yard or the rules brings one back.
    site = with_stock(
        with_obstacle(flat_site(), box_at(*far_off(0)), None), threshold_2=0, threshold_5=0, threshold_9=0
    )
    assert solve_site(site).status == "infeasible_on_lattice"
    assert [one.change for one in find_remedies(site)] == ["buying parts beyond the stock"]


def test_an_arrival_zone_out_of_reach_is_named_as_what_is_in_the_way() -> None:
    site = flat_site()
    far = box_at(*far_off(0))
    site = replace(site, yard=replace(site.yard, arrivals_m=(far,)))
    assert solve_site(site).status == "infeasible_on_lattice"
    assert [one.change for one in find_remedies(site)] == ["landing outside the arrival zones"]
