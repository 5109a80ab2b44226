"""How rider, wishes, search and display are written in a site file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, ValidationInfo, field_validator

from optimizer.brief.places import Place
from optimizer.toml_model import (
    FileModel,
    LengthFromZero,
    ListOf,
    PositiveLength,
    SlopeRatio,
    field_fault,
)


class RiderTable(FileModel):
    """``[rider]``: who uses the ramp."""

    device_length: PositiveLength = Field(default="1.1 m", validate_default=True)
    device_width: PositiveLength = Field(default="0.7 m", validate_default=True)
    total_mass_kg: Annotated[float, Field(gt=0.0)] | None = Field(
        default=None, description="rider and device in kilograms (180 when no mass is given)"
    )
    total_mass_lb: Annotated[float, Field(gt=0.0)] | None = Field(
        default=None, description="rider and device in pounds, instead of total_mass_kg"
    )
    propulsion: Literal["alone", "pushed", "powered"] = "pushed"
    better_hand: Literal["left", "right", "either"] = "either"

    @field_validator("total_mass_lb")
    @classmethod
    def _one_mass(cls, pounds: float | None, info: ValidationInfo) -> float | None:
        if pounds is not None and info.data.get("total_mass_kg") is not None:
            raise field_fault("total_mass_kg is given too.", "Give one of them.")
        return pounds


class WishesTable(FileModel):
    """``[wishes]``: what the client asks beyond the rules."""

    steepest: SlopeRatio | None = Field(default=None, description='such as "1:14"')
    clear_width: PositiveLength | None = Field(default=None, description="clear width of the runs")
    exits: Annotated[ListOf[Literal["front", "left", "right"]], Field(min_length=1)] = Field(
        default=("front", "left", "right"), description="sides of the first landing, looking out"
    )
    most_turns: Annotated[int, Field(ge=0)] | None = Field(
        default=None, description="an L or a half turn is one (any number when not given)"
    )
    guard_above: LengthFromZero = Field(
        default="30 in", validate_default=True, description="runs whose edge is higher get rails"
    )
    rail_landings_above: LengthFromZero = Field(
        default="6 in", validate_default=True, description="landings that are higher get rails"
    )
    shown: Annotated[int, Field(ge=1)] = Field(default=5, description="how many candidates to show")
    slopes: Literal["free", "equal"] = Field(
        default="free", description="a slope for each run, or one for all"
    )
    prefer_side: Literal["left", "right", "either"] = Field(
        default="either", description="which way to go, looking out of the door, where the price is the same"
    )
    must_pass: ListOf[Place] = Field(default=(), description="places that must lie on the walking surface")
    landing_at: ListOf[Place] = Field(default=(), description="places where a landing must lie")
    longest_between_rests: PositiveLength | None = Field(
        default=None, description="longest way in plan between two landings"
    )
    survey_error: LengthFromZero = Field(
        default="0 m", validate_default=True, description="how far a level may be wrong, up or down"
    )
    steps: Literal["none", "wanted"] = Field(default="none", description="steps for those who walk")
    fit_at_least: Annotated[float, Field(gt=0.0, lt=1.0)] | None = Field(
        default=None, description="chance, such as 0.98, that every support fits as planned"
    )

    @field_validator("exits")
    @classmethod
    def _each_exit_once(cls, exits: tuple[str, ...]) -> tuple[str, ...]:
        if len(set(exits)) < len(exits):
            raise field_fault("an exit is named twice.", "Name each once.")
        return exits


class SearchTable(FileModel):
    """``[search]``: the lattice of the search (DEVELOPERS.md, 'The discrete problem')."""

    lattice: PositiveLength | None = Field(
        default=None,
        description="distance of the places where a run may be fixed (6 in, or 0.15 m in metric files)",
    )
    finest_lattice: PositiveLength | None = Field(
        default=None,
        description="the finest lattice, which divides the lattice (2 in, or 0.05 m in metric files)",
    )
    height_step: PositiveLength | None = Field(
        default=None, description="runs drop whole steps of this (0.1 in, or 2.5 mm in metric files)"
    )
    slope_levels: Annotated[int, Field(ge=1, le=50)] = 5
    flattest_share: Annotated[float, Field(gt=0.0, le=1.0)] = Field(
        default=0.6, description="flattest slope tried, as a share of the steepest"
    )
    most_runs: Annotated[int, Field(ge=1, le=8)] | None = Field(
        default=None, description="most runs of a ramp (as many as the rise asks for, when not given)"
    )
    longest_run: PositiveLength = Field(
        default="14 m", validate_default=True, description="longest run between landings, along the surface"
    )
    time_limit_s: Annotated[float, Field(gt=0.0)] = 60.0
    seed: Annotated[int, Field(ge=0)] = 1


class DisplayTable(FileModel):
    """``[display]``: how lengths are shown."""

    system: Literal["ft-in", "in", "mm", "m"] | None = Field(
        default=None, description="ft-in in files in ft, in in files in in, mm in metric files"
    )
    step: PositiveLength | None = Field(default=None, description="1/8 in, or 1 mm, when not given")
