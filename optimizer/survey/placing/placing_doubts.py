"""What speaks against a placing: refusals, and doubts that refuse nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.errors import Fault
from optimizer.survey.placing.control_geometry import find_levelled, find_taped
from optimizer.survey.placing.control_points import ControlPoints
from optimizer.survey.placing.free_parameters import FEWEST_FOR_SCALE
from optimizer.survey.placing.leave_one_out import PointError
from optimizer.survey.placing.quantiles import chi_limit
from optimizer.survey.placing.residual_tests import CHANCE, PointTest
from optimizer.survey.placing.swapped_points import explain_by_scale
from optimizer.survey.placing.widened_errors import Widening

#: Levelled control points from which heights of a scan may order legs.
FEWEST_FOR_LEGS: Final = 3
#: With so many levelled control points or fewer, what may pass unnoticed is told (our choice).
FEW_LEVELLED: Final = 4
#: Residuals of so many times the stated errors are no placing (our choice).
WORST_FACTOR: Final = 5.0
#: A check point further off than this many standard errors is doubted (as in ``residual_tests``).
MOST_ERRORS: Final = 3.29


@dataclass(frozen=True, slots=True)
class CheckedPoint:
    """A check point: what it misses by, and the standard errors of that, its own errors included.

    ``plan_error_m`` is along one axis.
    """

    error: PointError
    plan_error_m: float
    height_error_m: float

    @property
    def worst(self) -> float:
        """Its largest miss along an axis in standard errors."""
        plan = 0.0 if self.error.distance_m is None else self.error.distance_m / self.plan_error_m
        height = 0.0 if self.error.height_m is None else abs(self.error.height_m) / self.height_error_m
        return max(plan, height)


def refuse_misfit(
    control: ControlPoints, plan: Widening, heights: Widening, suspects: Sequence[PointTest]
) -> tuple[Fault, ...]:
    """Faults where residuals are far beyond the stated errors."""
    faults = []
    for title, part in (("positions", plan), ("heights", heights)):
        if part.factor > WORST_FACTOR:
            what = f"the {title} miss by {part.factor:.1f} times the stated errors."
            remedy = "Measure them again, or state larger errors if the scan has drifted."
            if suspects:
                remedy = f"Measure {_list(control, suspects)} again; state larger errors if the scan drifted."
            faults.append(Fault(control.source, what, _tell_scale(control, title) or remedy))
    return tuple(faults)


def find_doubts(
    control: ControlPoints,
    widenings: tuple[Widening, Widening],
    suspects: Sequence[PointTest],
    checked: Sequence[CheckedPoint],
    levelled: int,
    tests: Sequence[PointTest],
) -> tuple[Fault, ...]:
    """What to look at again before the placing is relied on."""
    return (
        *_doubt_points(control, suspects),
        *_doubt_checks(control, checked, tests),
        *_doubt_unlevelled(control),
        *_doubt_numbers(control, levelled),
        *_doubt_errors(control, widenings),
    )


def _doubt_points(control: ControlPoints, suspects: Sequence[PointTest]) -> list[Fault]:
    if not suspects:
        return []
    first = suspects[0]
    where = control.where(first.point)
    if len(suspects) > 1:
        what = f"{_list(control, suspects)} disagree, and nothing tells which is wrong."
        return [Fault(where, what, "Measure them again, or add a point.")]
    measured = "position" if first.part == "plan" else "elevation"
    what = (
        f'the {measured} of "{control.points[first.point].name}" is off by {first.standardised:.1f} standard '
        f"errors, chance allows {first.limit:.2f}."
    )
    again = "Pick and measure this point again first."
    if first.part == "height":
        again = "Look at its staff reading in the level book, and pick it again, before any other."
    return [Fault(where, what, again)]


def _doubt_checks(
    control: ControlPoints, checked: Sequence[CheckedPoint], tests: Sequence[PointTest]
) -> list[Fault]:
    unnoticed = [one.unnoticed_m for one in tests if one.unnoticed_m is not None]
    if not checked and unnoticed and len(unnoticed) <= FEW_LEVELLED:
        most_m = max(unnoticed)
        what = (
            f"no check point tries the placing, and {len(unnoticed)} levelled control points are few: one of "
            f"them {1000.0 * most_m:.0f} mm wrong would not be noticed, and would move every height by "
            f"about {1000.0 * most_m / len(unnoticed):.0f} mm."
        )
        remedy = "Level one more picked point and give it the role check, before legs are ordered."
        return [Fault(control.source, what, remedy)]
    if not checked:
        remedy = "Give one measured point the role check: it is kept out of the fit."
        return [Fault(control.source, "no check point tries the placing.", remedy)]
    faults = []
    for check in checked:
        if check.worst > MOST_ERRORS:
            name = control.points[check.error.point].name
            what = f'the check point "{name}" is off by {check.worst:.1f} standard errors.'
            remedy = "Measure it again; if it stays so, measure the control points again."
            faults.append(Fault(control.where(check.error.point), what, remedy))
    return faults


def _doubt_unlevelled(control: ControlPoints) -> list[Fault]:
    """Points that say nothing of heights: perhaps a row of the level book is missing."""
    faults = []
    for i, point in enumerate(control.points):
        if point.elevation_m is None:
            does = "tries" if point.role == "check" else "carries"
            what = f'the {point.role} point "{point.name}" has no elevation: it {does} no heights.'
            remedy = "Level it: is its row missing from the level book, or named otherwise there?"
            faults.append(Fault(control.where(i), what, remedy))
    return faults


def _doubt_numbers(control: ControlPoints, levelled: int) -> list[Fault]:
    used = control.find("control")
    faults = []
    if len(find_taped(control, used)) == 2:
        what = "two taped points place the scan, and only their distance checks them."
        faults.append(Fault(control.source, what, "Tape two more points."))
    if levelled < FEWEST_FOR_LEGS:
        given = len(find_levelled(control, used))
        what = f"{levelled} levelled control points ({given} with an elevation): not fit for ordering legs."
        remedy = f"Level at least {FEWEST_FOR_LEGS} picked points, best at the edges of the yard."
        faults.append(Fault(control.source, what, remedy))
    return faults


def _doubt_errors(control: ControlPoints, widenings: tuple[Widening, Widening]) -> list[Fault]:
    faults = []
    for title, part in zip(("positions", "heights"), widenings, strict=True):
        if part.shown is None:
            continue
        if part.redundancy * part.shown**2 > chi_limit(part.redundancy, CHANCE) ** 2:
            what = f"the {title} miss by {part.shown:.1f} times the stated errors; these are widened so much."
            remedy = "Look for a drifted scan or a wrong point; add control points where it matters."
            faults.append(Fault(control.source, what, _tell_scale(control, title) or remedy))
    return faults


def _tell_scale(control: ControlPoints, title: str) -> str | None:
    """What to do when the scan's length is wrong and there are too few points to fit it."""
    taped = len(find_taped(control, control.find("control")))
    if title != "positions" or taped >= FEWEST_FOR_SCALE:
        return None
    scale = explain_by_scale(control)
    if scale is None:
        return None
    wrong = f"A scan {1000.0 * (scale - 1.0):+.1f} mm in a metre wrong in length would explain it"
    return f"{wrong}: tape {FEWEST_FOR_SCALE} points, so that its scale can be fitted."


def _list(control: ControlPoints, suspects: Sequence[PointTest]) -> str:
    """``"C1" and "C2"``."""
    names = dict.fromkeys(f'"{control.points[one.point].name}"' for one in suspects)
    return " and ".join(names)
