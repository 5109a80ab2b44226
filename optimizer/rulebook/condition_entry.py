"""How the conditions of a limit and the room at a door are written in a rule set file."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from optimizer.rulebook.door_clearance import Approach, DoorClearance, DoorSide
from optimizer.rulebook.facts import Condition, FactName, YesNo
from optimizer.rulebook.law_rows import DocumentLength
from optimizer.toml_model import FileModel, ListOf


class WhenEntry(FileModel):
    """``when = { works = ["existing"] }``: each fact must have one of its values."""

    egress_door: ListOf[YesNo] = Field(default=(), description="is the door the required egress door")
    works: ListOf[Literal["new", "existing"]] = Field(default=(), description="new work or existing site")
    space_limited: ListOf[YesNo] = Field(default=(), description="does lack of space force a steeper slope")
    building: ListOf[Literal["house", "dwelling_unit", "other"]] = Field(
        default=(), description="what the ramp serves"
    )
    dwelling_category: ListOf[Literal["1", "2", "3"]] = Field(default=(), description="England")
    occupants: ListOf[Literal["fewer_than_50", "50_and_more"]] = Field(
        default=(), description="people the way serves"
    )
    door_swing: ListOf[Literal["in", "out"]] = Field(default=(), description="which way the door opens")
    runs: ListOf[Literal["one", "two", "three_and_more"]] = Field(
        default=(), description="how many runs the layout has"
    )

    def build(self) -> tuple[Condition, ...]:
        """The conditions, in the order of this table."""
        asked: tuple[tuple[FactName, tuple[str, ...]], ...] = (
            ("egress_door", self.egress_door),
            ("works", self.works),
            ("space_limited", self.space_limited),
            ("building", self.building),
            ("dwelling_category", self.dwelling_category),
            ("occupants", self.occupants),
            ("door_swing", self.door_swing),
            ("runs", self.runs),
        )
        return tuple(Condition(fact, values) for fact, values in asked if values)


class DoorEntry(FileModel):
    """``door = { ... }``: one row of a door table; what is left out is 0."""

    approach: Approach = Field(description="from the front, the hinge side or the latch side")
    side: DoorSide = Field(description="pull or push side of the door")
    depth: DocumentLength = Field(description="square to the wall")
    beyond_latch: DocumentLength = Field(default=0.0, description="along the wall, past the latch side")
    beyond_hinge: DocumentLength = Field(default=0.0, description="along the wall, past the hinge side")
    closer_depth: DocumentLength = Field(default=0.0, description="more depth with a closer")
    closer_latch_depth: DocumentLength = Field(default=0.0, description="more depth with closer and latch")
    closer_latch_beyond: DocumentLength = Field(
        default=0.0, description="more past the latch side with closer and latch"
    )

    def build(self) -> DoorClearance:
        """The row, in metres."""
        return DoorClearance(
            approach=self.approach,
            side=self.side,
            depth_m=self.depth,
            beyond_latch_m=self.beyond_latch,
            beyond_hinge_m=self.beyond_hinge,
            closer_depth_m=self.closer_depth,
            closer_latch_depth_m=self.closer_latch_depth,
            closer_latch_beyond_m=self.closer_latch_beyond,
        )
