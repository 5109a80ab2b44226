"""What a placed layout costs: every part counted once, every sum in whole cents."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from optimizer.catalogue.parts import Catalogue, Part
from optimizer.catalogue.rates import Rates, part_cost_cents
from optimizer.layout.placed import PlacedLayout
from optimizer.plan import SETBACK_RELIEF, PieceKind, PriceLine
from optimizer.terrain.setback import needs_relief
from optimizer.terrain.yard import Yard
from optimizer.units import round_half_up

_WALKED: Final[tuple[PieceKind, ...]] = ("landing", "section", "transition_plate")


@dataclass(frozen=True, slots=True)
class Price:
    """Price lines with their sums; ``direct_cents`` is what the proof is about."""

    lines: tuple[PriceLine, ...]
    direct_cents: int
    total_cents: int
    weight_kg: float


@dataclass(frozen=True, slots=True)
class CountedPart:
    """A part and the placed things that use one of it each."""

    part: Part
    items: tuple[str, ...]


def list_counted_parts(layout: PlacedLayout, catalogue: Catalogue) -> tuple[CountedPart, ...]:
    """Every part of a layout in catalogue order, with the ids of what uses it.

    A foot is listed under its leg's id, a brace likewise.
    """
    used: dict[str, list[str]] = {}

    def note(part_id: str, item: str) -> None:
        used.setdefault(part_id, []).append(item)

    for piece in layout.pieces:
        note(piece.catalogue_id, piece.id)
    for leg in layout.legs:
        note(leg.leg_type, leg.id)
        note(leg.foot, leg.id)
        if leg.brace is not None:
            note(leg.brace, leg.id)
    for rail in layout.rails:
        note(rail.catalogue_id, rail.id)
    return tuple(CountedPart(part, tuple(used[part.id])) for part in catalogue.parts() if part.id in used)


def build_price(layout: PlacedLayout, catalogue: Catalogue, rates: Rates, yard: Yard) -> Price:
    """Direct lines by part, relief from the setback where the layout asks for it, then delivery,
    overhead and tax, each rounded once, half up.
    """
    counted = list_counted_parts(layout, catalogue)
    lines = [
        PriceLine(
            group="direct",
            part=one.part.id,
            name=one.part.name,
            count=len(one.items),
            unit_cents=part_cost_cents(one.part, rates),
            total_cents=len(one.items) * part_cost_cents(one.part, rates),
            items=one.items,
        )
        for one in counted
    ]
    lines.extend(_list_relief(layout, yard))
    direct = sum(line.total_cents for line in lines)
    weight = sum(one.part.weight_kg * len(one.items) for one in counted)
    delivery = rates.delivery_flat_cents + round_half_up(weight * rates.delivery_per_kg_cents)
    overhead = round_half_up(rates.overhead_percent / 100.0 * (direct + delivery))
    tax = round_half_up(rates.tax_percent / 100.0 * (direct + delivery + overhead))
    added = _list_added(
        ("delivery", "delivery by weight", delivery),
        ("overhead", f"overhead, {rates.overhead_percent:g} %", overhead),
        ("tax", f"tax, {rates.tax_percent:g} %", tax),
    )
    return Price((*lines, *added), direct, direct + delivery + overhead + tax, weight)


def _list_relief(layout: PlacedLayout, yard: Yard) -> Iterable[PriceLine]:
    """The price of asking for relief, once, however many pieces reach into the strip."""
    if needs_relief(yard, (piece.corners_m for piece in layout.pieces if piece.kind in _WALKED)):
        yield PriceLine(
            group="direct",
            part=SETBACK_RELIEF,
            name="relief from the setback",
            count=1,
            unit_cents=yard.relief_cents,
            total_cents=yard.relief_cents,
            items=(),
        )


def _list_added(*sums: tuple[str, str, int]) -> Iterable[PriceLine]:
    for part, name, cents in sums:
        yield PriceLine(
            group="added", part=part, name=name, count=1, unit_cents=cents, total_cents=cents, items=()
        )
