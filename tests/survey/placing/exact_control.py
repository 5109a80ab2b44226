"""Control points without noise, and the same with one thing wrong."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from optimizer.survey.placing.control_points import ControlPoint, ControlPoints, build_control

#: True places, metres: an uneven ring, so that no two of them can be exchanged unnoticed.
PLACES = (
    (0.0, 0.0, 0.00),
    (17.0, 1.0, -0.30),
    (14.0, 11.0, -0.90),
    (1.0, 9.0, -0.55),
    (8.0, 5.0, -0.20),
    (4.0, 13.0, -0.75),
    (11.0, -2.0, 0.15),
)
YAW_DEG = 33.0
SHIFT_M = (103.0, -41.0, 27.5)


def exact_points(
    count: int, scale: float = 1.0, tilt_deg: float = 0.0, yaw_deg: float = YAW_DEG
) -> list[ControlPoint]:
    """The first points; the scan is smaller by ``scale`` and tilted about its x axis."""
    return [_see(i, PLACES[i], scale, math.radians(tilt_deg), math.radians(yaw_deg)) for i in range(count)]


def _see(i: int, place: tuple[float, float, float], scale: float, tilt: float, yaw: float) -> ControlPoint:
    x, y, z = place
    site = tuple(value + shift for value, shift in zip(place, SHIFT_M, strict=True))
    u, v = math.cos(yaw) * x + math.sin(yaw) * y, -math.sin(yaw) * x + math.cos(yaw) * y
    v, w = math.cos(tilt) * v + math.sin(tilt) * z, -math.sin(tilt) * v + math.cos(tilt) * z
    scan = (u / scale, v / scale, w / scale)
    return ControlPoint(f"C{i + 1}", scan, (site[0], site[1]), site[2])


def with_one(points: Sequence[ControlPoint], i: int, changed: ControlPoint) -> ControlPoints:
    """The points with the i-th replaced."""
    return build_control([*points[:i], changed, *points[i + 1 :]])


def with_swapped_picks(points: Sequence[ControlPoint], i: int, j: int) -> ControlPoints:
    """As if two names had been mistaken in the scan."""
    mistaken = list(points)
    mistaken[i] = replace(points[i], scan_m=points[j].scan_m)
    mistaken[j] = replace(points[j], scan_m=points[i].scan_m)
    return build_control(mistaken)
