"""A layout typed by hand: ``LAYOUT.toml``, the same choices the search makes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from optimizer.errors import Fault, InputError
from optimizer.layout.spec import LayoutSpec, RunSpec, TurnSpec
from optimizer.toml_file import read_toml
from optimizer.toml_model import FileModel, Length, ListOf, SlopeRatio, Text, Unit, check_model, format_schema

Attach = Literal["left", "centre", "right"]


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
    arrive: Attach = Field(default="left", description="where the upper run meets the landing's edge")
    leave: Attach = Field(default="left", description="where the lower run leaves the landing's edge")


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
    attach: Attach = Field(default="centre", description="where the first run meets that edge")
    run: Annotated[ListOf[RunEntry], Field(min_length=1)] = Field(description="at least one [[run]]")
    turn: ListOf[TurnEntry] = Field(default=(), description="one [[turn]] less than runs")
    plate: Text = Field(description="id of the transition plate")


def read_layout(path: Path) -> tuple[LayoutSpec, Path]:
    """Read a typed layout and the path of its site.

    Raises InputError with every fault of the file, each with line, value and remedy.
    """
    file = read_toml(path)
    found = check_model(file, LayoutFile, str(file.values.get("unit")) if "unit" in file.values else None)
    if len(found.turn) != len(found.run) - 1:
        raise InputError(
            file.fault(
                ("turn",),
                f"{len(found.turn)} turns for {len(found.run)} runs.",
                "Give one [[turn]] between every two runs.",
            )
        )
    site = path.parent / found.site
    if not site.exists():
        raise InputError(
            Fault(file.where(("site",)), f'site = "{found.site}" is not there.', "Name the site's folder.")
        )
    spec = LayoutSpec(
        start=found.start,
        slide_m=found.slide,
        door_landing=found.door_landing,
        exit=found.exit,
        attach=found.attach,
        runs=tuple(RunSpec(run.sections, run.slope) for run in found.run),
        turns=tuple(TurnSpec(t.kind, t.landing, t.arrive, t.leave) for t in found.turn),
        plate=found.plate,
        supports=None,
    )
    return spec, site


def layout_schema() -> str:
    """The JSON Schema of a layout file, as text."""
    return format_schema(LayoutFile)
