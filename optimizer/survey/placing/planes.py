"""The plane nearest to points, by their distances across it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

#: Spread along the points over spread across, within the plane, beyond which they are a line.
_LINE: Final = 1e8


@dataclass(frozen=True, slots=True)
class Plane:
    """Points with ``normal @ (point - middle_m) = 0``; ``normal`` (3,) of length 1, z not below 0.

    ``rms_m``: root mean square distance of the points it was fitted to.
    """

    normal: NDArray[np.float64]
    middle_m: NDArray[np.float64]
    rms_m: float

    @property
    def dip_deg(self) -> float:
        """Angle to the level: 0 for a floor, 90 for a wall."""
        return math.degrees(math.atan2(math.hypot(self.normal[0], self.normal[1]), self.normal[2]))

    def distances_m(self, points_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Signed distances (n,), positive on the normal's side."""
        away: NDArray[np.float64] = (points_m - self.middle_m) @ self.normal
        return away

    def levels_m(self, xy_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Heights (n,) of the plane over places (n, 2); a wall has none (division by zero)."""
        away = xy_m - self.middle_m[:2]
        levels: NDArray[np.float64] = self.middle_m[2] - away @ self.normal[:2] / self.normal[2]
        return levels


def fit_plane(points_m: NDArray[np.float64]) -> Plane | None:
    """Plane (n, 3) by total least squares; exact for three points; ``None`` for fewer or for a line."""
    if len(points_m) < 3:
        return None
    middle = points_m.mean(axis=0)
    away = points_m - middle
    moments, directions = np.linalg.eigh(away.T @ away)
    # The moments square the digits away; the singular values of the points themselves keep them.
    if len(points_m) <= 64:
        _, values, rows = np.linalg.svd(away, full_matrices=False)
        moments, directions = values[::-1] ** 2, rows[::-1].T
    if moments[1] * _LINE**2 <= moments[2] or moments[2] == 0.0:
        return None
    normal = directions[:, 0]
    # A wall's normal has no upper side: the first level component decides, so that it is one of two always.
    lead = normal[2] if abs(normal[2]) > 1e-12 else normal[0] if abs(normal[0]) > 1e-12 else normal[1]
    normal = normal if lead > 0.0 else -normal
    return Plane(normal, middle, math.sqrt(max(0.0, float(moments[0])) / len(points_m)))
