"""How a leg is set, in the units of a sheet: the hole of the plan, and what is turned out beyond it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from optimizer.catalogue.parts import Catalogue, Leg
from optimizer.plan import SupportLeg
from optimizer.sheets.lengths import SheetLengths, show_height


@dataclass(frozen=True, slots=True)
class LegSetting:
    """``hole``: counted from 0 at the shortest, ``None`` without pins.

    ``turned_m``: screw beyond the hole or beyond the shortest; of a low support its whole height.
    """

    kind: Literal["hole", "screw", "height"]
    hole: int | None
    turned_m: float


def measure_setting(leg: SupportLeg, catalogue: Catalogue) -> LegSetting:
    """The hole as the plan names it; the screw from the height, which is not rounded."""
    part = catalogue.part(leg.leg_type)
    if not isinstance(part, Leg):
        return LegSetting("height", None, leg.height_m)
    hole = re.match(r"hole (\d+)", leg.setting)
    if hole is None:
        return LegSetting("screw", None, leg.height_m - part.min_m)
    number = int(hole[1])
    return LegSetting("hole", number, max(0.0, leg.height_m - part.min_m - number * part.pin_pitch_m))


def show_setting(lengths: SheetLengths, setting: LegSetting) -> str:
    """``hole 8, screw 16 mm``, ``screw 228 mm`` or ``height 61 mm``."""
    turned = show_height(lengths, setting.turned_m)
    match setting.kind:
        case "hole":
            return f"hole\u00a0{setting.hole}, screw\u00a0{turned}"
        case "screw":
            return f"screw\u00a0{turned}"
        case "height":
            return f"height\u00a0{turned}"


def show_short_setting(lengths: SheetLengths, setting: LegSetting) -> str:
    """For the drawing: ``8+16``, or ``228`` without a hole; millimetres go without their unit."""
    turned = show_height(lengths, setting.turned_m).removesuffix("\u00a0mm")
    return f"{setting.hole}+{turned}" if setting.kind == "hole" else turned
