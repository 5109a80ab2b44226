"""How a site file is written; its published JSON Schema.

Lengths are in the file's ``unit`` or texts with their own, elevations are above the survey's
own datum, coordinates are the survey's own.  Fields hold metres and ratios once read.  What
concerns one table is checked here; what needs the survey or two tables, in ``read_site``.
"""

from __future__ import annotations

import datetime
from typing import Annotated, Final, Literal

from pydantic import Field, ValidationInfo, field_validator

from optimizer.brief.places import Place
from optimizer.brief.rules_tables import Answer, FactsTable, RulesTables
from optimizer.brief.settings_tables import DisplayTable, RiderTable, SearchTable, WishesTable
from optimizer.brief.survey_tables import ScanTable, SurveyTable, SurveyTables
from optimizer.brief.zone_table import Outline, ZoneTable
from optimizer.terrain.yard import SetbackKind
from optimizer.toml_model import (
    FileModel,
    Length,
    LengthFromZero,
    ListOf,
    Money,
    PositiveLength,
    Text,
    Unit,
    field_fault,
    format_schema,
)

PointNames = Annotated[ListOf[Text], Field(min_length=2)]

_DOOR_KINDS: Final = ("landing", "over_steps")


class GroundTable(FileModel):
    """``[ground]``: how the levels become a surface."""

    bedding: LengthFromZero = Field(
        default="1/2 in", validate_default=True, description="how far a loaded foot sinks in"
    )
    longest_edge: PositiveLength | None = Field(
        default=None,
        description="rim points further apart than this are not joined (left out: judged by the spacing)",
    )
    outline: Annotated[ListOf[Text], Field(min_length=3)] | None = Field(
        default=None, description="names of the survey points round the surveyed area, where it is given"
    )
    # Standard errors; the defaults are common practice, no source.
    reading_error: LengthFromZero = Field(
        default="3 mm",
        validate_default=True,
        description="standard error of one reading: of levels that state none, threshold, steps and slabs",
    )
    bedding_error: LengthFromZero | None = Field(
        default=None, description="standard error of how far a foot sinks in (left out: half of bedding)"
    )
    setting_error: LengthFromZero = Field(
        default="3 mm",
        validate_default=True,
        description="standard error of setting the frame to its level at one support",
    )


class BreakLineTable(FileModel):
    """``[[break_line]]``: a crease (``points``), or a step (``top``, ``foot``, ``high_side``)."""

    name: Text
    points: PointNames | None = Field(default=None, description="names of survey points along a crease")
    top: PointNames | None = Field(default=None, description="names of survey points along the top of a step")
    foot: PointNames | None = Field(
        default=None, description="the point below each of top, with the same x and y"
    )
    high_side: Literal["left", "right"] | None = Field(
        default=None, validate_default=True, description="side of the top, walking along the points"
    )

    @field_validator("high_side")
    @classmethod
    def _crease_or_step(cls, side: str | None, info: ValidationInfo) -> str | None:
        if not {"points", "top", "foot"} <= set(info.data):
            return side  # one of them is at fault itself
        points, top, foot = (info.data[key] for key in ("points", "top", "foot"))
        if points is not None and top is None and foot is None:
            if side is not None:
                raise field_fault("a crease has no high side.", "Leave it out, or give top and foot.")
            return side
        if points is not None or top is None or foot is None:
            raise field_fault(
                "the line is neither a crease nor a step.", "Give either points, or top, foot and high_side."
            )
        if len(top) != len(foot):
            raise field_fault(
                f"top has {len(top)} points and foot {len(foot)}.", "Name one foot below each top."
            )
        if side is None:
            raise field_fault("a step needs its high side.", 'Write "left" or "right", walking along top.')
        return side


class StartTable(FileModel):
    """``[[start]]``: a door, or an existing edge to hang a run on.

    The outward direction is given by ``outward_deg`` or by ``wall``, two places on the wall:
    the left one first, as seen by somebody who stands outside and looks at the wall.
    """

    name: Text
    kind: Literal["landing", "over_steps", "edge"] = Field(
        description="landing (a new one), over_steps (one standing over old steps), edge (of a porch or deck)"
    )
    midpoint: Place = Field(description="middle of the sill or edge on the furthest projection of the wall")
    outward_deg: float | None = Field(
        default=None, description="direction away from the house, degrees counter-clockwise from +x"
    )
    wall: Annotated[ListOf[Place], Field(min_length=2, max_length=2)] | None = Field(
        default=None,
        validate_default=True,
        description="instead of outward_deg: two places on the wall, the left one first as seen from outside",
    )
    threshold: Length = Field(description="elevation of the sill, or of the existing edge")
    drop: LengthFromZero = Field(
        default="1/2 in", validate_default=True, description="landing surface below the threshold"
    )
    clear_width: PositiveLength = Field(description="clear opening of the door, or length of the edge")
    gap: LengthFromZero = Field(
        default="3/4 in", validate_default=True, description="gap that the threshold plate bridges"
    )
    swing: Literal["in", "out"] | None = Field(
        default=None, validate_default=True, description="which way the door opens; not for an edge"
    )
    hinge_side: Literal["left", "right"] | None = Field(
        default=None, validate_default=True, description="hinge side looking out; not for an edge"
    )
    egress_door: Answer | None = Field(default=None, description="as in [facts], for this door alone")
    closer: Answer | None = Field(default=None, description="as in [facts], for this door alone")
    latch: Answer | None = Field(default=None, description="as in [facts], for this door alone")

    @field_validator("wall")
    @classmethod
    def _one_direction(
        cls, wall: tuple[object, ...] | None, info: ValidationInfo
    ) -> tuple[object, ...] | None:
        if "outward_deg" in info.data and (wall is None) == (info.data["outward_deg"] is None):
            given = "neither is given" if wall is None else "both are given"
            raise field_fault(f"of outward_deg and wall {given}.", "Give exactly one of them.")
        return wall

    @field_validator("swing", "hinge_side")
    @classmethod
    def _door_or_edge(cls, word: str | None, info: ValidationInfo) -> str | None:
        kind = info.data.get("kind")
        if kind in _DOOR_KINDS and word is None:
            raise field_fault(f"a door needs {info.field_name}.", "Look at the door and add it.")
        if kind == "edge" and word is not None:
            raise field_fault("an edge has no door.", "Take it out, or correct the kind.")
        return word

    @field_validator("closer", "latch")
    @classmethod
    def _only_of_a_door(cls, word: str | None, info: ValidationInfo) -> str | None:
        if word is not None and info.data.get("kind") == "edge":
            raise field_fault("an edge has no door.", "Take it out, or correct the kind.")
        return word


class HouseTable(FileModel):
    """``[house]``."""

    outline: Outline = Field(description="outer walls of the house")


class LotTable(FileModel):
    """``[lot]``."""

    outline: Outline = Field(description="the lot line")
    setback: LengthFromZero = Field(
        default="0 m", validate_default=True, description="strip inside the lot line kept free"
    )
    setback_kind: SetbackKind = Field(
        default="hard",
        description="hard (no piece in the strip), or needs_relief (where the authority may grant relief)",
    )
    relief_price: Money | None = Field(
        default=None, description="what asking for relief costs, once; needs_relief only"
    )

    @field_validator("setback_kind")
    @classmethod
    def _relief_from_something(cls, kind: SetbackKind, info: ValidationInfo) -> SetbackKind:
        if kind == "needs_relief" and info.data.get("setback") == 0.0:
            raise field_fault("the setback is 0.", "Give setback, or leave setback_kind out.")
        return kind

    @field_validator("relief_price")
    @classmethod
    def _price_of_relief(cls, cents: int | None, info: ValidationInfo) -> int | None:
        if cents is not None and info.data.get("setback_kind") == "hard":
            raise field_fault(
                "a hard setback has no relief.", 'Take it out, or write setback_kind = "needs_relief".'
            )
        return cents


class ObstacleTable(FileModel):
    """``[[obstacle]]``: something that stands in the yard."""

    name: Text
    outline: Outline
    top: Length | None = Field(
        default=None, description="elevation of its top; without it nothing may pass over"
    )
    may_stand: bool = Field(default=False, description="whether feet may stand on its top")

    @field_validator("may_stand")
    @classmethod
    def _stand_needs_a_top(cls, may_stand: bool, info: ValidationInfo) -> bool:  # noqa: FBT001 (field)
        if may_stand and info.data.get("top", 0.0) is None:
            raise field_fault("feet may stand on it, but its top is not given.", "Add top, its elevation.")
        return may_stand


class ArrivalTable(FileModel):
    """``[[arrival]]``: an area where the ramp may end."""

    outline: Outline


class DestinationTable(FileModel):
    """``[destination]``: where the rider wants to get to."""

    at: Place


class SiteFile(FileModel):
    """A whole site file."""

    name: Text = Field(description="the job's name")
    dated: datetime.date = Field(description="the day that drawings and prices carry, such as 2026-03-01")
    unit: Unit = Field(description="unit of bare lengths and coordinates")
    scan: ScanTable | None = Field(default=None, description="a scan of the yard")
    survey: SurveyTables = Field(
        default=(), validate_default=True, description='the files of levels, such as ["levels.csv"]'
    )
    catalogue: Text = Field(description="id of a demo catalogue, or a file's path from here")
    rates: Text = Field(description="id of demo rates, or a file's path from here")
    ground: GroundTable = Field(default_factory=GroundTable)
    break_line: ListOf[BreakLineTable] = ()
    start: Annotated[ListOf[StartTable], Field(min_length=1)] = Field(description="at least one [[start]]")
    house: HouseTable
    lot: LotTable
    obstacle: ListOf[ObstacleTable] = ()
    zone: ListOf[ZoneTable] = ()
    arrival: ListOf[ArrivalTable] = ()
    destination: DestinationTable | None = None
    rider: RiderTable = Field(default_factory=RiderTable)
    rules: RulesTables = Field(description='what binds the job, such as [rules] with set = "ada-2010"')
    facts: FactsTable = Field(default_factory=FactsTable)
    wishes: WishesTable = Field(default_factory=WishesTable)
    search: SearchTable = Field(default_factory=SearchTable)
    display: DisplayTable = Field(default_factory=DisplayTable)

    @field_validator("survey")
    @classmethod
    def _some_survey(cls, tables: tuple[SurveyTable, ...], info: ValidationInfo) -> tuple[SurveyTable, ...]:
        if not tables and "scan" in info.data and info.data["scan"] is None:
            raise field_fault(
                "the site has no survey.", 'Name its files of levels, such as survey = ["levels.csv"].'
            )
        return tables


def site_schema() -> str:
    """The JSON Schema of a site file, as text."""
    return format_schema(SiteFile)
