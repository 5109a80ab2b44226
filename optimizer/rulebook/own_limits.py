"""The user's own limits as a rule set: for ramps that no published access standard binds.

The steepest slope must be given, at most 1:6; what is left out takes the default named
beside it, and the limit's note says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Final, Literal

from pydantic import Field

from optimizer.errors import Fault, InputError
from optimizer.rulebook.rules import Limit, Operator, Quantity, RuleSet
from optimizer.toml_model import FileModel, LengthFromZero, PositiveLength, SlopeRatio
from optimizer.units import METRES_PER_UNIT, Slope, parse_length

OWN_LIMITS_ID: Final = "own-limits"
#: Nothing steeper is planned, whoever asks.
STEEPEST_ALLOWED: Final = 1.0 / 6.0
#: The steepest run of the published access limits for new work (ADA 2010, 405.2, and most others).
STEEPEST_PUBLISHED: Final = 1.0 / 12.0
#: A level surface steeper than this is itself a ramp (ADA 2010, 106.5).
STEEPEST_LEVEL: Final = 1.0 / 20.0
_RATIO_TOLERANCE: Final = 1e-9


def _inches(inches: float) -> float:
    return parse_length(inches, "in", OWN_LIMITS_ID)


@dataclass(frozen=True, slots=True)
class OwnLimits:
    """What the user asks.  Slopes are rise over plan run; ``None`` means not given.

    ``unit`` is the one lengths are reported in.
    """

    steepest: float
    unit: Literal["in", "mm"]
    cross_slope: float | None = None
    landing_slope: float | None = None
    clear_width_m: float | None = None
    rise_per_run_m: float | None = None
    length_per_run_m: float | None = None
    landing_length_m: float | None = None
    landing_turn_m: float | None = None
    handrail_rise_m: float | None = None
    handrail_sides: int | None = None
    handrail_height_min_m: float | None = None
    handrail_height_max_m: float | None = None
    handrail_extension_m: float | None = None
    edge_protection_height_m: float | None = None
    threshold_drop_m: float | None = None
    guard_drop_m: float | None = None


class OwnLimitsEntry(FileModel):
    """``[own_limits]`` of a site file, lengths in the file's unit."""

    steepest: SlopeRatio = Field(description='steepest running slope, such as "1:10"; at most 1:6')
    cross_slope: SlopeRatio | None = Field(default=None, description="of runs; left out: 1:48")
    landing_slope: SlopeRatio | None = Field(default=None, description="any direction; left out: 1:48")
    clear_width: PositiveLength | None = Field(default=None, description="left out: 36 in")
    rise_per_run: PositiveLength | None = Field(default=None, description="left out: no limit")
    length_per_run: PositiveLength | None = Field(default=None, description="plan length; left out: no limit")
    landing_length: PositiveLength | None = Field(default=None, description="left out: 60 in")
    landing_turn: PositiveLength | None = Field(default=None, description="both ways; left out: 60 in")
    handrail_rise: LengthFromZero | None = Field(
        default=None, description="a run that rises more needs handrails; left out: 6 in"
    )
    handrail_sides: Annotated[int, Field(ge=0, le=2)] | None = Field(default=None, description="left out: 2")
    handrail_height_min: PositiveLength | None = Field(default=None, description="left out: no limit")
    handrail_height_max: PositiveLength | None = Field(default=None, description="left out: no limit")
    handrail_extension: LengthFromZero | None = Field(default=None, description="left out: no limit")
    edge_protection_height: LengthFromZero | None = Field(default=None, description="left out: no limit")
    threshold_drop: LengthFromZero | None = Field(
        default=None, description="landing below the threshold; left out: 1/2 in"
    )
    guard_drop: LengthFromZero | None = Field(
        default=None, description="a higher edge needs a guard; left out: no limit"
    )

    def build(self, unit: Literal["in", "mm"]) -> OwnLimits:
        """The limits; ``unit`` is the one lengths are reported in."""
        return OwnLimits(
            steepest=self.steepest,
            unit=unit,
            cross_slope=self.cross_slope,
            landing_slope=self.landing_slope,
            clear_width_m=self.clear_width,
            rise_per_run_m=self.rise_per_run,
            length_per_run_m=self.length_per_run,
            landing_length_m=self.landing_length,
            landing_turn_m=self.landing_turn,
            handrail_rise_m=self.handrail_rise,
            handrail_sides=self.handrail_sides,
            handrail_height_min_m=self.handrail_height_min,
            handrail_height_max_m=self.handrail_height_max,
            handrail_extension_m=self.handrail_extension,
            edge_protection_height_m=self.edge_protection_height,
            threshold_drop_m=self.threshold_drop,
            guard_drop_m=self.guard_drop,
        )


@dataclass(frozen=True, slots=True)
class _Asked:
    """One line of the rule set to be: the number given and what stands in when there is none."""

    quantity: Quantity
    operator: Operator
    given: float | None
    default: float | None
    note: str = ""


def build_own_limits(own: OwnLimits, where: str = OWN_LIMITS_ID) -> RuleSet:
    """The user's numbers as a rule set; ``where`` places faults (``site.toml:31``).

    Raises ``InputError`` with every fault: a number that is not finite or out of range, a
    slope steeper than 1:6, heights the wrong way round.
    """
    asked = _asked(own)
    faults = [*_number_faults(asked, where), *_slope_faults(own, where), *_height_faults(own, where)]
    if faults:
        raise InputError(*faults)
    return RuleSet(
        id=OWN_LIMITS_ID,
        title="Own limits",
        edition="as given for this site",
        limits=tuple(limit for line in asked if (limit := _limit(line, own.unit)) is not None),
        not_checked=(
            "every published access standard and building code",
            "doors: manoeuvring space, opening width, hardware",
            "surface, drainage, grip and continuity of handrails",
        ),
        statement=_statement(own.steepest),
    )


def _asked(own: OwnLimits) -> tuple[_Asked, ...]:
    return (
        _Asked("running_slope", "<=", own.steepest, None),
        _Asked("cross_slope", "<=", own.cross_slope, 1.0 / 48.0),
        _Asked("landing_slope", "<=", own.landing_slope, 1.0 / 48.0),
        _Asked("clear_width", ">=", own.clear_width_m, _inches(36)),
        _Asked("rise_per_run", "<=", own.rise_per_run_m, None),
        _Asked("length_per_run", "<=", own.length_per_run_m, None),
        _Asked("landing_length", ">=", own.landing_length_m, _inches(60)),
        _Asked("landing_width", ">=", 0.0, None, "at least the widest run, so no fixed number"),
        _Asked("landing_turn", ">=", own.landing_turn_m, _inches(60)),
        _Asked("handrail_rise", "<=", own.handrail_rise_m, _inches(6)),
        _Asked("handrail_sides", ">=", own.handrail_sides, 2.0),
        _Asked("handrail_height_min", ">=", own.handrail_height_min_m, None),
        _Asked("handrail_height_max", "<=", own.handrail_height_max_m, None),
        _Asked("handrail_extension", ">=", own.handrail_extension_m, None),
        _Asked("edge_protection_height", ">=", own.edge_protection_height_m, None),
        _Asked("tip_vertical_change", "<=", None, _inches(0.25)),
        _Asked("threshold_drop", "<=", own.threshold_drop_m, _inches(0.5)),
        _Asked("guard_drop", "<=", own.guard_drop_m, None),
    )


def _limit(line: _Asked, unit: str) -> Limit | None:
    value_si = line.given if line.given is not None else line.default
    if value_si is None:
        return None
    shown, value = unit, float(Fraction(repr(float(value_si))) / dict(METRES_PER_UNIT)[unit])
    if line.quantity.endswith("_slope"):
        shown, value = "ratio", value_si
    elif line.quantity == "handrail_sides":
        shown, value = "count", value_si
    note = line.note or ("" if line.given is not None else "not given: the default is used")
    return Limit(
        id=f"own.{line.quantity}",
        clause="own limits",
        quantity=line.quantity,
        operator=line.operator,
        value=value,
        unit=shown,
        value_si=value_si,
        source="the user" if line.given is not None else "Evenfall's default (the ADA 2010 figure)",
        how_known="own",
        note=note,
    )


def _number_faults(asked: tuple[_Asked, ...], where: str) -> list[Fault]:
    return [
        Fault(where, f"{line.quantity} = {line.given} is no length or slope.", "Give a number from 0 up.")
        for line in asked
        if line.given is not None and not (math.isfinite(line.given) and line.given >= 0.0)
    ]


def _slope_faults(own: OwnLimits, where: str) -> list[Fault]:
    faults = []
    if own.steepest > STEEPEST_ALLOWED + _RATIO_TOLERANCE:
        faults.append(
            Fault(
                where,
                f"steepest {Slope.from_ratio(own.steepest)} is steeper than 1:6. No public access text is "
                "known to allow it (1:6 itself stood only in the 1991 US exception for historic buildings, "
                "for 2 ft, now superseded), and a rider may tip backwards or be let go.",
                "Give 1:6 or flatter, or use a lift.",
            )
        )
    if own.steepest == 0.0:
        faults.append(Fault(where, "steepest 0 lets no ramp descend.", "Give a slope such as 1:12."))
    for key, slope in (("cross_slope", own.cross_slope), ("landing_slope", own.landing_slope)):
        if slope is not None and slope > STEEPEST_LEVEL + _RATIO_TOLERANCE:
            faults.append(
                Fault(
                    where,
                    f"{key} {Slope.from_ratio(slope)} is steeper than 1:20, where a walk becomes a ramp.",
                    "Give 1:20 or flatter; 1:48 is usual.",
                )
            )
    return faults


def _height_faults(own: OwnLimits, where: str) -> list[Fault]:
    least, greatest = own.handrail_height_min_m, own.handrail_height_max_m
    if least is not None and greatest is not None and least > greatest:
        return [
            Fault(
                where,
                f"handrail_height_min {least:g} m is above handrail_height_max {greatest:g} m.",
                "Swap them.",
            )
        ]
    return []


def _statement(steepest: float) -> str:
    steep = ""
    if steepest > STEEPEST_PUBLISHED + _RATIO_TOLERANCE:
        steep = (
            f" The slope allowed here, {Slope.from_ratio(steepest)}, is steeper than 1:12: it lies outside "
            "the published access limits."
        )
    return (
        "These are the user's own limits, not an access standard; a layout without a failed finding meets "
        f"those numbers and nothing more.{steep} The authority having jurisdiction decides."
    )
