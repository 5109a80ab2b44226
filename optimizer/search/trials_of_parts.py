"""Trials of the catalogue: more stock, a taller leg, a leg for the heights that none reaches."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Leg
from optimizer.search.trial_records import Family, Trial
from optimizer.units import TOLERANCE_M, format_length

#: How much taller than the tallest leg, metres, smallest first.
TALLER_M: Final = (0.15, 0.3, 0.6)
MAKER: Final = "whoever supplies the parts"


def list_stock_trials(site: Site) -> tuple[Trial, ...]:
    """The site with every part of the catalogue at hand."""
    if not site.catalogue.stock:
        return ()
    # Parts that there are none of are left out of the search, and with them their width.
    return (
        Trial(
            "the stock",
            "The stock does not suffice.",
            "buying parts beyond the stock",
            "",
            "exchange",
            replace(site, catalogue=replace(site.catalogue, stock=())),
        ),
    )


def list_part_families(site: Site) -> tuple[Family, ...]:
    """More stock, taller legs, a leg for each gap between the ranges of the legs that carry the rider."""
    found = [Family((trial,), is_nested=True) for trial in list_stock_trials(site)]
    mass = site.rider.total_mass_kg
    legs = tuple(leg for leg in site.catalogue.in_stock().legs if leg.rated_load_kg >= mass)
    if not legs:
        return tuple(found)
    tallest = max(legs, key=lambda leg: leg.max_m)
    found.append(
        Family(
            tuple(
                Trial(
                    "the tallest leg",
                    f"No leg reaches higher than {_show(site, tallest.max_m)}.",
                    f"a leg to {_show(site, tallest.max_m + more_m)} (at the price of {tallest.name})",
                    MAKER,
                    "loosening",
                    _with_leg(site, replace(tallest, max_m=tallest.max_m + more_m)),
                )
                for more_m in TALLER_M
            ),
            is_nested=True,
        )
    )
    for low_m, high_m, upper in list_gaps(legs):
        trial = Trial(
            "the gap between two legs",
            f"No leg takes a height between {_show(site, low_m)} and {_show(site, high_m)}.",
            f"a leg for heights from {_show(site, low_m)} to {_show(site, high_m)} "
            f"(at the price of {upper.name})",
            MAKER,
            "loosening",
            _with_leg(site, replace(upper, min_m=low_m - upper.reserve_m)),
        )
        found.append(Family((trial,), is_nested=True))
    return tuple(found)


def list_gaps(legs: tuple[Leg, ...]) -> tuple[tuple[float, float, Leg], ...]:
    """Heights that no leg takes between two that some do, metres, each with the leg above it."""
    ranges = sorted(
        ((leg.min_m + leg.reserve_m, leg.max_m - leg.reserve_m, leg) for leg in legs), key=lambda row: row[:2]
    )
    gaps = []
    reached = ranges[0][1]
    for low, high, leg in ranges[1:]:
        if low > reached + TOLERANCE_M:
            gaps.append((reached, low, leg))
        reached = max(reached, high)
    return tuple(gaps)


def _with_leg(site: Site, leg: Leg) -> Site:
    legs = tuple(leg if other.id == leg.id else other for other in site.catalogue.legs)
    return replace(site, catalogue=replace(site.catalogue, legs=legs))


def _show(site: Site, length_m: float) -> str:
    return format_length(length_m, site.display.system, site.display.step_m)
