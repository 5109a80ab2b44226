"""How a rule set file is written; its published JSON Schema."""

from __future__ import annotations

import math
from typing import Annotated, Final, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema, field_validator

from optimizer.errors import InputError
from optimizer.rulebook.rules import Limit, Operator, Quantity
from optimizer.toml_model import FileModel, ListOf, Text, field_fault, format_schema, shown_value
from optimizer.units import METRES_PER_UNIT, parse_length, parse_slope

LimitUnit = Literal["in", "ft", "mm", "cm", "m", "ratio", "count"]
#: How a published limit may be known; 'own' is for the user's numbers, never for a document.
Known = Literal["text", "restated", "memory"]

SLOPES: Final[frozenset[Quantity]] = frozenset({"running_slope", "cross_slope", "landing_slope"})
COUNTS: Final[frozenset[Quantity]] = frozenset({"handrail_sides"})


def _number_or_ratio(value: object) -> float:
    """``36`` or ``"1:12"``."""
    if isinstance(value, str):
        try:
            return parse_slope(value, "")
        except InputError as error:
            raise field_fault(error.faults[0].what, error.faults[0].remedy) from error
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise field_fault(
            f"{shown_value(value)} is no number.", 'Write the document\'s own number, or "1:12".'
        )
    return float(value)


LimitValue = Annotated[
    float,
    Field(ge=0.0),
    BeforeValidator(_number_or_ratio),
    WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0}, {"type": "string"}]}),
]


class LimitEntry(FileModel):
    """``[[limit]]``."""

    id: Text = Field(description="the limit's own id")
    clause: Text = Field(description="the clause it is printed in")
    quantity: Quantity = Field(description="what it limits")
    operator: Operator = Field(description="read 'measured operator limit'")
    unit: LimitUnit = Field(description="the document's own unit, or ratio, or count")
    value: LimitValue = Field(description='the number in that unit; a slope as "1:12"')
    source: Text = Field(description="where the clause can be read")
    how_known: Known = Field(description="text, restated or memory")
    note: str = Field(default="", description="how the number is to be read")

    @field_validator("unit")
    @classmethod
    def _unit_of_the_quantity(cls, unit: LimitUnit, info: ValidationInfo) -> LimitUnit:
        quantity = info.data.get("quantity")
        if quantity is None:
            return unit
        if (quantity in SLOPES) != (unit == "ratio") or (quantity in COUNTS) != (unit == "count"):
            wanted = "ratio" if quantity in SLOPES else "count" if quantity in COUNTS else "a unit of length"
            raise field_fault(f'"{unit}" does not measure a {quantity}.', f"Use {wanted}.")
        return unit

    @field_validator("value", mode="before")
    @classmethod
    def _ratio_as_text(cls, value: object, info: ValidationInfo) -> object:
        if "unit" in info.data and isinstance(value, str) != (info.data["unit"] == "ratio"):
            raise field_fault(
                f"{shown_value(value)} does not go with the unit {info.data['unit']}.",
                'Write slopes as "1:12" with the unit ratio, all else as a number.',
            )
        return value

    def build(self) -> Limit:
        """The limit."""
        lengths = [unit for unit, _ in METRES_PER_UNIT]
        value_si = parse_length(self.value, self.unit, self.id) if self.unit in lengths else self.value
        return Limit(
            id=self.id,
            clause=self.clause,
            quantity=self.quantity,
            operator=self.operator,
            value=self.value,
            unit=self.unit,
            value_si=value_si,
            source=self.source,
            how_known=self.how_known,
            note=self.note,
        )


class RuleSetFile(FileModel):
    """A whole rule set file."""

    id: Text = Field(description="the rule set's own id")
    title: Text = Field(description="title of the document")
    edition: Text = Field(description="its edition, in quotes")
    statement: Text = Field(description="what a layout without a failed finding may be said to be")
    not_checked: ListOf[Text] = Field(description="what of the document is not looked at")
    limit: Annotated[ListOf[LimitEntry], Field(min_length=1)] = Field(
        description="the limits, one table each"
    )


def rule_set_schema() -> str:
    """The JSON Schema of a rule set file, as text."""
    return format_schema(RuleSetFile)
