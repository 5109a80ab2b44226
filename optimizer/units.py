"""Read and print lengths, slopes and money; the one comparator of limits.

Inside the program lengths are float64 metres, slopes are ratios (rise over plan run) and
money is whole cents.  Typed values go through exact fractions and are rounded to a float
once, so ``27 in``, ``2' 3"`` and ``685.8 mm`` are the same float.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal

from optimizer.errors import Fault, InputError

LengthSystem = Literal["ft-in", "in", "mm", "m"]

#: The one tolerance: a limit on a length met to within a micrometre is met.
TOLERANCE_M: Final = 1e-6

#: Metres in one unit, exactly (the inch is 25.4 mm by definition since 1959).
METRES_PER_UNIT: Final[tuple[tuple[str, Fraction], ...]] = (
    ("m", Fraction(1)),
    ("mm", Fraction(1, 1000)),
    ("cm", Fraction(1, 100)),
    ("ft", Fraction(3048, 10000)),
    ("in", Fraction(254, 10000)),
)
UNITS: Final = tuple(unit for unit, _ in METRES_PER_UNIT)
_METRES = dict(METRES_PER_UNIT)
_INCH = _METRES["in"]
_FOOT = _METRES["ft"]

#: Typographic marks people paste (primes, quotes, minus, hard space) to the plain ones they stand for.
_MARKS = str.maketrans(
    {"\u2032": "'", "\u2019": "'", "\u2033": '"', "\u201d": '"', "\u2212": "-", "\u00a0": " "}
)
_DECIMAL = r"(?:\d+(?:\.\d*)?|\.\d+)"
_NUMBER = rf"(?:(?P<whole>\d+)[ -])?(?P<num>\d+)/(?P<den>\d+)|(?P<dec>{_DECIMAL})"
_NUMBER_RE = re.compile(_NUMBER)
_ONE_UNIT_RE = re.compile(rf"(?P<number>{_NUMBER.replace('?P<', '?P<n_')})\s*(?P<unit>[^\W\d]+|['\"])?")
_FEET_INCHES_RE = re.compile(r"(?P<feet>\d+)\s*(?:'|ft)\s*-?\s*(?P<inches>[\d./ -]*\d\.?)\s*(?:\"|in)")
_ALIASES = {"'": "ft", '"': "in"}

_LENGTH_REMEDY = "Write the unit with it, such as 4.42 m, 350 mm, 35 cm, 14.5 ft, 27 in or 14' 6 1/2\"."


def _shown(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else repr(value)


def _parse_number(text: str) -> Fraction | None:
    """``12``, ``4.42``, ``1/2``, ``6 1/2`` or ``6-1/2``, without a sign; else ``None``."""
    match = _NUMBER_RE.fullmatch(text)
    if match is None:
        return None
    if match["dec"] is not None:
        return Fraction(Decimal(match["dec"]))
    numerator, denominator = int(match["num"]), int(match["den"])
    if denominator == 0:
        return None
    if match["whole"] is not None and numerator >= denominator:
        return None  # '6 9/8' is more likely a slip of the pen than a length
    return int(match["whole"] or 0) + Fraction(numerator, denominator)


def _exact_number(value: float) -> Fraction | None:
    """The number as it was typed: shortest decimal that reads back as the same float."""
    if isinstance(value, int):
        return Fraction(value)
    return Fraction(repr(value)) if math.isfinite(value) else None


def parse_length(text: str | float, unit: str | None, where: str) -> float:
    """Length in metres.

    ``text``: a number in ``unit``, or a text that is such a number or carries its own unit
    (``4.42 m``, ``27"``, ``14' 6 1/2"``).  ``unit``: one of ``UNITS``, or ``None`` when
    nothing states a unit for bare numbers.  ``where`` names the place in messages.
    Raises ``InputError`` rather than guess.
    """
    if unit is not None and unit not in _METRES:
        raise InputError(Fault(where, f'the unit "{unit}" is not known.', f"Use one of {', '.join(UNITS)}."))
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise InputError(Fault(where, f"{_shown(text)} is not a length.", _LENGTH_REMEDY))
    if not isinstance(text, str):
        exact = _exact_number(text)
        if exact is None:
            raise InputError(Fault(where, f"{_shown(text)} is not a finite length.", _LENGTH_REMEDY))
        return float(exact * _stated_unit(text, unit, where))
    body = text.translate(_MARKS).strip()
    sign = 1
    if body[:1] in ("+", "-"):
        sign = -1 if body[0] == "-" else 1
        body = body[1:].lstrip()
    feet_inches = _FEET_INCHES_RE.fullmatch(body)
    if feet_inches is not None:
        return float(sign * _parse_feet_inches(text, feet_inches, where))
    match = _ONE_UNIT_RE.fullmatch(body)
    number = None if match is None else _parse_number(match["number"])
    if match is None or number is None:
        raise InputError(Fault(where, f"{_shown(text)} is not a length.", _LENGTH_REMEDY))
    if match["unit"] is None:
        return float(sign * number * _stated_unit(text, unit, where))
    own = _ALIASES.get(match["unit"], match["unit"])
    if own not in _METRES:
        raise InputError(
            Fault(where, f'{_shown(text)} has the unknown unit "{own}".', f"Use one of {', '.join(UNITS)}.")
        )
    return float(sign * number * _METRES[own])


def _parse_feet_inches(text: str, match: re.Match[str], where: str) -> Fraction:
    inches = _parse_number(match["inches"].strip())
    if inches is None:
        raise InputError(Fault(where, f"{_shown(text)} is not a length.", _LENGTH_REMEDY))
    if inches >= 12:
        raise InputError(
            Fault(where, f"{_shown(text)} has 12 inches or more after the feet.", "Carry them into the feet.")
        )
    return int(match["feet"]) * _FOOT + inches * _INCH


def _stated_unit(text: str | float, unit: str | None, where: str) -> Fraction:
    if unit is None:
        raise InputError(Fault(where, f"the length {_shown(text)} has no unit.", _LENGTH_REMEDY))
    return _METRES[unit]


def format_length(length_m: float, system: LengthSystem, step_m: float) -> str:
    """The length in the reader's units, rounded half away from zero to ``step_m``.

    ``14' 6 1/2"``, ``27 1/2 in``, ``350 mm``, ``4.420 m``.  Inch systems print fractions
    when the step is a halved inch (1/2 .. 1/64 in), else decimals.  ``step_m`` > 0.
    """
    if not math.isfinite(length_m):
        return "unknown"
    unit = _INCH if system in ("ft-in", "in") else _METRES[system]
    step = (Fraction(repr(float(step_m))) / unit).limit_denominator(1_000_000)
    steps = round_half_up(abs(Fraction(repr(float(length_m)))) / unit / step)
    value = steps * step
    sign = "-" if length_m < 0 and value > 0 else ""
    if system == "ft-in" and value >= 12:
        feet, inches = divmod(value, 12)
        return f"{sign}{feet}' {_format_inches(inches, step)}\""
    if system == "ft-in":
        return f'{sign}{_format_inches(value, step)}"'
    if system == "in":
        return f"{sign}{_format_inches(value, step)} in"
    return f"{sign}{_format_decimal(value, step)} {system}"


def _format_inches(value: Fraction, step: Fraction) -> str:
    """``6 1/2`` for steps that are halved inches, else decimals."""
    if step.denominator in (2, 4, 8, 16, 32, 64):
        whole, rest = divmod(value, 1)
        if rest == 0:
            return str(whole)
        return f"{whole} {rest}" if whole else str(rest)
    return _format_decimal(value, step)


def _format_decimal(value: Fraction, step: Fraction) -> str:
    """As many decimals as the step has, at most six."""
    decimals = 0
    while decimals < 6 and (step * 10**decimals).denominator != 1:
        decimals += 1
    scaled = round_half_up(value * 10**decimals)
    return f"{Decimal(scaled).scaleb(-decimals):.{decimals}f}"


@dataclass(frozen=True, slots=True)
class Slope:
    """A running slope, rise to plan run, both in one unit; prints as ``1:12 (8.3 %)``."""

    rise: float
    run: float

    @classmethod
    def from_ratio(cls, ratio: float) -> Slope:
        """From rise over plan run; 1/12 gives ``Slope(1, 12)``."""
        # 1 over a number this small is no longer finite; it prints as level anyway.
        if abs(ratio) > 1e-12:
            whole = round(1.0 / abs(ratio))
            if whole and 1.0 / whole == abs(ratio):
                return cls(math.copysign(1.0, ratio), float(whole))
        return cls(ratio, 1.0)

    @property
    def ratio(self) -> float:
        """Rise over plan run."""
        return self.rise / self.run

    def __str__(self) -> str:
        ratio = self.ratio
        if abs(ratio) < 1e-9:
            return "level"
        run = 1.0 / abs(ratio)
        # Cut, not rounded, to two decimals: a slope a hair over 1:12 never prints as 1:12.
        hundredths = round(run * 100)
        if abs(run * 100 - hundredths) > 1e-6 * hundredths:
            hundredths = math.floor(run * 100)
        shown = f"{hundredths / 100:.2f}".rstrip("0").rstrip(".")
        sign = "-" if ratio < 0 else ""
        return f"{sign}1:{shown} ({sign}{abs(ratio) * 100:.1f} %)"


_RATIO_RE = re.compile(rf"(?P<rise>{_DECIMAL})\s*:\s*(?P<run>{_DECIMAL})")
_PERCENT_RE = re.compile(rf"(?P<value>{_DECIMAL})\s*%")
_DEGREES_RE = re.compile(rf"(?P<value>{_DECIMAL})\s*(?:deg|°)")
_SLOPE_REMEDY = "Write it as 1:12, 8.3 % or 4.8 deg."


def parse_slope(text: str | float, where: str) -> float:
    """Rise over plan run of ``1:12``, ``8.3 %`` or ``4.8 deg``; a bare number is refused."""
    if isinstance(text, str):
        body = text.strip()
        ratio = _RATIO_RE.fullmatch(body)
        if ratio is not None:
            run = Fraction(Decimal(ratio["run"]))
            if run == 0:
                raise InputError(Fault(where, f"the slope {_shown(text)} has no run.", _SLOPE_REMEDY))
            return float(Fraction(Decimal(ratio["rise"])) / run)
        percent = _PERCENT_RE.fullmatch(body)
        if percent is not None:
            return float(Fraction(Decimal(percent["value"])) / 100)
        degrees = _DEGREES_RE.fullmatch(body)
        if degrees is not None:
            angle_deg = float(degrees["value"])
            if angle_deg >= 90.0:
                raise InputError(Fault(where, f"{_shown(text)} is not a slope.", _SLOPE_REMEDY))
            return math.tan(math.radians(angle_deg))
    raise InputError(Fault(where, f"{_shown(text)} is not a slope with its kind stated.", _SLOPE_REMEDY))


_MONEY_RE = re.compile(r"(?P<sign>[+-]?)(?P<number>\d+(?:\.\d*)?|\.\d+)")
_MONEY_REMEDY = "Write units and at most two decimals, such as 1234.50, without separators or currency."


def parse_money(text: str | float, where: str) -> int:
    """Whole cents of ``1234.5`` or ``"1234.50"``; fractions of a cent are refused."""
    if isinstance(text, bool) or (isinstance(text, float) and not math.isfinite(text)):
        raise InputError(Fault(where, f"{_shown(text)} is not an amount of money.", _MONEY_REMEDY))
    body = format(Decimal(repr(text)), "f") if isinstance(text, float) else str(text).strip()
    match = _MONEY_RE.fullmatch(body)
    if match is None:
        raise InputError(Fault(where, f"{_shown(text)} is not an amount of money.", _MONEY_REMEDY))
    cents = Fraction(Decimal(match["number"])) * 100
    if cents.denominator != 1:
        raise InputError(Fault(where, f"{_shown(text)} has a fraction of a cent.", _MONEY_REMEDY))
    return -int(cents) if match["sign"] == "-" else int(cents)


def format_money(cents: int, currency: str) -> str:
    """``1,234.50 USD`` of 123450 cents."""
    units, rest = divmod(abs(cents), 100)
    return f"{'-' if cents < 0 else ''}{units:,}.{rest:02d} {currency}"


def round_half_up(value: float | Fraction) -> int:
    """``floor(value + 1/2)``, computed exactly."""
    return math.floor(Fraction(value) + Fraction(1, 2))


def is_at_most(measured: float, limit: float, tolerance: float = TOLERANCE_M) -> bool:
    """Is ``measured <= limit``, where a limit met to within ``tolerance`` is met."""
    return measured <= limit + tolerance


def is_at_least(measured: float, limit: float, tolerance: float = TOLERANCE_M) -> bool:
    """Is ``measured >= limit``, where a limit met to within ``tolerance`` is met."""
    return measured >= limit - tolerance


def is_slope_at_most(rise_m: float, run_m: float, limit_ratio: float) -> bool:
    """Is rise over plan run at most ``limit_ratio``, compared as lengths.

    ``rise <= limit * run`` to a micrometre: dividing first fails about a third of all
    ramps built exactly at the limit.
    """
    return rise_m <= limit_ratio * run_m + TOLERANCE_M
