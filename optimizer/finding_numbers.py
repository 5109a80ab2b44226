"""The numbers of a finding as a person reads them, in the unit of its document."""

from __future__ import annotations

from typing import Final

from optimizer.plan import Finding
from optimizer.units import METRES_PER_UNIT, Slope, is_at_least, is_at_most

_WORDS: Final = {"<=": "at most", "<": "below", ">=": "at least", ">": "above"}
#: Quantities that ask for something more once they go beyond their limit (``rules.Limit``).
TRIGGERS: Final = frozenset(
    {"handrail_rise", "handrail_slope", "handrail_drop", "guard_drop", "total_rise", "steps_rise"}
)
_TRIGGERED: Final = {"<=": "asked above", "<": "asked from", ">=": "asked below", ">": "asked up to"}
_MOST_DECIMALS: Final = 6
#: Judged by more than the one number that a finding carries.
_OF_SEVERAL: Final = frozenset({"door_clearance"})
_METRES: Final = {unit: float(metres) for unit, metres in METRES_PER_UNIT}
#: Stands where there is no number.
NO_NUMBER: Final = "-"


def show_measured(finding: Finding) -> str:
    """What was measured, with so many decimals that a failure never prints as its own limit."""
    if finding.measured is None:
        return NO_NUMBER
    return _show(finding.measured, finding.unit, _count_decimals(finding))


def show_limit(finding: Finding, quantity: str) -> str:
    """``at most 30 in``; of a trigger ``asked above 6 in``."""
    if finding.limit is None:
        return NO_NUMBER
    words = (_TRIGGERED if quantity in TRIGGERS else _WORDS).get(finding.operator, "")
    return f"{words} {_show(finding.limit, finding.unit, _count_decimals(finding))}".strip()


def is_within_limit(finding: Finding, quantity: str) -> bool | None:
    """Whether what was measured keeps its limit, whatever the verdict; exactly at it counts as keeping.

    ``None`` where that is not to be said by two numbers.
    """
    if finding.measured is None or finding.limit is None or quantity in _OF_SEVERAL:
        return None
    factor = _METRES.get(finding.unit, 1.0)
    measured, limit = finding.measured * factor, finding.limit * factor
    match finding.operator:
        case "<=":
            return is_at_most(measured, limit)
        case "<":
            return not is_at_least(measured, limit)
        case ">=":
            return is_at_least(measured, limit)
        case ">":
            return not is_at_most(measured, limit)
    return None


def find_tightest(findings: tuple[Finding, ...]) -> Finding:
    """The finding nearest to its limit; the first where nothing was measured."""
    return max(findings, key=_strain)


def _strain(finding: Finding) -> float:
    if finding.measured is None:
        return float("-inf")
    return -finding.measured if finding.operator in (">=", ">") else finding.measured


def _count_decimals(finding: Finding) -> int:
    if finding.measured is None or finding.limit is None or finding.verdict == "meets":
        return 2
    for decimals in range(2, _MOST_DECIMALS):
        if f"{finding.measured:.{decimals}f}" != f"{finding.limit:.{decimals}f}":
            return decimals
    return _MOST_DECIMALS


def _show(number: float, unit: str, decimals: int) -> str:
    if unit == "ratio":
        return str(Slope.from_ratio(number)).split(" ", maxsplit=1)[0]
    shown = f"{number:.{decimals}f}".rstrip("0").rstrip(".")
    shown = "0" if shown in ("-0", "") else shown
    return shown if unit in ("", "count") else f"{shown} {unit}"
