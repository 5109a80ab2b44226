"""How sections, landings, plates and pads are written in a catalogue file."""

from __future__ import annotations

import itertools

from pydantic import Field, ValidationInfo, field_validator

from optimizer.catalogue.part_entries import LoadedEntry, PartEntry, PartId
from optimizer.catalogue.parts import (
    BottomPad,
    Landing,
    LandingUse,
    Section,
    ThresholdPlate,
    TransitionPlate,
)
from optimizer.toml_model import LengthFromZero, ListOf, PositiveLength, field_fault
from optimizer.units import TOLERANCE_M


def _within(outer_key: str, clear: float, info: ValidationInfo) -> float:
    outer = info.data.get(outer_key)
    if outer is not None and clear > outer + TOLERANCE_M:
        raise field_fault(f"the clear size is larger than {outer_key}.", "Measure it inside rails and posts.")
    return clear


class SectionEntry(LoadedEntry):
    """``[[section]]``."""

    pitch: PositiveLength = Field(description="bearing to bearing along the surface")
    overall_width: PositiveLength = Field(description="width over everything")
    clear_width: PositiveLength = Field(description="width between rails")
    frame_depth: PositiveLength = Field(description="walking surface to frame underside")
    hinge_depth: LengthFromZero = Field(description="opening of the joint at a change of slope")
    curb_height: LengthFromZero = Field(description="edge protection above the walking surface")
    mid_supports: ListOf[LengthFromZero] = Field(
        default=(), description="distances from the upper end at which a pair of legs is wanted"
    )
    legs: ListOf[PartId] = Field(description="ids of the legs that fit it")
    low_supports: ListOf[PartId] = Field(description="ids of the low supports that fit it")
    rail_panel: PartId = Field(description="id of the panel for one side")

    @field_validator("clear_width")
    @classmethod
    def _clear_within_overall(cls, clear: float, info: ValidationInfo) -> float:
        return _within("overall_width", clear, info)

    @field_validator("mid_supports")
    @classmethod
    def _supports_within_pitch(cls, distances: tuple[float, ...], info: ValidationInfo) -> tuple[float, ...]:
        pitch = info.data.get("pitch")
        if pitch is not None and not all(TOLERANCE_M < at < pitch - TOLERANCE_M for at in distances):
            raise field_fault(
                "a mid support lies outside the pitch.", "Give distances between 0 and the pitch."
            )
        if any(b - a <= TOLERANCE_M for a, b in itertools.pairwise(distances)):
            raise field_fault("the mid supports do not increase.", "List each once, from the upper end down.")
        return distances

    @field_validator("legs")
    @classmethod
    def _some_leg(cls, legs: tuple[str, ...]) -> tuple[str, ...]:
        if not legs:
            raise field_fault("the section refers to no leg.", "Name at least one leg of this catalogue.")
        return legs

    def build(self) -> Section:
        """The part."""
        return Section(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            pitch_m=self.pitch, clear_width_m=self.clear_width, overall_width_m=self.overall_width,
            frame_depth_m=self.frame_depth, hinge_depth_m=self.hinge_depth,
            curb_height_m=self.curb_height, mid_supports_m=self.mid_supports, legs=self.legs,
            low_supports=self.low_supports, rail_panel=self.rail_panel, rated_load_kg=self.load_kg,
        )  # fmt: skip


class LandingEntry(LoadedEntry):
    """``[[landing]]``."""

    uses: ListOf[LandingUse] = Field(description="what it may serve as: door, straight, quarter, half")
    length: PositiveLength = Field(description="size along the arriving run (at a door: out from the wall)")
    width: PositiveLength = Field(description="size across it")
    clear_length: PositiveLength = Field(description="length inside rails and posts")
    clear_width: PositiveLength = Field(description="width inside rails and posts")
    frame_depth: PositiveLength = Field(description="walking surface to frame underside")
    curb_height: LengthFromZero = Field(description="edge protection above the walking surface")
    leg_inset: LengthFromZero = Field(description="leg centre from both edges at a corner")
    legs: ListOf[PartId] = Field(description="ids of the legs that fit it")
    rail_length_edge: PartId = Field(description="id of the panel for an edge of size length")
    rail_width_edge: PartId = Field(description="id of the panel for an edge of size width")
    rail_infill: PartId = Field(description="id of the panel beside a run narrower than the edge")
    rail_inner_loop: PartId | None = Field(
        default=None, validate_default=True, description="id of the inner loop of a half turn"
    )

    @field_validator("uses", "legs")
    @classmethod
    def _not_empty(cls, words: tuple[str, ...]) -> tuple[str, ...]:
        if not words:
            raise field_fault("the list is empty.", "Name at least one.")
        return words

    @field_validator("clear_length")
    @classmethod
    def _clear_within_length(cls, clear: float, info: ValidationInfo) -> float:
        return _within("length", clear, info)

    @field_validator("clear_width")
    @classmethod
    def _clear_within_width(cls, clear: float, info: ValidationInfo) -> float:
        return _within("width", clear, info)

    @field_validator("leg_inset")
    @classmethod
    def _legs_apart(cls, inset: float, info: ValidationInfo) -> float:
        sizes = [info.data[key] for key in ("length", "width") if key in info.data]
        if sizes and 2.0 * inset >= min(sizes) - TOLERANCE_M:
            raise field_fault("the legs of two corners meet.", "Give less than half the smaller size.")
        return inset

    @field_validator("rail_inner_loop")
    @classmethod
    def _loop_of_a_half_turn(cls, loop: str | None, info: ValidationInfo) -> str | None:
        if loop is None and "half" in info.data.get("uses", ()):
            raise field_fault(
                'a landing with use "half" has no inner loop.', "Name the rail panel that runs round."
            )
        return loop

    def build(self) -> Landing:
        """The part."""
        return Landing(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            uses=frozenset(self.uses), length_m=self.length, width_m=self.width,
            clear_length_m=self.clear_length, clear_width_m=self.clear_width,
            frame_depth_m=self.frame_depth, curb_height_m=self.curb_height,
            leg_inset_m=self.leg_inset, legs=self.legs,
            rail_length_edge=self.rail_length_edge, rail_width_edge=self.rail_width_edge,
            rail_infill=self.rail_infill, rail_inner_loop=self.rail_inner_loop,
            rated_load_kg=self.load_kg,
        )  # fmt: skip


class TransitionPlateEntry(LoadedEntry):
    """``[[transition_plate]]``."""

    length: PositiveLength = Field(description="hinge to tip along the surface")
    width: PositiveLength = Field(description="width of the walking surface")
    tip_thickness: LengthFromZero = Field(description="thickness at the tip")
    rail_panel: PartId = Field(description="id of the panel for one side")

    def build(self) -> TransitionPlate:
        """The part."""
        return TransitionPlate(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            length_m=self.length, width_m=self.width, tip_thickness_m=self.tip_thickness,
            rail_panel=self.rail_panel, rated_load_kg=self.load_kg,
        )  # fmt: skip


class ThresholdPlateEntry(LoadedEntry):
    """``[[threshold_plate]]``."""

    reach: PositiveLength = Field(description="gap that it bridges")
    width: PositiveLength = Field(description="width along the wall")

    def build(self) -> ThresholdPlate:
        """The part."""
        return ThresholdPlate(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            reach_m=self.reach, width_m=self.width, rated_load_kg=self.load_kg,
        )  # fmt: skip


class BottomPadEntry(PartEntry):
    """``[[bottom_pad]]``."""

    length: PositiveLength = Field(description="size straight beyond the tip")
    width: PositiveLength = Field(description="size across it")
    greatest_level_difference: PositiveLength = Field(description="ground above or below that it evens out")

    def build(self) -> BottomPad:
        """The part."""
        return BottomPad(
            self.id, self.name, self.mass_kg, self.price, self.labour_min,
            length_m=self.length, width_m=self.width,
            greatest_level_difference_m=self.greatest_level_difference,
        )  # fmt: skip
