"""How flights of steps are written in a catalogue file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from optimizer.catalogue.part_entries import LoadedEntry, PartId
from optimizer.catalogue.parts import StepFlight
from optimizer.toml_model import LengthFromZero, PositiveLength, field_fault
from optimizer.units import TOLERANCE_M


class StepFlightEntry(LoadedEntry):
    """``[[step_flight]]``."""

    risers: Annotated[int, Field(ge=2)] = Field(
        description="number of risers, the last one down to the ground; one more than treads"
    )
    going: PositiveLength = Field(description="depth of one tread, nosing to nosing in plan")
    width: PositiveLength = Field(description="width over everything")
    rise_min: PositiveLength = Field(description="least height of the whole flight, deck to ground")
    rise_max: PositiveLength = Field(description="greatest height of the whole flight, deck to ground")
    frame_depth: PositiveLength = Field(description="tread surface to the flight's underside")
    foot_level_difference: LengthFromZero = Field(
        description="ground above or below the foot's middle that the bed under it evens out"
    )
    rail_panel: PartId = Field(description="id of the panel for one side")

    @field_validator("rise_max")
    @classmethod
    def _some_range(cls, greatest: float, info: ValidationInfo) -> float:
        if "rise_min" in info.data and greatest <= info.data["rise_min"] + TOLERANCE_M:
            raise field_fault("the greatest rise is not above rise_min.", "Give rise_min below rise_max.")
        return greatest

    @field_validator("frame_depth")
    @classmethod
    def _frame_above_ground(cls, depth: float, info: ValidationInfo) -> float:
        risers, least = info.data.get("risers"), info.data.get("rise_min")
        if risers is not None and least is not None and depth > least / risers + TOLERANCE_M:
            raise field_fault(
                "the frame is deeper than the lowest riser at rise_min, so it would stand in the ground.",
                "Give a frame_depth of at most rise_min divided by risers.",
            )
        return depth

    def build(self) -> StepFlight:
        """The part."""
        return StepFlight(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            risers=self.risers, going_m=self.going, width_m=self.width,
            rise_min_m=self.rise_min, rise_max_m=self.rise_max, frame_depth_m=self.frame_depth,
            foot_level_difference_m=self.foot_level_difference, rail_panel=self.rail_panel,
            rated_load_kg=self.load_kg,
        )  # fmt: skip
