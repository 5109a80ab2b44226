"""What we may build with: the parts of a modular ramp as frozen data.

Lengths are metres, masses kilograms, money whole cents, labour minutes.  A part
is named by its ``id``, unique over the whole catalogue.  Facts that the search
does not use yet (bracket tilt, hinge depth, least overlap ...) are carried
because the drawings and the crew need them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from optimizer.catalogue.fasteners import Fastener

LandingUse = Literal["door", "straight", "quarter", "half"]


@dataclass(frozen=True, slots=True)
class Part:
    """What every part has: a name to order it by, a mass, a price, minutes to fit it."""

    id: str
    name: str
    weight_kg: float
    price_cents: int
    labour_min: float


@dataclass(frozen=True, slots=True)
class Foot(Part):
    """Square plate under a leg or low support.

    ``plate_m`` is the side of the square; ``edge_distance_m`` the ground that must
    remain beyond the plate's corner to a wall, break line or zone; ``swivel_limit``
    the steepest ground (rise over plan run) the plate can follow.
    """

    plate_m: float
    edge_distance_m: float
    swivel_limit: float


@dataclass(frozen=True, slots=True)
class Brace(Part):
    """Diagonal bracing of one leg, fitted when the leg is taller than its type allows bare."""


@dataclass(frozen=True, slots=True)
class Leg(Part):
    """Adjustable vertical leg.

    Its height runs from the frame underside to the underside of its foot plate.
    ``min_m``/``max_m`` are the ends of the adjustment; ``reserve_m`` must be kept at
    both ends after levelling.  ``lateral_offset_m`` moves the foot outward from the
    section's overall edge (negative: under the deck); at a landing the landing says
    where the leg stands.  ``pin_pitch_m`` is 0 for a continuous screw.
    """

    min_m: float
    max_m: float
    reserve_m: float
    lateral_offset_m: float
    foot: str
    pin_pitch_m: float
    screw_travel_m: float
    least_overlap_m: float
    stand_up_m: float
    bracket_tilt_deg: float
    rated_load_kg: float
    brace_above_m: float
    brace: str


@dataclass(frozen=True, slots=True)
class LowSupport(Part):
    """Shoe, shim pad or short screw foot: carries a joint or the hinge close to the ground.

    Same reference as a leg; no reserve is asked beyond ``min_m``/``max_m``.
    """

    min_m: float
    max_m: float
    lateral_offset_m: float
    foot: str
    rated_load_kg: float


@dataclass(frozen=True, slots=True)
class RailPanel(Part):
    """One rail panel: handrail, infill and its own fixings along one edge of one piece."""

    length_m: float
    height_m: float
    grip_diameter_m: float
    largest_opening_m: float


@dataclass(frozen=True, slots=True)
class RailPost(Part):
    """Post between rail panels of a run."""


@dataclass(frozen=True, slots=True)
class RailEnd(Part):
    """Horizontal handrail extension with its return, at one end of one rail of a run."""

    extension_m: float


@dataclass(frozen=True, slots=True)
class Section(Part):
    """Sloped (or level) deck section.

    ``pitch_m`` is bearing to bearing *along the surface*; ``mid_supports_m`` are
    surface distances from the upper end at which the section wants a pair of legs.
    ``curb_height_m`` is its own edge protection.
    """

    pitch_m: float
    clear_width_m: float
    overall_width_m: float
    frame_depth_m: float
    hinge_depth_m: float
    curb_height_m: float
    mid_supports_m: tuple[float, ...]
    legs: tuple[str, ...]
    low_supports: tuple[str, ...]
    rail_panel: str
    rated_load_kg: float


@dataclass(frozen=True, slots=True)
class Landing(Part):
    """Level platform.

    ``length_m`` lies along the heading of the run that arrives (for a door landing:
    out from the wall), ``width_m`` across it.  Clear sizes are inside rails and posts.
    A run may be bolted to an edge anywhere along it.
    Legs: one in each corner, ``leg_inset_m`` from both edges, and for a ``half`` landing
    two more midway along the width.
    """

    uses: frozenset[LandingUse]
    length_m: float
    width_m: float
    clear_length_m: float
    clear_width_m: float
    frame_depth_m: float
    curb_height_m: float
    leg_inset_m: float
    legs: tuple[str, ...]
    rail_length_edge: str
    rail_width_edge: str
    rail_infill: str
    rail_inner_loop: str | None
    rated_load_kg: float


@dataclass(frozen=True, slots=True)
class TransitionPlate(Part):
    """Hinged plate from the lowest section to the ground; walking surface of the run."""

    length_m: float
    width_m: float
    tip_thickness_m: float
    rail_panel: str
    rated_load_kg: float


@dataclass(frozen=True, slots=True)
class ThresholdPlate(Part):
    """Bridges the gap between the door sill and the first landing or run."""

    reach_m: float
    width_m: float
    rated_load_kg: float


@dataclass(frozen=True, slots=True)
class BottomPad(Part):
    """Level paved pad made at the foot of the ramp when the ground there is not level enough."""

    length_m: float
    width_m: float
    greatest_level_difference_m: float


@dataclass(frozen=True, slots=True)
class StepFlight(Part):
    """Straight flight of steps for people who walk, hung on a landing's edge.

    It has ``risers`` equal risers, the last one from its lowest tread to the ground, so one
    tread less.  ``going_m`` is the depth of a tread from nosing to nosing in plan.  Adjustable
    feet under the lowest tread set the rise of the whole flight, deck to ground, between
    ``rise_min_m`` and ``rise_max_m``; ``frame_depth_m`` is from a tread down to the underside.
    ``foot_level_difference_m``: how far the ground at the foot may differ from the level of
    its middle; the bed under the lowest riser evens it out.  ``rail_panel``: one for each side.
    """

    risers: int
    going_m: float
    width_m: float
    rise_min_m: float
    rise_max_m: float
    frame_depth_m: float
    foot_level_difference_m: float
    rail_panel: str
    rated_load_kg: float

    @property
    def plan_length_m(self) -> float:
        """From the landing's edge to the nosing of the lowest tread, in plan."""
        return (self.risers - 1) * self.going_m


@dataclass(frozen=True, slots=True)
class StockLevel:
    """How many of one part are in the yard; a part without a level is not limited."""

    part: str
    count: int


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything we may build with, checked as a whole when read (see ``read_catalogue``)."""

    id: str
    name: str
    currency: str
    clearance_m: float
    low_clearance_m: float
    piece_gap_m: float
    feet: tuple[Foot, ...]
    braces: tuple[Brace, ...]
    legs: tuple[Leg, ...]
    low_supports: tuple[LowSupport, ...]
    rail_panels: tuple[RailPanel, ...]
    rail_posts: tuple[RailPost, ...]
    rail_ends: tuple[RailEnd, ...]
    sections: tuple[Section, ...]
    landings: tuple[Landing, ...]
    transition_plates: tuple[TransitionPlate, ...]
    threshold_plates: tuple[ThresholdPlate, ...]
    bottom_pads: tuple[BottomPad, ...]
    step_flights: tuple[StepFlight, ...]
    stock: tuple[StockLevel, ...]
    fasteners: tuple[Fastener, ...] = ()

    def parts(self) -> tuple[Part, ...]:
        """Every part, in file order of the groups above."""
        return (
            *self.feet,
            *self.braces,
            *self.legs,
            *self.low_supports,
            *self.rail_panels,
            *self.rail_posts,
            *self.rail_ends,
            *self.sections,
            *self.landings,
            *self.transition_plates,
            *self.threshold_plates,
            *self.bottom_pads,
            *self.step_flights,
        )

    def in_stock(self) -> Catalogue:
        """The catalogue without the parts a layout chooses among of which there are none.

        Rails and posts stay: every railed ramp needs its own, so their lack is no matter of choice.
        """
        gone = {level.part for level in self.stock if level.count == 0}
        return replace(
            self,
            legs=tuple(part for part in self.legs if part.id not in gone),
            low_supports=tuple(part for part in self.low_supports if part.id not in gone),
            sections=tuple(part for part in self.sections if part.id not in gone),
            landings=tuple(part for part in self.landings if part.id not in gone),
            transition_plates=tuple(part for part in self.transition_plates if part.id not in gone),
            threshold_plates=tuple(part for part in self.threshold_plates if part.id not in gone),
            bottom_pads=tuple(part for part in self.bottom_pads if part.id not in gone),
            step_flights=tuple(part for part in self.step_flights if part.id not in gone),
        )

    def part(self, part_id: str) -> Part:
        """Return the part with this id; raises ``KeyError`` (ids are checked when the file is read)."""
        for part in self.parts():
            if part.id == part_id:
                return part
        raise KeyError(part_id)
