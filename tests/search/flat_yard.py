"""One door over level ground, with closed forms for the only straight ramp that fits there.

Everything is invented.  The yard is drawn in the door frame (u to the right looking out, v
out) and looks out between x and y, so that no edge is parallel to an axis of the site.  Parts
are those of the demo catalogue in inches, cut down so that at most one straight ramp exists:
a door landing of 64 in, one section of 96 in, and a plate.  One minute of labour costs 1.00.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, Leg, LowSupport, StockLevel
from optimizer.layout.spec import Exit, TurnKind
from optimizer.rulebook.rules import RuleSet
from optimizer.rulebook.run_law import NO_END_M, Allowance, RunLaw
from optimizer.search.every_shape import find_best_of_every_shape
from optimizer.terrain.frames import build_door_frame
from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.yard import Obstacle, Points, Start, Zone, ZoneKind
from tests.validation.small_yards import (
    build_ground,
    build_own_limits,
    build_small_yard,
    demo_catalogue,
    frozen,
    with_rules,
)

INCH = 0.0254
#: Just inside and just outside of a limit, metres: well over the page's tolerance, far below any step.
HAIR = 1e-5
SLOPE = 1 / 8
GAP_M = 0.04
THRESHOLD_M = 0.4
WIDTH_M = 42 * INCH
#: The lot reaches so far to both sides, behind the door, and out: enough for two sections and all beyond.
LOT_M, FAR_M = 6.0, 11.0
SECTION_M = 96 * INCH
#: The drop of a section is a whole number of height steps, so that runs have the closed forms' slope.
HEIGHT_STEP_M = SLOPE * SECTION_M / math.hypot(1, SLOPE) / 64
LANDING_M = 64 * INCH
LANDING_FRAME_M = 3 * INCH
FRAME_M = 2.5 * INCH
INSET_M = 6 * INCH
#: What a leg's foot reaches: half the diagonal of 6 in, and 1 1/2 in beyond.
FOOT_REACH_M = 6 * INCH / math.sqrt(2) + 1.5 * INCH
BOTTOM_M = 1.2
NEAR_M = 0.9144
LIP_M = 0.00635
OUT = np.array([0.6, 0.8])
RIGHT = np.array([0.8, -0.6])
MIDDLE = np.array([1.3, -0.7])

Costs = Mapping[tuple[Exit, tuple[TurnKind, ...]], int]
Change = Callable[[Site], Site]


@dataclass(frozen=True, slots=True)
class StraightRamp:
    """The straight ramp of the flat yard by hand: where its parts end, along v; heights over the ground."""

    threshold_m: float
    plate_m: float
    sections: int

    @property
    def landing_end_m(self) -> float:
        return GAP_M + LANDING_M

    @property
    def run_plan_m(self) -> float:
        return self.sections * SECTION_M / math.hypot(1, SLOPE)

    @property
    def hinge_end_m(self) -> float:
        return self.landing_end_m + self.run_plan_m

    @property
    def hinge_m(self) -> float:
        """Height of the hinge above the ground."""
        return self.threshold_m - SLOPE * self.run_plan_m

    @property
    def plate_plan_m(self) -> float:
        return math.sqrt(self.plate_m**2 - self.hinge_m**2)

    @property
    def tip_m(self) -> float:
        return self.hinge_end_m + self.plate_plan_m

    def deck_m(self, v_m: float) -> float:
        """Height of the deck of the run above the ground at a distance from the wall."""
        return self.threshold_m - SLOPE * (v_m - self.landing_end_m)


#: The ramp that the yard as built has: its hinge stands 0.098 m up, within reach of 36 in of plate.
RAMP = StraightRamp(THRESHOLD_M, 36 * INCH, 1)


def at(points: Sequence[tuple[float, float]]) -> Points:
    """Points (u, v) of the door frame as a ring in the site frame."""
    uv = np.array(points, dtype=float)
    return frozen(MIDDLE + uv[:, :1] * RIGHT + uv[:, 1:] * OUT)


def box_at(u0: float, v0: float, u1: float, v1: float) -> Points:
    """A rectangle of the door frame as a ring in the site frame."""
    return at([(u0, v0), (u1, v0), (u1, v1), (u0, v1)])


def ground_of(levels: Sequence[tuple[float, float, float]]) -> Ground:
    """Ground through spot levels (u, v, z)."""
    uv = at([(u, v) for u, v, _ in levels])
    rim = box_at(*np.min(levels, axis=0)[:2], *np.max(levels, axis=0)[:2])
    return build_ground(np.column_stack([uv, [z for _, _, z in levels]]), outline=(rim,))


def falling_ground(fall_u: float, fall_v: float, half_m: float = 30.0) -> Ground:
    """A plane through the ground at the door, falling to the right and out."""
    corners = [(-half_m, -half_m), (half_m, -half_m), (half_m, half_m), (-half_m, half_m)]
    return ground_of([(u, v, -fall_u * u - fall_v * v) for u, v in corners])


def flat_site() -> Site:
    """A level lot, front exit only, one run of one section, at 1:8."""
    whole = demo_catalogue("demo-inch")
    small = build_small_yard(2)
    start = replace(
        small.yard.starts[0],
        kind="landing",
        midpoint_m=frozen(MIDDLE),
        outward=frozen(OUT),
        threshold_m=THRESHOLD_M,
        drop_m=0.0,
        clear_width_m=0.9,
        gap_m=GAP_M,
    )
    assert np.allclose(build_door_frame(start).right, RIGHT)
    landings = tuple(one for one in whole.landings if one.id in {"landing-64", "landing-half-94"})
    site = replace(
        small,
        name="flat yard",
        ground=falling_ground(0.0, 0.0),
        yard=replace(
            small.yard,
            starts=(start,),
            house_m=(box_at(-2.0, -3.0, 2.0, 0.0),),
            lot_m=box_at(-LOT_M, -LOT_M, LOT_M, FAR_M),
            setback_m=0.0,
            setback_kind="hard",
            relief_cents=0,
            obstacles=(),
            zones=(),
            arrivals_m=(),
        ),
        bedding_m=0.0,
        catalogue=replace(
            whole,
            sections=tuple(one for one in whole.sections if one.id == "section-96"),
            landings=landings,
            transition_plates=tuple(one for one in whole.transition_plates if one.id == "plate-36"),
            stock=(),
        ),
        rates=replace(small.rates, labour_per_hour_cents=6000),
        rider=replace(small.rider, total_mass_kg=120.0),
        wishes=replace(
            small.wishes,
            steepest=None,
            clear_width_m=None,
            exits=("front",),
            most_turns=0,
            guard_above_m=0.762,
            rail_landings_above_m=0.762,
            shown=5,
            slopes="free",
            prefer_side="either",
            must_pass_m=(),
            landing_at_m=(),
            longest_between_rests_m=None,
            survey_error_m=0.0,
            steps="none",
        ),
        search=replace(
            small.search,
            lattice_m=0.5,
            finest_lattice_m=0.5,
            height_step_m=HEIGHT_STEP_M,
            slope_levels=1,
            most_runs=1,
            longest_run_m=SECTION_M + 0.1,
        ),
    )
    return with_rules(site, build_own_limits(running_slope=SLOPE))


def engine_costs(site: Site) -> Costs:
    """Least cost of every shape that has a layout, the lattice searched to its end."""
    return find_best_of_every_shape(site)


def cost_of(site: Site, leaves: Exit, *turns: TurnKind) -> int | None:
    """Least cost of one shape, or ``None`` when it has no layout."""
    return engine_costs(site).get((leaves, turns))


def straight_cost(site: Site) -> int | None:
    """Least cost of the shape that leaves to the front and does not turn."""
    return cost_of(site, "front")


def is_feasible(site: Site) -> bool:
    """Whether a straight ramp to the front exists."""
    return straight_cost(site) is not None


def with_yard(site: Site, **changes: object) -> Site:
    """The site with another yard."""
    return replace(site, yard=replace(site.yard, **changes))  # type: ignore[arg-type]


def with_start(site: Site, **changes: object) -> Site:
    """The site with another door."""
    return with_starts(site, replace(site.yard.starts[0], **changes))  # type: ignore[arg-type]


def with_starts(site: Site, *starts: Start) -> Site:
    """The site with other doors, each bound as the first one was."""
    return replace(
        with_yard(site, starts=starts),
        start_facts=site.start_facts[:1] * len(starts),
        designs=site.designs[:1] * len(starts),
    )


def with_wishes(site: Site, **changes: object) -> Site:
    """The site with other wishes."""
    return replace(site, wishes=replace(site.wishes, **changes))  # type: ignore[arg-type]


def with_search(site: Site, **changes: object) -> Site:
    """The site with other search settings."""
    return replace(site, search=replace(site.search, **changes))  # type: ignore[arg-type]


def with_parts(site: Site, **changes: object) -> Site:
    """The site with another catalogue."""
    return replace(site, catalogue=replace(site.catalogue, **changes))  # type: ignore[arg-type]


def with_stock(site: Site, **counts: int) -> Site:
    """The site with so many of some parts in the yard; ``section_96`` means the part ``section-96``."""
    levels = tuple(StockLevel(name.replace("_", "-"), count) for name, count in counts.items())
    return with_parts(site, stock=levels)


def with_legs(site: Site, *ids: str) -> Site:
    """The site with these legs alone."""
    return with_parts(site, legs=tuple(leg for leg in site.catalogue.legs if leg.id in ids))


def with_limits(site: Site, **limits: float) -> Site:
    """The site under more of its own limits."""
    rules: RuleSet = build_own_limits(**({"running_slope": SLOPE} | limits))
    return with_rules(site, rules)


def with_design(site: Site, **changes: object) -> Site:
    """The site with other numbers that bind, as they stand."""
    return replace(site, designs=tuple(replace(one, **changes) for one in site.designs))  # type: ignore[arg-type]


def with_steepest(site: Site, slope: float) -> Site:
    """The site with one slope as its only law, steeper than any rule set may be."""
    row = Allowance(0.0, NO_END_M, NO_END_M, slope, slope, "ratio", is_strict=False)
    return with_design(site, steepest=slope, laws=(RunLaw((row,), widens=False),))


def with_obstacle(site: Site, outline: Points, top_m: float | None, *, may_stand: bool = False) -> Site:
    """The site with one obstacle more."""
    one = Obstacle(f"thing {len(site.yard.obstacles)}", outline, top_m, may_stand)
    return with_yard(site, obstacles=(*site.yard.obstacles, one))


def with_zone(site: Site, kind: ZoneKind, outline: Points) -> Site:
    """The site with one zone more."""
    one = Zone(f"{kind} {len(site.yard.zones)}", kind, outline, "test", None, None, "test", "nobody")
    return with_yard(site, zones=(*site.yard.zones, one))


def with_headroom(site: Site, outline: Points, underside_m: float, headroom_m: float) -> Site:
    """The site with one overhead zone more."""
    one = Zone(
        f"overhead {len(site.yard.zones)}",
        "headroom",
        outline,
        "test",
        underside_m,
        headroom_m,
        "test",
        "nobody",
    )
    return with_yard(site, zones=(*site.yard.zones, one))


def leg_of(site: Site, leg_id: str) -> Leg:
    """A leg of the site's catalogue."""
    return next(leg for leg in site.catalogue.legs if leg.id == leg_id)


def low_support_of(site: Site, support_id: str) -> LowSupport:
    """A low support of the site's catalogue."""
    return next(one for one in site.catalogue.low_supports if one.id == support_id)


def with_landing(site: Site, landing_id: str, **changes: object) -> Site:
    """The site with one landing changed."""
    landings: tuple[Landing, ...] = tuple(
        replace(one, **changes) if one.id == landing_id else one  # type: ignore[arg-type]
        for one in site.catalogue.landings
    )
    return with_parts(site, landings=landings)


def with_plates(site: Site, *ids: str) -> Site:
    """The site with these transition plates alone, of the whole demo catalogue."""
    whole = demo_catalogue("demo-inch")
    return with_parts(site, transition_plates=tuple(one for one in whole.transition_plates if one.id in ids))


def with_sections(site: Site, *ids: str) -> Site:
    """The site with these sections alone, of the whole demo catalogue."""
    whole = demo_catalogue("demo-inch")
    return with_parts(site, sections=tuple(one for one in whole.sections if one.id in ids))


def with_break_line(site: Site, u0: float, v0: float, u1: float, v1: float) -> Site:
    """The site with a crease over its level ground, from one point (u, v) to another."""
    level = frozen(np.zeros(2))
    line = BreakLine("crease", at([(u0, v0), (u1, v1)]), level, level, "left")
    return replace(site, ground=replace(site.ground, break_lines=(line,)))


def turning_site(sections: int, longest: int, exit_side: Exit = "front") -> Site:
    """The flat yard so high that it takes so many sections, at most ``longest`` of them in one run."""
    site = with_start(flat_site(), threshold_m=THRESHOLD_M + (sections - 1) * SLOPE * RAMP.run_plan_m)
    site = with_yard(site, lot_m=box_at(-12.0, -LOT_M, 12.0, 14.0))
    site = with_search(site, most_runs=2, longest_run_m=longest * SECTION_M + 0.1)
    return with_wishes(site, exits=(exit_side,), most_turns=1)
