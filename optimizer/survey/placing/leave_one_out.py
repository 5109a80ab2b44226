"""How well control points are foretold by the others: the error to expect elsewhere in the yard."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.control_geometry import (
    FEWEST_TAPED,
    MOST_ELONGATED,
    find_levelled,
    find_taped,
    measure_elongation,
    picks_in_plan,
)
from optimizer.survey.placing.control_points import ControlPoints
from optimizer.survey.placing.placing import Parameter
from optimizer.survey.placing.weighted_fit import PLAN, SCALE, fit_parameters, observe


@dataclass(frozen=True, slots=True)
class PointError:
    """Placed less measured, metres; ``plan_m`` or ``height_m`` is ``None`` where it is not known.

    It is not known where the point was not taped or levelled, or where the rest cannot place it.
    """

    point: int
    plan_m: tuple[float, float] | None
    height_m: float | None

    @property
    def distance_m(self) -> float | None:
        """In plan."""
        return None if self.plan_m is None else math.hypot(*self.plan_m)


@dataclass(frozen=True, slots=True)
class LeaveOneOut:
    """Every control point as the others place it, with the same freedoms.

    ``plan_m``, ``height_m``: root mean squares over those that can be foretold; ``None`` for none.
    They hold the point's own errors as well: a placed point that is read with no error of its own is
    better known.
    """

    errors: tuple[PointError, ...]
    plan_m: float | None
    height_m: float | None


def leave_one_out(control: ControlPoints, parameters: tuple[Parameter, ...]) -> LeaveOneOut:
    """Fit again without each control point in turn."""
    used = control.find("control")
    errors = tuple(_foretell(control, used, left_out, parameters) for left_out in used)
    return LeaveOneOut(
        errors,
        _root_mean_square([error.distance_m for error in errors]),
        _root_mean_square([error.height_m for error in errors]),
    )


def measure_error(control: ControlPoints, point: int, placed_m: NDArray[np.float64]) -> PointError:
    """What a point misses by where it is placed at ``placed_m`` (3,)."""
    stated = control.points[point]
    x, y, z = (float(value) for value in placed_m)
    plan = None if stated.plan_m is None else (x - stated.plan_m[0], y - stated.plan_m[1])
    return PointError(point, plan, None if stated.elevation_m is None else z - stated.elevation_m)


def _foretell(
    control: ControlPoints, used: tuple[int, ...], left_out: int, parameters: tuple[Parameter, ...]
) -> PointError:
    """Plan and height each as far as the rest can place it; what they cannot is ``None``."""
    rest = [i for i in used if i != left_out]
    levelled = find_levelled(control, rest)
    has_plan = len(find_taped(control, rest)) >= FEWEST_TAPED
    has_height = len(levelled) >= 1
    if "tilt_x" in parameters:
        elongation = measure_elongation(picks_in_plan(control, levelled))
        has_height = has_height and elongation <= MOST_ELONGATED
    rows = observe(control, rest)
    if not has_height:
        rows = rows.choose(~rows.is_height)
    if not has_plan:
        rows = rows.choose(rows.is_height)
    known = tuple(name for name in parameters if (has_plan if name in (*PLAN, *SCALE) else has_height))
    if not known:
        return PointError(left_out, None, None)
    fit = fit_parameters(rows, known)
    pick = np.array([control.points[left_out].scan_m])
    error = measure_error(control, left_out, fit.place(pick)[0])
    return PointError(left_out, error.plan_m if has_plan else None, error.height_m if has_height else None)


def _root_mean_square(values: list[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return math.sqrt(sum(value**2 for value in known) / len(known)) if known else None
