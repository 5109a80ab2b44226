"""One wish changed step by step, the site solved anew for each: what a gentler slope costs, and the like."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

from optimizer.brief.site import Site
from optimizer.plan import Candidate, Plan
from optimizer.units import format_length

Subject = Literal["slope", "width", "threshold"]

#: Slopes asked of a ramp, the usual one first: common practice, no source; 1:12 is the steepest of ADA 405.2.
_SLOPES: Final = (12.0, 13.0, 14.0, 16.0, 18.0, 20.0)
#: More clear width than is asked now, and a threshold higher or lower: 2 in, 4 in and so on.
_WIDER_M: Final = (0.0, 0.0508, 0.1016, 0.1524, 0.2032, 0.3048)
_HIGHER_M: Final = (-0.1524, -0.0762, 0.0, 0.0762, 0.1524, 0.3048)


@dataclass(frozen=True, slots=True)
class StudyStep:
    """One step: what was asked, and the cheapest candidate then; ``None`` where there is no layout."""

    asked: str
    candidate: Candidate | None
    status: str


#: Makes the plan of a site.
Planner = Callable[[Site], Plan]


def study(site: Site, subject: Subject, make_plan: Planner) -> Iterator[StudyStep]:
    """Six steps, each as soon as it is solved."""
    for asked, changed in list_changes(site, subject):
        plan = make_plan(changed)
        cheapest = min(plan.candidates, key=lambda one: one.direct_cost_cents, default=None)
        yield StudyStep(asked, cheapest, plan.status)


def list_changes(site: Site, subject: Subject) -> tuple[tuple[str, Site], ...]:
    """What each step is called, and the site with it."""
    if subject == "slope":
        return tuple(
            (f"1:{run:g}", replace(site, wishes=replace(site.wishes, steepest=1.0 / run))) for run in _SLOPES
        )
    if subject == "width":
        now_m = site.wishes.clear_width_m or site.design_of(site.yard.starts[0]).clear_width_m
        return tuple(
            (
                _show(site, now_m + more_m),
                replace(site, wishes=replace(site.wishes, clear_width_m=now_m + more_m)),
            )
            for more_m in _WIDER_M
        )
    return tuple((_show_signed(site, more_m), _raise(site, more_m)) for more_m in _HIGHER_M)


def _raise(site: Site, more_m: float) -> Site:
    starts = tuple(replace(one, threshold_m=one.threshold_m + more_m) for one in site.yard.starts)
    return replace(site, yard=replace(site.yard, starts=starts))


def _show(site: Site, length_m: float) -> str:
    return format_length(length_m, site.display.system, site.display.step_m)


def _show_signed(site: Site, more_m: float) -> str:
    if more_m == 0.0:
        return "as it is"
    return f"{_show(site, abs(more_m))} {'higher' if more_m > 0.0 else 'lower'}"
