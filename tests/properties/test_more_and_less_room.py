"""More in the way is never cheaper; more room, more reach and more choice are never dearer."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from random import Random

import numpy as np
import pytest

from optimizer.brief.site import SearchSettings, Site
from optimizer.search.prepared import prepare
from optimizer.search.slope_levels import steepest_slope
from optimizer.terrain.yard import Obstacle, Points, Zone, ZoneKind
from tests.properties.never_dearer import Costs, is_nowhere_dearer, shape_costs
from tests.properties.scene_sites import SCENES, ceiling_of, coarse_scene
from tests.validation.small_yards import build_small_yard, frozen, with_rules

YARDS = (6, 9, 10, 18, 19, 20, 30, 44, 51, 68)
#: Small yards by seed, scenes by name.
PLACES = (*YARDS, *SCENES)


def site_of(place: int | str) -> Site:
    return build_small_yard(place) if isinstance(place, int) else coarse_scene(place)


@cache
def own_costs(place: int | str) -> Costs:
    """Every shape of a small yard, or of a scene as far as a quarter above its best."""
    costs = shape_costs(site_of(place), None if isinstance(place, int) else ceiling_of(place))
    assert costs
    return costs


def costs_of(place: int | str, site: Site) -> Costs:
    """Every shape of a changed place that costs no more than the dearest of the place as it is."""
    ceiling = max(own_costs(place).values()) if isinstance(place, int) else ceiling_of(place)
    return shape_costs(site, ceiling)


def somewhere(random: Random, site: Site, side_m: float) -> Points:
    """A square in front of the door."""
    start = site.yard.starts[0]
    right = np.array([start.outward[1], -start.outward[0]])
    middle = start.midpoint_m + start.outward * random.uniform(0.8, 7.0) + right * random.uniform(-5.0, 5.0)
    corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return frozen(middle + side_m / 2 * corners)


@pytest.mark.parametrize("place", PLACES)
def test_one_obstacle_or_zone_more_is_never_cheaper(place: int | str) -> None:
    random = Random(f"more in the way {place}")  # noqa: S311  # repeatable yards, no secrets
    site = site_of(place)
    costs = own_costs(place)
    top = float(site.ground.triangles_z.mean()) + 0.1
    kinds: tuple[ZoneKind, ...] = ("no_build", "no_foot", "drip_line", "vehicle", "escape_window")
    for kind in kinds:
        outline = somewhere(random, site, random.uniform(0.3, 1.2))
        obstacle = Obstacle("thing more", outline, random.choice((None, top)), may_stand=False)
        zone = Zone("zone more", kind, somewhere(random, site, 1.5), "test", None, None, "test", "nobody")
        for yard in (
            replace(site.yard, obstacles=(*site.yard.obstacles, obstacle)),
            replace(site.yard, zones=(*site.yard.zones, zone)),
        ):
            assert is_nowhere_dearer(costs, than=costs_of(place, replace(site, yard=yard)))


@pytest.mark.parametrize("name", SCENES)
def test_a_tree_before_the_door_makes_a_scenes_ramp_dearer_or_impossible(name: str) -> None:
    site = coarse_scene(name)
    start = site.yard.starts[0]
    square = 0.3 * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    tree = Obstacle("tree", frozen(start.midpoint_m + 2.0 * start.outward + square), None, may_stand=False)
    costs = own_costs(name)
    fuller = costs_of(name, replace(site, yard=replace(site.yard, obstacles=(*site.yard.obstacles, tree))))
    assert is_nowhere_dearer(costs, than=fuller)
    assert fuller != costs


@pytest.mark.parametrize("place", PLACES)
def test_a_looser_slope_is_never_dearer_where_the_levels_are_nested(place: int | str) -> None:
    """The slopes tried are a few levels below the limit.

    A looser limit alone moves every level, and may so miss the one that closed best; that is
    no fault.  Here the sine of the looser limit (the site's own) lies one whole step above the tighter
    one and one level is added, so that every level of the tighter is still tried; only the plate is
    freer.  Tables of slope by length give every length levels of its own and are left out.
    """
    site = site_of(place)
    settings = site.search
    levels, share = settings.slope_levels, settings.flattest_share
    looser = steepest_slope(site, site.yard.starts[0])
    more = 1 + (1 - share) / (levels - 1)
    tighter = math.tan(math.asin(math.sin(math.atan(looser)) / more))
    freed = replace(settings, slope_levels=levels + 1, flattest_share=share / more)
    tight, loose = with_slope(site, tighter, settings), with_slope(site, looser, freed)
    assert is_nowhere_dearer(costs_of(place, loose), than=costs_of(place, tight))


def with_slope(site: Site, slope: float, search: SearchSettings) -> Site:
    """The site under its first rule set alone, without tables of slope by length, at this slope."""
    rules = site.rulings.sets[0].rules
    limits = tuple(
        replace(one, value_si=slope) if one.quantity == "running_slope" else one
        for one in rules.limits
        if one.quantity != "run_law"
    )
    changed = replace(
        with_rules(site, replace(rules, limits=limits)),
        wishes=replace(site.wishes, steepest=slope),
        search=search,
    )
    assert steepest_slope(changed, changed.yard.starts[0]) == pytest.approx(slope)
    return changed


@pytest.mark.parametrize("place", PLACES)
def test_more_runs_longer_runs_and_a_finer_lattice_are_never_dearer(place: int | str) -> None:
    site = site_of(place)
    costs = own_costs(place)
    settings = site.search
    for search in (
        replace(settings, most_runs=prepare(site).most_runs + 1),
        replace(settings, longest_run_m=settings.longest_run_m + 1.5),
        # Half the pitch keeps every line of the old lattice.
        replace(settings, lattice_m=settings.lattice_m / 2, finest_lattice_m=settings.lattice_m / 2),
    ):
        assert is_nowhere_dearer(costs_of(place, replace(site, search=search)), than=costs)


@pytest.mark.parametrize("place", PLACES)
def test_without_a_limit_on_rise_or_length_of_a_run_nothing_is_dearer(place: int | str) -> None:
    site = site_of(place)
    costs = own_costs(place)
    limits = tuple(
        one
        for one in site.rulings.sets[0].rules.limits
        if one.quantity not in ("rise_per_run", "length_per_run")
    )
    assert is_nowhere_dearer(
        costs_of(place, with_rules(site, replace(site.rulings.sets[0].rules, limits=limits))), than=costs
    )


@pytest.mark.parametrize("place", PLACES)
def test_dearer_labour_makes_no_ramp_cheaper_and_none_impossible(place: int | str) -> None:
    site = site_of(place)
    dearer = replace(site.rates, labour_per_hour_cents=site.rates.labour_per_hour_cents + 1000)
    costs, more = own_costs(place), costs_of(place, replace(site, rates=dearer))
    assert is_nowhere_dearer(costs, than=more)
    if isinstance(place, int):
        assert shape_costs(replace(site, rates=dearer), None).keys() == costs.keys()
