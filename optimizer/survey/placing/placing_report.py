"""Place a scan by its control points, and say how well that is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from optimizer.errors import Fault, InputError
from optimizer.survey.placing.control_geometry import refuse_geometry
from optimizer.survey.placing.control_points import ControlPoints
from optimizer.survey.placing.free_parameters import Freeing, choose_free
from optimizer.survey.placing.leave_one_out import LeaveOneOut, PointError, leave_one_out, measure_error
from optimizer.survey.placing.placed_errors import measure_covariance
from optimizer.survey.placing.placing import Parameter, Placing
from optimizer.survey.placing.placing_doubts import (
    FEWEST_FOR_LEGS,
    CheckedPoint,
    find_doubts,
    refuse_misfit,
)
from optimizer.survey.placing.residual_tests import PointTest, find_suspects, judge_residuals
from optimizer.survey.placing.swapped_points import explain_misfit
from optimizer.survey.placing.weighted_fit import fit_parameters, observe
from optimizer.survey.placing.widened_errors import Widening, build_placing, measure_widening


@dataclass(frozen=True, slots=True)
class FittedParameter:
    """One parameter with its standard error, in degrees, metres or as a factor."""

    parameter: Parameter
    value: float
    standard_error: float


@dataclass(frozen=True, slots=True)
class PlacingReport:
    """All there is to say of a placing.  The headline is ``left_out``: what to expect elsewhere.

    ``residuals``: placed less measured, of the points in the fit.  ``freed``: what became of scale
    and tilt.  ``parameters``: shifts are of the middle of the control points.  ``suspects``: the
    measurement to repeat, or those that cannot be told apart.  ``refusals``: why the scan cannot be
    used so placed; ``placing`` is then ``None``.  ``doubts`` refuse nothing.
    ``is_fit_for_legs``: at least three levelled points carried the fit.  Without it heights are
    printed 'not fit for ordering legs'.
    """

    control: ControlPoints
    residuals: tuple[PointError, ...]
    plan: Widening
    heights: Widening
    left_out: LeaveOneOut
    tests: tuple[PointTest, ...]
    suspects: tuple[PointTest, ...]
    checked: tuple[CheckedPoint, ...]
    freed: tuple[Freeing, ...]
    parameters: tuple[FittedParameter, ...]
    is_fit_for_legs: bool
    refusals: tuple[Fault, ...]
    doubts: tuple[Fault, ...]
    placing: Placing | None


def place_by_control(control: ControlPoints) -> PlacingReport:
    """Fit yaw and shift by weighted least squares; scale and tilt only where the points demand it.

    Raises ``InputError`` when the points cannot place a scan at all: too few, or in one line.  What
    they show to be wrong (exchanged names, a mirror image, a wrong unit, residuals far beyond the
    stated errors) is in the report's refusals.
    """
    cannot = refuse_geometry(control)
    if cannot:
        raise InputError(*cannot)
    used = control.find("control")
    rows = observe(control, used)
    chosen, freed = choose_free(control, rows)
    fit = fit_parameters(rows, chosen)
    plan, heights = (measure_widening(fit, part) for part in (~rows.is_height, rows.is_height))
    levelled = sum(control.is_levelled(i) for i in used)
    placing = build_placing(fit, plan, heights, levelled)
    tests = judge_residuals(fit)
    suspects = find_suspects(tests)
    checked = tuple(_check(control, i, placing) for i in control.find("check"))
    refusals = explain_misfit(control) or refuse_misfit(control, plan, heights, suspects)
    return PlacingReport(
        control=control,
        residuals=tuple(_measure(control, i, placing) for i in used),
        plan=plan,
        heights=heights,
        left_out=leave_one_out(control, chosen),
        tests=tests,
        suspects=suspects,
        checked=checked,
        freed=freed,
        parameters=_list_parameters(placing),
        is_fit_for_legs=levelled >= FEWEST_FOR_LEGS,
        refusals=refusals,
        doubts=find_doubts(control, (plan, heights), suspects, checked, levelled, tests),
        placing=None if refusals else placing,
    )


def accept_placing(report: PlacingReport) -> Placing:
    """The placing; raises ``InputError`` with every reason to refuse it."""
    if report.placing is None:
        raise InputError(*report.refusals)
    return report.placing


def _measure(control: ControlPoints, i: int, placing: Placing) -> PointError:
    return measure_error(control, i, placing.to_site(np.array([control.points[i].scan_m]))[0])


def _check(control: ControlPoints, i: int, placing: Placing) -> CheckedPoint:
    point = control.points[i]
    placed = placing.to_site(np.array([point.scan_m]))[0]
    covariance = measure_covariance(placing, placed, placed)
    plan_m2 = 0.5 * float(covariance[0, 0] + covariance[1, 1]) + point.tape_error_m**2 + point.pick_error_m**2
    level_m2 = float(control.level_covariance_m2[i, i])
    height_m2 = float(covariance[2, 2]) + placing.drift_m**2 + level_m2 + point.pick_z_error_m**2
    return CheckedPoint(measure_error(control, i, placed), math.sqrt(plan_m2), math.sqrt(height_m2))


def _list_parameters(placing: Placing) -> tuple[FittedParameter, ...]:
    errors = np.sqrt(np.diag(placing.covariance))
    listed = []
    for parameter, error in zip(placing.parameters, errors, strict=True):
        if parameter in ("x", "y", "z"):
            listed.append(
                FittedParameter(parameter, float(placing.shift_m["xyz".index(parameter)]), float(error))
            )
        elif parameter == "scale":
            listed.append(FittedParameter(parameter, placing.scale, float(error) * placing.scale))
        else:
            value = dict(zip(("yaw", "tilt_x", "tilt_y"), placing.angles_deg, strict=True))[parameter]
            listed.append(FittedParameter(parameter, value, math.degrees(float(error))))
    return tuple(listed)
