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
from optimizer.rulebook.design_limits import LandingNeed
from optimizer.terrain.yard import Start
from tests.validation.brute_geometry import E
from tests.validation.brute_laws import Laws, Stretch

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
    """Parts, slopes and limits of one start."""

    def __init__(self, site: Site, start: Start) -> None:
        self.site, self.design, self.laws = site, site.design_of(start), Laws(site, start)
        design = self.design
        catalogue, mass = site.catalogue, site.rider.total_mass_kg
        clear = max(design.clear_width_m, site.wishes.clear_width_m or 0.0)
        wide_enough = [
            s for s in catalogue.sections if s.rated_load_kg >= mass and s.clear_width_m >= clear - E
        ]
        self.width = min((s.overall_width_m for s in wide_enough), default=math.inf)
        self.sections = tuple(s for s in wide_enough if s.overall_width_m <= self.width + E)
        w, gap = self.width, catalogue.piece_gap_m

        def suits(landing: Landing, use: LandingUse, need: LandingNeed) -> bool:
            if use not in landing.uses or landing.rated_load_kg < mass:
                return False
            along = need.length_m if use == "straight" else max(need.length_m, clear)
            clear_enough = (
                landing.clear_length_m >= along - E and landing.clear_width_m >= max(need.width_m, clear) - E
            )
            if use == "half":
                return clear_enough and landing.width_m >= 2 * w + gap - E
            if use == "straight":
                return clear_enough and landing.width_m >= w - E
            return clear_enough and min(landing.width_m, landing.length_m) >= w - E

        def all_that_suit(use: LandingUse, need: LandingNeed) -> tuple[Landing, ...]:
            return tuple(landing for landing in catalogue.landings if suits(landing, use, need))

        self.landings: dict[LandingUse, tuple[Landing, ...]] = {
            "straight": all_that_suit("straight", design.landing_straight),
            "quarter": all_that_suit("quarter", design.landing_quarter),
            "half": all_that_suit("half", design.landing_half),
        }
        sideways = all_that_suit("door", design.landing_door_turn)
        self.at_door = {
            "front": all_that_suit("door", design.landing_door), "left": sideways, "right": sideways,
        }  # fmt: skip
        self.plates = tuple(
            p for p in catalogue.transition_plates if p.rated_load_kg >= mass and p.width_m >= w - E
        )
        self.bottom_length = design.bottom.length_m
        self.bottom_width = max(w, design.bottom.width_m)
        self.pad = self.cheapest(
            p
            for p in catalogue.bottom_pads
            if p.length_m >= self.bottom_length - E and p.width_m >= self.bottom_width - E
        )
        self.thresholds = tuple(p for p in catalogue.threshold_plates if p.rated_load_kg >= mass)
        self.post = catalogue.rail_posts[0] if catalogue.rail_posts else None
        self.rail_end = next(
            (x for x in catalogue.rail_ends if x.extension_m >= design.rail_extension_m - E), None
        )
        self.supports = {s.id: s for s in self._support_types(mass)}
        self.foot_room = max((s.offset_m + s.reach_m for s in self.supports.values()), default=0.0)
        steepest = site.wishes.steepest
        self.s_max = design.steepest if steepest is None else min(design.steepest, steepest)
        self.q_max = self.s_max / math.sqrt(1 + self.s_max**2)
        levels, flattest = site.search.slope_levels, site.search.flattest_share
        self.shares = tuple(
            1 - (1 - flattest) * k / (levels - 1) if levels > 1 else 1.0 for k in range(levels)
        )
        self.runs = tuple(self._run_choices())

    def most_runs(self, z0: float, highest: float) -> int:
        """The site's number of runs, or the page's own."""
        if self.site.search.most_runs is not None:
            return self.site.search.most_runs
        most = self.design.rise_per_run_m
        if not self.laws.are_plain:
            most = min(most, max((run.drop for run in self.runs), default=math.inf))
        needed = 1 if math.isinf(most) else math.ceil((z0 - highest - E) / most)
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
            shared = self.laws.greatest_drop(surface, step, self.q_max)
            for level, share in enumerate(self.shares):
                steps = math.floor(share * shared / step + 1e-9)
                if steps == 0 or steps in dropped:
                    continue
                dropped.add(steps)
                drop = step * steps
                plan = math.sqrt(surface**2 - drop**2)
                if self.laws.allow(Stretch(drop, plan)):
                    yield RunChoice(index, row, level, surface, drop, plan)
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
