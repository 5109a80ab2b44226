"""A second program for the discrete problem: every choice, one after the other.

Validates: the search, by being written from our own page alone (DEVELOPERS.md, 'The
discrete problem') and sharing only the data classes.  Source: that page; no outside source.
Tolerance: none, costs must agree to the cent.  Why it may differ: a layout that breaks a
rule by less than the page's 1e-6 m may be judged differently by two ways of computing.

No bounds, no dominance, no tables: a partial layout is dropped only when it breaks a rule.
Bounding boxes save work on things that are nowhere near.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point, Polygon

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, LandingUse, Leg, LowSupport, Part, Section, TransitionPlate
from optimizer.rulebook.rules import Quantity
from optimizer.terrain.yard import DIG_BLOCKING, FOOT_BLOCKING, OVERHEAD, PIECE_BLOCKING, Points, Start

E = 1e-6
LIP_M = 0.00635
NEAR_M = 0.9144
EXITS = ("front", "left", "right")
TURNS = ("none", "left", "right", "half_left", "half_right")
HEADINGS = {"front": (0, 1), "right": (1, 0), "left": (-1, 0), "back": (0, -1)}
GRID_M = 0.5

Rect = tuple[float, float, float, float]  # least u, least v, greatest u, greatest v
Plane = tuple[float, float, float]  # elevation = a u + b v + c
P = TypeVar("P", bound=Part)


@dataclass(frozen=True, slots=True)
class BruteRun:
    """One run, upper to lower section."""

    section_ids: tuple[str, ...]
    slope_level: int


@dataclass(frozen=True, slots=True)
class BruteTurn:
    """One landing between two runs."""

    kind: str
    landing_id: str
    arrive: str
    leave: str


@dataclass(frozen=True, slots=True)
class BruteLayout:
    """A layout by its choices.  ``cost_cents`` grows while it is being built."""

    start: str
    door_landing_id: str | None
    slide: int
    exit: str
    attach: str | None
    runs: tuple[BruteRun, ...]
    turns: tuple[BruteTurn, ...]
    plate_id: str | None
    pad_id: str | None
    legs: int
    low_supports: int
    braces: int
    rails: int
    cost_cents: int

    @property
    def turn(self) -> str:
        """The one turn that is not a straight landing, or 'none'."""
        return next((turn.kind for turn in self.turns if turn.kind != "straight"), "none")

    def plus(self, *sums: Sum) -> BruteLayout:
        """The same layout with more parts counted."""
        return replace(
            self,
            legs=self.legs + sum(s.legs for s in sums),
            low_supports=self.low_supports + sum(s.low_supports for s in sums),
            braces=self.braces + sum(s.braces for s in sums),
            rails=self.rails + sum(s.rails for s in sums),
            cost_cents=self.cost_cents + sum(s.cents for s in sums),
        )


@dataclass(frozen=True, slots=True)
class BruteClass:
    """The least direct cost of one class and a layout that has it; None when there is none."""

    exit: str
    turn: str
    cost_cents: int | None
    layout: BruteLayout | None


@dataclass(frozen=True, slots=True)
class BruteAnswer:
    """All fifteen classes (three exits, five turns) and the best layout over all of them."""

    classes: tuple[BruteClass, ...]
    best: BruteLayout | None
    toes_tried: int

    def cost_cents(self, exit_side: str, turn: str) -> int | None:
        """Least direct cost of one class."""
        return next(c.cost_cents for c in self.classes if (c.exit, c.turn) == (exit_side, turn))


@dataclass(frozen=True, slots=True)
class Sum:
    """Parts counted somewhere and what they cost."""

    cents: int
    legs: int = 0
    low_supports: int = 0
    braces: int = 0
    rails: int = 0

    def __add__(self, other: Sum) -> Sum:
        return Sum(
            self.cents + other.cents,
            self.legs + other.legs,
            self.low_supports + other.low_supports,
            self.braces + other.braces,
            self.rails + other.rails,
        )


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
class Pose:
    """Middle of an upper edge, with heading; ``at`` walks along and to the right."""

    u: float
    v: float
    heading: str

    def at(self, t: float, lateral: float) -> tuple[float, float]:
        """Point at plan distance ``t`` along the heading, ``lateral`` to its right."""
        hu, hv = HEADINGS[self.heading]
        return self.u + hu * t + hv * lateral, self.v + hv * t - hu * lateral

    def rect(self, t0: float, t1: float, left: float, right: float) -> Rect:
        """Rectangle between two distances along and two lateral ones."""
        (ua, va), (ub, vb) = self.at(t0, left), self.at(t1, right)
        return min(ua, ub), min(va, vb), max(ua, ub), max(va, vb)

    def plane(self, elevation: float, slope: float) -> Plane:
        """The surface that falls with ``slope`` along the heading from ``elevation`` here."""
        hu, hv = HEADINGS[self.heading]
        return -slope * hu, -slope * hv, elevation + slope * (hu * self.u + hv * self.v)

    def turned(self, t: float, lateral: float, quarters_right: int) -> Pose:
        """The pose at a point, heading turned by quarters to the right."""
        round_the_clock = ("front", "right", "back", "left")
        heading = round_the_clock[(round_the_clock.index(self.heading) + quarters_right) % 4]
        return Pose(*self.at(t, lateral), heading)


def find_cheapest(site: Site) -> BruteAnswer:
    """Try every layout of the page; least direct cost per class, in cents."""
    best: dict[tuple[str, str], BruteLayout] = {}
    toes = 0
    parts = UsableParts(site)
    for start in site.yard.starts:
        walk = Walk(site, start, parts, best)
        walk.begin()
        toes += walk.toes_tried
    classes = []
    for side, turn in product(EXITS, TURNS):
        layout = best.get((side, turn))
        classes.append(BruteClass(side, turn, None if layout is None else layout.cost_cents, layout))
    return BruteAnswer(tuple(classes), min(best.values(), key=lambda one: one.cost_cents, default=None), toes)


class UsableParts:
    """'Parts that may be used' and 'Slopes', word for word."""

    def __init__(self, site: Site) -> None:
        self.site = site
        catalogue, mass = site.catalogue, site.rider.total_mass_kg
        clear = max(self.limit("clear_width", 0.0), site.wishes.clear_width_m or 0.0)
        wide_enough = [
            s for s in catalogue.sections if s.rated_load_kg >= mass and s.clear_width_m >= clear - E
        ]
        self.width = min((s.overall_width_m for s in wide_enough), default=math.inf)
        self.sections = tuple(s for s in wide_enough if s.overall_width_m <= self.width + E)
        w, gap = self.width, catalogue.piece_gap_m
        length, across, turning = (
            self.limit("landing_length", 0.0),
            self.limit("landing_width", 0.0),
            self.limit("landing_turn", 0.0),
        )
        least = max(length, across, turning, clear)

        def suits(landing: Landing, use: LandingUse) -> bool:
            if use not in landing.uses or landing.rated_load_kg < mass:
                return False
            if use == "straight":
                clear_enough = (
                    landing.clear_length_m >= length - E and landing.clear_width_m >= max(across, clear) - E
                )
            else:
                clear_enough = min(landing.clear_length_m, landing.clear_width_m) >= least - E
            if use == "half":
                return clear_enough and landing.width_m >= 2 * w + gap - E
            if use == "straight":
                return clear_enough and landing.width_m >= w - E
            return clear_enough and min(landing.width_m, landing.length_m) >= w - E

        uses: tuple[LandingUse, ...] = ("door", "straight", "quarter", "half")
        self.landings = {use: tuple(ld for ld in catalogue.landings if suits(ld, use)) for use in uses}
        self.plates = tuple(
            p for p in catalogue.transition_plates if p.rated_load_kg >= mass and p.width_m >= w - E
        )
        self.bottom_length = length if length > 0 else 1.2
        self.bottom_width = max(w, turning)
        self.pad = self.cheapest(
            p
            for p in catalogue.bottom_pads
            if p.length_m >= self.bottom_length - E and p.width_m >= self.bottom_width - E
        )
        self.thresholds = tuple(p for p in catalogue.threshold_plates if p.rated_load_kg >= mass)
        self.post = catalogue.rail_posts[0] if catalogue.rail_posts else None
        extension = self.limit("handrail_extension", 0.0)
        self.rail_end = next((x for x in catalogue.rail_ends if x.extension_m >= extension - E), None)
        self.supports = {s.id: s for s in self._support_types(mass)}
        steepest = site.wishes.steepest
        s_max = min(self.limit("running_slope", math.inf), math.inf if steepest is None else steepest)
        levels, share = site.search.slope_levels, site.search.flattest_share
        self.s_max = s_max
        self.slopes = tuple(
            s_max * (1 - (1 - share) * k / (levels - 1)) if levels > 1 else s_max for k in range(levels)
        )

    def limit(self, quantity: Quantity, otherwise: float) -> float:
        """Limit in SI of the rule set, or what holds where there is none."""
        found = self.site.rules.limit(quantity)
        return otherwise if found is None else found.value_si

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

    def _support_types(self, mass: float) -> Iterator[SupportType]:
        feet = {foot.id: foot for foot in self.site.catalogue.feet}
        kinds: tuple[Leg | LowSupport, ...] = (*self.site.catalogue.legs, *self.site.catalogue.low_supports)
        for kind in kinds:
            if kind.rated_load_kg < mass:
                continue
            foot = feet[kind.foot]
            is_leg = isinstance(kind, Leg)
            reserve = kind.reserve_m if isinstance(kind, Leg) else 0.0
            yield SupportType(
                id=kind.id,
                is_leg=is_leg,
                low_m=kind.min_m + reserve,
                high_m=kind.max_m - reserve,
                brace_above_m=kind.brace_above_m if isinstance(kind, Leg) else math.inf,
                offset_m=kind.lateral_offset_m,
                reach_m=foot.plate_m / math.sqrt(2) + foot.edge_distance_m,
                cents=self.cents(kind) + self.cents(foot),
                brace_cents=self.named(kind.brace) if isinstance(kind, Leg) else 0,
            )


class Surroundings:
    """Everything in the way, in the door frame of one start."""

    def __init__(self, site: Site, start: Start) -> None:
        out = np.asarray(start.outward, dtype=float)
        right = np.array([out[1], -out[0]])

        def framed(points: Points) -> Points:
            moved = np.asarray(points, dtype=float) - start.midpoint_m
            return np.stack([moved @ right, moved @ out], axis=-1)

        def polygon(points: Points) -> Polygon:
            return Polygon(framed(points))

        yard, ground = site.yard, site.ground
        self.corners = framed(ground.triangles_xy)
        self.heights = np.asarray(ground.triangles_z, dtype=float)
        ones = np.ones((len(self.corners), 3, 1))
        corners_and_one = np.concatenate([self.corners, ones], axis=2)
        self.planes = np.linalg.solve(corners_and_one, self.heights[:, :, None])[:, :, 0]
        self.triangles = shapely.polygons(self.corners)
        self.least, self.greatest = self.corners.min(axis=1), self.corners.max(axis=1)
        self.tops = self.heights.max(axis=1)
        self.cells: dict[tuple[int, int], list[tuple[float, ...]]] = {}
        for index in range(len(self.corners)):
            self._file_triangle(index)

        surveyed = Polygon(framed(ground.outline_m[0]), [framed(ring) for ring in ground.outline_m[1:]])
        self.lot = polygon(yard.lot_m)
        inset = self.lot.buffer(-yard.setback_m, join_style="mitre", mitre_limit=1e3)
        self.free_for_pieces = inset.intersection(surveyed)
        self.free_for_bottom = self.lot.intersection(surveyed)
        houses = [polygon(ring) for ring in yard.house_m]
        barred = [polygon(z.outline_m) for z in yard.zones if z.kind in PIECE_BLOCKING]
        obstacles = [(polygon(o.outline_m), o) for o in yard.obstacles]
        endless = [shape for shape, o in obstacles if o.top_m is None]
        self.over_obstacles = [(shape, o.top_m) for shape, o in obstacles if o.top_m is not None]
        self.barrier = shapely.union_all([*houses, *barred, *endless])
        self.plate_barrier = shapely.union_all([*houses, *barred, *(shape for shape, _ in obstacles)])
        self.overhead = [
            (polygon(z.outline_m), z.underside_m - z.headroom_m)
            for z in yard.zones
            if z.kind in OVERHEAD and z.underside_m is not None and z.headroom_m is not None
        ]
        self.no_digging = shapely.union_all(
            [polygon(z.outline_m) for z in yard.zones if z.kind in DIG_BLOCKING]
        )
        self.no_feet = shapely.union_all(
            [
                *houses,
                self.lot.boundary,
                *(LineString(framed(line.xy_m)) for line in ground.break_lines),
                *(polygon(z.outline_m) for z in yard.zones if z.kind in FOOT_BLOCKING | PIECE_BLOCKING),
                *(shape for shape, o in obstacles if not o.may_stand or o.top_m is None),
            ]
        )
        self.standing = [
            (shape, shape.boundary, o.top_m) for shape, o in obstacles if o.may_stand and o.top_m is not None
        ]
        self.arrivals = [polygon(ring) for ring in yard.arrivals_m]
        for shape in (self.free_for_pieces, self.free_for_bottom, self.barrier, self.plate_barrier, self.lot):
            shapely.prepare(shape)

    def _file_triangle(self, index: int) -> None:
        """Note the triangle in every grid cell it may touch, with its three edges."""
        (ax, ay), (bx, by), (cx, cy) = (map(float, corner) for corner in self.corners[index])
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        entry = (ax, ay, bx, by, cx, cy, 1 / area, *map(float, self.heights[index]))
        u0, v0 = (math.floor(x / GRID_M - 1e-6) for x in self.least[index])
        u1, v1 = (math.floor(x / GRID_M + 1e-6) for x in self.greatest[index])
        for cell in product(range(u0, u1 + 1), range(v0, v1 + 1)):
            self.cells.setdefault(cell, []).append(entry)

    def ground(self, u: float, v: float) -> float:
        """Ground elevation, the higher one where two meet; NaN off the survey."""
        found = math.nan
        for ax, ay, bx, by, cx, cy, per_area, za, zb, zc in self.cells.get(
            (math.floor(u / GRID_M), math.floor(v / GRID_M)), ()
        ):
            share_c = ((bx - ax) * (v - ay) - (by - ay) * (u - ax)) * per_area
            share_a = ((cx - bx) * (v - by) - (cy - by) * (u - bx)) * per_area
            share_b = 1 - share_a - share_c
            if share_a >= -1e-9 and share_b >= -1e-9 and share_c >= -1e-9:
                z = za * share_a + zb * share_b + zc * share_c
                found = z if math.isnan(found) else max(found, z)
        return found

    def _overlay(self, rect: Rect) -> tuple[Points, NDArray[np.float64]]:
        """Corners of the rectangle cut by every ground triangle, and the ground there."""
        near = self._near(rect)
        cut = shapely.intersection(self.triangles[near], shapely.box(*rect))
        points, owner = shapely.get_coordinates(cut, return_index=True)
        a, b, c = self.planes[near[owner]].T
        return points, a * points[:, 0] + b * points[:, 1] + c

    def _near(self, rect: Rect) -> NDArray[np.intp]:
        u0, v0, u1, v1 = rect
        return np.nonzero(
            (self.least[:, 0] <= u1)
            & (self.greatest[:, 0] >= u0)
            & (self.least[:, 1] <= v1)
            & (self.greatest[:, 1] >= v0)
        )[0]

    def is_above_ground(self, rect: Rect, under: Plane, needed: float) -> bool:
        """Whether the plane is at least ``needed`` above the ground all over the rectangle."""
        lowest = min(height_of(under, u, v) for u, v in corners_of(rect))
        if lowest - self.tops[self._near(rect)].max(initial=-math.inf) >= needed:
            return True
        points, z = self._overlay(rect)
        a, b, c = under
        return bool(np.all(a * points[:, 0] + b * points[:, 1] + c - z >= needed - E))

    def is_above_obstacles(self, rect: Rect, under: Plane, needed: float) -> bool:
        """The same over the tops of obstacles that have one."""
        for shape, top in self.over_obstacles:
            for u, v in common_corners(shape, rect):
                if height_of(under, u, v) - top < needed - E:
                    return False
        return True

    def has_headroom(self, rect: Rect, deck: Plane) -> bool:
        """Overhead zones: the deck at the upper end of the overlap."""
        return all(
            max(height_of(deck, u, v) for u, v in shared) <= ceiling + E
            for shape, ceiling in self.overhead
            if len(shared := common_corners(shape, rect))
        )

    def lowest_near(self, rect: Rect) -> float:
        """'Lowest ground near' a rectangle, as far as surveyed."""
        u0, v0, u1, v1 = rect
        return float(self._overlay((u0 - NEAR_M, v0 - NEAR_M, u1 + NEAR_M, v1 + NEAR_M))[1].min())

    def stands_on(self, u: float, v: float, reach: float) -> float:
        """Elevation a foot stands on; NaN where no foot of this reach is allowed."""
        point = Point(u, v)
        z = self.ground(u, v)
        if math.isnan(z) or not self.lot.covers(point) or self.no_feet.distance(point) < reach - E:
            return math.nan
        tops = []
        for shape, rim, top in self.standing:
            if shape.covers(point) and rim.distance(point) >= reach - E:
                tops.append(top)
            elif shape.distance(point) < reach - E:
                return math.nan
        return max(tops, default=z)


def height_of(plane: Plane, u: float, v: float) -> float:
    """Elevation of a plane at a point."""
    return plane[0] * u + plane[1] * v + plane[2]


def corners_of(rect: Rect) -> tuple[tuple[float, float], ...]:
    """Four corners of a rectangle."""
    u0, v0, u1, v1 = rect
    return (u0, v0), (u1, v0), (u1, v1), (u0, v1)


def common_corners(shape: Polygon, rect: Rect) -> Points:
    """Corners of what a polygon and a rectangle share; empty when they share no area."""
    u0, v0, u1, v1 = shape.bounds
    if u0 >= rect[2] or u1 <= rect[0] or v0 >= rect[3] or v1 <= rect[1]:
        return np.empty((0, 2))
    shared = shape.intersection(shapely.box(*rect))
    return shapely.get_coordinates(shared) if shared.area > 0 else np.empty((0, 2))


def shrunk(rect: Rect, by: float) -> Rect:
    """The rectangle moved inward (negative: outward) on all four sides."""
    return rect[0] + by, rect[1] + by, rect[2] - by, rect[3] - by


def is_overlapping(a: Rect, b: Rect) -> bool:
    """Whether two rectangles share area."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@dataclass(frozen=True, slots=True)
class Placed:
    """A partial layout with where its pieces lie.

    ``pieces`` are the landings and runs so far, in order; the last one is the landing the
    next run leaves, unless the run hangs on an edge.  ``after_half``: that landing is a half turn.
    """

    layout: BruteLayout
    pieces: tuple[Rect, ...]
    after_half: bool


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run under construction: where its next section begins."""

    pose: Pose
    elevation: float  # at the upper end of the run
    level: int
    slope: float
    sections: tuple[Section, ...]
    surface: float
    parts: Sum

    @property
    def stretch(self) -> float:
        """Plan length so far."""
        return self.surface / math.sqrt(1 + self.slope**2)

    @property
    def drop(self) -> float:
        """Drop so far."""
        return self.slope * self.stretch


class Walk:
    """Every layout from one start."""

    def __init__(
        self, site: Site, start: Start, parts: UsableParts, best: dict[tuple[str, str], BruteLayout]
    ) -> None:
        self.site, self.start, self.parts, self.best = site, start, parts, best
        self.yard = Surroundings(site, start)
        self.catalogue = site.catalogue
        self.toes_tried = 0

    # The start

    def begin(self) -> None:
        """Walk all starts of the page: landings at the door, or the edge itself."""
        start, parts = self.start, self.parts
        plate = parts.cheapest(p for p in parts.thresholds if p.reach_m >= start.gap_m - E)
        if plate is None or not parts.sections:
            return
        nothing = BruteLayout(
            start.name, None, 0, "front", None, (), (), None, None, 0, 0, 0, 0, parts.cents(plate)
        )
        z0 = start.threshold_m - start.drop_m
        if start.kind == "edge":
            for k in self._slides(start.clear_width_m - parts.width):
                pose = Pose(k * self.site.search.slide_step_m, start.gap_m, "front")
                self.run(Placed(replace(nothing, slide=k), (), after_half=False), pose, z0)
            return
        for landing in parts.landings["door"]:
            for k in self._slides(landing.width_m - start.clear_width_m):
                pose = Pose(k * self.site.search.slide_step_m, start.gap_m, "front")
                self._leave_door(replace(nothing, slide=k, door_landing_id=landing.id), landing, pose, z0)

    def _slides(self, play: float) -> Iterator[int]:
        step = self.site.search.slide_step_m
        most = math.floor(max(play, 0.0) / 2 / step) + 1
        yield from (k for k in range(-most, most + 1) if abs(k * step) <= play / 2 + E)

    def _leave_door(self, layout: BruteLayout, landing: Landing, pose: Pose, z0: float) -> None:
        half = landing.width_m / 2
        rect = pose.rect(0, landing.length_m, -half, half)
        legs = self._landing_stands(landing, pose, rect, z0, "door")
        if legs is None:
            return
        across, along = landing.width_m, landing.length_m
        sides = {
            "front": (pose.turned(along, 0, 0), across, "end"),
            "left": (pose.turned(along / 2, -half, 3), along, "left"),
            "right": (pose.turned(along / 2, half, 1), along, "right"),
        }
        for side in self.site.wishes.exits:
            edge, size, name = sides[side]
            rails = self._landing_rails(landing, rect, z0, wall="start", runs=(name,), shared=None)
            for attach, offset in self._attaches(landing, size):
                leaving = edge.turned(0, offset, 0)
                chosen = replace(layout, exit=side, attach=attach).plus(
                    Sum(self.parts.cents(landing)), legs, rails
                )
                self.run(Placed(chosen, (rect,), after_half=False), leaving, z0)

    def _attaches(self, landing: Landing, edge: float) -> list[tuple[str, float]]:
        """Attach positions on an edge: where the run's centre lies, right of the edge's middle."""
        play = (edge - self.parts.width) / 2
        different: list[tuple[str, float]] = []
        for name in landing.attach:
            offset = {"left": -play, "centre": 0.0, "right": play}[name]
            if all(abs(offset - other) > E for _, other in different):
                different.append((name, offset))
        return different

    # Runs

    def run(self, placed: Placed, pose: Pose, elevation: float) -> None:
        """Every run that leaves a pose, at the layout's one slope once it has a run."""
        for level, slope in enumerate(self.parts.slopes):
            if placed.layout.runs and level != placed.layout.runs[0].slope_level:
                continue
            self._extend(placed, Stretch(pose, elevation, level, slope, (), 0.0, Sum(0)))

    def _extend(self, placed: Placed, run: Stretch) -> None:
        """Bolt every section on to a run, end it in every way, then go on extending it."""
        for section in self.parts.sections:
            surface = run.surface + section.pitch_m
            if surface > self.site.search.longest_run_m + E:
                continue
            longer = replace(run, sections=(*run.sections, section), surface=surface)
            rect = self._rect(run, run.stretch, longer.stretch)
            deck = run.pose.plane(run.elevation, run.slope)
            if self._is_barred(rect, deck, placed.pieces[:-1]):
                continue
            under = deck[0], deck[1], deck[2] - section.frame_depth_m
            may_go_on = self._is_clear(rect, under, self.catalogue.clearance_m)
            is_last_possible = self._is_clear(rect, under, self.catalogue.low_clearance_m)
            mids = self._mid_supports(run, section)
            if mids is None or not (may_go_on or is_last_possible):
                continue
            longer = replace(longer, parts=run.parts + Sum(self.parts.cents(section)) + mids)
            if is_last_possible:
                for plate in self.parts.plates:
                    self._touch_down(placed, longer, plate)
            if not may_go_on:
                continue
            if len(placed.layout.runs) + 1 < self.site.search.most_runs:
                self._arrive(placed, longer)
            joint = self._pair(longer, longer.stretch, section, legs_too=True)
            if joint is not None:
                self._extend(placed, replace(longer, parts=longer.parts + joint))

    def _rect(self, run: Stretch, t0: float, t1: float) -> Rect:
        return run.pose.rect(t0, t1, -self.parts.width / 2, self.parts.width / 2)

    def _mid_supports(self, run: Stretch, section: Section) -> Sum | None:
        total = Sum(0)
        for along in section.mid_supports_m:
            t = (run.surface + along) / math.sqrt(1 + run.slope**2)
            pair = self._pair(run, t, section, legs_too=True)
            if pair is None:
                return None
            total += pair
        return total

    def _pair(self, run: Stretch, t: float, section: Section, *, legs_too: bool) -> Sum | None:
        """Two supports under a section at plan distance ``t`` along the run."""
        under = run.elevation - run.slope * t - section.frame_depth_m
        names = (*section.legs, *section.low_supports) if legs_too else section.low_supports
        total = Sum(0)
        for side in (-1, 1):
            choice = []
            for kind in self._types(names):
                lateral = side * (self.parts.width / 2 + kind.offset_m)
                choice.append((kind, *run.pose.at(t, lateral)))
            one = self._cheapest_support(choice, under)
            if one is None:
                return None
            total += one
        return total

    def _types(self, names: Iterable[str]) -> list[SupportType]:
        """Usable support types among ``names``, in catalogue order, legs first."""
        wanted = set(names)
        return [kind for kind in self.parts.supports.values() if kind.id in wanted]

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

    def _is_clear(self, rect: Rect, under: Plane, needed: float) -> bool:
        inner = shrunk(rect, E)
        return self.yard.is_above_ground(inner, under, needed) and self.yard.is_above_obstacles(
            inner, under, needed
        )

    def _is_barred(self, rect: Rect, deck: Plane, earlier: tuple[Rect, ...]) -> bool:
        """Whether earlier pieces, the infinitely high kind or something overhead is in the way."""
        inner = shrunk(rect, E)
        if any(is_overlapping(inner, shrunk(other, -self.catalogue.piece_gap_m)) for other in earlier):
            return True
        box = shapely.box(*inner)
        return (
            not self.yard.free_for_pieces.covers(box)
            or self.yard.barrier.intersects(box)
            or not self.yard.has_headroom(inner, deck)
        )

    def _obeys_run_limits(self, drop: float, length: float) -> bool:
        return (
            drop <= self.parts.limit("rise_per_run", math.inf) + E
            and length <= self.parts.limit("length_per_run", math.inf) + E
        )

    def _run_rails(self, run: Stretch, drop: float, half_turns: int, plate: TransitionPlate | None) -> Sum:
        """Rails of a run that ends, or nothing where none are needed."""
        is_high = run.elevation - self.yard.lowest_near(self._rect(run, 0, run.stretch)) > (
            self.site.wishes.guard_above_m + E
        )
        if not is_high and drop <= self.parts.limit("handrail_rise", math.inf) + E:
            return Sum(0)
        posts, ends = 2 * (len(run.sections) + 1), 4 - half_turns
        panels = [self.parts.named(section.rail_panel) for section in run.sections]
        panels += [] if plate is None else [self.parts.named(plate.rail_panel)]
        cents = 2 * sum(panels) + posts * self.parts.cents(self.parts.post)
        cents += ends * self.parts.cents(self.parts.rail_end)
        return Sum(cents, rails=2 * len(panels) + posts + ends)

    # Landings

    def _landing_stands(
        self, landing: Landing, pose: Pose, rect: Rect, z: float, use: str, earlier: tuple[Rect, ...] = ()
    ) -> Sum | None:
        """Supports of a landing whose entry edge is centred on the pose; None when it may not be there."""
        if self._is_barred(rect, (0.0, 0.0, z), earlier):
            return None
        under = z - landing.frame_depth_m
        if not self._is_clear(rect, (0.0, 0.0, under), self.catalogue.clearance_m):
            return None
        inset, half = landing.leg_inset_m, landing.width_m / 2
        laterals = (inset - half, half - inset) if use != "half" else (inset - half, 0.0, half - inset)
        total = Sum(0)
        for t, lateral in product((inset, landing.length_m - inset), laterals):
            point = pose.at(t, lateral)
            one = self._cheapest_support([(kind, *point) for kind in self._types(landing.legs)], under)
            if one is None:
                return None
            total += one
        return total

    def _landing_rails(
        self,
        landing: Landing,
        rect: Rect,
        z: float,
        *,
        wall: str | None,
        runs: tuple[str, ...],
        shared: str | None,
    ) -> Sum:
        """Rails of a landing, edge by edge."""
        if z - self.yard.lowest_near(rect) <= self.site.wishes.rail_landings_above_m + E:
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

    def _arrive(self, placed: Placed, run: Stretch) -> None:
        """End a run on every landing in every way, and go on from there."""
        if not self._obeys_run_limits(run.drop, run.stretch):
            return
        rails = tuple(self._run_rails(run, run.drop, placed.after_half + half, None) for half in (0, 1))
        end = run.pose.turned(run.stretch, 0, 0)
        may_turn = self.site.wishes.most_turns > 0 and placed.layout.turn == "none"
        kinds = TURNS[1:] if may_turn else ()
        for kind in ("straight", *kinds):
            use: LandingUse = "straight" if kind == "straight" else "half" if "half" in kind else "quarter"
            for landing in self.parts.landings[use]:
                arrivals = self._attaches(landing, landing.width_m)
                if use == "half":
                    play = (landing.width_m - self.parts.width) / 2
                    arrivals = [("left", -play)] if kind == "half_right" else [("right", play)]
                for arrive, offset in arrivals:
                    before = placed.layout.plus(run.parts, rails[use == "half"])
                    before = replace(before, runs=(*before.runs, self._named_run(run)))
                    turn = BruteTurn(kind, landing.id, arrive, "")
                    self._turn(replace(placed, layout=before), run, landing, turn, end.turned(0, -offset, 0))

    def _turn(self, placed: Placed, run: Stretch, landing: Landing, turn: BruteTurn, middle: Pose) -> None:
        """Place a landing with the middle of its entry edge at a pose and leave it in every way."""
        half, along, z = landing.width_m / 2, landing.length_m, run.elevation - run.drop
        use = "half" if "half" in turn.kind else turn.kind
        rect = middle.rect(0, along, -half, half)
        legs = self._landing_stands(landing, middle, rect, z, use, placed.pieces)
        if legs is None:
            return
        play = half - self.parts.width / 2
        shared = "start" if use == "half" else None
        across, beside = self._attaches(landing, landing.width_m), self._attaches(landing, along)
        edge, name, leaves = {
            "straight": (middle.turned(along, 0, 0), "end", across),
            "right": (middle.turned(along / 2, half, 1), "right", beside),
            "left": (middle.turned(along / 2, -half, 3), "left", beside),
            "half_right": (middle.turned(0, play, 2), "start", [("left", 0.0)]),
            "half_left": (middle.turned(0, -play, 2), "start", [("right", 0.0)]),
        }[turn.kind]
        rails = self._landing_rails(landing, rect, z, wall=None, runs=("start", name), shared=shared)
        layout = placed.layout.plus(Sum(self.parts.cents(landing)), legs, rails)
        pieces = (*placed.pieces, self._rect(run, 0, run.stretch), rect)
        for leave, offset in leaves:
            turned = replace(layout, turns=(*layout.turns, replace(turn, leave=leave)))
            self.run(Placed(turned, pieces, after_half=use == "half"), edge.turned(0, offset, 0), z)

    def _named_run(self, run: Stretch) -> BruteRun:
        return BruteRun(tuple(section.id for section in run.sections), run.level)

    # The low end

    def _touch_down(self, placed: Placed, run: Stretch, plate: TransitionPlate) -> None:
        """End the last run with a plate; keep the layout when it is the cheapest of its class."""
        self.toes_tried += 1
        p, z_h, ground = run.stretch, run.elevation - run.drop, self.yard.ground
        t, moved = plate.length_m, math.inf
        for _ in range(12):
            z = ground(*run.pose.at(p + t, 0))
            under_root = plate.length_m**2 - (z_h - z) ** 2
            if not under_root > 0:  # beyond the plate's reach, or off the survey
                return
            longer = math.sqrt(under_root)
            t, moved = longer, abs(longer - t)
        tip = ground(*run.pose.at(p + t, 0))
        d = z_h - tip
        if not (moved < 1e-7 and -E <= d <= self.parts.s_max * t + E):
            return
        if not self._obeys_run_limits(run.drop + d, p + t):
            return
        rect = self._rect(run, p, p + t)
        tip_pose = run.pose.turned(p + t, 0, 0)
        plane = run.pose.turned(p, 0, 0).plane(z_h, d / t)
        if self._is_plate_barred(rect, plane, placed.pieces[:-1]):
            return
        earlier = (*placed.pieces, self._rect(run, 0, p), rect)
        if not self._has_bottom_space(tip_pose, earlier):
            return
        pad = self._pad(tip_pose, tip, shrunk(rect, E), plane)
        hinge = self._pair(run, p, run.sections[-1], legs_too=False)
        if pad is None or hinge is None:
            return
        rails = self._run_rails(run, run.drop + d, int(placed.after_half), plate)
        layout = placed.layout.plus(run.parts, hinge, rails, Sum(self.parts.cents(plate)), pad)
        layout = replace(
            layout,
            runs=(*layout.runs, self._named_run(run)),
            plate_id=plate.id,
            pad_id=self.parts.pad.id if pad.cents and self.parts.pad else None,
        )
        key = layout.exit, layout.turn
        if key not in self.best or layout.cost_cents < self.best[key].cost_cents:
            self.best[key] = layout

    def _is_plate_barred(self, rect: Rect, plane: Plane, earlier: tuple[Rect, ...]) -> bool:
        inner = shrunk(rect, E)
        box = shapely.box(*inner)
        return (
            any(is_overlapping(inner, shrunk(other, -self.catalogue.piece_gap_m)) for other in earlier)
            or not self.yard.free_for_pieces.covers(box)
            or self.yard.plate_barrier.intersects(box)
            or not self.yard.has_headroom(inner, plane)
        )

    def _bottom_rect(self, tip_pose: Pose) -> Rect:
        half = self.parts.bottom_width / 2
        return tip_pose.rect(0, self.parts.bottom_length, -half, half)

    def _has_bottom_space(self, tip_pose: Pose, pieces: tuple[Rect, ...]) -> bool:
        inner = shrunk(self._bottom_rect(tip_pose), E)
        box = shapely.box(*inner)
        tip = Point(tip_pose.u, tip_pose.v)
        return (
            not any(is_overlapping(inner, piece) for piece in pieces)
            and self.yard.free_for_bottom.covers(box)
            and not self.yard.plate_barrier.intersects(box)
            and (not self.yard.arrivals or any(area.distance(tip) <= E for area in self.yard.arrivals))
        )

    def _pad(self, tip_pose: Pose, tip: float, plate: Rect, plane: Plane) -> Sum | None:
        """The pad's cost, nothing where none is needed, None where one is needed but not possible."""
        long, wide, w = self.parts.bottom_length, self.parts.bottom_width, self.parts.width
        probes = np.array(
            [
                [self.yard.ground(*tip_pose.at(t, lateral)) for lateral in (-wide / 2, 0, wide / 2)]
                for t in (0, long / 2, long)
            ]
        )
        edge = [self.yard.ground(*tip_pose.at(0, lateral)) for lateral in (-w / 2, w / 2)]
        if np.isnan([*probes.flat, *edge]).any():
            return None
        steepest = math.hypot(
            (probes[2].mean() - probes[0].mean()) / long, (probes[:, 2].mean() - probes[:, 0].mean()) / wide
        )
        is_level = steepest <= self.parts.limit("landing_slope", 1 / 48) + 1e-9
        rows, columns = probes.mean(axis=1), probes.mean(axis=0)
        steps = np.array([-0.5, 0.0, 0.5])
        fitted = np.add.outer((rows[2] - rows[0]) * steps, (columns[2] - columns[0]) * steps) + probes.mean()
        is_level = is_level and bool(np.abs(probes - fitted).max() <= LIP_M + E)
        is_flush = max(abs(z - tip) for z in edge) <= LIP_M + E
        if is_level and is_flush and self.yard.is_above_ground(plate, plane, -LIP_M):
            return Sum(0)
        pad = self.parts.pad
        if pad is None or np.abs(probes - tip).max() > pad.greatest_level_difference_m + E:
            return None
        if not self.yard.is_above_ground(plate, plane, -pad.greatest_level_difference_m):
            return None
        dug = shapely.union_all([shapely.box(*shrunk(self._bottom_rect(tip_pose), E)), shapely.box(*plate)])
        return None if self.yard.no_digging.intersects(dug) else Sum(self.parts.cents(pad))
