"""The generated yards are what their families say: valid, repeatable, of the stated sizes."""

from __future__ import annotations

import math
from functools import cache
from random import Random

import numpy as np
import pytest
import shapely

from optimizer.brief.site import Site
from optimizer.terrain.check_yard import check_yard
from optimizer.terrain.frames import build_door_frame
from tests.benchmarks.generated_yards import (
    area_shortfall_m2,
    build_yard,
    cut_down,
    suite,
    with_lattice,
    with_obstacle_moved,
)
from tests.benchmarks.yard_families import DEMO_CATALOGUES, FAMILIES, GREATEST_RISE_M, INCH_M


@cache
def yard(family: str, seed: int) -> Site:
    """A yard made once: triangulating takes a tenth of a second."""
    return build_yard(family, seed)


def test_the_suite_has_sixty_four_yards_and_ten_without_a_layout() -> None:
    names = [name for name, _ in suite()]
    assert names.count("narrow_infeasible") == 10
    assert len(names) - 10 >= 64


@pytest.mark.parametrize(("family", "seed"), suite())
def test_a_generated_yard_is_a_sound_one(family: str, seed: int) -> None:
    site = yard(family, seed)
    assert check_yard(site.yard, site.ground, site.name) == ()
    assert 40 <= len(site.ground.points_m) <= 150
    assert len(site.yard.obstacles) <= 8
    # The whole of the lot before the wall is surveyed.
    surveyed = shapely.Polygon(site.ground.outline_m[0])
    open_ground = shapely.Polygon(site.yard.lot_m).difference(shapely.Polygon(site.yard.house_m[0]))
    start = site.yard.starts[0]
    for x, y in np.asarray(site.yard.lot_m):
        if (np.array([x, y]) - start.midpoint_m) @ start.outward > 0:
            assert surveyed.covers(shapely.Point(x, y))
    assert open_ground.area > 15
    assert start.threshold_m - float(site.ground.triangles_z.min()) <= GREATEST_RISE_M + 1e-9


@pytest.mark.parametrize(("family", "seed"), suite()[::7])
def test_the_same_seed_makes_the_same_yard(family: str, seed: int) -> None:
    first, second = build_yard(family, seed), build_yard(family, seed)
    assert first.ground.triangles_z.tobytes() == second.ground.triangles_z.tobytes()
    assert first.yard.lot_m.tobytes() == second.yard.lot_m.tobytes()
    assert first.search == second.search
    assert first.yard.starts[0].threshold_m == second.yard.starts[0].threshold_m


def test_no_door_of_the_suite_faces_an_axis() -> None:
    for family, seed in suite():
        out = yard(family, seed).yard.starts[0].outward
        assert math.degrees(math.asin(min(abs(out)))) > 4.9


def test_every_family_meets_every_catalogue_it_names() -> None:
    for family in FAMILIES:
        met = {yard(family.name, seed).catalogue.id for seed in range(family.count)}
        assert met == set(family.catalogues)
    assert {one for family in FAMILIES for one in family.catalogues} == set(DEMO_CATALOGUES)


def test_yards_differ_in_what_they_hold() -> None:
    sites = [yard(family, seed) for family, seed in suite()]
    assert sum(bool(site.ground.break_lines) for site in sites) >= 6
    tops = [obstacle.top_m for site in sites for obstacle in site.yard.obstacles]
    assert sum(top is None for top in tops) >= 10
    assert sum(top is not None for top in tops) >= 10
    assert not any(site.catalogue.stock for site in sites)


def test_ground_rises_away_from_the_door_where_the_family_says_so() -> None:
    for seed in range(6):
        site = yard("rises_away", seed)
        uv = build_door_frame(site.yard.starts[0]).to_door(site.ground.points_m[:, :2])
        slope = np.polyfit(uv[:, 1], site.ground.points_m[:, 2], 1)[0]
        assert slope > 0.005


@pytest.mark.parametrize("seed", range(10))
def test_a_yard_said_to_have_no_layout_is_smaller_than_the_pieces_of_one(seed: int) -> None:
    assert area_shortfall_m2(yard("narrow_infeasible", seed)) > 0


def test_a_yard_with_room_is_not_said_to_have_none() -> None:
    assert all(area_shortfall_m2(yard(name, 0)) < 0 for name in ("tiny", "small", "medium", "narrow"))


def test_a_finer_lattice_divides_the_coarser() -> None:
    site = yard("small", 1)
    for coarseness in (2.0, 1.0, 1 / 3):
        search = with_lattice(site, coarseness).search
        ratio = search.lattice_m / search.finest_lattice_m
        assert ratio == pytest.approx(round(ratio), abs=1e-9)
        assert round(ratio) >= 1


def test_the_pitch_of_the_suite_is_six_inches_or_fifteen_centimetres() -> None:
    pitches = {yard("tiny", seed).search.lattice_m for seed in range(14)}
    assert pitches == {6 * INCH_M, 0.15}


@pytest.mark.parametrize("seed", range(12))
def test_a_yard_with_an_obstacle_moved_is_sound_and_differs_in_that_alone(seed: int) -> None:
    site = yard("medium", seed)
    if not site.yard.obstacles:
        site = yard("large", seed % 6)  # that family always has two or more
    moved = with_obstacle_moved(site, Random(seed))  # noqa: S311  # repeatable yards, no secrets
    assert check_yard(moved.yard, moved.ground, moved.name) == ()
    apart = [
        float(np.abs(a.outline_m - b.outline_m).max())
        for a, b in zip(site.yard.obstacles, moved.yard.obstacles, strict=True)
    ]
    assert sum(one > 0 for one in apart) == 1
    assert max(apart) <= 0.5 + 1e-9


def test_a_yard_cut_down_keeps_a_landing_for_every_turn() -> None:
    for seed in range(3):
        site = cut_down(yard("tiny", seed))
        uses = set().union(*(landing.uses for landing in site.catalogue.landings))
        assert {"door", "quarter", "half"} <= uses
        assert (site.search.slope_levels, site.search.most_runs) == (2, 2)
