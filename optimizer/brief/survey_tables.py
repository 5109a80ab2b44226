"""How a site file names its survey: files of levels, and a scan with its control points."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Final, Literal

from pydantic import BeforeValidator, Field, GetJsonSchemaHandler, ValidationInfo, field_validator
from pydantic_core import CoreSchema

from optimizer.brief.places import Place
from optimizer.survey.level_limits import (
    AllowedMisclosure,
    ConstantLimit,
    LargerLimit,
    LimitByLength,
    LimitBySetups,
)
from optimizer.survey.scan.file_frame import ScanUnit, UpAxis
from optimizer.survey.survey_kind import SurveyKind
from optimizer.toml_model import FileModel, ListOf, PositiveLength, Text, Unit, field_fault, shown_value

#: Edges of a ground cell: below, noise is left; above, the ground's own shape is lost.
FINEST_CELL_M: Final = 0.05
COARSEST_CELL_M: Final = 1.0


class LimitTable(FileModel):
    """``limit``: how far a line of levels may miss; of several the largest holds."""

    constant: PositiveLength | None = Field(default=None, description="the same for every line")
    per_root_setup: PositiveLength | None = Field(
        default=None, description="so much times the square root of the number of set-ups"
    )
    per_root_km: PositiveLength | None = Field(
        default=None, description="so much times the square root of the line's kilometres"
    )
    line_length: PositiveLength | None = Field(
        default=None, validate_default=True, description="the line's length, where its sights have none"
    )

    @field_validator("line_length")
    @classmethod
    def _some_limit(cls, length: float | None, info: ValidationInfo) -> float | None:
        rules = ("constant", "per_root_setup", "per_root_km")
        if set(rules) <= set(info.data) and all(info.data[rule] is None for rule in rules):
            raise field_fault("the limit has no number.", f"Give one of {', '.join(rules)}.")
        if length is not None and info.data.get("per_root_km", 0.0) is None:
            raise field_fault("it goes with per_root_km only.", "Take it out, or give that.")
        return length

    def build(self) -> AllowedMisclosure:
        """The rule."""
        rules: list[AllowedMisclosure] = []
        if self.constant is not None:
            rules.append(ConstantLimit(self.constant))
        if self.per_root_setup is not None:
            rules.append(LimitBySetups(self.per_root_setup))
        if self.per_root_km is not None:
            rules.append(LimitByLength(self.per_root_km, self.line_length))
        rule = rules[0]
        for other in rules[1:]:
            rule = LargerLimit(rule, other)
        return rule


class SurveyTable(FileModel):
    """``[[survey]]``, or a file's name in ``survey = [...]``."""

    file: Text = Field(description="a file's path from here")
    kind: SurveyKind | None = Field(
        default=None, description="spots, level_book or straightboard (left out: told by its columns)"
    )
    unit: Unit | None = Field(default=None, description="unit of columns that state none; not for spots")
    limit: LimitTable | None = Field(
        default=None, description="misclosure allowed, such as { constant = '3 mm' }; not for spots"
    )

    @field_validator("unit", "limit")
    @classmethod
    def _not_of_spots(cls, value: object, info: ValidationInfo) -> object:
        if value is not None and info.data.get("kind") == "spots":
            raise field_fault("spot levels have none of that.", "Take it out, or correct the kind.")
        return value


class ThingTable(FileModel):
    """``[[scan.thing]]``: what a person says of something the scan shows."""

    near: Place = Field(description="a place in it, or within 0.3 m")
    what: Literal["obstacle", "gone", "ground"] = Field(
        description="obstacle: it stays; gone: it will be away; ground: it is ground after all"
    )


class ScanTable(FileModel):
    """``[scan]``: a scan of the yard."""

    file: Text = Field(description="the scan's path from here (LAS, LAZ, E57, PLY, GLB, OBJ, XYZ)")
    unit: ScanUnit | None = Field(
        default=None, description="unit of its coordinates, confirmed by a person; left out: it is proposed"
    )
    up: UpAxis | None = Field(
        default=None, description="its axis that points up, confirmed likewise: x, y, z, -x, -y or -z"
    )
    control: Text = Field(description="file of the control points that place it")
    cell: PositiveLength = Field(
        default="0.25 m", validate_default=True, description="edge of the cells the ground is made of"
    )
    reach: PositiveLength = Field(
        default="15 m", validate_default=True, description="so far from the first start ground is made"
    )
    thing: ListOf[ThingTable] = Field(
        default=(), description="what stands there after all; a thing not named counts as an obstacle"
    )

    @field_validator("cell")
    @classmethod
    def _usable_cell(cls, cell_m: float) -> float:
        if not FINEST_CELL_M * (1 - 1e-9) <= cell_m <= COARSEST_CELL_M * (1 + 1e-9):
            raise field_fault(
                f"the cell is {cell_m:g} m.", f"Give {FINEST_CELL_M:g} m to {COARSEST_CELL_M:g} m."
            )
        return cell_m


def as_survey_table(value: object) -> object:
    """A file's name alone is a table that says no more."""
    if isinstance(value, str):
        return {"file": value}
    if isinstance(value, Mapping):
        return value
    raise field_fault(
        f"{shown_value(value)} names no file.",
        'Write its name in quotes, or a table [[survey]] with file = "..."',
    )


class _NameOrTable:
    """JSON Schema of a file's name or a table."""

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, object]:
        return {"anyOf": [{"type": "string", "minLength": 1}, handler(core)]}


SurveyTables = ListOf[Annotated[SurveyTable, BeforeValidator(as_survey_table), _NameOrTable]]
