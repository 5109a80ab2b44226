"""Triangulated ground for small yards: spot levels by hand, or a slope with bumps and maybe a wall.

Validates nothing by itself.  Source: invented.
"""

from __future__ import annotations

from random import Random
from typing import Literal

import numpy as np
from scipy.spatial import Delaunay

from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.yard import Points
from tests.validation.moved_sites import frozen

Way = Literal["falls", "rises", "level"]


def build_ground(
    points: Points, wall: BreakLine | None = None, outline: tuple[Points, ...] | None = None
) -> Ground:
    """Triangulate spot levels (n, 3) over their hull, each side of a straight wall by itself.

    The wall must run from edge to edge of the surveyed rectangle; its own points are added
    at the top on its high side and at the foot on the other.
    """
    surveyed = np.asarray(points, dtype=float)
    sides = [surveyed]
    if wall is not None:
        along = wall.xy_m[-1] - wall.xy_m[0]
        off = surveyed[:, :2] - wall.xy_m[0]
        is_left = along[0] * off[:, 1] - along[1] * off[:, 0] > 0
        is_high = is_left if wall.high_side == "left" else ~is_left
        sides = [
            np.vstack([surveyed[is_high], np.column_stack([wall.xy_m, wall.top_m])]),
            np.vstack([surveyed[~is_high], np.column_stack([wall.xy_m, wall.foot_m])]),
        ]
    xy, z = [], []
    for side in sides:
        for corners in Delaunay(side[:, :2]).simplices:
            a, b, c = side[corners]
            area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
            if abs(area) > 1e-9:  # flat slivers along a straight edge carry no ground
                ordered = np.array([a, b, c] if area > 0 else [a, c, b])
                xy.append(ordered[:, :2])
                z.append(ordered[:, 2])
    everything = np.vstack(sides)
    low, high = everything[:, :2].min(axis=0), everything[:, :2].max(axis=0)
    rectangle = box(low[0], low[1], high[0], high[1])
    return Ground(
        points_m=frozen(everything),
        point_names=tuple(f"P{n}" for n in range(len(everything))),
        triangles_xy=frozen(np.array(xy)),
        triangles_z=frozen(np.array(z)),
        outline_m=(rectangle,) if outline is None else outline,
        break_lines=() if wall is None else (wall,),
        leave_one_out_m=None,
    )


def box(u0: float, v0: float, u1: float, v1: float) -> Points:
    return frozen(np.array([[u0, v0], [u1, v0], [u1, v1], [u0, v1]]))


def quad(random: Random, u: float, v: float, wide: float, deep: float) -> Points:
    """A rectangle with its corners pushed about a little, centred on a point."""
    outline = np.asarray(box(u - wide / 2, v - deep / 2, u + wide / 2, v + deep / 2))
    push = np.array([[random.uniform(-0.1, 0.1) for _ in range(2)] for _ in range(4)])
    return frozen(outline + push * min(wide, deep))


def build_slope(random: Random, left: float, right: float, depth: float, way: Way) -> Ground:
    """Ground that falls unequally in both directions from level 0 at the door, maybe with a low wall."""
    # A plate lands only where the ground is nearly level across it: one of the falls is small.
    gentle, steeper = random.uniform(-0.006, 0.006), random.uniform(-0.015, 0.035)
    if way == "rises":  # away from the door
        steeper = -random.uniform(0.015, 0.04)
    elif way == "level":
        steeper = random.uniform(-0.006, 0.012)
    fall_u, fall_v = random.choice(((gentle, steeper), (gentle, steeper), (steeper, gentle)))
    bump = random.choice((0.001, 0.002, 0.003, 0.008))
    shrink = 0.8 if random.random() < 0.1 else -0.3
    u0, u1, v0, v1 = -left + shrink, right + 0.3, -0.3, depth + 0.3
    wall = None
    step = 0.0
    if random.random() < 0.25:
        step = random.uniform(0.08, 0.3)
        at, tilt = (
            random.choice((random.uniform(1.5, 2.2), random.uniform(2.2, 5.0))),
            random.uniform(-0.3, 0.3),
        )
        at = min(at, depth - 0.9)
        ends = np.array([[u0, at - tilt], [u1, at + tilt]])
        tops = -fall_u * ends[:, 0] - fall_v * ends[:, 1]
        is_down = random.random() < 0.75  # the yard steps down away from the door, or up
        feet = tops - step if is_down else tops + step
        wall = BreakLine(
            "wall", frozen(ends), frozen(np.maximum(tops, feet)), frozen(np.minimum(tops, feet)),
            "right" if is_down else "left",
        )  # fmt: skip
        step = step if is_down else -step
    points = []
    for i, u in enumerate(np.linspace(u0, u1, 4)):
        for j, v in enumerate(np.linspace(v0, v1, 4)):
            pu = u + (random.uniform(-0.5, 0.5) if 0 < i < 3 else 0.0)
            pv = v + (random.uniform(-0.5, 0.5) if 0 < j < 3 else 0.0)
            is_corner = i in {0, 3} and j in {0, 3}
            z = -fall_u * pu - fall_v * pv + random.uniform(-bump, bump)
            if wall is not None:
                off = pv - np.interp(pu, wall.xy_m[:, 0], wall.xy_m[:, 1])
                if abs(off) < 0.4 and not is_corner:
                    continue
                z -= step if off > 0 else 0.0
            points.append((pu, pv, z))
    return build_ground(np.array(points), wall)
