"""Weighted least squares for the parameters of a placing, with everything its tests need."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import InternalError
from optimizer.survey.placing.closed_forms import fit_rigid
from optimizer.survey.placing.control_points import ControlPoints
from optimizer.survey.placing.placing import Parameter, measure_effects
from optimizer.survey.placing.turns import turn_by_tilt, turn_by_yaw

PLAN: Final[tuple[Parameter, ...]] = ("yaw", "x", "y")
HEIGHT: Final[tuple[Parameter, ...]] = ("z",)
SCALE: Final[tuple[Parameter, ...]] = ("scale",)
TILT: Final[tuple[Parameter, ...]] = ("tilt_x", "tilt_y")

_MOST_STEPS: Final = 50
#: On a national grid float64 ends at a nanometre.
_SETTLED_M: Final = 1e-7


@dataclass(frozen=True, slots=True)
class Observations:
    """What was measured, one row a number: x and y of every taped point, then the elevations.

    ``points`` (m,): index of the row's control point; ``axes`` (m,): 0 x, 1 y, 2 elevation;
    ``scan_m`` (m, 3): its pick; ``values_m`` (m,).  ``covariance_m2`` (m, m): of value and pick
    together, because both bear on the row's residual.
    """

    points: NDArray[np.int64]
    axes: NDArray[np.int64]
    scan_m: NDArray[np.float64]
    values_m: NDArray[np.float64]
    covariance_m2: NDArray[np.float64]

    @property
    def is_height(self) -> NDArray[np.bool_]:
        """Rows (m,) of elevations."""
        rows: NDArray[np.bool_] = self.axes == 2
        return rows

    def choose(self, rows: NDArray[np.bool_]) -> Observations:
        """The rows marked."""
        return Observations(
            self.points[rows],
            self.axes[rows],
            self.scan_m[rows],
            self.values_m[rows],
            self.covariance_m2[np.ix_(rows, rows)],
        )


@dataclass(frozen=True, slots=True)
class Fit:
    """A solution.  ``residuals_m`` (m,): placed less measured.

    ``design`` (m, k) and ``cofactors`` (k, k): the parameters' covariance if the stated errors are
    right.  ``residual_covariance_m2`` (m, m): of the residuals, likewise.  ``weights`` (m, m): inverse
    of the observations' covariance.
    """

    observations: Observations
    parameters: tuple[Parameter, ...]
    rotation: NDArray[np.float64]
    scale: float
    shift_m: NDArray[np.float64]
    middle_m: NDArray[np.float64]
    residuals_m: NDArray[np.float64]
    design: NDArray[np.float64]
    cofactors: NDArray[np.float64]
    weights: NDArray[np.float64]
    residual_covariance_m2: NDArray[np.float64]

    def misfit(self, rows: NDArray[np.bool_]) -> float:
        """Sum of squared residuals of the rows in units of their stated errors."""
        chosen = self.residuals_m[rows]
        return float(chosen @ self.weights[np.ix_(rows, rows)] @ chosen)

    def redundancy(self, rows: NDArray[np.bool_]) -> float:
        """Degrees of freedom in the rows: their share of rows less parameters."""
        return float(np.diag(self.residual_covariance_m2 @ self.weights)[rows].sum())

    def place(self, scan_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Points (n, 3) of the scan where this solution puts them."""
        placed: NDArray[np.float64] = (
            self.scale * (scan_m - self.middle_m) @ self.rotation.T + self.middle_m + self.shift_m
        )
        return placed


def observe(control: ControlPoints, used: Sequence[int]) -> Observations:
    """Rows of the points numbered ``used``."""
    taped = [i for i in used if control.points[i].plan_m is not None]
    levelled = [i for i in used if control.points[i].elevation_m is not None]
    points = [i for i in taped for _ in range(2)] + levelled
    axes = [0, 1] * len(taped) + [2] * len(levelled)
    values: list[float] = []
    variances: list[float] = []
    for i in taped:
        point = control.points[i]
        values.extend(point.plan_m or ())
        variances.extend([point.tape_error_m**2 + point.pick_error_m**2] * 2)
    levels = control.level_covariance_m2[np.ix_(levelled, levelled)].copy()
    for row, i in enumerate(levelled):
        values.append(control.points[i].elevation_m or 0.0)
        levels[row, row] += control.points[i].pick_z_error_m ** 2
    covariance = np.zeros((len(points), len(points)))
    count = len(variances)
    covariance[:count, :count] = np.diag(variances)
    covariance[count:, count:] = levels
    return Observations(
        points=np.array(points, dtype=np.int64),
        axes=np.array(axes, dtype=np.int64),
        scan_m=np.array([control.points[i].scan_m for i in points], dtype=np.float64).reshape(-1, 3),
        values_m=np.array(values, dtype=np.float64),
        covariance_m2=covariance,
    )


def fit_parameters(observations: Observations, parameters: tuple[Parameter, ...]) -> Fit:
    """Minimise the weighted squares over ``parameters``; the others stay 0, the scale 1.

    Starts from the closed form in plan, which is already the answer for yaw and shift, and goes on
    by Gauss and Newton.  The rows must determine the parameters.
    """
    rows = len(observations.axes)
    weights = np.linalg.inv(observations.covariance_m2).astype(np.float64)
    middle = observations.scan_m.mean(axis=0)
    away = observations.scan_m - middle
    rotation, scale, shift = _start(observations, parameters, middle)
    for _ in range(_MOST_STEPS):
        placed = scale * away @ rotation.T + middle + shift
        residuals = placed[np.arange(rows), observations.axes] - observations.values_m
        effects = measure_effects(rotation, scale, away, parameters)
        design = effects[np.arange(rows), observations.axes]
        cofactors = np.linalg.inv(design.T @ weights @ design).astype(np.float64)
        step = -cofactors @ design.T @ weights @ residuals
        change = float(np.abs(design @ step).max())
        if change < _SETTLED_M:
            spread = observations.covariance_m2 - design @ cofactors @ design.T
            return Fit(
                observations,
                parameters,
                rotation,
                scale,
                shift,
                middle,
                residuals,
                design,
                cofactors,
                weights,
                spread,
            )
        named: dict[str, float] = dict(zip(parameters, (float(value) for value in step), strict=True))
        rotation = turn_by_yaw(named.get("yaw", 0.0)) @ rotation
        rotation = rotation @ turn_by_tilt(named.get("tilt_x", 0.0), named.get("tilt_y", 0.0))
        scale *= math.exp(named.get("scale", 0.0))
        shift = shift + np.array([named.get(axis, 0.0) for axis in "xyz"])
    raise InternalError(f"the placing did not settle in {_MOST_STEPS} steps")


def _start(
    observations: Observations, parameters: tuple[Parameter, ...], middle: NDArray[np.float64]
) -> tuple[NDArray[np.float64], float, NDArray[np.float64]]:
    shift = np.zeros(3)
    rotation = np.eye(3)
    if "yaw" in parameters:
        along_x = observations.axes == 0
        rows = np.flatnonzero(along_x)
        start = observations.scan_m[rows, :2]
        end = np.stack([observations.values_m[rows], observations.values_m[rows + 1]], axis=1)
        rigid = fit_rigid(start, end, 1.0 / np.diag(observations.covariance_m2)[rows])
        rotation[:2, :2] = rigid.rotation
        shift[:2] = rigid.shift + rigid.rotation @ middle[:2] - middle[:2]
    if "z" in parameters:
        heights = observations.is_height
        shift[2] = float((observations.values_m[heights] - observations.scan_m[heights, 2]).mean())
    return rotation, 1.0, shift
