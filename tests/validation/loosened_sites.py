"""The small yards with one rule left out, as far as that can be said in a site's data.

Validates nothing by itself; test_brute_force_agrees.py uses it.  Source: the rules of our own page
(DEVELOPERS.md, 'The discrete problem').
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from optimizer.brief.site import SearchSettings, Site
from optimizer.catalogue.parts import Catalogue, Foot, Leg
from optimizer.rulebook.rules import Quantity
from optimizer.terrain.yard import OVERHEAD, PIECE_BLOCKING, Obstacle, ZoneKind
from tests.validation.small_yards import Side, build_own_limits, with_rules


def without_limit(quantity: Quantity) -> Callable[[Site], Site]:
    """The site under the same rules less one."""

    def looser(site: Site) -> Site:
        limits = tuple(limit for limit in site.rulings.sets[0].rules.limits if limit.quantity != quantity)
        return with_rules(site, replace(site.rulings.sets[0].rules, limits=limits))

    return looser


def without_zones(kinds: frozenset[ZoneKind]) -> Callable[[Site], Site]:
    """The site without zones of these kinds."""

    def looser(site: Site) -> Site:
        zones = tuple(zone for zone in site.yard.zones if zone.kind not in kinds)
        return replace(site, yard=replace(site.yard, zones=zones))

    return looser


def without_obstacles(is_gone: Callable[[Obstacle], bool]) -> Callable[[Site], Site]:
    """The site without some obstacles."""

    def looser(site: Site) -> Site:
        obstacles = tuple(one for one in site.yard.obstacles if not is_gone(one))
        return replace(site, yard=replace(site.yard, obstacles=obstacles))

    return looser


def with_yard(**changes: object) -> Callable[[Site], Site]:
    """The site with another yard."""
    return lambda site: replace(site, yard=replace(site.yard, **changes))  # type: ignore[arg-type]


def with_wishes(**changes: object) -> Callable[[Site], Site]:
    """The site with other wishes."""
    return lambda site: replace(site, wishes=replace(site.wishes, **changes))  # type: ignore[arg-type]


def with_search(change: Callable[[SearchSettings], SearchSettings]) -> Callable[[Site], Site]:
    """The site with other choices to make."""
    return lambda site: replace(site, search=change(site.search))


def with_parts(change: Callable[[Catalogue], Catalogue]) -> Callable[[Site], Site]:
    """The site with another catalogue."""
    return lambda site: replace(site, catalogue=change(site.catalogue))


def with_legs(change: Callable[[Leg], Leg]) -> Callable[[Site], Site]:
    """The site with other legs."""
    return with_parts(lambda parts: replace(parts, legs=tuple(change(leg) for leg in parts.legs)))


def with_feet(change: Callable[[Foot], Foot]) -> Callable[[Site], Site]:
    """The site with other feet."""
    return with_parts(lambda parts: replace(parts, feet=tuple(change(foot) for foot in parts.feet)))


ALL_EXITS: tuple[Side, ...] = ("front", "left", "right")

#: What the site becomes when one rule is left out, as far as that can be said in its data.
WITHOUT: dict[str, Callable[[Site], Site]] = {
    "rise of a run": without_limit("rise_per_run"),
    "length of a run": without_limit("length_per_run"),
    "rails by rise": without_limit("handrail_rise"),
    "zones without feet": without_zones(frozenset({"no_foot"})),
    "zones without pieces": without_zones(PIECE_BLOCKING),
    "headroom": without_zones(OVERHEAD),
    "zones without digging": without_zones(frozenset({"drip_line"})),
    "endless obstacles": without_obstacles(lambda one: one.top_m is None),
    "obstacles with tops": without_obstacles(lambda one: one.top_m is not None and not one.may_stand),
    "setback": with_yard(setback_m=0.0),
    "arrival zones": with_yard(arrivals_m=()),
    "exits": with_wishes(exits=ALL_EXITS),
    "most turns": with_wishes(most_turns=None),
    "rails by height": with_wishes(guard_above_m=99.0),
    "landing rails": with_wishes(rail_landings_above_m=99.0),
    "clearance": with_parts(lambda parts: replace(parts, clearance_m=0.0)),
    "gap between pieces": with_parts(lambda parts: replace(parts, piece_gap_m=0.0)),
    "reserve of legs": with_legs(lambda leg: replace(leg, reserve_m=0.0)),
    "gap between legs": with_legs(lambda leg: replace(leg, max_m=leg.max_m + 0.3)),
    "rating of legs": with_legs(lambda leg: replace(leg, rated_load_kg=999.0)),
    "edge distance of feet": with_feet(lambda foot: replace(foot, edge_distance_m=0.0)),
    "break lines": lambda site: replace(site, ground=replace(site.ground, break_lines=())),
    "mid supports": with_parts(
        lambda parts: replace(
            parts, sections=tuple(replace(section, mid_supports_m=()) for section in parts.sections)
        )
    ),
    "level bottom": lambda site: with_rules(
        site,
        replace(
            site.rulings.sets[0].rules,
            limits=(
                *build_own_limits(landing_slope=1.0).limits,
                *(limit for limit in site.rulings.sets[0].rules.limits if limit.quantity != "landing_slope"),
            ),
        ),
    ),
    "depth of pads": with_parts(
        lambda parts: replace(
            parts,
            bottom_pads=tuple(replace(pad, greatest_level_difference_m=9.0) for pad in parts.bottom_pads),
        )
    ),
    "longest run": with_search(lambda search: replace(search, longest_run_m=search.longest_run_m + 1.0)),
    "number of runs": with_search(lambda search: replace(search, most_runs=3)),
    "price of relief": with_yard(relief_cents=0),
    "equal slopes": with_wishes(slopes="free"),
    "way between rests": with_wishes(longest_between_rests_m=None),
    "survey error": with_wishes(survey_error_m=0.0),
    "places to pass": with_wishes(must_pass_m=()),
    "places of landings": with_wishes(landing_at_m=()),
}
