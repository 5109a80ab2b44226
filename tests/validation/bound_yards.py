"""Small yards under rules that one number cannot tell: slope by length, room at the door, landings by role.

Validates nothing by itself; test_bound_yards_agree.py compares the search with brute force on them.
Source: invented, but for the law 1:n with n = plan length in metres + 10 of ``build_law_yard``, which
follows the three points 2 m 1:12, 5 m 1:15, 10 m 1:20 of Approved Document M, volume 2, table 1.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from random import Random
from typing import Literal

from optimizer.brief.site import Site
from optimizer.rulebook.door_clearance import Approach, DoorClearance, DoorSide
from optimizer.rulebook.rules import Limit, Place, Quantity, RuleSet
from optimizer.rulebook.run_law import NO_END_M, Allowance, Between, RunLaw
from tests.validation.flat_site import flat_site
from tests.validation.small_yards import build_own_limits, build_small_yard, demo_catalogue, with_rules

Yard = int | str
INCH_M = 0.0254
#: Small yards on which the three named ones rest, and how high the door of the first lies, metres.
LAW_SEED, DOOR_SEED, TURN_SEED = 175, 96, 100
LAW_THRESHOLD_M = 0.25
LawKind = Literal["formula", "evenly", "steps", "strict", "by rise", "two tables"]
LAW_KINDS: tuple[LawKind, ...] = ("formula", "evenly", "steps", "strict", "by rise", "two tables")


def limit(quantity: Quantity, value: float, place: Place = "any") -> Limit:
    """A limit at a place."""
    return replace(build_own_limits(**{quantity: value}).limits[0], id=f"{quantity}.{place}", place=place)


def law_limit(name: str, law: RunLaw) -> Limit:
    """Slope by length or by rise."""
    first = law.allowances[0]
    return replace(limit("run_law", first.slope_at_longest), id=name, law=law)


def door_limit(row: DoorClearance) -> Limit:
    """A row of a door table."""
    base = limit("door_clearance", row.depth_m, "top")
    return replace(base, id=f"door.{row.approach}.{row.side}.{row.depth_m}", door=row)


def bound(site: Site, *limits: Limit) -> Site:
    """The site under these limits alone."""
    return with_rules(site, RuleSet("bound", "bound", "test", limits, (), "For a test."))


def allowance(
    above_m: float, longest_m: float, steep: float, flat: float, between: Between = "ratio"
) -> Allowance:
    """Runs of some lengths, from the slope of the shortest to that of the longest."""
    return Allowance(above_m, longest_m, NO_END_M, steep, flat, between, is_strict=False)


def build_law(kind: LawKind, c: float) -> tuple[Limit, ...]:
    """A law by kind; its steepest runs are 1:``c``."""
    steps = (
        allowance(0.0, 2.0, 1 / c, 1 / c),
        allowance(2.0, 3.2, 1 / (c + 1), 1 / (c + 1)),
        allowance(3.2, 10.0, 1 / (c + 2), 1 / (c + 2)),
    )
    match kind:
        case "formula":
            rows: tuple[Allowance, ...] = (allowance(0.0, 10.0, 1 / c, 1 / (c + 10), "run_per_rise"),)
        case "evenly":
            rows = (allowance(0.0, 8.0, 1 / c, 1 / (c + 5)),)
        case "steps":
            rows = (replace(steps[0], greatest_rise_m=0.25), *steps[1:])
        case "strict":
            rows = tuple(replace(one, is_strict=True) for one in steps)
        case "by rise":
            wide = tuple(
                replace(allowance(0.0, NO_END_M, 1 / n, 1 / n), greatest_rise_m=rise)
                for n, rise in ((c, 0.16), (c + 1, 0.26))
            )
            return limit("running_slope", 1 / (c + 2)), law_limit("wider", RunLaw(wide, widens=True))
        case "two tables":
            other = (allowance(0.0, 9.0, 1 / (c - 1), 1 / (c + 4), "run_per_rise"),)
            return law_limit("one", RunLaw(steps, widens=False)), law_limit(
                "other", RunLaw(other, widens=False)
            )
    return (law_limit(kind, RunLaw(rows, widens=False)),)


def build_bound_yard(seed: int) -> Site:
    """A small yard under a law, with room asked at its door and of its landings, the same for a seed."""
    random = Random(f"bound yard {seed}")  # noqa: S311  # repeatable yards, no secrets
    site = build_small_yard(seed)
    limits = list(build_law(LAW_KINDS[seed % len(LAW_KINDS)], random.uniform(5.8, 7.5)))
    limits += _draw_sizes(random)
    if random.random() < 0.45:
        limits += [door_limit(row) for row in _draw_door_rows(random)]
    start = site.yard.starts[0]
    lower_m = random.choice((0.0, 0.05, 0.1))  # flatter runs reach less far down
    door = replace(start, swing=random.choice(("in", "out")), threshold_m=start.threshold_m - lower_m)
    if start.kind != "edge":
        door = replace(door, clear_width_m=random.uniform(0.7, 0.85))
    return bound(replace(site, yard=replace(site.yard, starts=(door,))), *limits)


def _draw_sizes(random: Random) -> Iterator[Limit]:
    """Limits on landings by their role, on rails and on headroom, each now and then."""
    for quantity, place, chance, low, high in _SIZES:
        value = random.uniform(low, high)
        if random.random() < 0.6 * chance:
            yield limit(quantity, value, place)


_SIZES: tuple[tuple[Quantity, Place, float, float, float], ...] = (
    ("rise_per_run", "any", 0.3, 0.25, 0.4),
    ("clear_width", "any", 0.4, 0.75, 0.85),
    ("headroom", "any", 0.5, 2.0, 2.3),
    ("landing_length", "top", 0.3, 0.9, 1.3),
    ("landing_turn", "turn", 0.4, 1.0, 1.6),
    ("landing_width", "straight", 0.3, 0.9, 1.2),
    ("landing_length", "quarter_turn", 0.3, 1.0, 1.6),
    ("landing_width", "half_turn", 0.3, 1.8, 2.4),
    ("landing_length", "bottom", 0.5, 0.9, 1.5),
    ("landing_width", "bottom", 0.4, 0.9, 2.2),
    ("landing_slope", "any", 0.6, 1 / 60, 1 / 15),
    ("handrail_rise", "any", 0.4, 0.15, 0.4),
    ("handrail_slope", "any", 0.3, 1 / 14, 1 / 7),
    ("handrail_drop", "any", 0.3, 0.25, 0.5),
    ("guard_drop", "any", 0.3, 0.2, 0.5),
    ("handrail_extension", "any", 0.3, 0.3, 0.305),
)


def _draw_door_rows(random: Random) -> Iterator[DoorClearance]:
    """A door table of the size of the small landings."""
    approaches: tuple[Approach, ...] = ("front", "hinge", "latch")
    sides: tuple[DoorSide, ...] = ("pull", "push")
    for approach in approaches:
        for side in sides:
            for _ in range(random.choice((0, 1, 1, 2))):
                yield DoorClearance(
                    approach,
                    side,
                    depth_m=random.uniform(0.9, 1.4),
                    beyond_latch_m=random.choice((0.0, 0.1, 0.3)),
                    beyond_hinge_m=random.choice((0.0, 0.0, 0.2)),
                    closer_depth_m=random.choice((0.0, 0.1)),
                    closer_latch_depth_m=random.choice((0.0, 0.05)),
                    closer_latch_beyond_m=random.choice((0.0, 0.1)),
                )


def build_named_yard(name: Yard) -> Site:
    """A small yard by its seed, ``bound <seed>``, ``law``, ``door``, ``turn`` or ``strict``."""
    if isinstance(name, int):
        return build_small_yard(name)
    match name.split():
        case ["law"]:
            return build_law_yard()
        case ["door"]:
            return build_door_yard()
        case ["turn"]:
            return build_turn_yard()
        case ["strict"]:
            return build_strict_yard()
        case ["bound", seed]:
            return build_bound_yard(int(seed))
    raise ValueError(f"no yard is called {name!r}")


def build_law_yard() -> Site:
    """A metric yard under 1:n with n = plan length in metres + 10, no run longer than 10 m."""
    site = _lower(build_small_yard(LAW_SEED), LAW_THRESHOLD_M)
    law = RunLaw((allowance(0.0, 10.0, 1 / 10, 1 / 20, "run_per_rise"),), widens=False)
    return bound(site, law_limit("law", law), limit("landing_slope", 1 / 60))


def build_door_yard() -> Site:
    """A yard whose door swings out, with the rows for pulling of a table like ADA 2010, table 404.2.4.1."""
    site = build_small_yard(DOOR_SEED)
    door = replace(site.yard.starts[0], swing="out", clear_width_m=32 * INCH_M)
    rows = (
        DoorClearance("front", "pull", 60 * INCH_M, 18 * INCH_M, 0.0),
        DoorClearance("hinge", "pull", 60 * INCH_M, 36 * INCH_M, 0.0),
        DoorClearance("hinge", "pull", 54 * INCH_M, 42 * INCH_M, 0.0),
        DoorClearance("latch", "pull", 48 * INCH_M, 24 * INCH_M, 0.0, closer_depth_m=6 * INCH_M),
    )
    site = replace(site, yard=replace(site.yard, starts=(door,)))
    return bound(site, limit("running_slope", 1 / 7), *(door_limit(row) for row in rows))


def build_turn_yard() -> Site:
    """A metric yard where a landing that turns by a quarter must be 1.5 m long and 1.8 m wide."""
    site = build_small_yard(TURN_SEED)
    landings = tuple(
        replace(one, uses=one.uses | {"quarter"}) if one.clear_width_m > 1.8 and "door" in one.uses else one
        for one in demo_catalogue("demo-millimetre").landings
    )
    site = replace(site, catalogue=replace(site.catalogue, landings=landings))
    return bound(
        site,
        limit("running_slope", 1 / 6.5),
        limit("landing_length", 1.5, "quarter_turn"),
        limit("landing_width", 1.8, "quarter_turn"),
        limit("landing_width", 1.0, "straight"),
        limit("landing_length", 1.6, "half_turn"),
    )


def build_strict_yard() -> Site:
    """Level ground where one section must drop 119 steps, and a law that allows only less than that slope.

    A section that drops a step less leaves the plate half a step too steep for the ground.
    """
    site = flat_site(0.4, 3.0, 1)
    step, plate = site.search.height_step_m, site.catalogue.transition_plates[0]
    section = site.catalogue.sections[0].pitch_m
    drop = 119 * step
    slope = drop / math.sqrt(section**2 - drop**2)
    site = replace(
        site,
        catalogue=replace(site.catalogue, transition_plates=(plate,)),
        search=replace(site.search, slope_levels=2, flattest_share=0.8),
    )
    lower = replace(site.yard.starts[0], threshold_m=drop + plate.length_m / math.hypot(1, 6) - step / 2)
    rows = (
        allowance(0.0, 1.0, 1 / 6, 1 / 6),
        replace(allowance(1.0, 2.5, slope, slope), is_strict=True),
        allowance(2.5, 10.0, 1 / 6, 1 / 6),
    )
    site = replace(site, yard=replace(site.yard, starts=(lower,)))
    return bound(site, law_limit("strict", RunLaw(rows, widens=False)))


def _lower(site: Site, threshold_m: float) -> Site:
    """The site with its door so much above the ground's highest level near it."""
    start = site.yard.starts[0]
    at_door = site.ground.elevation_at(*(start.midpoint_m + 0.5 * start.outward))
    lower = replace(start, threshold_m=at_door + threshold_m)
    return replace(site, yard=replace(site.yard, starts=(lower,)))
