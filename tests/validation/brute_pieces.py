"""Whether one landing or run may stand where it is, on what legs, with what rails.

Written from DEVELOPERS.md, 'The discrete problem' ('Surfaces', 'Supports', 'Rails'); shares nothing
with the search but the data classes.  Nothing here knows of other pieces of the layout, so an
answer worked out once for a place is kept.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

from optimizer.catalogue.parts import Landing, Section, TransitionPlate
from tests.validation.brute_geometry import E, Plane, Pose, Rect, shrunk
from tests.validation.brute_laws import Stretch
from tests.validation.brute_layout import Sum
from tests.validation.brute_parts import RunChoice, SupportType, UsableParts
from tests.validation.brute_surroundings import Surroundings


@dataclass(frozen=True, slots=True)
class LaidPlate:
    """A transition plate with what it descends over its plan length."""

    part: TransitionPlate
    stretch: Stretch


class Pieces:
    """Landings and runs of one start, each by itself."""

    def __init__(self, parts: UsableParts, yard: Surroundings) -> None:
        self.parts, self.yard, self.site = parts, yard, parts.site
        self.catalogue = parts.site.catalogue
        self._runs: dict[object, Sum | None] = {}
        self._landings: dict[object, Sum | None] = {}

    # Runs

    def run_rect(self, pose: Pose, run: RunChoice) -> Rect:
        """The plan rectangle of a run's sections."""
        return pose.rect(0, run.plan, -self.parts.width / 2, self.parts.width / 2)

    def run_stands(self, pose: Pose, z: float, run: RunChoice, clearance: float) -> Sum | None:
        """Sections and supports between the ends of a run; None when it may not be there.

        ``clearance`` is what its last section keeps from the cover.
        """
        key = pose.key, round(z, 9), run.index, clearance
        if key not in self._runs:
            self._runs[key] = self._run_stands(pose, z, run, clearance)
        return self._runs[key]

    def _run_stands(self, pose: Pose, z: float, run: RunChoice, clearance: float) -> Sum | None:
        half, deck = self.parts.width / 2, pose.plane(z, run.slope)
        if not self.yard.is_free(shrunk(self.run_rect(pose, run), E)):
            return None
        total, upper = Sum(0), 0.0
        for section, lower in zip(run.sections, run.ends, strict=True):
            is_last = section is run.sections[-1] and lower == run.ends[-1]
            inner = shrunk(pose.rect(run.along(upper), run.along(lower), -half, half), E)
            under = deck[0], deck[1], deck[2] - section.frame_depth_m
            needed = clearance if is_last else self.catalogue.clearance_m
            if not (self.yard.has_headroom(inner, deck) and self._is_clear(inner, under, needed)):
                return None
            places = [upper + along for along in section.mid_supports_m] + ([] if is_last else [lower])
            for place in places:
                pair = self.pair(pose, z, run, place, section, (*section.legs, *section.low_supports))
                if pair is None:
                    return None
                total += pair
            total += Sum(self.parts.cents(section))
            upper = lower
        return total

    def pair(
        self, pose: Pose, z: float, run: RunChoice, surface: float, section: Section, names: Iterable[str]
    ) -> Sum | None:
        """Two supports under a section at a surface distance from the run's upper end."""
        under = z - run.lower(surface) - section.frame_depth_m
        total = Sum(0)
        for side in (-1, 1):
            choice = []
            for kind in self.parts.types(names):
                lateral = side * (self.parts.width / 2 + kind.offset_m)
                choice.append((kind, *pose.at(run.along(surface), lateral)))
            one = self._cheapest_support(choice, under)
            if one is None:
                return None
            total += one
        return total

    def run_rails(
        self,
        pose: Pose,
        z: float,
        run: RunChoice,
        turns: int,
        plate: LaidPlate | None,
    ) -> Sum:
        """Rails of a run that ends on a landing, or on a ``plate`` with what that descends."""
        design = self.parts.design
        part = [Stretch(run.drop, run.plan), *([] if plate is None else [plate.stretch])]
        is_steep = any(one.rise > design.rails_slope * one.plan + E for one in part)
        is_long_way = sum(one.rise for one in part) > design.rails_rise_m + E
        above = min(self.site.wishes.guard_above_m, design.rails_drop_m, design.guard_drop_m)
        whole = pose.rect(0, sum(one.plan for one in part), -self.parts.width / 2, self.parts.width / 2)
        is_high = z - self.yard.lowest_near(whole) > above + E
        if not (is_high or is_steep or is_long_way):
            return Sum(0)
        posts, ends = 2 * (len(run.sections) + 1), 4 - turns
        panels = [self.parts.named(section.rail_panel) for section in run.sections]
        panels += [] if plate is None else [self.parts.named(plate.part.rail_panel)]
        cents = 2 * sum(panels) + posts * self.parts.cents(self.parts.post)
        cents += ends * self.parts.cents(self.parts.rail_end)
        return Sum(cents, rails=2 * len(panels) + posts + ends)

    # Landings

    def landing_rect(self, landing: Landing, pose: Pose) -> Rect:
        """The plan rectangle of a landing whose entry edge is centred on the pose."""
        return pose.rect(0, landing.length_m, -landing.width_m / 2, landing.width_m / 2)

    def landing_stands(self, landing: Landing, pose: Pose, z: float, use: str) -> Sum | None:
        """A landing and its supports, entry edge centred on the pose; None when it may not be there."""
        key = landing.id, pose.key, round(z, 9), use
        if key not in self._landings:
            self._landings[key] = self._landing_stands(landing, pose, z, use)
        return self._landings[key]

    def _landing_stands(self, landing: Landing, pose: Pose, z: float, use: str) -> Sum | None:
        inner = shrunk(self.landing_rect(landing, pose), E)
        under = z - landing.frame_depth_m
        if not (self.yard.is_free(inner) and self.yard.has_headroom(inner, (0.0, 0.0, z))):
            return None
        if not self._is_clear(inner, (0.0, 0.0, under), self.catalogue.clearance_m):
            return None
        inset, half = landing.leg_inset_m, landing.width_m / 2
        laterals = (inset - half, half - inset) if use != "half" else (inset - half, 0.0, half - inset)
        total = Sum(self.parts.cents(landing))
        for t, lateral in product((inset, landing.length_m - inset), laterals):
            point = pose.at(t, lateral)
            one = self._cheapest_support([(kind, *point) for kind in self.parts.types(landing.legs)], under)
            if one is None:
                return None
            total += one
        return total

    def landing_rails(
        self,
        landing: Landing,
        pose: Pose,
        z: float,
        wall: str | None,
        runs: tuple[str, ...],
        shared: str | None,
    ) -> Sum:
        """Rails of a landing, edge by edge: the ``wall`` edge, edges with ``runs``, one ``shared`` by two."""
        lowest = self.yard.lowest_near(self.landing_rect(landing, pose))
        design = self.parts.design
        above = min(self.site.wishes.rail_landings_above_m, design.guard_drop_m, design.rails_rise_m)
        if z - lowest <= above + E:
            return Sum(0)
        chosen: list[str | None] = []
        for edge in ("start", "end", "left", "right"):
            is_across = edge in {"start", "end"}
            size = landing.width_m if is_across else landing.length_m
            if edge == wall:
                continue
            if edge == shared:
                chosen.append(landing.rail_inner_loop)
            elif edge in runs:
                chosen += [landing.rail_infill] if size - self.parts.width > 0.1 + E else []
            else:
                chosen.append(landing.rail_width_edge if is_across else landing.rail_length_edge)
        if None in chosen:
            raise ValueError(f"half landing {landing.id} has no inner loop")
        return Sum(sum(self.parts.named(part) for part in chosen if part is not None), rails=len(chosen))

    # Both

    def _cheapest_support(self, choice: list[tuple[SupportType, float, float]], under: float) -> Sum | None:
        """The cheapest support that is allowed and fits; None when there is none."""
        best: Sum | None = None
        for kind, u, v in choice:
            ground = self.yard.stands_on(u, v, kind.reach_m)
            height = under - (ground - self.site.bedding_m)
            if math.isnan(height) or not kind.low_m - E <= height <= kind.high_m + E:
                continue
            is_braced = height > kind.brace_above_m + E
            cents = kind.cents + (kind.brace_cents if is_braced else 0)
            if best is None or cents < best.cents:
                best = Sum(cents, int(kind.is_leg), int(not kind.is_leg), int(is_braced))
        return best

    def _is_clear(self, inner: Rect, under: Plane, needed: float) -> bool:
        return self.yard.is_above_ground(inner, under, needed) and self.yard.is_above_obstacles(
            inner, under, needed
        )
