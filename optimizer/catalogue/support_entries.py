"""How feet, braces, legs, low supports and rails are written in a catalogue file."""

from __future__ import annotations

from pydantic import Field, ValidationInfo, field_validator

from optimizer.catalogue.part_entries import LoadedEntry, Number, PartEntry, PartId
from optimizer.catalogue.parts import Brace, Foot, Leg, LowSupport, RailEnd, RailPanel, RailPost
from optimizer.toml_model import Length, LengthFromZero, PositiveLength, SlopeRatio, field_fault
from optimizer.units import TOLERANCE_M


class FootEntry(PartEntry):
    """``[[foot]]``."""

    plate: PositiveLength = Field(description="side of the square plate")
    edge_distance: LengthFromZero = Field(description="ground that must remain beyond the plate's corner")
    swivel_limit: SlopeRatio = Field(description='steepest ground the plate can follow, such as "1:8"')

    def build(self) -> Foot:
        """The part."""
        return Foot(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            plate_m=self.plate, edge_distance_m=self.edge_distance, swivel_limit=self.swivel_limit,
        )  # fmt: skip


class BraceEntry(PartEntry):
    """``[[brace]]``."""

    def build(self) -> Brace:
        """The part."""
        return Brace(self.id, self.name, self.mass_kg, self.price, self.labour_min)


class RangeEntry(LoadedEntry):
    """A support with an adjustable height."""

    min: LengthFromZero = Field(description="least height, frame underside to foot")
    max: PositiveLength = Field(description="greatest height, frame underside to foot")
    lateral_offset: Length = Field(
        description="foot outward of the section's edge at a joint (negative: under the deck)"
    )
    foot: PartId = Field(description="id of its foot")

    @field_validator("max")
    @classmethod
    def _some_range(cls, greatest: float, info: ValidationInfo) -> float:
        if "min" in info.data and greatest <= info.data["min"] + TOLERANCE_M:
            raise field_fault("the greatest height is not above min.", "Give min below max.")
        return greatest


class LegEntry(RangeEntry):
    """``[[leg]]``."""

    reserve: LengthFromZero = Field(description="adjustment that must remain at both ends")
    pin_pitch: LengthFromZero = Field(description="hole pitch, 0 for a continuous screw")
    screw_travel: LengthFromZero = Field(description="travel of the screw between two holes")
    least_overlap: LengthFromZero = Field(description="least overlap of the tubes")
    stand_up: LengthFromZero = Field(description="how far the tube stands above the deck when short")
    bracket_tilt_deg: Number = Field(description="tilt that the bracket takes up, in degrees")
    brace_above: PositiveLength = Field(description="height above which it is braced")
    brace: PartId = Field(description="id of its brace")

    @field_validator("reserve")
    @classmethod
    def _range_beyond_reserve(cls, reserve: float, info: ValidationInfo) -> float:
        if "min" in info.data and "max" in info.data:
            usable = info.data["max"] - info.data["min"] - 2.0 * reserve
            if usable <= TOLERANCE_M:
                raise field_fault(
                    "keeping the reserve at both ends leaves no height between min and max.",
                    "Give a smaller reserve or a longer range.",
                )
        return reserve

    def build(self) -> Leg:
        """The part."""
        return Leg(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            min_m=self.min, max_m=self.max, reserve_m=self.reserve,
            lateral_offset_m=self.lateral_offset, foot=self.foot, pin_pitch_m=self.pin_pitch,
            screw_travel_m=self.screw_travel, least_overlap_m=self.least_overlap,
            stand_up_m=self.stand_up, bracket_tilt_deg=self.bracket_tilt_deg,
            rated_load_kg=self.load_kg, brace_above_m=self.brace_above, brace=self.brace,
        )  # fmt: skip


class LowSupportEntry(RangeEntry):
    """``[[low_support]]``."""

    def build(self) -> LowSupport:
        """The part."""
        return LowSupport(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            min_m=self.min, max_m=self.max, lateral_offset_m=self.lateral_offset,
            foot=self.foot, rated_load_kg=self.load_kg,
        )  # fmt: skip


class RailPanelEntry(PartEntry):
    """``[[rail_panel]]``."""

    length: PositiveLength = Field(description="length along the edge")
    height: PositiveLength = Field(description="top of the grip above the walking surface")
    grip_diameter: PositiveLength = Field(description="diameter of the round grip")
    largest_opening: PositiveLength = Field(description="largest sphere that passes through")

    def build(self) -> RailPanel:
        """The part."""
        return RailPanel(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            length_m=self.length, height_m=self.height, grip_diameter_m=self.grip_diameter,
            largest_opening_m=self.largest_opening,
        )  # fmt: skip


class RailPostEntry(PartEntry):
    """``[[rail_post]]``."""

    def build(self) -> RailPost:
        """The part."""
        return RailPost(self.id, self.name, self.mass_kg, self.price, self.labour_min)


class RailEndEntry(PartEntry):
    """``[[rail_end]]``."""

    extension: PositiveLength = Field(description="horizontal length beyond the run, before the return")

    def build(self) -> RailEnd:
        """The part."""
        return RailEnd(
            self.id, self.name, self.mass_kg, self.price, self.labour_min, extension_m=self.extension
        )
