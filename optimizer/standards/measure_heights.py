"""How high a plane lies over the ground along a line or over an area: exact overlays, nothing sampled."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from optimizer.standards.ground_measure import Facets
from optimizer.standards.placed import Vector

Plane = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class HeightRange:
    """Least and greatest height (m) over the ground, each with its plan point (2,).

    ``is_whole``: all of the place is surveyed.
    """

    least_m: float
    least_at: Vector
    greatest_m: float
    greatest_at: Vector
    is_whole: bool


def measure_heights(facets: Facets, place: shapely.Geometry, plane: Plane) -> HeightRange | None:
    """Heights of ``z = a x + b y + c`` over the ground along or over ``place``; ``None`` off the survey.

    Plane and ground are linear on every triangle, so both extremes lie at corners of the overlaps; at a
    break line both levels count.
    """
    a, b, c = plane
    points, heights = [], []
    for index in facets.tree.query(place):
        overlap = shapely.intersection(place, facets.polygons[index])
        if overlap.is_empty:
            continue
        corners = shapely.get_coordinates(overlap)
        ground = corners @ facets.planes[index, :2] + facets.planes[index, 2]
        points.append(corners)
        heights.append(corners @ np.array([a, b]) + c - ground)
    if not points:
        return None
    places, over = np.concatenate(points), np.concatenate(heights)
    least, greatest = int(np.argmin(over)), int(np.argmax(over))
    return HeightRange(
        least_m=float(over[least]),
        least_at=places[least],
        greatest_m=float(over[greatest]),
        greatest_at=places[greatest],
        is_whole=bool(facets.area.buffer(1e-9).covers(place)),
    )
