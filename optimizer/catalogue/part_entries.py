"""How a part is written in a catalogue file: what every entry has.

Lengths are in the file's ``unit`` or texts with their own; masses and rated loads are
given in kilograms or pounds, exactly one of the two.  Each entry checks itself and builds
its part; what concerns several entries is in ``check_catalogue``.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated, Final

from pydantic import AfterValidator, Field, ValidationInfo, field_validator

from optimizer.toml_model import KG_PER_POUND, FileModel, Money, Text, field_fault

_ID_PATTERN: Final = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,59}$"
_CURRENCY_PATTERN: Final = r"^[A-Z]{3}$"


def _id_form(part_id: str) -> str:
    if re.fullmatch(_ID_PATTERN, part_id) is None:
        raise field_fault(
            f'"{part_id}" is not in the form of an id.',
            'Use at most 60 letters, digits, "." "-" "_", beginning with a letter or digit.',
        )
    return part_id


def _currency_form(code: str) -> str:
    if re.fullmatch(_CURRENCY_PATTERN, code) is None:
        raise field_fault(
            f'"{code}" is not in the form of a currency code.', 'Write three capital letters, such as "USD".'
        )
    return code


#: Typed on orders and in layouts, so without spaces.
PartId = Annotated[str, AfterValidator(_id_form), Field(json_schema_extra={"pattern": _ID_PATTERN})]
#: ISO 4217; its form is checked, not the list of currencies.
CurrencyCode = Annotated[
    str, AfterValidator(_currency_form), Field(json_schema_extra={"pattern": _CURRENCY_PATTERN})
]
Number = Annotated[float, Field(ge=0.0)]
Positive = Annotated[float, Field(gt=0.0)]


def _one_of_two(
    kilograms_key: str, kilograms: float | None, pounds: float | None, info: ValidationInfo
) -> None:
    """Refuse a mass given twice or not at all (skipped when the kilograms are at fault themselves)."""
    if kilograms_key not in info.data or (kilograms is None) != (pounds is None):
        return
    both = kilograms_key, kilograms_key.replace("_kg", "_lb")
    given = "neither is given" if kilograms is None else "both are given"
    raise field_fault(f"of {both[0]} and {both[1]} {given}.", "Give exactly one of them.")


def _kilograms(kilograms: float | None, pounds: float | None) -> float:
    """Converted exactly and rounded to a float once."""
    if kilograms is not None:
        return kilograms
    return float(Fraction(repr(pounds or 0.0)) * KG_PER_POUND)


class PartEntry(FileModel):
    """What every part has."""

    id: PartId = Field(description="the name it is ordered by, unique in the catalogue")
    name: Text = Field(description="what it is, in plain words")
    weight_kg: Positive | None = Field(default=None, description="mass in kilograms")
    weight_lb: Positive | None = Field(
        default=None, validate_default=True, description="mass in pounds, instead of weight_kg"
    )
    price: Money = Field(description='price of one, whole units or a text such as "123.50"')
    labour_min: Number = Field(description="minutes of one person to fit it")

    @field_validator("weight_lb")
    @classmethod
    def _one_mass(cls, pounds: float | None, info: ValidationInfo) -> float | None:
        _one_of_two("weight_kg", info.data.get("weight_kg"), pounds, info)
        return pounds

    @property
    def mass_kg(self) -> float:
        """Mass in kilograms, whichever way it was given."""
        return _kilograms(self.weight_kg, self.weight_lb)


class LoadedEntry(PartEntry):
    """A part that people stand on or that carries one."""

    rated_load_kg: Positive | None = Field(default=None, description="rated load in kilograms")
    rated_load_lb: Positive | None = Field(
        default=None, validate_default=True, description="rated load in pounds, instead of rated_load_kg"
    )

    @field_validator("rated_load_lb")
    @classmethod
    def _one_load(cls, pounds: float | None, info: ValidationInfo) -> float | None:
        _one_of_two("rated_load_kg", info.data.get("rated_load_kg"), pounds, info)
        return pounds

    @property
    def load_kg(self) -> float:
        """Rated load in kilograms, whichever way it was given."""
        return _kilograms(self.rated_load_kg, self.rated_load_lb)
