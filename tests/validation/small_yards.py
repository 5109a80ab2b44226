"""Small yards for comparing the search with brute force, made from a seed.

Validates nothing by itself.  Source: invented.  Everything is drawn in the door's own frame
(wall along u, out along v), then turned by an angle of its own and moved, so that no door
faces an axis.  Choices are capped so that trying everything takes about a second; every
eighth yard is of the same family, every third of the same catalogue.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random
from typing import Literal

import numpy as np

from optimizer.brief.bind_rules import bind_alone, bind_site, build_designs
from optimizer.brief.site import DisplayUnits, Rider, SearchSettings, Site, Wishes
from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.rules import Limit, Quantity, RuleSet
from optimizer.terrain.yard import Obstacle, Points, Start, Yard, Zone, ZoneKind
from tests.validation.moved_sites import MIRRORED_SIDE, MIRRORED_TURN, Side, frozen, mirrored, moved, turned
from tests.validation.small_catalogues import DEMO_CATALOGUES, build_catalogue, demo_catalogue
from tests.validation.small_grounds import Way, box, build_ground, build_slope, quad

__all__ = [
    "DEMO_CATALOGUES",
    "FAMILIES",
    "MIRRORED_SIDE",
    "MIRRORED_TURN",
    "Side",
    "build_catalogue",
    "build_ground",
    "build_own_limits",
    "build_small_yard",
    "demo_catalogue",
    "frozen",
    "mirrored",
    "moved",
    "turned",
    "with_rules",
]

Family = Literal["plain", "gaps", "rising", "obstacles", "narrow", "locked", "relief", "equal"]
FAMILIES: tuple[Family, ...] = (
    "plain", "gaps", "rising", "obstacles", "narrow", "locked", "relief", "equal",
)  # fmt: skip
OVERHEAD_KINDS: frozenset[ZoneKind] = frozenset({"headroom", "wire"})
#: How many obstacles stand in the yards of a family, when not the usual number.
BUSY: dict[Family, tuple[int, ...]] = {"obstacles": (2, 3, 4), "narrow": (0, 0, 0, 1)}
#: How the ground of a family goes away from the door, when it does not fall.
WAYS: dict[Family, Way] = {"rising": "rises", "narrow": "level"}
Exits = tuple[Side, ...]


@dataclass(frozen=True, slots=True)
class Effort:
    """How much there is to try: capped together, so that no yard takes long."""

    most_runs: int | None
    longest_run_m: float
    slope_levels: int
    exits: Exits


def build_small_yard(seed: int) -> Site:
    """A yard of about 6 by 6 m with one door, the same for the same seed."""
    random = Random(f"small yard {seed}")  # noqa: S311  # repeatable yards, no secrets
    family = FAMILIES[seed % len(FAMILIES)]
    demo_id = DEMO_CATALOGUES[seed % 3]
    catalogue = _fit_catalogue(random, seed, family, build_catalogue(random, demo_id))
    left, right, depth = random.uniform(4.0, 9.0), random.uniform(4.0, 9.0), random.uniform(5.5, 9.5)
    effort = _build_effort(random, seed, family, catalogue)
    rules = _build_rules(random)
    start = _build_start(random, 0.38 if demo_id == "demo-gap" else 0.5)
    if family == "rising":
        start = replace(start, threshold_m=start.threshold_m + random.uniform(0.0, 0.15))
    if family == "narrow" and random.random() < 0.75:
        start = replace(start, threshold_m=_likely_rise(random, demo_id, effort, catalogue, rules))
    if family == "narrow":  # between two lots, or between the house and a lot line
        if start.kind == "edge" or effort.exits == ("front",):
            left, right, depth = random.uniform(1.0, 2.2), random.uniform(1.0, 3.4), random.uniform(7.0, 11.0)
        else:
            depth = random.uniform(2.8, 4.5)
    yard = _build_yard(random, family, start, left, right, depth)
    rulings, facts = bind_alone(rules), (JobFacts(),) * len(yard.starts)
    site = Site(
        name=f"small yard {seed}",
        path=Path("small-yard"),
        dated="2026-03-01",
        origin_shift_m=frozen(np.zeros(3)),
        yard=yard,
        ground=build_slope(random, left, right, depth, WAYS.get(family, "falls")),
        bedding_m=random.choice((0.0, 0.01, 0.02)),
        catalogue=catalogue,
        rates=Rates(
            id="test",
            currency=catalogue.currency,
            dated=datetime.date(2026, 3, 1),
            version="1",
            labour_per_hour_cents=random.choice((4800, 6850, 7325)),
            delivery_flat_cents=0,
            delivery_per_kg_cents=0,
            overhead_percent=0.0,
            tax_percent=0.0,
        ),
        rulings=rulings,
        start_facts=facts,
        designs=build_designs(yard.starts, rulings, facts),
        rider=Rider(1.2, 0.7, random.choice((90.0, 120.0, 180.0)), "alone", "either"),
        wishes=_build_wishes(random, family, effort),
        search=_build_search(random, demo_id, effort),
        display=DisplayUnits("mm", 0.001),
    )
    placed = turned(site, random.uniform(5.0, 85.0) + 90.0 * random.randrange(4))
    return moved(placed, random.uniform(-3.0, 3.0), random.uniform(-3.0, 3.0), random.uniform(-1.0, 1.0))


def _fit_catalogue(random: Random, seed: int, family: Family, catalogue: Catalogue) -> Catalogue:
    """The cut down catalogue with what the family wants: gaps between legs, short sections."""
    if seed % 4 == 2:  # yards are low: let some legs need bracing all the same
        legs = tuple(replace(leg, brace_above_m=0.2) for leg in catalogue.legs)
        catalogue = replace(catalogue, legs=legs)
    if family == "gaps":
        low = random.uniform(0.1, 0.2)
        high = low + random.uniform(0.03, 0.08)
        short = replace(catalogue.legs[0], max_m=low + catalogue.legs[0].reserve_m)
        middle = replace(catalogue.legs[1], min_m=high - catalogue.legs[1].reserve_m)
        catalogue = replace(catalogue, legs=(short, middle, *catalogue.legs[2:]))
    if family == "narrow":
        short = sorted(catalogue.sections, key=lambda section: section.pitch_m)[:2]
        catalogue = replace(catalogue, sections=tuple(short))
    return catalogue


def _build_effort(random: Random, seed: int, family: Family, catalogue: Catalogue) -> Effort:
    pitches = sorted(section.pitch_m for section in catalogue.sections)
    if family == "narrow":
        is_free = seed % 16 == 4  # the page's own number of runs, four or more
        exits: tuple[Exits, ...] = (("left",), ("right",), ("front",), ("front", "left"), ("left", "right"))
        longest = (pitches[-1] if is_free else pitches[0] * random.choice((1, 2, 2))) + 0.05
        levels = 2 if is_free else random.choice((2, 3, 4))
        sides = exits[:3] if is_free or levels > 2 else exits
        return Effort(None if is_free else 3, longest, levels, random.choice(sides))
    if seed % 7 in {1, 3}:
        one_side: tuple[Exits, ...] = (("front",), ("left",), ("right",))
        longest = random.choice((pitches[-1] + 0.05, 2.6))
        levels = min(random.choice((2, 3)), max(1, 9 // _count_rows(pitches, longest)))
        return Effort(3, longest, levels, random.choice(one_side))
    wide: tuple[Exits, ...] = (
        ("front", "left", "right"),
        ("front", "left", "right"),
        ("front", "left", "right"),
        ("front", "right"),
        ("left", "right"),
        ("front", "left"),
    )
    longest = max(random.choice((2.7, 3.7, 3.7, 4.0, 4.4, 4.7)), pitches[0] + 0.05)
    levels = min(random.choice((2, 3, 4, 4, 4)), max(2, 28 // _count_rows(pitches, longest)))
    return Effort(2, longest, levels, random.choice(wide))


def _count_rows(pitches: list[float], longest: float) -> int:
    """How many sequences of sections make up a run."""
    return sum(1 + _count_rows(pitches, longest - pitch) for pitch in pitches if pitch <= longest)


def _likely_rise(random: Random, demo_id: str, effort: Effort, catalogue: Catalogue, rules: RuleSet) -> float:
    """A threshold from which one, two or three runs at the rules' slope come down about to the ground."""
    steepest = rules.limit("running_slope")
    rise, hinge = 0.0, random.uniform(0.075, 0.14)
    for _ in range(random.choice((1, 2, 2, 3))):
        length = random.choice(catalogue.sections).pitch_m
        if 2 * length <= effort.longest_run_m and random.random() < 0.5:
            length *= 2
        rise += length * (0.15 if steepest is None else steepest.value_si) * random.uniform(0.75, 0.99)
    threshold = min(rise + hinge, 0.85)
    # What hangs between the two legs of that catalogue has no door landing at all.
    in_the_gap = demo_id == "demo-gap" and 0.4 < threshold < 0.64
    return random.choice((0.38, 0.66)) if in_the_gap else threshold


def _build_search(random: Random, demo_id: str, effort: Effort) -> SearchSettings:
    # Three runs, or many ends of runs on many lines, are too much to try them all on a fine lattice.
    is_much = effort.most_runs != 2 or len(effort.exits) * effort.slope_levels > 5
    lattice = random.uniform(0.3 if is_much else 0.2, 0.45)
    return SearchSettings(
        lattice_m=lattice,
        finest_lattice_m=lattice / 3,
        height_step_m=0.0025 if demo_id == "demo-millimetre" else 0.00254,
        slope_levels=effort.slope_levels,
        flattest_share=random.uniform(0.4, 0.8),
        most_runs=effort.most_runs,
        longest_run_m=effort.longest_run_m,
        time_limit_s=60.0,
        seed=1,
    )


def build_own_limits(**limits: float) -> RuleSet:
    """The user's own limits by quantity, in metres and ratios."""
    operators: dict[str, Literal["<=", ">="]] = dict.fromkeys(
        ("clear_width", "landing_length", "landing_width", "landing_turn", "handrail_extension"), ">="
    )
    made = []
    for name, value in limits.items():
        quantity: Quantity = name  # type: ignore[assignment]  # the caller names a Quantity
        made.append(
            Limit(
                id=name,
                clause=name,
                quantity=quantity,
                operator=operators.get(name, "<="),
                value=value,
                unit="m or ratio",
                value_si=value,
                source="test",
                how_known="own",
                note="",
            )
        )
    return RuleSet("own-limits", "own limits", "test", tuple(made), (), "Own limits for a test.")


def with_rules(site: Site, rules: RuleSet) -> Site:
    """The site under one binding rule set, this one, and with its doors as they now are."""
    return bind_site(site, bind_alone(rules))


def _build_start(random: Random, highest: float) -> Start:
    kind: Literal["landing", "over_steps", "edge"] = random.choice(
        ("landing", "landing", "landing", "landing", "over_steps", "over_steps", "edge")
    )
    return Start(
        name="door",
        kind=kind,
        midpoint_m=frozen(np.zeros(2)),
        outward=frozen(np.array([0.0, 1.0])),
        threshold_m=random.uniform(0.28 if kind == "over_steps" else 0.2, highest),
        drop_m=random.choice((0.0, 0.0127, 0.03)),
        clear_width_m=random.uniform(1.1, 2.2) if kind == "edge" else random.uniform(0.8, 1.0),
        gap_m=random.choice((0.01, 0.04, 0.06)),
        swing="in",
        hinge_side=random.choice(("left", "right")),
    )


def _build_yard(
    random: Random, family: Family, start: Start, left: float, right: float, depth: float
) -> Yard:
    lot = np.array([[-left - 0.2, -3.2], [right + 0.2, -3.2], [right, depth], [-left, depth]])
    if random.random() < 0.6:
        lot[2:] += [[random.uniform(-0.7, 0.2), random.uniform(-0.8, 0.0)] for _ in range(2)]
    house = [box(-left + 0.1, -3.0, right - 0.1, 0.0)]
    if family != "narrow" and random.random() < 0.12:  # a wing beside the door
        near = random.uniform(1.6, 2.4)
        wing = (near, -1.0, right - 0.1, random.uniform(0.5, 1.8))
        if right - 0.1 > near:
            house.append(box(*wing) if random.random() < 0.5 else box(-wing[2], wing[1], -near, wing[3]))
    obstacles, zones = [], []
    if start.kind == "over_steps":
        top = start.threshold_m - random.uniform(0.19, 0.26)
        steps = box(-0.42, 0.0, 0.42, random.uniform(0.35, 0.6))
        obstacles.append(Obstacle("steps", steps, top, may_stand=random.random() < 0.5))
    how_many = random.choice(BUSY.get(family, (0, 0, 0, 1, 1, 2)))
    for n in range(how_many):
        u, v = _on_a_way(random, depth)
        kind = random.choice(("tree", "kerb", "slab"))
        if kind == "tree":
            obstacles.append(Obstacle(f"tree {n}", quad(random, u, v, 0.4, 0.4), None, may_stand=False))
        elif kind == "kerb":
            outline = quad(random, u, v, 1.2, 0.3)
            obstacles.append(Obstacle(f"kerb {n}", outline, random.uniform(0.02, 0.15), may_stand=False))
        else:
            outline = quad(random, u, v, 1.6, 1.3)
            obstacles.append(Obstacle(f"slab {n}", outline, random.uniform(0.03, 0.1), may_stand=True))
    for n in range(random.choice((0, 0, 0, 1) if family == "narrow" else (0, 0, 1, 1, 2))):
        u, v = _on_a_way(random, depth)
        zones.append(_build_zone(random, n, u, v, start))
    arrivals: tuple[Points, ...] = ()
    if random.random() < 0.1:
        arrivals = (quad(random, random.uniform(-left, right), depth * 0.6, 7.0, depth),)
    has_strip = family == "relief" or random.random() < 0.2
    return Yard(
        starts=(start,),
        house_m=tuple(house),
        lot_m=frozen(lot),
        setback_m=random.uniform(0.1, {"relief": 1.5, "narrow": 0.3}.get(family, 0.7)) if has_strip else 0.0,
        setback_kind="needs_relief" if family == "relief" else "hard",
        relief_cents=random.choice((0, 4000, 35000, 90000)) if family == "relief" else 0,
        obstacles=tuple(obstacles),
        zones=tuple(zones),
        arrivals_m=arrivals,
        destination_m=None,
    )


def _on_a_way(random: Random, depth: float) -> tuple[float, float]:
    """A place where ramps like to go: straight out, or along the wall to either side."""
    if random.random() < 0.5:
        return random.uniform(-1.0, 1.0), random.uniform(2.2, depth)
    return random.choice((-1, 1)) * random.uniform(1.6, 5.0), random.uniform(0.5, 2.5)


def _build_zone(random: Random, n: int, u: float, v: float, start: Start) -> Zone:
    kinds: tuple[ZoneKind, ...] = ("no_foot", "no_build", "vehicle", "headroom", "wire", "drip_line")
    kind = random.choice(("no_foot", *kinds))
    wide, deep = random.uniform(0.3, 0.9), random.uniform(0.3, 0.9)
    if kind == "drip_line":
        wide, deep = random.uniform(2.0, 4.0), random.uniform(2.0, 4.0)
    is_overhead = kind in OVERHEAD_KINDS
    return Zone(
        name=f"{kind} {n}",
        kind=kind,
        outline_m=quad(random, u, v, wide, deep),
        reason="test",
        source="test",
        waived_by="nobody",
        underside_m=start.threshold_m + random.uniform(1.75, 2.0) if is_overhead else None,
        headroom_m=2.03 if is_overhead else None,
    )


def _build_rules(random: Random) -> RuleSet:
    limits = {"running_slope": 1 / random.uniform(5.6, 7.5)}
    chances = (
        ("rise_per_run", 0.35, random.uniform(0.22, 0.35)),
        ("length_per_run", 0.15, random.uniform(2.5, 4.0)),
        ("clear_width", 0.5, random.choice((0.8, 0.9))),
        ("landing_length", 0.3, random.uniform(0.9, 1.3)),
        ("landing_width", 0.3, 0.9),
        ("landing_turn", 0.3, random.uniform(1.0, 1.3)),
        ("landing_slope", 0.6, random.choice((1 / 60, 1 / 40, 1 / 25, 1 / 15))),
        ("handrail_rise", 0.6, random.uniform(0.15, 0.4)),
        ("handrail_extension", 0.3, 0.305),
    )
    limits |= {quantity: value for quantity, chance, value in chances if random.random() < chance}
    return build_own_limits(**limits)


def _build_wishes(random: Random, family: Family, effort: Effort) -> Wishes:
    must_pass, landing_at = _build_locks(random, effort.exits) if family == "locked" else ((), ())
    rests = random.uniform(1.9, 3.6) if random.random() < (0.5 if family == "equal" else 0.1) else None
    return Wishes(
        steepest=1 / random.uniform(6.0, 8.0) if random.random() < 0.3 else None,
        clear_width_m=0.85 if random.random() < 0.2 else None,
        exits=effort.exits,
        most_turns=random.choice((None, None, None, None, None, 0, 1, 1)),
        guard_above_m=random.uniform(0.25, 0.762),
        rail_landings_above_m=random.uniform(0.1524, 0.5),
        shown=1,
        slopes="equal" if family == "equal" else "free",
        prefer_side="either",
        must_pass_m=must_pass,
        landing_at_m=landing_at,
        longest_between_rests_m=rests,
        survey_error_m=random.uniform(0.002, 0.012) if random.random() < 0.2 else 0.0,
        steps="none",
    )


def _build_locks(random: Random, exits: Exits) -> tuple[tuple[Points, ...], tuple[Points, ...]]:
    """Places on a way, before the site is turned: to be passed, and for a landing."""
    side = random.choice(exits)
    sign = {"left": -1, "right": 1, "front": 0}[side]
    passed, landing = (
        np.array(
            [random.uniform(-0.6, 0.6), random.uniform(near, far)]
            if side == "front"
            else [sign * (random.uniform(near, far) - 0.8), random.uniform(0.5, 1.4)]
        )
        for near, far in ((1.7, 2.9), (2.4, 4.6))
    )
    at_door = np.array([random.uniform(-0.7, 0.7), random.uniform(0.1, 1.3)])
    return random.choice(
        (
            ((frozen(passed),), ()),
            ((frozen(passed), frozen(at_door)), ()),
            ((), (frozen(landing),)),
            ((frozen(passed),), ()),
            ((frozen(passed),), (frozen(at_door),)),
        )
    )
