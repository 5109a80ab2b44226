"""A placing: how points of a scan become points of the survey, and how well that is known."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.turns import split_turn

#: ``yaw`` about the vertical, the shifts along x, y and z, the scale as a relative change, and the tilt
#: about the scan's own x and y axes.
Parameter = Literal["yaw", "x", "y", "z", "scale", "tilt_x", "tilt_y"]


@dataclass(frozen=True, slots=True)
class Placing:
    """``site = middle_m + shift_m + scale * rotation @ (scan - middle_m)``, metres, z up in both.

    ``rotation`` (3, 3), determinant +1: never mirrored.  ``middle_m`` (3,): mean of the control
    points in the scan, about which the parameters are least entangled.  ``parameters``: those that
    were fitted; ``covariance`` (k, k), theirs, in radians, metres and as a relative scale, widened
    where the residuals were larger than the stated errors.
    ``drift_m``: standard error of the height of a single place beyond ``covariance``, from heights
    that fit worse than stated; 0 when they do not.  ``freedom``: degrees of freedom of the errors of
    heights, infinite when the stated errors held.  ``levelled``: how many levelled points carried
    the fit.
    """

    rotation: NDArray[np.float64]
    scale: float
    shift_m: NDArray[np.float64]
    middle_m: NDArray[np.float64]
    parameters: tuple[Parameter, ...]
    covariance: NDArray[np.float64]
    drift_m: float
    freedom: float
    levelled: int

    @property
    def angles_deg(self) -> tuple[float, float, float]:
        """Yaw, counter-clockwise from above, and tilts about the scan's x and y (0 unless freed)."""
        yaw, about_x, about_y = split_turn(self.rotation)
        return math.degrees(yaw), math.degrees(about_x), math.degrees(about_y)

    def to_site(self, scan_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Points (n, 3) of the scan in the survey's frame."""
        away = scan_m - self.middle_m
        placed: NDArray[np.float64] = self.scale * away @ self.rotation.T + (self.middle_m + self.shift_m)
        return placed

    def to_scan(self, site_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Points (n, 3) of the survey in the scan's frame."""
        away = site_m - (self.middle_m + self.shift_m)
        back: NDArray[np.float64] = away @ self.rotation / self.scale + self.middle_m
        return back


def measure_effects(
    rotation: NDArray[np.float64],
    scale: float,
    away_m: NDArray[np.float64],
    parameters: tuple[Parameter, ...],
) -> NDArray[np.float64]:
    """Derivatives (n, 3, k) of placed points by the parameters; ``away_m`` (n, 3), from the middle."""
    turned = scale * away_m @ rotation.T
    effects = np.zeros((len(away_m), 3, len(parameters)))
    for column, parameter in enumerate(parameters):
        if parameter == "yaw":
            effects[:, 0, column], effects[:, 1, column] = -turned[:, 1], turned[:, 0]
        elif parameter == "scale":
            effects[:, :, column] = turned
        elif parameter in ("x", "y", "z"):
            effects[:, "xyz".index(parameter), column] = 1.0
        else:
            axis = np.eye(3)["xy".index(parameter[-1])]
            effects[:, :, column] = scale * np.cross(axis, away_m) @ rotation.T
    return effects
