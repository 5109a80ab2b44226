"""Which parts of the catalogue a job may use (DEVELOPERS.md, 'Parts that may be used')."""

from __future__ import annotations

from dataclasses import dataclass

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
from optimizer.rulebook.rules import Quantity
from optimizer.terrain.yard import Start
from optimizer.units import TOLERANCE_M

#: Length of the level bottom space when the rule set names no landing length, metres.
DEFAULT_BOTTOM_M = 1.2


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


def limit_value(site: Site, quantity: Quantity, without: float) -> float:
    """The rule set's limit in SI, or ``without`` when it has none."""
    limit = site.rules.limit(quantity)
    return without if limit is None else limit.value_si


def steepest_slope(site: Site) -> float:
    """The steepest slope rules and wish allow, rise over plan run."""
    steepest = limit_value(site, "running_slope", 1.0 / 6.0)
    if site.wishes.steepest is not None:
        steepest = min(steepest, site.wishes.steepest)
    return steepest


def serves(landing: Landing, use: LandingUse, site: Site, width_m: float, clear_m: float) -> bool:
    """Whether a landing may be used in this way under the rules."""
    if use not in landing.uses:
        return False
    length = limit_value(site, "landing_length", 0.0)
    across = limit_value(site, "landing_width", 0.0)
    turn = limit_value(site, "landing_turn", 0.0)
    e = TOLERANCE_M
    if use == "straight":
        clear = landing.clear_length_m >= length - e and landing.clear_width_m >= max(across, clear_m) - e
    else:
        least = max(length, across, turn, clear_m)
        clear = min(landing.clear_length_m, landing.clear_width_m) >= least - e
    room = landing.width_m >= width_m - e
    if use in ("quarter", "door"):
        room = room and landing.length_m >= width_m - e
    if use == "half":
        room = landing.width_m >= 2.0 * width_m + site.catalogue.piece_gap_m - e
    return clear and room


def find_usable_parts(site: Site, start: Start) -> UsableParts:
    """Sort out what may be used at one start; nothing is raised, gaps are named in ``missing``."""
    catalogue = site.catalogue.in_stock()
    mass = site.rider.total_mass_kg
    clear = max(limit_value(site, "clear_width", 0.0), site.wishes.clear_width_m or 0.0)
    legs = tuple(leg for leg in catalogue.legs if leg.rated_load_kg >= mass)
    lows = tuple(low for low in catalogue.low_supports if low.rated_load_kg >= mass)
    strong = [s for s in catalogue.sections if s.rated_load_kg >= mass]
    wide = [s for s in strong if s.clear_width_m >= clear - TOLERANCE_M]
    width = min((s.overall_width_m for s in wide), default=0.0)
    sections = tuple(s for s in wide if s.overall_width_m <= width + TOLERANCE_M)
    landings = tuple(
        landing
        for landing in catalogue.landings
        if landing.rated_load_kg >= mass
        and any(serves(landing, use, site, width, clear) for use in landing.uses)
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
    bottom_length = limit_value(site, "landing_length", DEFAULT_BOTTOM_M)
    bottom_width = max(width, limit_value(site, "landing_turn", 0.0))
    pads = [
        pad
        for pad in catalogue.bottom_pads
        if pad.length_m >= bottom_length - TOLERANCE_M and pad.width_m >= bottom_width - TOLERANCE_M
    ]
    extension = limit_value(site, "handrail_extension", 0.0)
    ends = [end for end in catalogue.rail_ends if end.extension_m >= extension - TOLERANCE_M]
    missing = []
    if not strong:
        missing.append(f"no section of the catalogue is rated for {mass:g} kg")
    elif not sections:
        missing.append(f"no section has a clear width of {clear:.3f} m")
    if start.kind != "edge" and not any(serves(landing, "door", site, width, clear) for landing in landings):
        missing.append("no landing is large and strong enough to stand at the door")
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
