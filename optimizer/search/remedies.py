"""When nothing fits: single changes that would each do, every one of them solved."""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimizer.brief.site import Site
from optimizer.search.solve import solve_site
from optimizer.search.usable_parts import steepest_slope
from optimizer.units import Slope

#: Time allowed for trying one change, seconds.
TRY_FOR_S = 10.0
#: Slopes tried when the slope is in the way, run per unit of rise.
STEEPER = (10.0, 8.0, 6.0)


@dataclass(frozen=True, slots=True)
class Remedy:
    """A change that makes a layout possible, and what it says about the conflict."""

    reason: str
    change: str


def with_slope(site: Site, slope: float) -> Site:
    """The site with another limit on running slope; a trial, not a permission."""
    limits = tuple(
        replace(limit, value_si=max(limit.value_si, slope)) if limit.quantity == "running_slope" else limit
        for limit in site.rules.limits
    )
    return replace(
        site, rules=replace(site.rules, limits=limits), wishes=replace(site.wishes, steepest=slope)
    )


def list_trials(site: Site) -> tuple[tuple[Remedy, Site], ...]:
    """The changes worth trying, smallest first."""
    yard = site.yard
    trials: list[tuple[Remedy, Site]] = []
    if site.catalogue.stock:
        trials.append(
            (
                Remedy("The stock does not suffice.", "buying parts beyond the stock"),
                replace(site, catalogue=replace(site.catalogue, stock=())),
            )
        )
    if yard.arrivals_m:
        trials.append(
            (
                Remedy("No tip can lie in an arrival zone.", "landing outside the arrival zones"),
                replace(site, yard=replace(yard, arrivals_m=())),
            )
        )
    if yard.setback_m > 0:
        trials.append(
            (
                Remedy("The setback leaves too little of the lot.", "relief from the setback"),
                replace(site, yard=replace(yard, setback_m=0.0)),
            )
        )
    for obstacle in yard.obstacles:
        kept = tuple(other for other in yard.obstacles if other is not obstacle)
        trials.append(
            (
                Remedy(f"{obstacle.name} stands in the way.", f"moving {obstacle.name}"),
                replace(site, yard=replace(yard, obstacles=kept)),
            )
        )
    for zone in yard.zones:
        others = tuple(other for other in yard.zones if other is not zone)
        trials.append(
            (
                Remedy(f"The zone {zone.name} ({zone.kind}) is in the way.", f"a waiver for {zone.name}"),
                replace(site, yard=replace(yard, zones=others)),
            )
        )
    more = site.search.most_runs + 1
    trials.append(
        (
            Remedy(f"{more - 1} runs are too few.", f"a layout of {more} runs"),
            replace(site, search=replace(site.search, most_runs=more)),
        )
    )
    limit = steepest_slope(site)
    for run in STEEPER:
        if 1.0 / run > limit + 1e-12:
            trials.append(
                (
                    Remedy(
                        f"At most {Slope.from_ratio(limit)} the ramp is too long for the lot.",
                        f"a slope of 1:{run:g}, if the rules and the rider allow it",
                    ),
                    with_slope(site, 1.0 / run),
                )
            )
            break
    return tuple(trials)


def find_remedies(site: Site) -> tuple[Remedy, ...]:
    """Every single change tried that makes a layout possible."""
    found = []
    for remedy, changed in list_trials(site):
        quick = replace(changed, search=replace(changed.search, time_limit_s=TRY_FOR_S))
        if solve_site(quick).shown:
            found.append(remedy)
    return tuple(found)
