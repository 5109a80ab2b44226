"""Points whose elevations were levelled: what every levelling method hands on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.spots import SpotLevels, Style

Method = Literal["level", "straightboard"]

#: ``mark``: its level was given.  ``change``: carried the line on.  ``spot``: an ordinary shot.
#: ``overhead``: read with the staff upside down, so it is no ground.
Kind = Literal["mark", "change", "spot", "overhead"]
_NO_GROUND: Final[tuple[Kind, ...]] = ("mark", "overhead")


@dataclass(frozen=True, slots=True)
class ReducedPoint:
    """One point.  ``x_m``, ``y_m`` in the frame of ``ReducedPoints.style``; ``None`` when not booked.

    ``standard_error_m`` is that of the elevation against the marks, which count as true.  ``rows``
    are the lines of the file with its shots; for a mark, all lines that name it.
    """

    name: str
    x_m: float | None
    y_m: float | None
    elevation_m: float
    standard_error_m: float
    method: Method
    kind: Kind
    rows: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ReducedPoints:
    """Points of one file, in order of their first shot.

    ``style``: ``survey`` (x, y), ``door`` (along the wall, out from it) or ``None`` when the file
    has no positions.  ``covariance_m2`` (n, n), of the elevations, read-only.
    """

    path: Path
    style: Style | None
    points: tuple[ReducedPoint, ...]
    covariance_m2: NDArray[np.float64]

    def find(self, name: str) -> int:
        """Index of a point; ``KeyError`` when there is none of that name."""
        for i, point in enumerate(self.points):
            if point.name == name:
                return i
        raise KeyError(name)

    def measure_difference_error(self, first: int, second: int) -> float:
        """Standard error in metres of the difference of two elevations, their common errors left out."""
        both = self.covariance_m2
        variance = both[first, first] + both[second, second] - 2.0 * both[first, second]
        return math.sqrt(max(0.0, float(variance)))


def build_spots(reduced: ReducedPoints) -> SpotLevels:
    """The ground points with a position, as the spot levels of a site.

    Left out are points overhead, points without a position, and marks: a mark may be a sill or a
    brick course, so the ground beside it is shot under a name of its own.  Raises ``InputError``
    when none is left.
    """
    kept = []
    for point in reduced.points:
        if point.kind in _NO_GROUND:
            continue
        if point.x_m is not None and point.y_m is not None:
            kept.append((point, (point.x_m, point.y_m, point.elevation_m)))
    if reduced.style is None or not kept:
        remedy = "Add x_m and y_m, along_wall_m and out_from_wall_m, or distance_m and bearing_deg."
        what = "no levelled ground point has a position."
        raise InputError(Fault(reduced.path.name, what, remedy))
    xyz_m = np.array([xyz for _, xyz in kept], dtype=np.float64)
    xyz_m.setflags(write=False)
    points = [point for point, _ in kept]
    return SpotLevels(
        reduced.path,
        reduced.style,
        tuple(point.name for point in points),
        xyz_m,
        tuple(point.rows[0] for point in points),
        tuple("" if point.kind == "spot" else point.kind for point in points),
    )
