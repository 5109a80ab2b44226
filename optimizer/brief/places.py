r"""How a site file says where something is, and how that becomes coordinates.

A place is written in one of three ways: the name of a survey point (``"P7"``), plan
coordinates of the survey (``[x, y]``), or a position by tape from the first start
(``{ along = "4' 6\"", out = "12'" }``): ``along`` the wall, positive to the right looking
out, and ``out`` from it.  Place types know nothing of files; ``Place`` is the field type
that reads them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
from pydantic import PlainValidator, ValidationInfo, WithJsonSchema

from optimizer.errors import InputError
from optimizer.terrain.yard import Points
from optimizer.toml_model import Reading, field_fault, nearest_remedy, shown_value
from optimizer.units import parse_length


@dataclass(frozen=True, slots=True)
class PointPlace:
    """A place given as the name of a survey point."""

    name: str


@dataclass(frozen=True, slots=True)
class PlanPlace:
    """A place given in the survey's own plan coordinates, metres."""

    x_m: float
    y_m: float


@dataclass(frozen=True, slots=True)
class TapePlace:
    """A place given from the first start's midpoint: along the wall (right is positive) and out, metres."""

    along_m: float
    out_m: float


AnyPlace = PointPlace | PlanPlace | TapePlace

_PLACE_REMEDY: Final = "Write [x, y], the name of a survey point, or { along = ..., out = ... }."
_LENGTH_SCHEMA: Final = {"anyOf": [{"type": "number"}, {"type": "string"}]}
PLACE_SCHEMA: Final = {
    "description": "place: [x, y], the name of a survey point, or along the wall and out from it",
    "anyOf": [
        {"type": "string", "minLength": 1},
        {"type": "array", "items": _LENGTH_SCHEMA, "minItems": 2, "maxItems": 2},
        {
            "type": "object",
            "properties": {"along": _LENGTH_SCHEMA, "out": _LENGTH_SCHEMA},
            "required": ["along", "out"],
            "additionalProperties": False,
        },
    ],
}


def _length_m(value: object, info: ValidationInfo) -> float:
    unit = info.context.unit if isinstance(info.context, Reading) else None
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise field_fault(f"{shown_value(value)} is not a length.", _PLACE_REMEDY)
    try:
        return parse_length(value, unit, "")
    except InputError as error:
        raise field_fault(error.faults[0].what, error.faults[0].remedy) from error


def _place(value: object, info: ValidationInfo) -> AnyPlace:
    if isinstance(value, str):
        if not value:
            raise field_fault("the name of a survey point is empty.", _PLACE_REMEDY)
        return PointPlace(value)
    if isinstance(value, list) and len(value) == 2:
        return PlanPlace(_length_m(value[0], info), _length_m(value[1], info))
    if isinstance(value, Mapping):
        for key in value:
            if key not in ("along", "out"):
                raise field_fault(
                    f'the key "{key}" is not known.', nearest_remedy(str(key), ("along", "out"))
                )
        for key in ("along", "out"):
            if key not in value:
                raise field_fault(f'the key "{key}" is missing.', _PLACE_REMEDY)
        return TapePlace(_length_m(value["along"], info), _length_m(value["out"], info))
    raise field_fault(f"{shown_value(value)} is not a place.", _PLACE_REMEDY)


#: A place as a field of a file model.
Place = Annotated[AnyPlace, PlainValidator(_place), WithJsonSchema(PLACE_SCHEMA)]


@dataclass(frozen=True, slots=True)
class WallFrame:
    """The first start as an axis cross: ``origin_m`` (2,) its midpoint, ``outward`` (2,) a unit vector."""

    origin_m: Points
    outward: Points

    def at(self, along_m: float, out_m: float) -> Points:
        """Plan coordinates (2,) of a position by tape."""
        to_the_right = np.array([self.outward[1], -self.outward[0]])
        return np.asarray(self.origin_m + along_m * to_the_right + out_m * self.outward, dtype=np.float64)
