"""A price band by the metre and by the landing, from one catalogue and its rates.

A band, not a price: the low figure takes the cheapest parts that are wide enough and the
shortest supports, the high figure the dearest of everything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from optimizer.catalogue.parts import Catalogue, Landing, Part, Section
from optimizer.catalogue.rates import Rates, part_cost_cents
from optimizer.errors import Fault, InputError
from optimizer.rough.question import RoughLimits
from optimizer.rough.shapes import RoughShape
from optimizer.units import is_at_least, round_half_up

#: Edges of a landing with a rail: one where runs take two and the house a third, else three.
LANDING_RAILS_LOW: Final = 1
LANDING_RAILS_HIGH: Final = 3
LANDING_LEGS: Final = 4
#: Rail ends of one run; further runs share what little this adds.
RAIL_ENDS: Final = 4


@dataclass(frozen=True, slots=True)
class Figures:
    """Cents, with delivery by weight, overhead and tax, of a metre of run (surface), of a
    landing, and of what every ramp has once.
    """

    run_per_m_cents: float
    landing_cents: float
    once_cents: float


@dataclass(frozen=True, slots=True)
class PriceBand:
    """Low and high figures and where they come from."""

    label: str
    currency: str
    low: Figures
    high: Figures


@dataclass(frozen=True, slots=True)
class PriceRange:
    """Whole cents."""

    low_cents: int
    high_cents: int


@dataclass(frozen=True, slots=True)
class _End:
    """One end of the band: ``pick`` is ``min`` or ``max``."""

    catalogue: Catalogue
    rates: Rates
    pick: Callable[[Iterable[float]], float]
    landing_rails: int

    def figures(self, sections: Iterable[Section], landings: Iterable[Landing]) -> Figures:
        return Figures(
            run_per_m_cents=self.pick([self._section(one) / one.pitch_m for one in sections]),
            landing_cents=self.pick([self._landing(one) for one in landings]),
            once_cents=self._once(),
        )

    def _cost(self, part: Part) -> float:
        rates = self.rates
        direct_cents = part_cost_cents(part, rates) + rates.delivery_per_kg_cents * part.weight_kg
        return self._with_additions(direct_cents)

    def _with_additions(self, cents: float) -> float:
        return cents * (1.0 + self.rates.overhead_percent / 100.0) * (1.0 + self.rates.tax_percent / 100.0)

    def _cost_of(self, part_id: str) -> float:
        return self._cost(self.catalogue.part(part_id))

    def _support(self, leg_ids: Iterable[str]) -> float:
        """A leg with its foot, bare at the low end and braced at the high one."""
        legs = [leg for leg in self.catalogue.legs if leg.id in set(leg_ids)]
        bare = [self._cost(leg) + self._cost_of(leg.foot) for leg in legs]
        braced = [cents + self._cost_of(leg.brace) for cents, leg in zip(bare, legs, strict=True)]
        return self.pick([*bare, *braced])

    def _section(self, section: Section) -> float:
        pairs = 1 + len(section.mid_supports_m)
        rails = 2.0 * self._cost_of(section.rail_panel) + 2.0 * self._cost(self.catalogue.rail_posts[0])
        return self._cost(section) + 2.0 * pairs * self._support(section.legs) + rails

    def _landing(self, landing: Landing) -> float:
        rail = self.pick([self._cost_of(one) for one in (landing.rail_length_edge, landing.rail_width_edge)])
        return self._cost(landing) + LANDING_LEGS * self._support(landing.legs) + self.landing_rails * rail

    def _once(self) -> float:
        """Plates, rail ends, and a bottom pad at the high end alone."""
        catalogue = self.catalogue
        groups = (catalogue.threshold_plates, catalogue.transition_plates)
        plates = sum(self.pick([self._cost(one) for one in group]) for group in groups if group)
        ends = RAIL_ENDS * self._cost(catalogue.rail_ends[0])
        pad = self.pick([0.0, *(self._cost(one) for one in catalogue.bottom_pads)])
        return plates + ends + pad + self._with_additions(self.rates.delivery_flat_cents)


def build_price_band(catalogue: Catalogue, rates: Rates, limits: RoughLimits) -> PriceBand:
    """The band of a catalogue for runs as wide as ``limits`` ask; raises ``InputError``."""
    clear_width_m = limits.clear_width_m
    sections = [one for one in catalogue.sections if is_at_least(one.clear_width_m, clear_width_m)]
    landings = [one for one in catalogue.landings if is_at_least(one.clear_width_m, clear_width_m)]
    if not sections or not landings:
        raise InputError(
            Fault(
                f"catalogue {catalogue.id}",
                f"no section or no landing is {clear_width_m:.3f} m clear.",
                "Ask for less width or choose another catalogue.",
            )
        )
    return PriceBand(
        label=f'catalogue "{catalogue.name}", rates of {rates.dated.isoformat()}',
        currency=rates.currency,
        low=_End(catalogue, rates, min, LANDING_RAILS_LOW).figures(sections, landings),
        high=_End(catalogue, rates, max, LANDING_RAILS_HIGH).figures(sections, landings),
    )


def estimate_price(shape: RoughShape, band: PriceBand) -> PriceRange:
    """The band of one shape; the door landing counts as one, a half turn as two."""
    landings = shape.landings + 1 + (1 if shape.name.startswith("switchback") else 0)
    low_cents, high_cents = (
        one.once_cents + one.run_per_m_cents * shape.run_surface_m + one.landing_cents * landings
        for one in (band.low, band.high)
    )
    return PriceRange(round_half_up(low_cents), round_half_up(high_cents))
