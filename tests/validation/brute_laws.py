"""'What binds' of the discrete problem: which runs the laws of a start allow.

Written from DEVELOPERS.md alone; shares nothing with the search but the data classes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.brief.site import Site
from optimizer.rulebook.run_law import Allowance, RunLaw
from optimizer.terrain.yard import Start
from tests.validation.brute_geometry import E


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of a run, or all of it: what it descends over its plan length."""

    rise: float
    plan: float


class Laws:
    """The laws of one start, with the wish about walks between landings."""

    def __init__(self, site: Site, start: Start) -> None:
        self.laws = site.design_of(start).laws
        self.between_rests = site.wishes.longest_between_rests_m

    @property
    def are_plain(self) -> bool:
        """Whether each has one allowance with one slope."""
        return all(len(law.allowances) == 1 for law in self.laws) and all(
            one.slope_at_above == one.slope_at_longest for law in self.laws for one in law.allowances
        )

    def allow(self, run: Stretch) -> bool:
        """Whether a run is allowed."""
        if self.between_rests is not None and run.plan > self.between_rests + E:
            return False
        return all(any(_has_room(one, run) for one in law.allowances) for law in self.laws)

    def allow_last(self, sections: Stretch, plate: Stretch) -> bool:
        """Whether a last run is allowed: its sections, its plate, both together, and either slope."""
        whole = Stretch(sections.rise + plate.rise, sections.plan + plate.plan)
        return all(self.allow(part) for part in (sections, plate, whole)) and all(
            part.rise <= _steepest_for(law, whole) * part.plan + E
            for law in self.laws
            for part in (sections, plate)
        )

    def greatest_drop(self, surface: float, step: float, q_max: float) -> float:
        """``T(S)`` of the page: the drop that the levels of a surface length share."""
        if self.are_plain:
            return surface * q_max
        steps = math.floor(surface * q_max / step + 1e-9)
        if steps > 0 and self.allow(_sloping(surface, steps * step)):
            return surface * q_max
        return next(
            (
                fewer * step
                for fewer in range(steps - 1, 0, -1)
                if self.allow(_sloping(surface, fewer * step))
            ),
            0.0,
        )


def _sloping(surface: float, drop: float) -> Stretch:
    return Stretch(drop, math.sqrt(surface**2 - drop**2))


def _slope_of(one: Allowance, plan: float) -> float:
    """The steepest slope of an allowance at a plan length."""
    first, last = one.slope_at_above, one.slope_at_longest
    if first == last or math.isinf(one.longest_m):
        return last
    inside = min(max(plan, one.above_m), one.longest_m)
    before, behind = inside - one.above_m, one.longest_m - inside
    if one.between == "ratio":
        return (first * behind + last * before) / (before + behind)
    return (before + behind) / (behind / first + before / last)


def _has_room(one: Allowance, run: Stretch) -> bool:
    if not one.above_m - E < run.plan <= one.longest_m + E or run.rise > one.greatest_rise_m + E:
        return False
    greatest = _slope_of(one, run.plan) * run.plan
    return run.rise < greatest - E if one.is_strict else run.rise <= greatest + E


def _steepest_for(law: RunLaw, whole: Stretch) -> float:
    """The steepest slope of the allowances for runs of such a rise and length."""

    def slopes() -> Iterator[float]:
        for one in law.allowances:
            is_for_length = one.above_m - E < whole.plan <= one.longest_m + E
            if is_for_length and one.greatest_rise_m >= whole.rise - E:
                yield from (one.slope_at_above, one.slope_at_longest)

    return max(slopes(), default=0.0)
