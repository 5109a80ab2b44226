"""Grounds for the tests of this room."""

from __future__ import annotations

import math

import numpy as np
import shapely

from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.triangulate import build_ground
from optimizer.terrain.yard import Points

WHERE = "levels.csv"


def build(
    points_m: Points,
    break_lines: tuple[BreakLine, ...] = (),
    outline: Points | None = None,
    longest_edge_m: float | None = None,
) -> Ground:
    points_m = np.asarray(points_m, dtype=np.float64)
    names = tuple(f"P{number}" for number in range(1, len(points_m) + 1))
    return build_ground(points_m, names, break_lines, outline, longest_edge_m, WHERE)


def grid(columns: int, rows: int, spacing_m: float = 1.0) -> Points:
    """Plan points (columns * rows, 2) of a square grid."""
    x, y = np.meshgrid(np.arange(columns) * spacing_m, np.arange(rows) * spacing_m)
    return np.column_stack((x.ravel(), y.ravel()))


def plane(xy_m: Points, at_origin: float = 1.0, fall_x: float = 0.05, fall_y: float = 0.03) -> Points:
    """Elevations (n,) of a plane with unequal falls."""
    levels: Points = at_origin - fall_x * xy_m[:, 0] - fall_y * xy_m[:, 1]
    return levels


def lay_on_plane(xy_m: Points) -> Points:
    return np.column_stack((xy_m, plane(xy_m)))


def turn(xy_m: Points, angle: float) -> Points:
    cos, sin = math.cos(angle), math.sin(angle)
    return np.column_stack((xy_m[:, 0] * cos - xy_m[:, 1] * sin, xy_m[:, 0] * sin + xy_m[:, 1] * cos))


def line(
    vertices: list[tuple[float, float]],
    top: list[float],
    foot: list[float],
    high_side: str = "left",
    name: str = "wall",
) -> BreakLine:
    return BreakLine(name, np.array(vertices), np.array(top), np.array(foot), high_side)


def triangles_of(ground: Ground) -> list[shapely.Polygon]:
    return [shapely.Polygon(corners) for corners in ground.triangles_xy]
