"""Which parts of the catalogue a job may use (DEVELOPERS.md, 'Parts that may be used')."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from optimizer.brief.site import Site
from optimizer.catalogue.parts import (
    BottomPad,
    Landing,
    LandingUse,
    Leg,
    LowSupport,
    RailEnd,
    RailPost,
    Section,
    ThresholdPlate,
    TransitionPlate,
)
from optimizer.catalogue.rates import part_cost_cents
from optimizer.layout.spec import Exit
from optimizer.rulebook.design_limits import DesignLimits, LandingNeed
from optimizer.search.door_room import has_door_room
from optimizer.search.slides import list_slides
from optimizer.terrain.yard import Start
from optimizer.units import TOLERANCE_M

#: What a landing may be: at the door left by the front or by a side, between runs.
Role = Literal["front", "side", "straight", "quarter", "half"]
ROLES: Final[tuple[Role, ...]] = ("front", "side", "straight", "quarter", "half")


@dataclass(frozen=True, slots=True)
class UsableParts:
    """The parts that fit rider, rules and wishes; ``missing`` says in words what there is none of."""

    width_m: float
    depth_m: float
    sections: tuple[Section, ...]
    landings: tuple[Landing, ...]
    legs: tuple[Leg, ...]
    low_supports: tuple[LowSupport, ...]
    plates: tuple[TransitionPlate, ...]
    threshold: ThresholdPlate | None
    pad: BottomPad | None
    post: RailPost
    end: RailEnd | None
    bottom_length_m: float
    bottom_width_m: float
    missing: tuple[str, ...]


def needed_width(site: Site, start: Start) -> float:
    """The clear width that rules and wish ask of runs and landings, metres."""
    return max(site.design_of(start).clear_width_m, site.wishes.clear_width_m or 0.0)


@dataclass(frozen=True, slots=True)
class LandingAsked:
    """What is asked of a landing in any role: of the rules, of the runs' width (metres)."""

    design: DesignLimits
    clear_m: float
    width_m: float
    gap_m: float

    def serves(self, landing: Landing, role: Role) -> bool:
        """Whether a landing may be used in this role."""
        use, need = self._look_up(role)
        if use not in landing.uses:
            return False
        e = TOLERANCE_M
        long, wide = landing.clear_length_m, landing.clear_width_m
        clear = long >= need.length_m - e and wide >= max(need.width_m, self.clear_m) - e
        if use != "straight":
            clear = clear and long >= self.clear_m - e
        if use == "half":
            return clear and landing.width_m >= 2.0 * self.width_m + self.gap_m - e
        room = landing.width_m >= self.width_m - e
        if use in ("quarter", "door"):
            room = room and landing.length_m >= self.width_m - e
        return clear and room

    def _look_up(self, role: Role) -> tuple[LandingUse, LandingNeed]:
        design = self.design
        match role:
            case "front":
                return "door", design.landing_door
            case "side":
                return "door", design.landing_door_turn
            case "straight":
                return "straight", design.landing_straight
            case "quarter":
                return "quarter", design.landing_quarter
            case "half":
                return "half", design.landing_half


def ask_landings(site: Site, start: Start, width_m: float) -> LandingAsked:
    """What is asked of landings at one start; ``width_m``: overall width of its runs."""
    return LandingAsked(site.design_of(start), needed_width(site, start), width_m, site.catalogue.piece_gap_m)


def role_at_door(leaves: Exit) -> Role:
    """The role of a door landing left by an exit."""
    return "front" if leaves == "front" else "side"


def find_usable_parts(site: Site, start: Start) -> UsableParts:
    """Sort out what may be used at one start; nothing is raised, gaps are named in ``missing``."""
    catalogue = site.catalogue.in_stock()
    mass = site.rider.total_mass_kg
    design = site.design_of(start)
    clear = needed_width(site, start)
    legs = tuple(leg for leg in catalogue.legs if leg.rated_load_kg >= mass)
    lows = tuple(low for low in catalogue.low_supports if low.rated_load_kg >= mass)
    strong = [s for s in catalogue.sections if s.rated_load_kg >= mass]
    wide = [s for s in strong if s.clear_width_m >= clear - TOLERANCE_M]
    width = min((s.overall_width_m for s in wide), default=0.0)
    sections = tuple(s for s in wide if s.overall_width_m <= width + TOLERANCE_M)
    asked = ask_landings(site, start, width)
    landings = tuple(
        landing
        for landing in catalogue.landings
        if landing.rated_load_kg >= mass and any(asked.serves(landing, role) for role in ROLES)
    )
    plates = tuple(
        plate
        for plate in catalogue.transition_plates
        if plate.rated_load_kg >= mass and plate.width_m >= width - TOLERANCE_M
    )

    def cost(part: ThresholdPlate | BottomPad) -> int:
        return part_cost_cents(part, site.rates)

    thresholds = [
        plate
        for plate in catalogue.threshold_plates
        if plate.rated_load_kg >= mass and plate.reach_m >= start.gap_m - TOLERANCE_M
    ]
    bottom_length = design.bottom.length_m
    bottom_width = max(width, design.bottom.width_m)
    pads = [
        pad
        for pad in catalogue.bottom_pads
        if pad.length_m >= bottom_length - TOLERANCE_M and pad.width_m >= bottom_width - TOLERANCE_M
    ]
    extension = design.rail_extension_m
    ends = [end for end in catalogue.rail_ends if end.extension_m >= extension - TOLERANCE_M]
    missing = []
    if not strong:
        missing.append(f"no section of the catalogue is rated for {mass:g} kg")
    elif not sections:
        missing.append(f"no section has a clear width of {clear:.3f} m")
    if start.kind != "edge":
        missing += _miss_at_door(site, start, asked, landings)
    if not plates:
        missing.append("no transition plate is wide and strong enough")
    if not lows:
        missing.append("no low support is strong enough")
    if not thresholds:
        missing.append(f"no threshold plate bridges a gap of {start.gap_m:.3f} m")
    if not ends:
        missing.append(f"no rail end extends {extension:.3f} m")
    return UsableParts(
        width_m=width,
        depth_m=sections[0].frame_depth_m if sections else 0.0,
        sections=sections,
        landings=landings,
        legs=legs,
        low_supports=lows,
        plates=plates,
        threshold=min(thresholds, key=cost) if thresholds else None,
        pad=min(pads, key=cost) if pads else None,
        post=catalogue.rail_posts[0],
        end=ends[0] if ends else None,
        bottom_length_m=bottom_length,
        bottom_width_m=bottom_width,
        missing=tuple(missing),
    )


def _miss_at_door(site: Site, start: Start, asked: LandingAsked, landings: tuple[Landing, ...]) -> list[str]:
    """What keeps every landing from standing at the door for an exit that is wished."""
    wished = [
        (landing, leaves)
        for landing in landings
        for leaves in site.wishes.exits
        if asked.serves(landing, role_at_door(leaves))
    ]
    if not wished:
        return ["no landing is large and strong enough to stand at the door"]
    for landing, leaves in wished:
        room = (landing.width_m - start.clear_width_m) / 2.0
        for slide in list_slides(room, site.search.finest_lattice_m):
            if has_door_room(asked.design, start, landing, slide, leaves):
                return []
    return ["no landing leaves the room in front of the door that the rules ask for"]
