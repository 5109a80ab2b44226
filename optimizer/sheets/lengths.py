"""Lengths as they are read on site: heights to 1 mm or 1/8 in, places by tape."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from optimizer.sheets.typeset import keep_together
from optimizer.units import LengthSystem, format_length

_INCH_M: Final = 0.0254
#: What is nearer to the wall than this is told as out from it.
_AT_THE_WALL_M: Final = 0.005


@dataclass(frozen=True, slots=True)
class SheetLengths:
    """Units and steps of heights and of places."""

    height: LengthSystem
    height_step_m: float
    place: LengthSystem
    place_step_m: float


METRIC: Final = SheetLengths("mm", 0.001, "m", 0.01)
FEET: Final = SheetLengths("ft-in", _INCH_M / 8, "ft-in", _INCH_M)
INCHES: Final = SheetLengths("in", _INCH_M / 8, "ft-in", _INCH_M)


def choose_lengths(system: LengthSystem) -> SheetLengths:
    """The steps of a sheet for a site that shows its lengths in ``system``."""
    match system:
        case "in":
            return INCHES
        case "ft-in":
            return FEET
        case _:
            return METRIC


def show_height(lengths: SheetLengths, value_m: float) -> str:
    """``437 mm`` or ``1' 5 1/4"``; a true minus sign before what is below zero."""
    shown = format_length(value_m, lengths.height, lengths.height_step_m)
    return keep_together(shown.replace("-", "\u2212", 1))


def show_distance(lengths: SheetLengths, value_m: float) -> str:
    """A taped length, such as ``2.35 m`` or ``7' 9"``."""
    return keep_together(format_length(value_m, lengths.place, lengths.place_step_m))


def show_along_and_out(lengths: SheetLengths, along_m: float, out_m: float) -> str:
    """``2.35 m right, 1.20 m out``: from the middle of the door, looking out."""
    side = "right" if along_m >= 0.0 else "left"
    inward = "out" if out_m > -_AT_THE_WALL_M else "in"
    along, out = show_distance(lengths, abs(along_m)), show_distance(lengths, abs(out_m))
    return f"{keep_together(f'{along} {side}')}, {keep_together(f'{out} {inward}')}"
