"""'Parts that may be used' and 'Slopes' of the discrete problem, word for word.

Written from DEVELOPERS.md alone; shares nothing with the search but the data classes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, LandingUse, Leg, LowSupport, Part, Section
from optimizer.rulebook.rules import Quantity
from tests.validation.brute_geometry import E

P = TypeVar("P", bound=Part)


@dataclass(frozen=True, slots=True)
class SupportType:
    """One leg or low support with its foot, costs and fitting range worked out."""

    id: str
    is_leg: bool
    low_m: float
    high_m: float
    brace_above_m: float
    offset_m: float
    reach_m: float
    cents: int
    brace_cents: int


@dataclass(frozen=True, slots=True)
class RunChoice:
    """Sections in order at one level: what a run may be, wherever it lies."""

    index: int
    sections: tuple[Section, ...]
    level: int
    surface: float
    drop: float
    plan: float

    @property
    def slope(self) -> float:
        """Drop over plan length."""
        return self.drop / self.plan

    @property
    def ends(self) -> tuple[float, ...]:
        """Surface distance of every section's lower end from the upper end of the run."""
        far, found = 0.0, []
        for section in self.sections:
            far += section.pitch_m
            found.append(far)
        return tuple(found)

    def along(self, surface: float) -> float:
        """Plan distance of a point on the surface."""
        return surface * self.plan / self.surface

    def lower(self, surface: float) -> float:
        """How far a point on the surface lies below the upper end."""
        return surface * self.drop / self.surface


class UsableParts:
    """Parts, slopes and limits of one site."""

    def __init__(self, site: Site) -> None:
        self.site = site
        catalogue, mass = site.catalogue, site.rider.total_mass_kg
        clear = max(self.limit("clear_width", 0.0), site.wishes.clear_width_m or 0.0)
        wide_enough = [
            s for s in catalogue.sections if s.rated_load_kg >= mass and s.clear_width_m >= clear - E
        ]
        self.width = min((s.overall_width_m for s in wide_enough), default=math.inf)
        self.sections = tuple(s for s in wide_enough if s.overall_width_m <= self.width + E)
        w, gap = self.width, catalogue.piece_gap_m
        length, across, turning = (
            self.limit("landing_length", 0.0),
            self.limit("landing_width", 0.0),
            self.limit("landing_turn", 0.0),
        )
        least = max(length, across, turning, clear)

        def suits(landing: Landing, use: LandingUse) -> bool:
            if use not in landing.uses or landing.rated_load_kg < mass:
                return False
            if use == "straight":
                clear_enough = (
                    landing.clear_length_m >= length - E and landing.clear_width_m >= max(across, clear) - E
                )
            else:
                clear_enough = min(landing.clear_length_m, landing.clear_width_m) >= least - E
            if use == "half":
                return clear_enough and landing.width_m >= 2 * w + gap - E
            if use == "straight":
                return clear_enough and landing.width_m >= w - E
            return clear_enough and min(landing.width_m, landing.length_m) >= w - E

        uses: tuple[LandingUse, ...] = ("door", "straight", "quarter", "half")
        self.landings = {use: tuple(ld for ld in catalogue.landings if suits(ld, use)) for use in uses}
        self.plates = tuple(
            p for p in catalogue.transition_plates if p.rated_load_kg >= mass and p.width_m >= w - E
        )
        self.bottom_length = length if length > 0 else 1.2
        self.bottom_width = max(w, turning)
        self.pad = self.cheapest(
            p
            for p in catalogue.bottom_pads
            if p.length_m >= self.bottom_length - E and p.width_m >= self.bottom_width - E
        )
        self.thresholds = tuple(p for p in catalogue.threshold_plates if p.rated_load_kg >= mass)
        self.post = catalogue.rail_posts[0] if catalogue.rail_posts else None
        extension = self.limit("handrail_extension", 0.0)
        self.rail_end = next((x for x in catalogue.rail_ends if x.extension_m >= extension - E), None)
        self.supports = {s.id: s for s in self._support_types(mass)}
        steepest = site.wishes.steepest
        self.s_max = min(self.limit("running_slope", math.inf), math.inf if steepest is None else steepest)
        q_max = self.s_max / math.sqrt(1 + self.s_max**2)
        levels, share = site.search.slope_levels, site.search.flattest_share
        self.sines = tuple(
            q_max * (1 - (1 - share) * k / (levels - 1)) if levels > 1 else q_max for k in range(levels)
        )
        self.runs = tuple(self._run_choices())

    def limit(self, quantity: Quantity, otherwise: float) -> float:
        """Limit in SI of the rule set, or what holds where there is none."""
        found = self.site.rules.limit(quantity)
        return otherwise if found is None else found.value_si

    def obeys_run_limits(self, drop: float, length: float) -> bool:
        """Rise and plan length of one run (the last with its plate) against rules and wish."""
        between_rests = self.site.wishes.longest_between_rests_m
        return (
            drop <= self.limit("rise_per_run", math.inf) + E
            and length <= self.limit("length_per_run", math.inf) + E
            and (between_rests is None or length <= between_rests + E)
        )

    def most_runs(self, z0: float, highest: float) -> int:
        """The site's number of runs, or the page's own."""
        if self.site.search.most_runs is not None:
            return self.site.search.most_runs
        rise = self.site.rules.limit("rise_per_run")
        needed = 1 if rise is None else math.ceil((z0 - highest - E) / rise.value_si)
        return max(4, needed + 2)

    def cents(self, part: Part | None) -> int:
        """Price plus labour, labour rounded half up once per part; exact decimal arithmetic."""
        if part is None:
            raise ValueError("a part that the layout needs is not in the catalogue")
        labour = Decimal(repr(part.labour_min)) * self.site.rates.labour_per_hour_cents / 60
        return part.price_cents + math.floor(labour + Decimal("0.5"))

    def named(self, part_id: str) -> int:
        """Cost of the part with this id."""
        return self.cents(self.site.catalogue.part(part_id))

    def cheapest(self, choice: Iterable[P]) -> P | None:
        """The cheapest of some parts, first on ties."""
        return min(choice, key=self.cents, default=None)

    def types(self, names: Iterable[str]) -> tuple[SupportType, ...]:
        """Usable support types among ``names``, in catalogue order, legs first."""
        wanted = set(names)
        return tuple(kind for kind in self.supports.values() if kind.id in wanted)

    def _section_rows(self, row: tuple[Section, ...], surface: float) -> Iterator[tuple[Section, ...]]:
        """Every sequence of sections that is not too long and begins with ``row``."""
        for section in self.sections:
            if surface + section.pitch_m <= self.site.search.longest_run_m + E:
                longer = (*row, section)
                yield longer
                yield from self._section_rows(longer, surface + section.pitch_m)

    def _run_choices(self) -> Iterator[RunChoice]:
        step, index = self.site.search.height_step_m, 0
        for row in self._section_rows((), 0.0):
            surface = sum(section.pitch_m for section in row)
            dropped: set[int] = set()
            for level, sine in enumerate(self.sines):
                steps = math.floor(surface * sine / step + 1e-9)
                if steps == 0 or steps in dropped:
                    continue
                dropped.add(steps)
                drop = step * steps
                yield RunChoice(index, row, level, surface, drop, math.sqrt(surface**2 - drop**2))
                index += 1

    def _support_types(self, mass: float) -> Iterator[SupportType]:
        feet = {foot.id: foot for foot in self.site.catalogue.feet}
        kinds: tuple[Leg | LowSupport, ...] = (*self.site.catalogue.legs, *self.site.catalogue.low_supports)
        for kind in kinds:
            if kind.rated_load_kg < mass:
                continue
            foot = feet[kind.foot]
            kept = self.site.wishes.survey_error_m + (kind.reserve_m if isinstance(kind, Leg) else 0.0)
            yield SupportType(
                id=kind.id,
                is_leg=isinstance(kind, Leg),
                low_m=kind.min_m + kept,
                high_m=kind.max_m - kept,
                brace_above_m=kind.brace_above_m if isinstance(kind, Leg) else math.inf,
                offset_m=kind.lateral_offset_m,
                reach_m=foot.plate_m / math.sqrt(2) + foot.edge_distance_m,
                cents=self.cents(kind) + self.cents(foot),
                brace_cents=self.named(kind.brace) if isinstance(kind, Leg) else 0,
            )
