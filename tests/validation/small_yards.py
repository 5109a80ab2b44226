"""Small yards for comparing the search with brute force, made from a seed.

Validates nothing by itself.  Source: invented.  Everything is drawn in the door's own frame
(wall along u, out along v), then turned by an angle of its own and moved, so that no door
faces an axis.  Demo catalogues are cut down to two section lengths and few landings so that
trying everything takes about a second.
"""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from random import Random
from typing import Literal

import numpy as np
from scipy.spatial import Delaunay

from optimizer.brief.site import DisplayUnits, Rider, SearchSettings, Site, Wishes
from optimizer.catalogue.demo_files import demo_catalogue_path
from optimizer.catalogue.parts import AttachPosition, Catalogue, Landing
from optimizer.catalogue.rates import Rates
from optimizer.catalogue.read_catalogue import read_catalogue
from optimizer.rulebook.rules import Limit, Quantity, RuleSet
from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.yard import Obstacle, Points, Start, Yard, Zone, ZoneKind

DEMO_CATALOGUES = ("demo-inch", "demo-millimetre", "demo-gap")
OVERHEAD_KINDS: frozenset[ZoneKind] = frozenset({"headroom", "wire"})

Side = Literal["front", "left", "right"]
Exits = tuple[Side, ...]
Hand = Literal["left", "right", "either"]
MIRRORED_SIDE: dict[Side, Side] = {"front": "front", "left": "right", "right": "left"}
MIRRORED_TURN = {
    "none": "none",
    "left": "right",
    "right": "left",
    "half_left": "half_right",
    "half_right": "half_left",
}
MIRRORED_ATTACH: dict[AttachPosition, AttachPosition] = {
    "left": "right",
    "centre": "centre",
    "right": "left",
}


@dataclass(frozen=True, slots=True)
class Move:
    """A rigid motion: points in plan go by ``matrix`` and then ``shift``, heights up by ``dz``."""

    matrix: Points
    shift: Points
    dz: float

    @property
    def is_mirror(self) -> bool:
        """Whether left and right change places."""
        return bool(np.linalg.det(self.matrix) < 0)

    def xy(self, points: Points) -> Points:
        """Points in plan, in the order given."""
        return frozen(np.asarray(points) @ self.matrix.T + self.shift)

    def ring(self, points: Points) -> Points:
        """A ring, counter-clockwise afterwards too."""
        return frozen(self.xy(points)[::-1]) if self.is_mirror else self.xy(points)

    def up(self, z: float | None) -> float | None:
        """An elevation that may be missing."""
        return None if z is None else z + self.dz


def frozen(values: Points) -> Points:
    """A read-only copy."""
    copy = np.array(values, dtype=np.float64)
    copy.flags.writeable = False
    return copy


def moved(site: Site, dx_m: float, dy_m: float, dz_m: float) -> Site:
    """The same site elsewhere and higher."""
    return _carried(site, Move(np.eye(2), np.array([dx_m, dy_m]), dz_m))


def turned(site: Site, angle_deg: float) -> Site:
    """The same site turned about the origin, counter-clockwise seen from above."""
    return _carried(site, Move(_rotation(angle_deg), np.zeros(2), 0.0))


def mirrored(site: Site) -> Site:
    """The same site seen in a mirror along the y axis: x changes its sign, left and right change places."""
    hands: dict[Hand, Hand] = {"left": "right", "right": "left", "either": "either"}
    landings = tuple(
        replace(landing, attach=tuple(MIRRORED_ATTACH[place] for place in landing.attach))
        for landing in site.catalogue.landings
    )
    return replace(
        _carried(site, Move(np.array([[-1.0, 0.0], [0.0, 1.0]]), np.zeros(2), 0.0)),
        catalogue=replace(site.catalogue, landings=landings),
        wishes=replace(site.wishes, exits=tuple(MIRRORED_SIDE[side] for side in site.wishes.exits)),
        rider=replace(site.rider, better_hand=hands[site.rider.better_hand]),
    )


def _rotation(angle_deg: float) -> Points:
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[cos, -sin], [sin, cos]])


def _carried(site: Site, move: Move) -> Site:
    return replace(site, yard=_carried_yard(site.yard, move), ground=_carried_ground(site.ground, move))


def _carried_yard(yard: Yard, move: Move) -> Yard:
    return replace(
        yard,
        starts=tuple(
            replace(
                start,
                midpoint_m=move.xy(start.midpoint_m),
                outward=frozen(np.asarray(start.outward) @ move.matrix.T),
                threshold_m=start.threshold_m + move.dz,
                hinge_side=_mirrored_hand(start.hinge_side) if move.is_mirror else start.hinge_side,
            )
            for start in yard.starts
        ),
        house_m=tuple(move.ring(ring) for ring in yard.house_m),
        lot_m=move.ring(yard.lot_m),
        obstacles=tuple(
            replace(one, outline_m=move.ring(one.outline_m), top_m=move.up(one.top_m))
            for one in yard.obstacles
        ),
        zones=tuple(
            replace(one, outline_m=move.ring(one.outline_m), underside_m=move.up(one.underside_m))
            for one in yard.zones
        ),
        arrivals_m=tuple(move.ring(ring) for ring in yard.arrivals_m),
        destination_m=None if yard.destination_m is None else move.xy(yard.destination_m),
    )


def _mirrored_hand(side: Literal["left", "right"]) -> Literal["left", "right"]:
    return "left" if side == "right" else "right"


def _carried_ground(ground: Ground, move: Move) -> Ground:
    order = [0, 2, 1] if move.is_mirror else [0, 1, 2]
    points = np.asarray(ground.points_m)
    return replace(
        ground,
        points_m=frozen(np.column_stack([move.xy(points[:, :2]), points[:, 2] + move.dz])),
        triangles_xy=frozen(move.xy(ground.triangles_xy)[:, order]),
        triangles_z=frozen(ground.triangles_z[:, order] + move.dz),
        outline_m=tuple(move.ring(ring) for ring in ground.outline_m),
        break_lines=tuple(
            replace(
                line,
                xy_m=move.xy(line.xy_m),
                top_m=frozen(line.top_m + move.dz),
                foot_m=frozen(line.foot_m + move.dz),
                high_side=(
                    {"left": "right", "right": "left"}[line.high_side] if move.is_mirror else line.high_side
                ),
            )
            for line in ground.break_lines
        ),
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


def build_ground(
    points: Points, wall: BreakLine | None = None, outline: tuple[Points, ...] | None = None
) -> Ground:
    """Triangulate spot levels (n, 3) over their hull, each side of a straight wall by itself.

    The wall must run from edge to edge of the surveyed rectangle; its own points are added
    at the top on its high side and at the foot on the other.
    """
    surveyed = np.asarray(points, dtype=float)
    sides = [surveyed]
    if wall is not None:
        along = wall.xy_m[-1] - wall.xy_m[0]
        off = surveyed[:, :2] - wall.xy_m[0]
        is_left = along[0] * off[:, 1] - along[1] * off[:, 0] > 0
        is_high = is_left if wall.high_side == "left" else ~is_left
        sides = [
            np.vstack([surveyed[is_high], np.column_stack([wall.xy_m, wall.top_m])]),
            np.vstack([surveyed[~is_high], np.column_stack([wall.xy_m, wall.foot_m])]),
        ]
    xy, z = [], []
    for side in sides:
        for corners in Delaunay(side[:, :2]).simplices:
            a, b, c = side[corners]
            area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
            if abs(area) > 1e-9:  # flat slivers along a straight edge carry no ground
                ordered = np.array([a, b, c] if area > 0 else [a, c, b])
                xy.append(ordered[:, :2])
                z.append(ordered[:, 2])
    everything = np.vstack(sides)
    low, high = everything[:, :2].min(axis=0), everything[:, :2].max(axis=0)
    rectangle = _box(low[0], low[1], high[0], high[1])
    return Ground(
        points_m=frozen(everything),
        point_names=tuple(f"P{n}" for n in range(len(everything))),
        triangles_xy=frozen(np.array(xy)),
        triangles_z=frozen(np.array(z)),
        outline_m=(rectangle,) if outline is None else outline,
        break_lines=() if wall is None else (wall,),
        leave_one_out_m=None,
    )


def _box(u0: float, v0: float, u1: float, v1: float) -> Points:
    return frozen(np.array([[u0, v0], [u1, v0], [u1, v1], [u0, v1]]))


def _quad(random: Random, u: float, v: float, wide: float, deep: float) -> Points:
    """A rectangle with its corners pushed about a little, centred on a point."""
    box = np.asarray(_box(u - wide / 2, v - deep / 2, u + wide / 2, v + deep / 2))
    push = np.array([[random.uniform(-0.1, 0.1) for _ in range(2)] for _ in range(4)])
    return frozen(box + push * min(wide, deep))


@cache
def demo_catalogue(demo_id: str) -> Catalogue:
    """A demo catalogue, read once."""
    return read_catalogue(demo_catalogue_path(demo_id))


def build_catalogue(random: Random, demo_id: str) -> Catalogue:
    """A demo catalogue with two section lengths, one or two landings per use and two plates."""
    whole = demo_catalogue(demo_id)
    sections = tuple(random.sample(whole.sections[:3], 2))
    if random.random() < 0.25:
        middle = replace(sections[0], mid_supports_m=(sections[0].pitch_m * random.uniform(0.4, 0.6),))
        sections = (middle, sections[1])
    if random.random() < 0.1:
        wider = replace(sections[1], overall_width_m=sections[1].overall_width_m + 0.05)
        sections = (sections[0], wider)
    legs, low_supports, plates = (
        whole.legs,
        whole.low_supports,
        tuple(random.sample(whole.transition_plates, 2)),
    )
    weak = random.choice(("leg", "low support", "plate", "section", *["nothing"] * 20))
    if weak == "leg":
        legs = (replace(legs[0], rated_load_kg=95.0), *legs[1:])
    elif weak == "low support":
        low_supports = (replace(low_supports[0], rated_load_kg=95.0), *low_supports[1:])
    elif weak == "plate":
        plates = (replace(plates[0], rated_load_kg=95.0), *plates[1:])
    elif weak == "section":
        sections = (replace(sections[0], rated_load_kg=95.0), sections[1])
    if random.random() < 0.3:
        legs = tuple(replace(leg, lateral_offset_m=random.choice((-0.08, 0.12))) for leg in legs)
    places: tuple[tuple[AttachPosition, ...], ...] = (
        ("left", "right"),
        ("left", "right"),
        ("centre",),
        ("left",),
        ("right", "centre"),
    )
    landings = tuple(
        replace(landing, attach=random.choice(places)) if "half" not in landing.uses else landing
        for landing in whole.landings
        if landing.uses != {"straight"} or random.random() < 0.7
    )
    door_sizes = [landing for landing in landings if "door" in landing.uses]
    if len(door_sizes) > 1 and random.random() < 0.6:
        landings = tuple(landing for landing in landings if landing is not door_sizes[1])
    if random.random() < 0.5:
        landings = tuple(_shortened(landing, random.uniform(0.1, 0.3)) for landing in landings)
    return replace(
        whole,
        sections=sections,
        legs=legs,
        landings=landings,
        low_supports=low_supports,
        transition_plates=plates,
        clearance_m=random.choice((whole.clearance_m, whole.clearance_m, 0.1)),
        piece_gap_m=random.choice((whole.piece_gap_m, 0.15)),
        bottom_pads=whole.bottom_pads if random.random() < 0.95 else (),
        stock=(),
    )


def _shortened(landing: Landing, by: float) -> Landing:
    return replace(landing, length_m=landing.length_m - by, clear_length_m=landing.clear_length_m - by)


def build_small_yard(seed: int) -> Site:
    """A yard of about 6 by 6 m with one door, the same for the same seed."""
    random = Random(f"small yard {seed}")  # noqa: S311  # repeatable yards, no secrets
    demo_id = DEMO_CATALOGUES[seed % 3]
    catalogue = build_catalogue(random, demo_id)
    if seed % 4 == 2:  # yards are low: let some legs need bracing all the same
        legs = tuple(replace(leg, brace_above_m=0.2) for leg in catalogue.legs)
        catalogue = replace(catalogue, legs=legs)
    left, right, depth = random.uniform(4.0, 9.0), random.uniform(4.0, 9.0), random.uniform(5.5, 9.5)
    ground, level = _build_slope(random, left, right, depth)
    start = _build_start(random, level, 0.38 if demo_id == "demo-gap" else 0.5)
    yard = _build_yard(random, start, left, right, depth)
    site = Site(
        name=f"small yard {seed}",
        path=Path("small-yard"),
        dated="2026-03-01",
        origin_shift_m=frozen(np.zeros(3)),
        yard=yard,
        ground=ground,
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
        rules=_build_rules(random),
        rider=Rider(1.2, 0.7, random.choice((90.0, 120.0, 180.0)), "alone", "either"),
        wishes=_build_wishes(random),
        search=SearchSettings(
            slide_step_m=random.uniform(0.25, 0.5),
            slope_levels=random.choice((2, 4, 6, 6, 7)),
            flattest_share=random.uniform(0.4, 0.8),
            most_runs=3 if seed % 7 == 3 else 2,
            longest_run_m=random.choice((2.7, 3.7, 3.7, 4.0, 4.4, 4.7)),
            time_limit_s=60.0,
            seed=1,
        ),
        display=DisplayUnits("mm", 0.001),
    )
    placed = turned(site, random.uniform(5.0, 85.0) + 90.0 * random.randrange(4))
    return moved(placed, random.uniform(-3.0, 3.0), random.uniform(-3.0, 3.0), random.uniform(-1.0, 1.0))


def _build_slope(random: Random, left: float, right: float, depth: float) -> tuple[Ground, float]:
    """Ground that falls unequally in both directions, maybe with a low wall; and its level at the door."""
    # A plate lands only where the ground is nearly level across it: one of the falls is small.
    gentle, steeper = random.uniform(-0.006, 0.006), random.uniform(-0.015, 0.035)
    fall_u, fall_v = random.choice(((gentle, steeper), (gentle, steeper), (steeper, gentle)))
    bump = random.choice((0.001, 0.002, 0.003, 0.008))
    shrink = 0.8 if random.random() < 0.1 else -0.3
    u0, u1, v0, v1 = -left + shrink, right + 0.3, -0.3, depth + 0.3
    wall = None
    step = 0.0
    if random.random() < 0.25:
        step = random.uniform(0.08, 0.3)
        at, tilt = (
            random.choice((random.uniform(1.5, 2.2), random.uniform(2.2, 5.0))),
            random.uniform(-0.3, 0.3),
        )
        ends = np.array([[u0, at - tilt], [u1, at + tilt]])
        tops = -fall_u * ends[:, 0] - fall_v * ends[:, 1]
        is_down = random.random() < 0.75  # the yard steps down away from the door, or up
        feet = tops - step if is_down else tops + step
        wall = BreakLine(
            "wall", frozen(ends), frozen(np.maximum(tops, feet)), frozen(np.minimum(tops, feet)),
            "right" if is_down else "left",
        )  # fmt: skip
        step = step if is_down else -step
    points = []
    for i, u in enumerate(np.linspace(u0, u1, 4)):
        for j, v in enumerate(np.linspace(v0, v1, 4)):
            pu = u + (random.uniform(-0.5, 0.5) if 0 < i < 3 else 0.0)
            pv = v + (random.uniform(-0.5, 0.5) if 0 < j < 3 else 0.0)
            is_corner = i in {0, 3} and j in {0, 3}
            z = -fall_u * pu - fall_v * pv + random.uniform(-bump, bump)
            if wall is not None:
                off = pv - np.interp(pu, wall.xy_m[:, 0], wall.xy_m[:, 1])
                if abs(off) < 0.4 and not is_corner:
                    continue
                z -= step if off > 0 else 0.0
            points.append((pu, pv, z))
    return build_ground(np.array(points), wall), 0.0


def _build_start(random: Random, level: float, highest: float) -> Start:
    kind: Literal["landing", "over_steps", "edge"] = random.choice(
        ("landing", "landing", "landing", "landing", "over_steps", "over_steps", "edge")
    )
    return Start(
        name="door",
        kind=kind,
        midpoint_m=frozen(np.zeros(2)),
        outward=frozen(np.array([0.0, 1.0])),
        threshold_m=level + random.uniform(0.28 if kind == "over_steps" else 0.2, highest),
        drop_m=random.choice((0.0, 0.0127, 0.03)),
        clear_width_m=random.uniform(1.1, 2.2) if kind == "edge" else random.uniform(0.8, 1.0),
        gap_m=random.choice((0.01, 0.04, 0.06)),
        swing="in",
        hinge_side=random.choice(("left", "right")),
    )


def _build_yard(random: Random, start: Start, left: float, right: float, depth: float) -> Yard:
    lot = np.array([[-left - 0.2, -3.2], [right + 0.2, -3.2], [right, depth], [-left, depth]])
    if random.random() < 0.6:
        lot[2:] += [[random.uniform(-0.7, 0.2), random.uniform(-0.8, 0.0)] for _ in range(2)]
    house = [_box(-left + 0.1, -3.0, right - 0.1, 0.0)]
    if random.random() < 0.12:  # a wing beside the door
        near = random.uniform(1.6, 2.4)
        wing = (near, -1.0, right - 0.1, random.uniform(0.5, 1.8))
        if right - 0.1 > near:
            house.append(_box(*wing) if random.random() < 0.5 else _box(-wing[2], wing[1], -near, wing[3]))
    obstacles, zones = [], []
    if start.kind == "over_steps":
        top = start.threshold_m - random.uniform(0.19, 0.26)
        steps = _box(-0.42, 0.0, 0.42, random.uniform(0.35, 0.6))
        obstacles.append(Obstacle("steps", steps, top, may_stand=random.random() < 0.5))
    for n in range(random.choice((0, 0, 0, 1, 1, 2))):
        u, v = _on_a_way(random, depth)
        kind = random.choice(("tree", "kerb", "slab"))
        if kind == "tree":
            obstacles.append(Obstacle(f"tree {n}", _quad(random, u, v, 0.4, 0.4), None, may_stand=False))
        elif kind == "kerb":
            outline = _quad(random, u, v, 1.2, 0.3)
            obstacles.append(Obstacle(f"kerb {n}", outline, random.uniform(0.02, 0.15), may_stand=False))
        else:
            outline = _quad(random, u, v, 1.6, 1.3)
            obstacles.append(Obstacle(f"slab {n}", outline, random.uniform(0.03, 0.1), may_stand=True))
    for n in range(random.choice((0, 0, 1, 1, 2))):
        u, v = _on_a_way(random, depth)
        zones.append(_build_zone(random, n, u, v, start))
    arrivals: tuple[Points, ...] = ()
    if random.random() < 0.1:
        arrivals = (_quad(random, random.uniform(-left, right), depth * 0.6, 7.0, depth),)
    return Yard(
        starts=(start,),
        house_m=tuple(house),
        lot_m=frozen(lot),
        setback_m=random.uniform(0.1, 0.7) if random.random() < 0.2 else 0.0,
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
        outline_m=_quad(random, u, v, wide, deep),
        reason="test",
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


def _build_wishes(random: Random) -> Wishes:
    exits: tuple[Exits, ...] = (
        ("front", "left", "right"),
        ("front", "left", "right"),
        ("front", "left", "right"),
        ("front", "left", "right"),
        ("front", "left", "right"),
        ("front", "right"),
        ("left", "right"),
        ("front", "left"),
    )
    return Wishes(
        steepest=1 / random.uniform(6.0, 8.0) if random.random() < 0.3 else None,
        clear_width_m=0.85 if random.random() < 0.2 else None,
        exits=random.choice(exits),
        most_turns=random.choice((0, 1, 1, 1, 1, 2)),
        guard_above_m=random.uniform(0.25, 0.762),
        rail_landings_above_m=random.uniform(0.1524, 0.5),
        shown=1,
    )
