"""The ground as a triangulated surface with break lines."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.locate import SurfaceIndex, build_surface_index
from optimizer.terrain.yard import Points


@dataclass(frozen=True, slots=True)
class BreakLine:
    """A line the triangles may not cross.

    ``xy_m`` (n, 2); ``top_m``/``foot_m`` (n,) elevations on its high and low side, equal
    for a plain crease.  ``high_side`` is the side of the top, walking first to last point.
    """

    name: str
    xy_m: Points
    top_m: NDArray[np.float64]
    foot_m: NDArray[np.float64]
    high_side: str  # "left" | "right"


@dataclass(frozen=True, slots=True)
class Ground:
    """Triangulated ground.

    Every triangle carries its own three corner elevations, so a retaining wall is a true
    vertical step.  ``triangles_xy`` (t, 3, 2), ``triangles_z`` (t, 3), counter-clockwise;
    ``outline_m`` the rings of the surveyed area (first ring outer, the rest holes).
    ``break_lines`` are the lines as woven into the triangles.  Arrays are read-only.
    """

    points_m: Points  # (n, 3) spot levels as surveyed
    point_names: tuple[str, ...]
    triangles_xy: NDArray[np.float64]
    triangles_z: NDArray[np.float64]
    outline_m: tuple[Points, ...]
    break_lines: tuple[BreakLine, ...]
    leave_one_out_m: float | None
    _index: SurfaceIndex = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_index", build_surface_index(self.triangles_xy, self.triangles_z))

    def elevation(self, xy_m: Points) -> NDArray[np.float64]:
        """Ground elevation at each of ``(n, 2)`` points; NaN outside the surveyed area.

        On a break line (to within a nanometre) the upper of its two values.
        """
        return self._index.elevation(xy_m)

    def elevation_at(self, x_m: float, y_m: float) -> float:
        """Ground elevation at one point, the same float as ``elevation`` gives; NaN outside."""
        return self._index.elevation_at(x_m, y_m)
