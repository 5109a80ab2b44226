"""What work, delivery, overhead and tax cost: dated rates in whole cents."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from optimizer.catalogue.parts import Part


@dataclass(frozen=True, slots=True)
class Rates:
    """Rates of one firm on one day.  Percentages are plain numbers (7.5 means 7.5 %)."""

    id: str
    currency: str
    dated: datetime.date
    version: str
    labour_per_hour_cents: int
    delivery_flat_cents: int
    delivery_per_kg_cents: int
    overhead_percent: float
    tax_percent: float


def part_cost_cents(part: Part, rates: Rates) -> int:
    """Price of one part and the labour to fit it, in whole cents.

    Labour is rounded once per part, half up: ``floor(minutes * hourly / 60 + 1/2)``.
    """
    return part.price_cents + int(part.labour_min * rates.labour_per_hour_cents / 60.0 + 0.5)
