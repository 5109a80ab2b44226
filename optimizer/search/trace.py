"""One layout as laid in the door frame, and the supports that fit under it.

The kernel finds *which* layouts are cheapest; a trace is one of them laid out again, so that
sections and legs can be named under stock and slopes can be closed off the slope levels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from optimizer.catalogue.parts import Landing
from optimizer.layout.landing_edges import EdgeRail
from optimizer.layout.spec import TurnSpec
from optimizer.search.geometry_kernel import E
from optimizer.search.kernel_tables import NEVER, Tables
from optimizer.search.openings import Opening
from optimizer.search.support_kernel import support_at


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
