"""Follow one layout along its walking line with any slopes, and see whether it may lie there.

The kernel finds *which* layouts are cheapest; this retraces one of them, so that sections
and legs can be named under stock and slopes can be closed off the slope levels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from optimizer.catalogue.parts import Landing
from optimizer.layout.landing_edges import (
    EdgeRail,
    find_departure,
    list_door_landing_rails,
    list_landing_rails,
)
from optimizer.layout.spec import TurnKind, TurnSpec
from optimizer.search.find_layouts import HEADINGS, Opening
from optimizer.search.geometry_kernel import (
    E,
    first_overhead,
    first_piece,
    first_violation,
    ground_elevation,
    lowest_ground,
    plate_reach,
    scratch,
)
from optimizer.search.kernel_tables import NEAR_EDGE, NEVER, Tables
from optimizer.search.support_kernel import needs_rails, support_at, write_rectangle
from optimizer.search.toe_kernel import toe_cost


@dataclass(frozen=True, slots=True)
class Pose:
    """A point and a unit heading in the door frame."""

    u: float
    v: float
    hu: float
    hv: float

    def ahead(self, along_m: float, right_m: float) -> tuple[float, float]:
        """The point so far along and to the right."""
        return (
            self.u + along_m * self.hu + right_m * self.hv,
            self.v + along_m * self.hv - right_m * self.hu,
        )


@dataclass(frozen=True, slots=True)
class TracedRun:
    """One run as laid: where it starts, how far frames are clear, whether it has rails."""

    pose: Pose
    deck_m: float
    slope: float
    surface_m: float
    plan_m: float
    clear_m: float
    railed: bool
    is_last: bool


@dataclass(frozen=True, slots=True)
class TracedLanding:
    """One landing as laid; the pose is the middle of its entry edge."""

    landing: Landing
    number: int
    is_half: bool
    pose: Pose
    deck_m: float
    rails: tuple[EdgeRail, ...]


@dataclass(frozen=True, slots=True)
class Trace:
    """A layout that may lie where it lies (supports aside)."""

    opening: Opening
    runs: tuple[TracedRun, ...]
    landings: tuple[TracedLanding, ...]
    rail_ends: int
    plate_number: int
    plate_plan_m: float
    tip_elevation_m: float
    hinge_elevation_m: float
    pad_cents: int


@dataclass(frozen=True, slots=True)
class TraceQuestion:
    """The choices to follow: slopes and surface lengths per run, turns, plate."""

    opening: Opening
    slopes: tuple[float, ...]
    surfaces_m: tuple[float, ...]
    turns: tuple[TurnSpec, ...]
    plate: str


def is_half_turn(kind: TurnKind) -> bool:
    """Whether a turn is a half turn."""
    return kind in ("half_left", "half_right")


def trace_layout(question: TraceQuestion) -> Trace | None:
    """Follow a layout; ``None`` when some rule other than supports stands against it."""
    opening = question.opening
    prepared = opening.prepared
    tables, parts = prepared.tables, prepared.parts
    numbers = tables.numbers[0]
    room = scratch()
    width = numbers.width
    gap = numbers.gap
    rectangles = np.zeros((2 * len(question.slopes) + 3, 4))
    pieces = 0
    landings: list[TracedLanding] = []
    runs: list[TracedRun] = []
    by_id = {landing.id: n for n, landing in enumerate(parts.landings)}
    if opening.door_landing is not None and opening.rectangle is not None:
        number = by_id[opening.door_landing]
        landing = parts.landings[number]
        rectangles[0] = opening.rectangle
        pieces = 1
        rails = list_door_landing_rails(landing, opening.exit, width)
        pose = Pose(opening.slide_m, prepared.start.gap_m, 0.0, 1.0)
        railed = landing_is_railed(tables, rectangles[0], opening.deck_m, room)
        landings.append(TracedLanding(landing, number, False, pose, opening.deck_m, rails if railed else ()))
    pose = Pose(opening.u, opening.v, *HEADINGS[opening.exit])
    deck = opening.deck_m
    half_before = False
    ends = 0
    plate_number = next(n for n, plate in enumerate(parts.plates) if plate.id == question.plate)
    plate_length = float(tables.plates[plate_number].length)
    for level, (slope, surface) in enumerate(zip(question.slopes, question.surfaces_m, strict=True)):
        last = level + 1 == len(question.slopes)
        cosine = 1.0 / math.sqrt(1.0 + slope * slope)
        plan = surface * cosine
        drop = plan * slope
        far = plan + plate_length + 1.0
        at = (pose.u, pose.v, pose.hu, pose.hv, width / 2.0)
        free = first_piece(rectangles, pieces, pieces - 1, gap, *at, far)
        low = first_overhead(
            tables.triangles, numbers.dig_end, numbers.overhead_end, *at, min(far, free), deck, slope, room
        )
        low = first_violation(
            tables.triangles,
            0,
            numbers.solid_end,
            *at,
            low,
            deck,
            slope,
            numbers.depth + numbers.low_clearance,
            room,
        )
        clear = first_violation(
            tables.triangles,
            0,
            numbers.solid_end,
            *at,
            low,
            deck,
            slope,
            numbers.depth + numbers.clearance,
            room,
        )
        if plan > (low if last else clear) + E:
            return None
        end_u, end_v = pose.ahead(plan, 0.0)
        end = deck - drop
        fall = 0.0
        reach = 0.0
        tip = end
        if last:
            reach = plate_reach(
                tables,
                end_u,
                end_v,
                pose.hu,
                pose.hv,
                end,
                plate_length,
            )
            if math.isnan(reach) or plan + reach > free + E:
                return None
            tip = ground_elevation(
                tables,
                end_u + reach * pose.hu,
                end_v + reach * pose.hv,
            )
            fall = end - tip
        if drop + fall > numbers.rise_limit + E or plan + reach > numbers.length_limit + E:
            return None
        railed = bool(
            needs_rails(
                tables, pose.u, pose.v, pose.hu, pose.hv, plan, deck, drop + fall, rectangles[pieces], room
            )
        )
        write_rectangle(rectangles[pieces], pose.u, pose.v, pose.hu, pose.hv, width / 2.0, plan)
        runs.append(TracedRun(pose, deck, slope, surface, plan, clear, railed, last))
        if railed:
            ends += 4 - int(half_before) - (0 if last else int(is_half_turn(question.turns[level].kind)))
        if last:
            over = first_overhead(
                tables.triangles,
                numbers.dig_end,
                numbers.overhead_end,
                end_u,
                end_v,
                pose.hu,
                pose.hv,
                width / 2.0,
                reach,
                end,
                fall / reach,
                room,
            )
            if over < reach - E:
                return None
            pad = toe_cost(
                tables,
                rectangles,
                pieces + 1,
                end_u + reach * pose.hu,
                end_v + reach * pose.hv,
                pose.hu,
                pose.hv,
                end,
                numbers.steepest,
                reach,
                tip,
                room,
            )
            if pad >= NEVER:
                return None
            return Trace(opening, tuple(runs), tuple(landings), ends, plate_number, reach, tip, end, int(pad))
        turn = question.turns[level]
        number = by_id[turn.landing]
        landing = parts.landings[number]
        departure = find_departure(landing, turn.kind, turn.arrive, turn.leave, width)
        middle = Pose(*Pose(end_u, end_v, pose.hu, pose.hv).ahead(0.0, departure.shift_m), pose.hu, pose.hv)
        at = (middle.u, middle.v, middle.hu, middle.hv, landing.width_m / 2.0)
        if first_piece(rectangles, pieces, -1, gap, *at, landing.length_m) < landing.length_m - E:
            return None
        depth = landing.frame_depth_m + numbers.clearance
        if (
            first_violation(
                tables.triangles, 0, numbers.solid_end, *at, landing.length_m, end, 0.0, depth, room
            )
            < landing.length_m - E
        ):
            return None
        if (
            first_overhead(
                tables.triangles, numbers.dig_end, numbers.overhead_end, *at, landing.length_m, end, 0.0, room
            )
            < landing.length_m - E
        ):
            return None
        write_rectangle(rectangles[pieces + 1], *at, landing.length_m)
        has_rails = landing_is_railed(tables, rectangles[pieces + 1], end, room)
        rails = list_landing_rails(landing, turn.kind, width) if has_rails else ()
        landings.append(TracedLanding(landing, number, is_half_turn(turn.kind), middle, end, rails))
        pieces += 2
        leaving = Pose(end_u, end_v, pose.hu, pose.hv).ahead(departure.along_m, departure.right_m)
        along, right = departure.heading
        pose = Pose(
            *leaving,
            along * pose.hu + right * pose.hv,
            along * pose.hv - right * pose.hu,
        )
        deck = end
        half_before = is_half_turn(turn.kind)
    return None


def landing_is_railed(tables: Tables, rectangle: np.ndarray, deck_m: float, room: np.ndarray) -> bool:
    """Whether a landing stands high enough above the ground near it to carry rails."""
    low = lowest_ground(
        tables.triangles,
        tables.numbers[0].ground_end,
        rectangle[0] - NEAR_EDGE,
        rectangle[1] + NEAR_EDGE,
        rectangle[2] - NEAR_EDGE,
        rectangle[3] + NEAR_EDGE,
        room,
    )
    return bool(deck_m - low > tables.numbers[0].landing_rail_above + E)


@dataclass(frozen=True, slots=True)
class SupportOption:
    """A support type that fits at one point, and what it costs there with foot and brace."""

    kind: int
    cost_cents: int
    braced: bool


def list_landing_points(landing: TracedLanding) -> tuple[tuple[float, float], ...]:
    """Where a landing's legs stand: entry side first, each side left, right, then the middle."""
    inset = landing.landing.leg_inset_m
    side = landing.landing.width_m / 2.0 - inset
    lateral = (-side, side, 0.0) if landing.is_half else (-side, side)
    return tuple(
        landing.pose.ahead(t, right) for t in (inset, landing.landing.length_m - inset) for right in lateral
    )


def kinds_in(bits: int) -> tuple[int, ...]:
    """Places of the supports whose bits are set, in order."""
    return tuple(kind for kind in range(bits.bit_length()) if (bits >> kind) & 1)


def list_point_options(
    tables: Tables, kinds: tuple[int, ...], u: float, v: float, frame_m: float
) -> tuple[SupportOption, ...]:
    """Support types that fit at one point in plan."""
    found = []
    for kind in kinds:
        cost = int(support_at(tables, kind, u, v, frame_m))
        if cost < NEVER:
            found.append(SupportOption(kind, cost, cost > int(tables.supports[kind].cost)))
    return tuple(found)


def list_pair_options(
    tables: Tables, kinds: tuple[int, ...], run: TracedRun, surface_m: float
) -> tuple[tuple[SupportOption, ...], tuple[SupportOption, ...]]:
    """Support types that fit left and right under a run at a surface distance from its top."""
    t = surface_m / math.sqrt(1.0 + run.slope * run.slope)
    numbers = tables.numbers[0]
    frame = run.deck_m - run.slope * t - float(numbers.depth)
    half = float(numbers.width) / 2.0
    sides: list[tuple[SupportOption, ...]] = []
    for sign in (-1.0, 1.0):
        found: list[SupportOption] = []
        for kind in kinds:
            u, v = run.pose.ahead(t, sign * (half + float(tables.supports[kind].lateral)))
            found += list_point_options(tables, (kind,), u, v, frame)
        sides.append(tuple(found))
    return sides[0], sides[1]


def list_named_supports(
    trace: Trace, runs: tuple[tuple[str, ...], ...], supports: tuple[str, ...]
) -> tuple[SupportOption | None, ...] | None:
    """The named support at every point in building order as it fits there (``None``: it does not).

    ``None`` as a whole when a section that needs the full clearance does not have it.
    """
    prepared = trace.opening.prepared
    tables, parts = prepared.tables, prepared.parts
    kinds = {support.id: n for n, support in enumerate((*parts.legs, *parts.low_supports))}
    sections = {section.id: section for section in parts.sections}
    names = iter(supports)
    found: list[SupportOption | None] = []
    landings = list(trace.landings)

    def set_landing(landing: TracedLanding) -> None:
        frame = landing.deck_m - landing.landing.frame_depth_m
        for u, v in list_landing_points(landing):
            options = list_point_options(tables, (kinds[next(names)],), u, v, frame)
            found.append(options[0] if options else None)

    def set_pair(run: TracedRun, surface_m: float) -> None:
        for side in (0, 1):
            options = list_pair_options(tables, (kinds[next(names)],), run, surface_m)[side]
            found.append(options[0] if options else None)

    if len(landings) == len(trace.runs):
        set_landing(landings.pop(0))
    for n, (run, names_of_run) in enumerate(zip(trace.runs, runs, strict=True)):
        cosine = 1.0 / math.sqrt(1.0 + run.slope * run.slope)
        at = 0.0
        for k, name in enumerate(names_of_run):
            section = sections[name]
            lower = at + section.pitch_m
            is_end = k + 1 == len(names_of_run)
            if (lower if not (is_end and run.is_last) else at) * cosine > run.clear_m + E:
                return None
            for mid in section.mid_supports_m:
                set_pair(run, at + mid)
            if not is_end or run.is_last:
                set_pair(run, lower)
            at = lower
        if n + 1 < len(trace.runs):
            set_landing(landings.pop(0))
    return tuple(found)
