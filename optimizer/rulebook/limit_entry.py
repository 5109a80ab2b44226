"""How one limit is written in a rule set file."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Final, Literal, NoReturn, TypeVar

from pydantic import Field, ValidationInfo, WithJsonSchema, field_validator

from optimizer.rulebook.condition_entry import DoorEntry, WhenEntry
from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.rulebook.facts import YesNo
from optimizer.rulebook.law_rows import (
    BetweenRows,
    DocumentSlope,
    RowEntry,
    build_law,
    document_metres,
    document_number,
    document_slope,
    row_fault,
    unit_of_file,
)
from optimizer.rulebook.rules import Limit, Operator, Place, Quantity
from optimizer.rulebook.run_law import RunLaw
from optimizer.toml_model import FileModel, ListOf, Text, field_fault, shown_value
from optimizer.units import METRES_PER_UNIT

LimitUnit = Literal["in", "ft", "mm", "cm", "m", "ratio", "percent", "count"]
_METRES: Final = dict(METRES_PER_UNIT)
T = TypeVar("T")
#: A number in the file's unit, or a slope in words; looked at by quantity, so kept as typed.
DocumentValue = Annotated[
    str | float | None, WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0}, {"type": "string"}]})
]
#: How a published limit may be known; 'own' is for the user's numbers, never for a document.
Known = Literal["text", "restated", "memory"]

SLOPES: Final[frozenset[Quantity]] = frozenset(
    {
        "running_slope",
        "cross_slope",
        "landing_slope",
        "landing_slope_along",
        "landing_slope_across",
        "handrail_slope",
    }
)
COUNTS: Final[frozenset[Quantity]] = frozenset({"handrail_sides"})
#: Quantities whose number stands elsewhere: in rows, in a row of a door table.
TABLES: Final[frozenset[Quantity]] = frozenset({"run_law", "door_clearance"})


#: The one operator of a table: runs at most as steep as its rows, rooms at least as large.
_OPERATOR_OF_TABLE: Final = {"run_law": "<=", "door_clearance": ">="}
_LENGTH_UNITS: Final = ("in", "ft", "mm", "cm", "m")


class LimitEntry(FileModel):
    """``[[limit]]``; the order of the keys is the order in which they are checked."""

    id: Text = Field(description="the limit's own id")
    clause: Text = Field(description="the clause it is printed in")
    quantity: Quantity = Field(description="what it limits")
    place: Place = Field(default="any", description="where on the way it holds")
    when: WhenEntry = Field(default=WhenEntry(), description="facts of the job that must hold")
    operator: Operator = Field(description="read 'measured operator limit'")
    unit: LimitUnit | None = Field(default=None, description="the file's own unit, or ratio, percent, count")
    value: DocumentValue = Field(
        default=None, validate_default=True, description='the number in that unit; a slope as "1:12" or "6 %"'
    )
    between: BetweenRows = Field(default="steps", description="of run_law: what lies between two rows")
    rows: Annotated[ListOf[RowEntry], Field(min_length=1)] | None = Field(
        default=None, validate_default=True, description="of run_law: the rows of its table"
    )
    beyond: DocumentSlope | None = Field(
        default=None, description="of run_law: flatter runs may have any length"
    )
    widens: YesNo = Field(default="no", description="of run_law: does it allow more than the running slope")
    door: DoorEntry | None = Field(
        default=None, validate_default=True, description="of door_clearance: the row of its table"
    )
    source: Text = Field(description="where the clause can be read")
    how_known: Known = Field(description="text, restated or memory")
    note: str = Field(default="", description="how the number is to be read")

    @field_validator("operator")
    @classmethod
    def _operator_of_a_table(cls, operator: Operator, info: ValidationInfo) -> Operator:
        wanted = _OPERATOR_OF_TABLE.get(info.data.get("quantity", ""), operator)
        if operator != wanted:
            raise field_fault(f'"{operator}" is not how its table is read.', f'Write "{wanted}".')
        return operator

    @field_validator("unit")
    @classmethod
    def _unit_of_the_quantity(cls, unit: LimitUnit | None, info: ValidationInfo) -> LimitUnit | None:
        quantity = info.data.get("quantity")
        own = unit_of_file(info)
        if quantity is None or unit is None:
            return unit
        wanted = _units_of(quantity)
        if unit not in wanted:
            remedy = "a unit of length" if wanted == _LENGTH_UNITS else " or ".join(wanted)
            raise field_fault(f'"{unit}" does not measure a {quantity}.', f"Use {remedy}.")
        if unit in _LENGTH_UNITS and own is not None and unit != own:
            raise field_fault(
                f'mixed units: the file is in {own}, this limit in "{unit}".',
                "Keep to the document's own unit; conversions that it prints are rounded.",
            )
        return unit

    @field_validator("value", mode="before")
    @classmethod
    def _value_of_the_quantity(cls, value: object, info: ValidationInfo) -> object:
        quantity = info.data.get("quantity")
        if quantity is None:
            return value
        if quantity in TABLES:
            return _refuse_stray(value, quantity)
        if value is None:
            _refuse_missing("value", "Add it: the number in the document's own unit.")
        if quantity in SLOPES:
            document_slope(value)
            _refuse_other_way(str(value), info.data.get("unit"))
        else:
            if document_number(value) < 0.0:
                raise field_fault(f"{shown_value(value)} must be at least 0.", "Correct the number.")
        return value

    @field_validator("rows")
    @classmethod
    def _rows_of_a_law(
        cls, rows: tuple[RowEntry, ...] | None, info: ValidationInfo
    ) -> tuple[RowEntry, ...] | None:
        quantity = info.data.get("quantity")
        if quantity is None:
            return rows
        if quantity != "run_law":
            return _refuse_stray(rows, quantity)
        if rows is None:
            _refuse_missing("rows", "Add them: rows = [{ length = ..., slope = ... }].")
        fault = row_fault(rows, info.data.get("between", "steps"))
        if fault is not None:
            raise field_fault(*fault)
        return rows

    @field_validator("between", "widens", "beyond")
    @classmethod
    def _word_of_a_law(cls, word: float | str | None, info: ValidationInfo) -> float | str | None:
        quantity = info.data.get("quantity")
        return word if quantity in (None, "run_law") else _refuse_stray(word, quantity)

    @field_validator("beyond")
    @classmethod
    def _beyond_the_last_row(cls, beyond: float | None, info: ValidationInfo) -> float | None:
        rows = info.data.get("rows")
        if beyond is not None and rows is not None and beyond > rows[-1].slope:
            raise field_fault("it is steeper than the last row.", "Give a slope as flat or flatter.")
        return beyond

    @field_validator("door")
    @classmethod
    def _door_of_a_table(cls, door: DoorEntry | None, info: ValidationInfo) -> DoorEntry | None:
        quantity = info.data.get("quantity")
        if quantity is None:
            return door
        if quantity != "door_clearance":
            return _refuse_stray(door, quantity)
        if door is None:
            _refuse_missing("door", "Add it: door = { approach = ..., side = ..., depth = ... }.")
        return door

    def build(self, file_unit: str) -> Limit:
        """The limit; ``file_unit`` is the one unit of the file's lengths."""
        door = None if self.door is None else self.door.build()
        law = None if self.rows is None else build_law(self.rows, self.between, self.beyond, self.widens)
        value, unit, value_si = self._number(file_unit, law, door)
        return Limit(
            id=self.id,
            clause=self.clause,
            quantity=self.quantity,
            operator=self.operator,
            value=value,
            unit=unit,
            value_si=value_si,
            source=self.source,
            how_known=self.how_known,
            note=self.note,
            place=self.place,
            when=self.when.build(),
            law=law,
            door=door,
        )

    def _number(
        self, file_unit: str, law: RunLaw | None, door: DoorClearance | None
    ) -> tuple[float, str, float]:
        """Value, unit and value in metres or as a ratio; of a table its first row's slope or depth."""
        if law is not None:
            slope = law.allowances[0].slope_at_longest
            return slope, "ratio", slope
        if door is not None:
            return float(Fraction(repr(door.depth_m)) / _METRES[file_unit]), file_unit, door.depth_m
        if isinstance(self.value, str):
            slope = document_slope(self.value)
            if "%" in self.value:
                return float(self.value.replace("%", "")), "percent", slope
            return slope, "ratio", slope
        number = document_number(self.value)
        if self.quantity in COUNTS:
            return number, "count", number
        return number, file_unit, document_metres(number, file_unit)


def _refuse_missing(key: str, remedy: str) -> NoReturn:
    """In the words for any other key that is not there."""
    raise field_fault(f'the key "{key}" is missing.', remedy)


def _units_of(quantity: Quantity) -> tuple[str, ...]:
    if quantity in SLOPES or quantity == "run_law":
        return ("ratio", "percent")
    return ("count",) if quantity in COUNTS else _LENGTH_UNITS


def _refuse_stray(value: T, quantity: Quantity) -> T:
    if value is not None:
        raise field_fault(f"it has no meaning for a {quantity}.", "Take it out.")
    return value


def _refuse_other_way(text: str, unit: str | None) -> None:
    if unit is not None and (unit == "percent") != ("%" in text):
        raise field_fault(
            f'"{text}" does not go with the unit {unit}.', "Write the slope as the document does."
        )
