"""Check the values of a TOML file against a model; every fault in plain words, with its line.

The models are pydantic classes derived from ``FileModel``; this module owns the kinds of
value that a person types (``Length``, ``Money``, ``SlopeRatio``) and turns pydantic's
errors into ``Fault``.  Bare lengths are in the unit that the file states.
"""

from __future__ import annotations

import difflib
import json
import types
import typing
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Final, Literal, TypeVar

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    Strict,
    ValidationError,
    ValidationInfo,
    WithJsonSchema,
)
from pydantic_core import ErrorDetails, PydanticCustomError

from optimizer.errors import Fault, InputError
from optimizer.toml_file import KeyPath, TomlFile
from optimizer.units import UNITS, parse_length, parse_money, parse_slope

Unit = Literal["m", "mm", "cm", "ft", "in"]

#: Kilograms in a pound, exactly (international yard and pound agreement, 1959).
KG_PER_POUND: Final = Fraction("0.45359237")

_OWN_FAULT: Final = "evenfall_fault"


class FileModel(BaseModel):
    """A table of a file: read-only, nothing converted behind the writer's back, no unknown key."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


@dataclass(frozen=True, slots=True)
class Reading:
    """What the fields need to know of the file while it is read: the unit of bare lengths."""

    unit: str | None


def field_fault(what: str, remedy: str) -> PydanticCustomError:
    """The error a field validator raises; it becomes a ``Fault`` with these words."""
    return PydanticCustomError(_OWN_FAULT, "{what} {remedy}", {"what": what, "remedy": remedy})


def _parsed(parse: Callable[[], float]) -> float:
    """Run a parser of ``units`` inside pydantic: its fault becomes a field's fault."""
    try:
        return parse()
    except InputError as error:
        fault = error.faults[0]
        raise field_fault(fault.what, fault.remedy) from error


def _length_m(value: object, info: ValidationInfo) -> float:
    unit = info.context.unit if isinstance(info.context, Reading) else None
    if not isinstance(value, (str, int, float)):
        raise field_fault(f"{shown_value(value)} is not a length.", "Write one number or one text.")
    return _parsed(lambda: parse_length(value, unit, ""))


def _money_cents(value: object) -> float:
    if not isinstance(value, (str, int, float)):
        raise field_fault(f"{shown_value(value)} is not an amount of money.", 'Write it as "123.50".')
    return _parsed(lambda: parse_money(value, ""))


def _slope_ratio(value: object) -> float:
    if not isinstance(value, (str, int, float)):
        raise field_fault(f"{shown_value(value)} is not a slope.", 'Write it as "1:12".')
    return _parsed(lambda: parse_slope(value, ""))


def _length_schema(bound: Mapping[str, float]) -> WithJsonSchema:
    return WithJsonSchema({"anyOf": [{"type": "number", **bound}, {"type": "string"}]})


Text = Annotated[str, Field(min_length=1)]
#: Metres, typed as a number in the file's unit or as a text with its own unit.
Length = Annotated[float, BeforeValidator(_length_m), _length_schema({})]
PositiveLength = Annotated[
    float, Field(gt=0.0), BeforeValidator(_length_m), _length_schema({"exclusiveMinimum": 0})
]
LengthFromZero = Annotated[float, Field(ge=0.0), BeforeValidator(_length_m), _length_schema({"minimum": 0})]
#: Whole cents, typed as a number of whole units or a text with two decimals.
Money = Annotated[
    int,
    Field(ge=0),
    BeforeValidator(_money_cents),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0},
                {"type": "string", "pattern": r"^\s*\+?(\d+(\.\d*)?|\.\d+)\s*$"},
            ]
        }
    ),
]
#: Rise over plan run, typed as ``1:12``, ``8.3 %`` or ``4.8 deg``.
SlopeRatio = Annotated[
    float,
    Field(gt=0.0),
    BeforeValidator(_slope_ratio),
    WithJsonSchema({"type": "string"}),
]

T = TypeVar("T")
#: A list in the file, a tuple inside.
ListOf = Annotated[tuple[T, ...], Strict(strict=False)]

M = TypeVar("M", bound=FileModel)


def check_model(file: TomlFile, model: type[M], unit: str | None) -> M:
    """The file's values as ``model``; ``unit`` is that of bare lengths (``None``: refuse them).

    Raises ``InputError`` with every fault of the file, in file order.
    """
    checked, faults = model_or_faults(file, model, unit)
    if checked is None:
        raise InputError(*faults)
    return checked


def model_or_faults(file: TomlFile, model: type[M], unit: str | None) -> tuple[M | None, list[Fault]]:
    """As ``check_model``, for readers that look for further faults before they raise."""
    try:
        return model.model_validate(file.values, context=Reading(unit)), []
    except ValidationError as error:
        return None, in_file_order(file, model_faults(error, file, model))


def sound_entry(file: TomlFile, keys: KeyPath, model: type[M], unit: str | None) -> M | None:
    """The table at ``keys`` by itself, or ``None`` when it has a fault (reported elsewhere)."""
    try:
        return model.model_validate(value_at(file.values, keys), context=Reading(unit))
    except ValidationError:
        return None


def known_unit(file: TomlFile) -> str:
    """The unit the file states; when it is unknown the nearest one, when there is none metres.

    For looking on past a fault that the model reports: nothing read so is ever returned.
    """
    unit = file.values.get("unit")
    near = difflib.get_close_matches(unit, UNITS, n=1) if isinstance(unit, str) else []
    return near[0] if near else "m"


def in_file_order(file: TomlFile, faults: Iterable[Fault]) -> list[Fault]:
    """Faults sorted by the line they name; equal lines keep their order."""
    prefix = f"{file.path}:"

    def line(fault: Fault) -> int:
        place = fault.where.removeprefix(prefix)
        return int(place) if place.isdecimal() else 0

    return sorted(faults, key=line)


def model_faults(error: ValidationError, file: TomlFile, model: type[FileModel]) -> list[Fault]:
    """What pydantic found, as faults with line, value and remedy."""
    return [
        _fault(details, file, model)
        for details in error.errors(include_url=False)
        if not _is_echo(details, file.values)
    ]


def _is_echo(details: ErrorDetails, values: object) -> bool:
    """Whether a list is called too short only because entries of it have faults of their own."""
    value = value_at(values, _keys_in_file(details, values))
    wanted = details.get("ctx", {}).get("min_length")
    return details["type"] == "too_short" and isinstance(value, list) and len(value) >= (wanted or 0)


def _fault(details: ErrorDetails, file: TomlFile, model: type[FileModel]) -> Fault:
    keys = _keys_in_file(details, file.values)
    subject = subject_of(file, keys[:-1])
    key = str(keys[-1]) if keys else "the file"
    if isinstance(keys[-1] if keys else "", int):
        key = f"{keys[-2]}[{keys[-1]}]"
    value = value_at(file.values, keys)
    context = details.get("ctx", {})
    kind = details["type"]
    if kind == _OWN_FAULT:
        what, remedy = str(context["what"]), str(context["remedy"])
        return file.fault(keys, f"{subject}{_key_and_value(key, value, what)}{what}", remedy)
    if kind == "missing":
        description = _description(model, keys)
        remedy = f"Add it: {description}." if description else f"Add {key} = ..."
        return file.fault(keys, f'{subject}the key "{key}" is missing.', remedy)
    if kind == "extra_forbidden":
        known = tuple(_fields_at(model, keys[:-1]))
        return file.fault(keys, f'{subject}the key "{key}" is not known.', nearest_remedy(key, known))
    wrong, remedy = _wrong_value(kind, context, value, details["msg"])
    return file.fault(keys, f"{subject}{key} = {shown_value(value)} {wrong}.", remedy)


def _key_and_value(key: str, value: object, what: str) -> str:
    """``max = 1: ``, without what the words after it show themselves."""
    if value is None:
        return ""
    shown = shown_value(value)
    return f"{key}: " if shown in what or isinstance(value, Mapping) else f"{key} = {shown}: "


def _wrong_value(kind: str, context: Mapping[str, object], value: object, message: str) -> tuple[str, str]:
    """What is wrong with a value of a known key, and what to do."""
    if kind == "literal_error":
        choices = tuple(str(context["expected"]).replace(" or ", ", ").replace("'", "").split(", "))
        return "is not one of the known words", nearest_remedy(str(value), choices)
    for kinds, wrong, remedy in _WRONG_TYPES:
        if kind in kinds:
            return wrong, remedy
    for bound, words in _BOUNDS:
        if bound in context and kind in (
            "greater_than",
            "greater_than_equal",
            "less_than",
            "less_than_equal",
        ):
            return f"must be {words} {context[bound]:g}", "Correct the number."
    return f"is refused: {message[:1].lower()}{message[1:]}", "Correct the value."


_WRONG_TYPES: Final = (
    (("string_type",), "is not a text", "Write it in quotes."),
    (("int_type", "int_from_float", "int_parsing"), "is not a whole number", "Write a whole number."),
    (("float_type", "float_parsing"), "is not a number", "Write a number without quotes."),
    (("finite_number",), "is not a finite number", "Write an ordinary number."),
    (("bool_type", "bool_parsing"), "is neither true nor false", "Write true or false, without quotes."),
    (("list_type", "tuple_type"), "is not a list", "Write it in [ ]."),
    (("dict_type", "model_type", "model_attributes_type"), "is not a table", "Write a [table] there."),
    (("too_short",), "has too few entries", "Add what is missing."),
    (("too_long",), "has too many entries", "Take out what is too much."),
    (("string_too_short",), "is empty", "Write a text."),
    (
        ("date_type", "date_parsing", "date_from_datetime_inexact", "date_from_datetime_parsing"),
        "is not a date",
        "Write it as 2026-03-01, without quotes.",
    ),
)
_BOUNDS: Final = (("gt", "above"), ("ge", "at least"), ("lt", "below"), ("le", "at most"))


def nearest_remedy(word: str, known: Sequence[str]) -> str:
    """``Did you mean "x"?`` when one is near, else the whole list."""
    near = difflib.get_close_matches(word, known, n=1)
    if near:
        return f'Did you mean "{near[0]}"?'
    return f"Use one of: {', '.join(known)}." if known else "Take it out."


def shown_value(value: object) -> str:
    """A value of a file as its writer would recognise it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, Mapping):
        return "(a table)"
    if isinstance(value, list):
        return f"[{', '.join(shown_value(item) for item in value[:4])}{', ...' if len(value) > 4 else ''}]"
    return str(value)


def value_at(values: object, keys: KeyPath) -> object:
    """The value at a key path, or ``None``."""
    for key in keys:
        if isinstance(key, str) and isinstance(values, Mapping):
            values = values.get(key)
        elif isinstance(key, int) and isinstance(values, list) and key < len(values):
            values = values[key]
        else:
            return None
    return values


def subject_of(file: TomlFile, keys: KeyPath) -> str:
    """``section "section-72": `` for the innermost named table on the path, or nothing."""
    for end in range(len(keys), 0, -1):
        table = value_at(file.values, keys[:end])
        if isinstance(table, Mapping):
            names = [key for key in keys[:end] if isinstance(key, str)]
            own = table.get("id", table.get("name"))
            position = f" {keys[end - 1] + 1}" if isinstance(keys[end - 1], int) else ""  # type: ignore[operator]
            return f'{names[-1]} "{own}": ' if isinstance(own, str) else f"{names[-1]}{position}: "
    return ""


def _keys_in_file(details: ErrorDetails, values: object) -> KeyPath:
    """The location without pydantic's own marks (union branches, ``[key]``)."""
    keys: KeyPath = ()
    for key in details["loc"]:
        here = value_at(values, keys)
        is_last_of_missing = details["type"] in ("missing", _OWN_FAULT) and key == details["loc"][-1]
        is_there = (isinstance(here, Mapping) and key in here) or (
            isinstance(here, list) and isinstance(key, int)
        )
        if is_there or is_last_of_missing:
            keys = (*keys, key)
    return keys


def _model_in(annotation: object) -> type[BaseModel] | None:
    """The model inside ``list[Model]``, ``Model | None`` and the like."""
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias):
        return annotation if issubclass(annotation, BaseModel) else None
    for inner in typing.get_args(annotation):
        found = _model_in(inner)
        if found is not None:
            return found
    return None


def _fields_at(model: type[BaseModel], keys: KeyPath) -> Mapping[str, object]:
    """Known keys of the table at a key path, with their pydantic field records."""
    at: type[BaseModel] | None = model
    for key in keys:
        if isinstance(key, str):
            field = None if at is None else at.model_fields.get(key)
            at = None if field is None else _model_in(field.annotation)
    return {} if at is None else {field.alias or name: field for name, field in at.model_fields.items()}


def _description(model: type[BaseModel], keys: KeyPath) -> str | None:
    field = _fields_at(model, keys[:-1]).get(str(keys[-1]))
    description = getattr(field, "description", None)
    return description if isinstance(description, str) else None


def format_schema(model: type[BaseModel]) -> str:
    """The JSON Schema (draft 2020-12) of a model, as text."""
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **model.model_json_schema()}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
