"""How a zone is written in a site file: its outline, or what it lies around."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema, field_validator

from optimizer.brief.places import PLACE_SCHEMA, Place
from optimizer.terrain.yard import OVERHEAD, ZoneKind
from optimizer.toml_model import FileModel, Length, LengthFromZero, ListOf, PositiveLength, Text, field_fault

#: Three places or more, in order round the area, either way, not closed.
Outline = Annotated[ListOf[Place], Field(min_length=3)]


def _as_list(value: object) -> object:
    """One place as a list of one.

    ``[x, y]`` is one place when either is a number; two texts are the names of two points.
    """
    if isinstance(value, list):
        is_pair = len(value) == 2 and not any(isinstance(each, list | dict) for each in value)
        return [value] if is_pair and any(isinstance(each, int | float) for each in value) else value
    return [value]


#: One place, or several: a point, a line, or (the last place again the first) an outline.
Around = Annotated[
    ListOf[Place],
    Field(min_length=1),
    BeforeValidator(_as_list),
    WithJsonSchema({"anyOf": [PLACE_SCHEMA, {"type": "array", "items": PLACE_SCHEMA, "minItems": 1}]}),
]


class ZoneTable(FileModel):
    """``[[zone]]``: an area with a rule; reason, size and who may waive it are usual ones by kind."""

    name: Text
    kind: ZoneKind
    outline: Outline | None = Field(default=None, description="the area itself, in place of around")
    around: Around | None = Field(
        default=None,
        validate_default=True,
        description="what the zone protects: one place, a line of places, or, closed by its first place "
        "again, an outline",
    )
    distance: LengthFromZero | None = Field(
        default=None, description="how far the zone reaches round that (left out: as usual for its kind)"
    )
    reason: Text | None = Field(default=None, description="why it is there")
    source: Text | None = Field(default=None, description="what its size rests on")
    waived_by: Text | None = Field(default=None, description="who may allow what it forbids")
    underside: Length | None = Field(
        default=None,
        validate_default=True,
        description="elevation of what hangs there; headroom and wire only",
    )
    headroom: PositiveLength | None = Field(
        default=None,
        validate_default=True,
        description="free height asked above the deck; headroom and wire only",
    )

    @field_validator("around")
    @classmethod
    def _outline_or_around(
        cls, around: tuple[object, ...] | None, info: ValidationInfo
    ) -> tuple[object, ...] | None:
        if "outline" in info.data and (around is None) == (info.data["outline"] is None):
            given = "neither is given" if around is None else "both are given"
            raise field_fault(f"of outline and around {given}.", "Give exactly one of them.")
        return around

    @field_validator("distance")
    @classmethod
    def _distance_around(cls, distance: float | None, info: ValidationInfo) -> float | None:
        if distance is not None and info.data.get("outline") is not None:
            raise field_fault(
                "an outline is the zone itself.", "Take it out, or give around in place of outline."
            )
        return distance

    @field_validator("underside", "headroom")
    @classmethod
    def _overhead_only(cls, value: float | None, info: ValidationInfo) -> float | None:
        kind = info.data.get("kind")
        if kind in OVERHEAD and value is None:
            raise field_fault(f'a zone of kind "{kind}" needs {info.field_name}.', "Measure it and add it.")
        if kind is not None and kind not in OVERHEAD and value is not None:
            raise field_fault(
                f'a zone of kind "{kind}" has none.',
                f"Take it out, or use one of: {', '.join(sorted(OVERHEAD))}.",
            )
        return value
