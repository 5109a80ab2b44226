"""How a layout typed by hand is written: the keys of ``LAYOUT.toml``."""

from __future__ import annotations

from typing import Annotated, Final, Literal, get_args

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema

from optimizer.errors import InputError
from optimizer.toml_model import (
    FileModel,
    Length,
    ListOf,
    Reading,
    SlopeRatio,
    Text,
    Unit,
    field_fault,
    nearest_remedy,
    shown_value,
)
from optimizer.units import parse_length

EdgeWord = Literal["left", "centre", "right"]
EDGE_WORDS: Final[tuple[EdgeWord, ...]] = get_args(EdgeWord)


def _edge_place(value: object, info: ValidationInfo) -> float | str:
    """The word as typed, or the length in metres."""
    if isinstance(value, str) and value.strip().isalpha():
        if value not in EDGE_WORDS:
            raise field_fault(
                f"{shown_value(value)} is neither left, centre, right nor a length.",
                nearest_remedy(value, EDGE_WORDS),
            )
        return value
    if not isinstance(value, (str, int, float)):
        raise field_fault(
            f"{shown_value(value)} is not a place on an edge.",
            "Write left, centre, right or a length to the right of the middle.",
        )
    unit = info.context.unit if isinstance(info.context, Reading) else None
    try:
        return parse_length(value, unit, "")
    except InputError as error:
        fault = error.faults[0]
        raise field_fault(fault.what, fault.remedy) from error


#: Where a run is fixed to an edge: flush left, in the middle, flush right, or metres to the right
#: of the middle, always seen along the run's own heading.
EdgePlace = Annotated[
    float | EdgeWord,
    BeforeValidator(_edge_place),
    WithJsonSchema({"anyOf": [{"enum": list(EDGE_WORDS)}, {"type": "number"}, {"type": "string"}]}),
]


class RunEntry(FileModel):
    """``[[run]]``: the sections from the upper end down, and the slope."""

    sections: Annotated[ListOf[Text], Field(min_length=1)] = Field(
        description="section ids from the upper end down"
    )
    slope: SlopeRatio = Field(description='slope of the run, such as "1:12"')


class TurnEntry(FileModel):
    """``[[turn]]``: the landing between one run and the next."""

    kind: Literal["straight", "left", "right", "half_left", "half_right"] = Field(
        description="which way the path turns on the landing"
    )
    landing: Text = Field(description="id of the landing")
    arrive: EdgePlace = Field(
        default="left",
        description="where the upper run meets the landing's edge: left, centre, right or a length to the "
        "right of its middle (a half turn fixes its runs itself)",
    )
    leave: EdgePlace = Field(default="left", description="where the lower run leaves, told likewise")


class LayoutFile(FileModel):
    """A whole layout file."""

    site: Text = Field(description="folder of the site, from this file's folder")
    unit: Unit = Field(description="unit of bare lengths: m, mm, cm, ft or in")
    start: Text = Field(description="name of the start in the site file")
    slide: Length = Field(
        default=0.0, description="middle of the landing along the wall from the door's, right positive"
    )
    door_landing: Text | None = Field(default=None, description="id of the landing at the door")
    exit: Literal["front", "left", "right"] = Field(
        description="side of the first landing the ramp leaves by"
    )
    attach: EdgePlace = Field(
        default="centre",
        description="where the first run leaves that edge: left, centre, right or a length to the right of "
        "its middle, seen along the run",
    )
    run: Annotated[ListOf[RunEntry], Field(min_length=1)] = Field(description="at least one [[run]]")
    turn: ListOf[TurnEntry] = Field(default=(), description="one [[turn]] less than runs")
    plate: Text = Field(description="id of the transition plate")
