"""How slope by length and slope by rise are written in a rule set file: rows, and what lies between."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise
from typing import Annotated, Final, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema

from optimizer.errors import InputError
from optimizer.rulebook.run_law import NO_END_M, Allowance, RunLaw
from optimizer.toml_model import FileModel, Reading, field_fault, shown_value
from optimizer.units import METRES_PER_UNIT, parse_slope

#: ``steps``: each row stands for itself; ``run_per_rise``, ``ratio``: what changes evenly between rows.
BetweenRows = Literal["steps", "run_per_rise", "ratio"]

_METRES: Final = dict(METRES_PER_UNIT)


def document_slope(value: object) -> float:
    """Rise over plan run of ``"1:12"`` or ``"6 %"``, the two ways in which documents write it."""
    if isinstance(value, str) and "deg" not in value and "°" not in value:
        try:
            return parse_slope(value, "")
        except InputError as error:
            raise field_fault(error.faults[0].what, 'Write "1:12" or "6 %", as the document does.') from error
    raise field_fault(f"{shown_value(value)} is no slope.", 'Write "1:12" or "6 %", as the document does.')


def document_number(value: object) -> float:
    """A plain number, as the document prints it."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise field_fault(f"{shown_value(value)} is no number.", "Write the document's own number.")
    return float(value)


def document_metres(value: float, unit: str | None) -> float:
    """Metres of a number in the file's unit; metres when the file states none (reported elsewhere)."""
    return float(Fraction(repr(value)) * _METRES[unit or "m"])


def _length_m(value: object, info: ValidationInfo) -> float:
    return document_metres(document_number(value), unit_of_file(info))


def unit_of_file(info: ValidationInfo) -> str | None:
    """The unit the file states, ``None`` when it states none."""
    return info.context.unit if isinstance(info.context, Reading) else None


#: Typed in the file's unit, metres inside.
DocumentLength = Annotated[
    float,
    Field(ge=0.0),
    BeforeValidator(_length_m),
    WithJsonSchema({"type": "number", "minimum": 0}),
]
#: Typed ``"1:12"`` or ``"6 %"``, a ratio inside.
DocumentSlope = Annotated[
    float, Field(gt=0.0), BeforeValidator(document_slope), WithJsonSchema({"type": "string"})
]


class RowEntry(FileModel):
    """One row: runs no longer than ``length``, rising no more than ``rise``, no steeper than ``slope``.

    The last row may name the slope alone: any run that flat.
    """

    length: DocumentLength | None = Field(default=None, description="longest plan length of a run")
    rise: DocumentLength | None = Field(default=None, description="greatest rise of a run")
    slope: DocumentSlope = Field(description='its steepest slope, "1:12" or "6 %"')


def row_fault(rows: tuple[RowEntry, ...], between: BetweenRows) -> tuple[str, str] | None:
    """What is wrong with the rows together, and what to do; ``None`` when nothing is."""
    for number, (before, row) in enumerate(pairwise(rows), start=2):
        if (
            row.slope >= before.slope
            or _shrinks(before.length, row.length)
            or _shrinks(before.rise, row.rise)
        ):
            return (
                f"the rows are out of order at row {number}.",
                "Write them from the shortest and steepest run to the longest and flattest.",
            )
    bare = [row.length is None and row.rise is None for row in rows]
    if any(bare[:-1]) or bare == [True]:
        return (
            f"row {bare.index(True) + 1} has neither a length nor a rise.",
            "Give one of them, or both; only the last of several rows may do without.",
        )
    if between != "steps" and any(row.length is None for row in rows):
        return f'between = "{between}" needs a length in every row.', 'Give them, or write between = "steps".'
    return None


def _shrinks(before: float | None, after: float | None) -> bool:
    return before is not None and after is not None and after < before


def build_law(
    rows: tuple[RowEntry, ...], between: BetweenRows, beyond: float | None, widens: Literal["yes", "no"]
) -> RunLaw:
    """The law of these rows; ``beyond``: every run flatter than this is allowed, however long."""
    allowances = [
        _allowance(None if between == "steps" or i == 0 else rows[i - 1], row, between)
        for i, row in enumerate(rows)
    ]
    if beyond is not None:
        allowances.append(Allowance(0.0, NO_END_M, NO_END_M, beyond, beyond, "ratio", is_strict=True))
    return RunLaw(allowances=tuple(allowances), widens=widens == "yes")


def _allowance(before: RowEntry | None, row: RowEntry, between: BetweenRows) -> Allowance:
    return Allowance(
        above_m=0.0 if before is None or before.length is None else before.length,
        longest_m=NO_END_M if row.length is None else row.length,
        greatest_rise_m=NO_END_M if row.rise is None else row.rise,
        slope_at_above=row.slope if before is None else before.slope,
        slope_at_longest=row.slope,
        between="run_per_rise" if between == "run_per_rise" else "ratio",
        is_strict=False,
    )
