"""Prices: sums of whole cents, each rounded once, and every line counts things that are there."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
import shapely

from optimizer.brief.site import Site
from optimizer.estimate.price import Price, build_price
from optimizer.layout.build_layout import build_layout
from optimizer.layout.placed import PlacedLayout
from optimizer.plan import SETBACK_RELIEF
from optimizer.terrain.yard import SetbackKind
from tests.layout.plane_layouts import LAYOUTS, plane_site


def half_up(value: Fraction) -> int:
    return math.floor(value + Fraction(1, 2))


def laid(name: str) -> tuple[Site, PlacedLayout]:
    threshold_m, spec, _ = LAYOUTS[name]
    site = plane_site(threshold_m)
    rates = replace(
        site.rates,
        labour_per_hour_cents=7325,
        delivery_flat_cents=12_345,
        delivery_per_kg_cents=37,
        overhead_percent=12.5,
        tax_percent=7.25,
    )
    return replace(site, rates=rates), build_layout(site, spec)


def priced(site: Site, layout: PlacedLayout) -> Price:
    return build_price(layout, site.catalogue, site.rates, site.yard)


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_sums_are_the_sums_of_their_lines(name: str) -> None:
    price = priced(*laid(name))
    direct = [line for line in price.lines if line.group == "direct"]
    assert all(line.total_cents == line.count * line.unit_cents for line in price.lines)
    assert price.direct_cents == sum(line.total_cents for line in direct)
    assert price.total_cents == sum(line.total_cents for line in price.lines)
    assert [line.part for line in price.lines if line.group == "added"] == ["delivery", "overhead", "tax"]


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_part_costs_its_price_and_its_labour_rounded_once(name: str) -> None:
    site, layout = laid(name)
    for line in priced(site, layout).lines:
        if line.group == "direct":
            part = site.catalogue.part(line.part)
            labour = Fraction(part.labour_min) * site.rates.labour_per_hour_cents / 60
            assert line.unit_cents == part.price_cents + half_up(labour)
            assert line.name == part.name


@pytest.mark.parametrize("name", LAYOUTS)
def test_delivery_overhead_and_tax_are_each_rounded_once_half_up(name: str) -> None:
    site, layout = laid(name)
    price = priced(site, layout)
    weight = sum(
        Fraction(str(site.catalogue.part(line.part).weight_kg)) * line.count
        for line in price.lines
        if line.group == "direct"
    )
    assert price.weight_kg == pytest.approx(float(weight))
    delivery = 12_345 + half_up(weight * 37)
    overhead = half_up(Fraction("12.5") / 100 * (price.direct_cents + delivery))
    tax = half_up(Fraction("7.25") / 100 * (price.direct_cents + delivery + overhead))
    assert [line.total_cents for line in price.lines[-3:]] == [delivery, overhead, tax]


def test_half_a_cent_of_labour_goes_up_for_every_part_and_not_for_their_sum() -> None:
    site, layout = laid("straight")
    feet = tuple(replace(foot, price_cents=0, labour_min=5.0) for foot in site.catalogue.feet)
    catalogue = replace(site.catalogue, feet=feet)
    price = build_price(layout, catalogue, replace(site.rates, labour_per_hour_cents=6), site.yard)
    assert {line.unit_cents for line in price.lines if line.part in {foot.id for foot in feet}} == {1}
    assert sum(line.total_cents for line in price.lines if line.part in {foot.id for foot in feet}) == len(
        layout.legs
    )


@pytest.mark.parametrize("direct", [100, 101])
def test_half_a_cent_of_overhead_goes_up(direct: int) -> None:
    site, layout = laid("straight")
    plate = next(piece for piece in layout.pieces if piece.kind == "threshold_plate")
    one = replace(layout, pieces=(plate,), legs=(), rails=())
    plates = tuple(replace(p, price_cents=direct, labour_min=0.0) for p in site.catalogue.threshold_plates)
    rates = replace(
        site.rates, delivery_flat_cents=0, delivery_per_kg_cents=0, overhead_percent=50.0, tax_percent=0.0
    )
    price = build_price(one, replace(site.catalogue, threshold_plates=plates), rates, site.yard)
    assert price.direct_cents == direct
    assert price.total_cents == direct + (direct + 1) // 2


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_line_counts_things_that_are_there_and_nothing_is_left_out(name: str) -> None:
    site, layout = laid(name)
    wanted = Counter(
        [(piece.catalogue_id, piece.id) for piece in layout.pieces]
        + [(rail.catalogue_id, rail.id) for rail in layout.rails]
        + [
            (part, leg.id)
            for leg in layout.legs
            for part in (leg.leg_type, leg.foot, leg.brace)
            if part is not None
        ]
    )
    direct = [line for line in priced(site, layout).lines if line.group == "direct"]
    assert Counter((line.part, item) for line in direct for item in line.items) == wanted
    assert all(line.count == len(line.items) for line in direct)
    assert all(line.items == () for line in priced(site, layout).lines if line.group == "added")


@pytest.mark.parametrize(
    ("deeper_m", "kind", "lines"),
    [
        (0.001, "needs_relief", 1),
        (0.0, "needs_relief", 0),
        (-0.001, "needs_relief", 0),
        (0.001, "hard", 0),
        (20.0, "needs_relief", 1),
    ],
)
def test_relief_from_the_setback_is_a_direct_line_once_however_many_pieces_lie_in_it(
    deeper_m: float, kind: SetbackKind, lines: int
) -> None:
    site, layout = laid("straight")
    lot = site.yard.lot_m
    walked = [piece for piece in layout.pieces if piece.kind in ("landing", "section", "transition_plate")]
    room_m = min(shapely.Polygon(lot).exterior.distance(shapely.Polygon(piece.corners_m)) for piece in walked)
    yard = replace(site.yard, setback_m=room_m + deeper_m, setback_kind=kind, relief_cents=45_000)
    bare, price = priced(site, layout), build_price(layout, site.catalogue, site.rates, yard)
    relief = [line for line in price.lines if line.part == SETBACK_RELIEF]
    assert [(line.group, line.count, line.unit_cents, line.total_cents, line.items) for line in relief] == [
        ("direct", 1, 45_000, 45_000, ())
    ] * lines
    assert price.direct_cents == bare.direct_cents + 45_000 * lines
    assert price.weight_kg == bare.weight_kg
    assert price.total_cents == sum(line.total_cents for line in price.lines)
