"""What is told of a part that is tapped: its kind, its number in the plan and its measures.

Kinds and labels are keys of ``words.toml``; measures are printed in the site's own units, as in the
plan's tables.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from optimizer.fit_words import show_leg_height
from optimizer.plan import Candidate, Piece, Rail, SupportLeg
from viewer.facts import Words as Units
from viewer.marks import Mark
from viewer.page.key_figures import format_run


@dataclass(frozen=True, slots=True)
class Number:
    """One line: key of its label, the measure as printed, key of a text that it goes into (or empty)."""

    label: str
    value: str
    pattern: str = ""


@dataclass(frozen=True, slots=True)
class PartCard:
    """``id`` as in the plan; of what is no part of the ramp, kind and name. ``name`` goes into the title."""

    id: str
    kind: str
    name: str
    numbers: tuple[Number, ...]


def list_cards(units: Units, candidate: Candidate, marks: tuple[Mark, ...]) -> tuple[PartCard, ...]:
    """A card for each part of the ramp, and for what stands around it."""
    cards = [_tell_piece(units, piece) for piece in candidate.pieces]
    cards += [_tell_support(units, leg) for leg in candidate.legs]
    cards += [_tell_rail(units, rail) for rail in candidate.rails]
    known = {card.id for card in cards}
    for mark in marks:
        card_id = find_card_id(mark)
        if card_id and card_id not in known:
            cards.append(PartCard(card_id, mark.role, mark.id, ()))
            known.add(card_id)
    return tuple(cards)


def find_card_id(mark: Mark | None) -> str:
    """Id of the card that a mesh opens; empty where a tap tells nothing."""
    if mark is None:
        return ""
    match mark.role:
        case "piece" | "support" | "foot" | "brace" | "rail":
            return mark.id
        case "house" | "obstacle" | "ground":
            return f"{mark.role}: {mark.id}"
        case "lot" | "picture":
            return ""


def _tell_piece(units: Units, piece: Piece) -> PartCard:
    upper, side, _, lower = piece.corners_m
    numbers = [
        Number("length", units.length(math.dist(upper, lower))),
        Number("width", units.length(math.dist(upper, side))),
    ]
    run = format_run(piece.slope)
    if piece.kind in ("section", "transition_plate") and run:
        numbers.append(Number("slope", run, "slope_value"))
    elif piece.kind in ("section", "transition_plate", "landing"):
        below_m = units.zero_m - upper[2]
        numbers.append(Number("below_sill" if below_m >= 0.0 else "above_sill", units.length(abs(below_m))))
    return PartCard(piece.id, piece.kind, piece.id, tuple(numbers))


def _tell_support(units: Units, leg: SupportLeg) -> PartCard:
    return PartCard(leg.id, leg.kind, leg.id, (Number("leg_height", show_leg_height(units.site, leg)),))


def _tell_rail(units: Units, rail: Rail) -> PartCard:
    numbers = (
        Number("rail_height", units.length(rail.height_m)),
        Number("length", units.length(math.dist(*rail.line_m))),
    )
    return PartCard(rail.id, "rail", rail.id, numbers if rail.kind != "post" else numbers[:1])
