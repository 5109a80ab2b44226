"""Yards for benchmarks, made from a seed: 64 that mostly have a layout and 10 that have none.

Source: invented.  Everything is drawn in the door's frame (u along the wall, v out), then turned
by an angle of its own and moved, so that no door faces an axis.  Demo catalogues are used whole,
without their stock; rules are ADA 2010.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from random import Random

import numpy as np
import shapely

from optimizer.brief.bind_rules import bind_alone, build_designs
from optimizer.brief.site import DisplayUnits, Rider, SearchSettings, Site, Wishes
from optimizer.catalogue.demo_files import demo_catalogue_path, demo_rates_path
from optimizer.catalogue.parts import Catalogue
from optimizer.catalogue.rates import Rates
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.catalogue.read_rates import read_rates
from optimizer.rulebook.facts import JobFacts
from optimizer.rulebook.read_rule_set import read_rule_set
from optimizer.terrain.ground import BreakLine
from optimizer.terrain.yard import Obstacle, Points, Start, Yard
from tests.benchmarks.yard_families import FAMILIES, GREATEST_RISE_M, INCH_M, Family, family_named
from tests.benchmarks.yard_ground import Step, Surface, build_surface, measure_spots, triangulate

#: The house reaches this far back from its wall.
HOUSE_DEEP_M = 3.0
#: Ways and landings at the door want this much to either side and out.
CLEAR_AT_DOOR_M = (1.3, 2.0)
#: Heights of a deck above the ground that no leg of demo-gap reaches, with a margin.
GAP_HEIGHTS_M = (0.40, 0.66)
#: A yard of narrow_infeasible has this share of the area that a ramp needs at least.
TOO_SMALL = (0.93, 0.99)
LONGEST_RUN_M = 14.0


@dataclass(frozen=True, slots=True)
class Move:
    """From the door's frame to the site's: a turn, then a shift; heights up by ``dz``."""

    angle: float
    x: float
    y: float
    dz: float

    def direction(self, uv: Points) -> Points:
        """Vectors ``(..., 2)`` turned."""
        cos, sin = math.cos(self.angle), math.sin(self.angle)
        return _frozen(uv @ np.array([[cos, sin], [-sin, cos]]))

    def place(self, uv: Points) -> Points:
        """Points ``(..., 2)`` turned and moved."""
        return _frozen(self.direction(uv) + np.array([self.x, self.y]))

    def line(self, line: BreakLine) -> BreakLine:
        """A break line carried along."""
        return replace(
            line,
            xy_m=self.place(line.xy_m),
            top_m=_frozen(line.top_m + self.dz),
            foot_m=_frozen(line.foot_m + self.dz),
        )


@dataclass(frozen=True, slots=True)
class Size:
    """How far the yard reaches to the left, to the right and out of the door."""

    left: float
    right: float
    deep: float


def suite() -> tuple[tuple[str, int], ...]:
    """Family and seed of every yard."""
    return tuple((family.name, seed) for family in FAMILIES for seed in range(family.count))


def build_yard(family: str, seed: int) -> Site:
    """The yard of a family and a seed, always the same; ``KeyError`` for an unknown family."""
    return build_from(family_named(family), seed)


def build_from(family: Family, seed: int) -> Site:
    """A yard of a family, which may be one made for a single measurement."""
    random = Random(f"generated yard {family.name} {seed}")  # noqa: S311  # repeatable yards, no secrets
    demo_id = family.catalogues[seed % len(family.catalogues)]
    catalogue, rates = _parts(demo_id)
    rise = _reachable(_rise(random, family, demo_id), catalogue)
    size = _size(random, family, rise, catalogue)
    surface = build_surface(random, family.fall, family.bump, size.left, size.right, size.deep)
    step = _step(random, family, size)
    surface = _held_down(surface, step, size, rise)
    spots, lines = measure_spots(random, surface, step, size.left, size.right, size.deep)
    angle = math.radians(random.uniform(5.0, 85.0) + 90.0 * random.randrange(4))
    move = Move(angle, random.uniform(-3, 3), random.uniform(-3, 3), random.uniform(-1, 1))
    name = f"{family.name} {seed}"
    ground = triangulate(
        np.column_stack([move.place(spots[:, :2]), spots[:, 2] + move.dz]),
        tuple(move.line(line) for line in lines),
        name,
    )
    is_inch = demo_id != "demo-millimetre"
    yard = _yard(random, family, size, rise, move, surface)
    rulings, facts = bind_alone(read_rule_set("ada-2010")), (JobFacts(works="new"),) * len(yard.starts)
    return Site(
        name=name,
        path=Path("generated-yard"),
        dated="2026-03-01",
        origin_shift_m=_frozen(np.zeros(3)),
        yard=yard,
        ground=ground,
        bedding_m=random.choice((0.0, 0.01, 0.015)),
        catalogue=catalogue,
        rates=rates,
        rulings=rulings,
        start_facts=facts,
        designs=build_designs(yard.starts, rulings, facts),
        rider=Rider(1.2, 0.7, 150.0, "alone", "either"),
        wishes=Wishes(
            steepest=None,
            clear_width_m=None,
            exits=("front", "left", "right"),
            most_turns=None,
            guard_above_m=30 * INCH_M,
            rail_landings_above_m=6 * INCH_M,
            shown=5,
            slopes="free",
            prefer_side="either",
            must_pass_m=(),
            landing_at_m=(),
            longest_between_rests_m=None,
            survey_error_m=0.0,
            steps="none",
        ),
        search=SearchSettings(
            lattice_m=6 * INCH_M if is_inch else 0.15,
            finest_lattice_m=2 * INCH_M if is_inch else 0.05,
            height_step_m=0.1 * INCH_M if is_inch else 0.0025,
            slope_levels=5,
            flattest_share=0.6,
            most_runs=None if family.most_runs is None else random.randint(*family.most_runs),
            longest_run_m=LONGEST_RUN_M,
            time_limit_s=60.0,
            seed=1,
        ),
        display=DisplayUnits("in", 0.003175) if is_inch else DisplayUnits("mm", 0.001),
    )


def with_lattice(site: Site, coarseness: float) -> Site:
    """The same yard with a pitch ``coarseness`` times its family's (2: 12 in, 1/3: 2 in)."""
    pitch = site.search.lattice_m * coarseness
    finest = min(pitch, site.search.finest_lattice_m)
    return replace(site, search=replace(site.search, lattice_m=pitch, finest_lattice_m=finest))


def with_runs(site: Site, most_runs: int) -> Site:
    """The same yard with another number of runs."""
    return replace(site, search=replace(site.search, most_runs=most_runs))


def with_longest_run(site: Site, longest_run_m: float) -> Site:
    """The same yard with runs no longer than this along the surface."""
    return replace(site, search=replace(site.search, longest_run_m=longest_run_m))


def with_time_limit(site: Site, limit_s: float) -> Site:
    """The same yard with another time limit."""
    return replace(site, search=replace(site.search, time_limit_s=limit_s))


def with_obstacle_moved(site: Site, random: Random) -> Site:
    """The same yard with one obstacle moved by half a metre, away from the door."""
    number = random.randrange(len(site.yard.obstacles))
    moved = site.yard.obstacles[number]
    away = moved.outline_m.mean(axis=0) - site.yard.starts[0].midpoint_m
    shift = 0.5 * away / math.hypot(*away)
    obstacles = list(site.yard.obstacles)
    obstacles[number] = replace(moved, outline_m=_frozen(moved.outline_m + shift))
    return replace(site, yard=replace(site.yard, obstacles=tuple(obstacles)))


def cut_down(site: Site) -> Site:
    """A yard with few choices, for programs that try everything: two levels, runs to 5.5 m.

    One landing of each use but ``straight`` and two plates are left of the catalogue.
    """
    whole = site.catalogue
    first = [next(one for one in whole.landings if use in one.uses) for use in ("door", "quarter", "half")]
    catalogue = replace(
        whole,
        landings=tuple(one for one in whole.landings if one in first),
        transition_plates=whole.transition_plates[:2],
    )
    search = replace(site.search, slope_levels=2, longest_run_m=5.5, most_runs=2)
    return replace(site, catalogue=catalogue, search=search)


def area_shortfall_m2(site: Site) -> float:
    """By how much the yard is too small for any ramp; negative when this bound says nothing.

    Pieces do not overlap, and all lie on the lot before the house wall.  They are: the door
    landing, runs of the whole drop at the steepest slope, one landing fewer than runs of at most
    the yard's diagonal and 30 in of rise each, and the bottom space.  The smallest landing of
    each use counts; the drop ends on the highest ground.
    """
    catalogue, yard = site.catalogue, site.yard
    start = yard.starts[0]
    free = shapely.Polygon(yard.lot_m).difference(
        shapely.union_all([shapely.Polygon(ring) for ring in yard.house_m])
    )
    drop = start.threshold_m - start.drop_m - float(site.ground.triangles_z.max())
    out = np.asarray(start.outward)
    before = shapely.Polygon(
        [
            start.midpoint_m + a * np.array([out[1], -out[0]]) + b * out
            for a, b in ((-60, 0), (60, 0), (60, 60), (-60, 60))
        ]
    )
    yard_m2 = free.intersection(before).area
    reach = shapely.minimum_bounding_radius(free.intersection(before)) * 2
    return _least_area_m2(catalogue, drop, reach) - float(yard_m2)


def _least_area_m2(catalogue: Catalogue, drop: float, reach: float) -> float:
    width = min(section.overall_width_m for section in catalogue.sections)
    length = drop * 12
    runs = max(math.ceil(length / reach), math.ceil(drop / (30 * INCH_M)))
    door = min(one.length_m * one.width_m for one in catalogue.landings if "door" in one.uses)
    rest = min(one.length_m * one.width_m for one in catalogue.landings)
    bottom = (60 * INCH_M) * max(width, 60 * INCH_M)
    return door + length * width + (runs - 1) * rest + bottom


@cache
def _parts(demo_id: str) -> tuple[Catalogue, Rates]:
    """A demo catalogue without its stock, and rates in its money."""
    catalogue = replace(read_catalogue(demo_catalogue_path(demo_id)), stock=())
    rates = "demo-rates-eur" if catalogue.currency == "EUR" else "demo-rates-usd"
    return catalogue, read_rates(demo_rates_path(rates))


def _frozen(values: Points) -> Points:
    copy = np.array(values, dtype=np.float64)
    copy.flags.writeable = False
    return copy


def _rise(random: Random, family: Family, demo_id: str) -> float:
    low, high = GAP_HEIGHTS_M
    rise = random.uniform(*family.rise)
    while demo_id == "demo-gap" and low < rise < high:
        rise = random.uniform(*family.rise)  # a door landing of that height would stand on no leg
    return rise


def _reachable(rise: float, catalogue: Catalogue) -> float:
    """No higher than the tallest leg carries a landing."""
    tallest = max(leg.max_m - leg.reserve_m for leg in catalogue.legs)
    frame = min(landing.frame_depth_m for landing in catalogue.landings)
    return min(rise, tallest + frame - 0.05)


def _size(random: Random, family: Family, rise: float, catalogue: Catalogue) -> Size:
    wide, deep = random.uniform(*family.wide), random.uniform(*family.deep)
    if family.name == "narrow_infeasible":
        share = random.uniform(*TOO_SMALL)
        wide = 3.0  # grown as long as no ramp can fit
        while (wide + 0.02) * deep < share * _least_area_m2(catalogue, rise - 0.08, math.hypot(wide, deep)):
            wide += 0.02
    share = random.uniform(0.2, 0.8) if family.form == "side yard" else random.uniform(0.3, 0.7)
    return Size(wide * share, wide * (1 - share), deep)


def _step(random: Random, family: Family, size: Size) -> Step | None:
    if random.random() >= family.wall_share:
        return None
    at = random.uniform(0.45, 0.75) * size.deep
    tilt = random.uniform(0.02, 0.08) * size.deep * random.choice((-1, 1))
    return Step(at, tilt, random.uniform(0.2, 0.45), is_down=random.random() < 0.6)


def _held_down(surface: Surface, step: Step | None, size: Size, rise: float) -> Surface:
    """The ground flattened until the lowest of it lies at most 72 in below the threshold."""
    u, v = np.meshgrid(
        np.linspace(-size.left - 0.3, size.right + 0.3, 41), np.linspace(-0.3, size.deep + 0.3, 41)
    )
    lowest = min(surface.level(a, b) for a, b in zip(u.ravel(), v.ravel(), strict=True))
    step_m = step.height_m if step is not None and step.is_down else 0.0
    room = GREATEST_RISE_M - rise - step_m - 0.01
    return surface.flattened(min(1.0, max(room, 0.05) / max(-lowest, 1e-9)))


def _yard(random: Random, family: Family, size: Size, rise: float, move: Move, surface: Surface) -> Yard:
    left, right, deep = size.left, size.right, size.deep
    lot = np.array([[-left, -HOUSE_DEEP_M - 0.2], [right, -HOUSE_DEEP_M - 0.2], [right, deep], [-left, deep]])
    if family.name != "narrow_infeasible" and random.random() < 0.6:
        # Slightly cut: the far line runs askew, and one side leans in.
        lot[2:, 1] -= [random.uniform(0.0, 0.06) * deep for _ in range(2)]
        lot[random.choice((2, 3)), 0] *= random.uniform(0.94, 1.0)
    house = np.array([[-left, -HOUSE_DEEP_M], [right, -HOUSE_DEEP_M], [right, 0.0], [-left, 0.0]])
    start = Start(
        name="door",
        kind="landing",
        midpoint_m=move.place(np.zeros(2)),
        outward=move.direction(np.array([0.0, 1.0])),
        threshold_m=rise + move.dz,
        drop_m=random.choice((0.0, 0.0127)),
        clear_width_m=random.uniform(0.82, 0.95),
        gap_m=random.choice((0.02, 0.0254, 0.04)),
        swing=random.choice(("in", "out")),
        hinge_side=random.choice(("left", "right")),
    )
    has_setback = family.form == "open" and deep > 12 and random.random() < 0.3
    return Yard(
        starts=(start,),
        house_m=(move.place(house),),
        lot_m=move.place(lot),
        setback_m=0.3 if has_setback else 0.0,
        setback_kind="hard",
        relief_cents=0,
        obstacles=tuple(
            _obstacle(random, number, size, move, surface)
            for number in range(random.randint(*family.obstacles))
        ),
        zones=(),
        arrivals_m=(),
        destination_m=None,
    )


def _obstacle(random: Random, number: int, size: Size, move: Move, surface: Surface) -> Obstacle:
    """A rectangle turned by any angle, clear of the door: a tree, a kerb or a slab."""
    beside, out = CLEAR_AT_DOOR_M
    kind = random.choice(("tree", "tree", "shed", "kerb", "slab"))
    wide, deep = {"tree": (0.5, 0.5), "shed": (1.6, 1.1), "kerb": (1.8, 0.3), "slab": (1.6, 1.4)}[kind]
    turn = random.uniform(0.0, math.pi)
    cos, sin = math.cos(turn), math.sin(turn)
    box = np.array([[-wide, -deep], [wide, -deep], [wide, deep], [-wide, deep]]) / 2
    outline = box @ np.array([[cos, sin], [-sin, cos]])
    reach = math.hypot(wide, deep) / 2
    u, v = 0.0, 0.0
    while abs(u) < beside + reach and v < out + reach:
        u = random.uniform(-size.left, size.right)
        v = random.uniform(reach + 0.05, size.deep)
    top = None
    if kind in {"kerb", "slab"}:
        around = [surface.level(u + du, v + dv) for du, dv in outline]
        top = max(around) + random.uniform(0.03, 0.12) + move.dz
    return Obstacle(f"{kind} {number}", move.place(outline + np.array([u, v])), top, may_stand=kind == "slab")
