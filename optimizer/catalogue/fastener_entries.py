"""How fasteners are written in a catalogue file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from optimizer.catalogue.fasteners import ConnectionKind, Fastener
from optimizer.catalogue.part_entries import PartId, Positive
from optimizer.toml_model import FileModel, Text


class FastenerEntry(FileModel):
    """``[[fastener]]``; no part, so it has neither a price nor minutes."""

    id: PartId = Field(description="its own name, unique among parts and fasteners")
    name: Text = Field(description="what it is, in plain words")
    size: Text = Field(description='its size as it is ordered, a text such as "M10 x 30"')
    at: ConnectionKind = Field(description="kind of connection that needs it")
    each: Annotated[int, Field(ge=1)] = Field(description="how many one place needs")
    weight_kg: Positive | None = Field(default=None, description="mass of one in kilograms")

    def build(self) -> Fastener:
        """The fastener."""
        return Fastener(self.id, self.name, self.size, self.at, self.each, self.weight_kg)
