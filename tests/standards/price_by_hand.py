"""The price of the hand-built ramp, added up part by part, and the candidate it completes."""

from __future__ import annotations

import math

import numpy as np

from optimizer.plan import Candidate, Piece, PriceLine, Rail, SupportLeg, Toe
from optimizer.standards.check_candidate import CheckCase


def _cents(value: float) -> int:
    return math.floor(value + 0.5)


def price_ramp(
    pieces: list[Piece],
    legs: list[SupportLeg],
    rails: list[Rail],
    case: CheckCase,
    toe: Toe,
    turns: tuple[str, ...],
    leave: str,
    slope: float,
    rise: float,
    walk: float,
) -> Candidate:
    used: dict[str, list[str]] = {}
    for piece in pieces:
        used.setdefault(piece.catalogue_id, []).append(piece.id)
    for leg in legs:
        for part in (leg.leg_type, leg.foot, *([leg.brace] if leg.brace else [])):
            used.setdefault(part, []).append(leg.id)
    for rail in rails:
        used.setdefault(rail.catalogue_id, []).append(rail.id)
    lines, weight = [], 0.0
    for part_id, items in used.items():
        part = case.catalogue.part(part_id)
        unit = part.price_cents + _cents(part.labour_min * case.rates.labour_per_hour_cents / 60.0)
        weight += part.weight_kg * len(items)
        lines.append(
            PriceLine(
                group="direct",
                part=part_id,
                name=part.name,
                count=len(items),
                unit_cents=unit,
                total_cents=unit * len(items),
                items=tuple(items),
            )
        )
    direct = sum(line.total_cents for line in lines)
    delivery = 12000 + _cents(round(weight, 6) * 37)
    overhead = _cents(round((direct + delivery) * 0.125, 6))
    tax = _cents(round((direct + delivery + overhead) * 0.077, 6))
    for word, cents in (("delivery", delivery), ("overhead", overhead), ("tax", tax)):
        lines.append(
            PriceLine(
                group="added", part=word, name=word, count=1, unit_cents=cents, total_cents=cents, items=()
            )
        )
    area = 0.0
    for piece in pieces:
        if piece.kind in ("landing", "section", "transition_plate"):
            a, b, _, d = (np.array(corner[:2]) for corner in piece.corners_m)
            area += float(np.linalg.norm(b - a) * np.linalg.norm(d - a))
    half = any(use.startswith("half") for use in turns)
    bent = any(use in ("left", "right") for use in turns)
    return Candidate(
        name="A",
        shape="switchback" if half else "L" if bent else "straight",
        start="front door",
        exit=leave,
        turns=turns,
        proof="none",
        bound_cents=direct,
        direct_cost_cents=direct,
        price_cents=direct + delivery + overhead + tax,
        price_lines=tuple(lines),
        walking_length_m=walk,
        footprint_m2=area,
        weight_kg=weight,
        rise_m=rise,
        steepest_slope=slope,
        closing="as built",
        pieces=tuple(pieces),
        legs=tuple(legs),
        rails=tuple(rails),
        toe=toe,
        findings=(),
        fit_chance=None,
    )
