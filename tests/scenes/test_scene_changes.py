"""One thing of a demo scene is changed at a time, and the answer changes as it should."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.brief.site import Site
from optimizer.catalogue.demo_files import demo_catalogue_path
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.terrain.yard import ZoneKind
from tests.scenes.answered_scenes import least_cents, scene, solve_proven, winning_turns

pytestmark = pytest.mark.slow


def with_kind(name: str, kind: ZoneKind) -> Site:
    """The crowded garden with another kind for one of its zones, the area as it is."""
    site = scene("crowded-garden")
    assert [zone.name for zone in site.yard.zones].count(name) == 1
    zones = tuple(replace(zone, kind=kind) if zone.name == name else zone for zone in site.yard.zones)
    return replace(site, yard=replace(site.yard, zones=zones))


@pytest.mark.parametrize(
    ("name", "kind", "cost_cents"),
    [
        pytest.param("before the meter", "drip_line", 536_668, id="the meter's room may be covered"),
        pytest.param("path to the shed", "no_foot", 431_651, id="the path may be passed over"),
    ],
)
def test_a_zone_of_a_milder_kind_makes_the_crowded_garden_cheaper(
    name: str, kind: ZoneKind, cost_cents: int
) -> None:
    assert least_cents(with_kind(name, kind)) == cost_cents
    assert cost_cents < least_cents(scene("crowded-garden"))


@pytest.mark.parametrize("kind", ["no_foot", "no_build"])
def test_roots_of_a_stricter_kind_leave_the_crowded_garden_without_a_layout(kind: ZoneKind) -> None:
    assert solve_proven(with_kind("roots of the apple tree", kind)).shapes == ()


@pytest.mark.parametrize("kind", ["no_foot", "no_build"])
def test_before_the_meter_other_kinds_that_forbid_what_is_there_cost_the_same(kind: ZoneKind) -> None:
    site = with_kind("before the meter", kind)
    assert least_cents(site) == least_cents(scene("crowded-garden"))


def with_rates(site: Site, labour_cents: int, delivery_cents: int) -> Site:
    """The site with an hour of work, and delivery, at these prices."""
    rates = replace(site.rates, labour_per_hour_cents=labour_cents, delivery_flat_cents=delivery_cents)
    return replace(site, rates=rates)


def test_two_rates_that_change_places_make_another_shape_win() -> None:
    # Work on the spot decides for or against a pad.  The sill is 0.195 m higher than in the scene:
    # a short way with a pad and a longer one without are nearly equal there.
    site = scene("crowded-garden")
    (start,) = site.yard.starts
    higher = replace(start, threshold_m=start.threshold_m + 0.195)
    site = replace(site, yard=replace(site.yard, starts=(higher,)))
    assert winning_turns(with_rates(site, 6_800, 39_000)) == ("front", ("right",))
    assert winning_turns(with_rates(site, 39_000, 6_800)) == ("front", ("left",))


def without_gap(site: Site) -> Site:
    """The site with its short leg long enough to meet the tall one: no height is left out."""
    (tall,) = (leg for leg in site.catalogue.legs if leg.id == "leg-41")
    legs = tuple(
        replace(leg, max_m=tall.min_m + tall.reserve_m + leg.reserve_m + 0.01) if leg.id == "leg-15" else leg
        for leg in site.catalogue.legs
    )
    return replace(site, catalogue=replace(site.catalogue, legs=legs))


def test_the_gap_between_the_legs_costs_a_tenth_and_the_other_way_round() -> None:
    site = scene("leg-gap")
    assert least_cents(site) > 1.1 * least_cents(without_gap(site))
    assert winning_turns(site) == ("left", ("half_right",))
    assert winning_turns(without_gap(site)) == ("right", ("half_left",))


def test_with_the_demo_parts_in_inches_the_leg_gap_scene_needs_no_half_turn() -> None:
    site = scene("leg-gap")
    inch = replace(site, catalogue=read_catalogue(demo_catalogue_path("demo-inch")))
    assert winning_turns(inch) == ("right", ("left", "left"))


def without_zone(site: Site, name: str) -> Site:
    """The site with one zone waived."""
    zones = tuple(zone for zone in site.yard.zones if zone.name != name)
    assert len(zones) == len(site.yard.zones) - 1
    return replace(site, yard=replace(site.yard, zones=zones))


def test_the_yard_without_room_has_a_layout_without_the_parking_place_but_not_without_the_meter() -> None:
    site = scene("no-room")
    assert solve_proven(site).shapes == ()
    assert solve_proven(without_zone(site, "parking place")).shapes != ()
    assert solve_proven(without_zone(site, "before the gas meter")).shapes == ()
