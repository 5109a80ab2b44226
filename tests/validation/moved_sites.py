"""A site carried elsewhere, turned, or seen in a mirror: the same job with other numbers.

Validates nothing by itself.  Source: none, rigid motions of the plane.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from optimizer.brief.site import Site
from optimizer.terrain.ground import Ground
from optimizer.terrain.yard import Points, Yard

Side = Literal["front", "left", "right"]
Hand = Literal["left", "right", "either"]
MIRRORED_SIDE: dict[Side, Side] = {"front": "front", "left": "right", "right": "left"}
MIRRORED_TURN = {
    "left": "right",
    "right": "left",
    "half_left": "half_right",
    "half_right": "half_left",
}


@dataclass(frozen=True, slots=True)
class Move:
    """A rigid motion: points in plan go by ``matrix`` and then ``shift``, heights up by ``dz``."""

    matrix: Points
    shift: Points
    dz: float

    @property
    def is_mirror(self) -> bool:
        """Whether left and right change places."""
        return bool(np.linalg.det(self.matrix) < 0)

    def xy(self, points: Points) -> Points:
        """Points in plan, in the order given."""
        return frozen(np.asarray(points) @ self.matrix.T + self.shift)

    def ring(self, points: Points) -> Points:
        """A ring, counter-clockwise afterwards too."""
        return frozen(self.xy(points)[::-1]) if self.is_mirror else self.xy(points)

    def up(self, z: float | None) -> float | None:
        """An elevation that may be missing."""
        return None if z is None else z + self.dz


def frozen(values: Points) -> Points:
    """A read-only copy."""
    copy = np.array(values, dtype=np.float64)
    copy.flags.writeable = False
    return copy


def moved(site: Site, dx_m: float, dy_m: float, dz_m: float) -> Site:
    """The same site elsewhere and higher."""
    return _carried(site, Move(np.eye(2), np.array([dx_m, dy_m]), dz_m))


def turned(site: Site, angle_deg: float) -> Site:
    """The same site turned about the origin, counter-clockwise seen from above."""
    return _carried(site, Move(_rotation(angle_deg), np.zeros(2), 0.0))


def mirrored(site: Site) -> Site:
    """The same site seen in a mirror along the y axis: x changes its sign, left and right change places."""
    hands: dict[Hand, Hand] = {"left": "right", "right": "left", "either": "either"}
    there = _carried(site, Move(np.array([[-1.0, 0.0], [0.0, 1.0]]), np.zeros(2), 0.0))
    return replace(
        there,
        wishes=replace(
            there.wishes,
            exits=tuple(MIRRORED_SIDE[side] for side in site.wishes.exits),
            prefer_side=hands[site.wishes.prefer_side],
        ),
        rider=replace(site.rider, better_hand=hands[site.rider.better_hand]),
    )


def _rotation(angle_deg: float) -> Points:
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[cos, -sin], [sin, cos]])


def _carried(site: Site, move: Move) -> Site:
    wishes = replace(
        site.wishes,
        must_pass_m=tuple(move.xy(point) for point in site.wishes.must_pass_m),
        landing_at_m=tuple(move.xy(point) for point in site.wishes.landing_at_m),
    )
    return replace(
        site,
        yard=_carried_yard(site.yard, move),
        ground=_carried_ground(site.ground, move),
        wishes=wishes,
    )


def _carried_yard(yard: Yard, move: Move) -> Yard:
    return replace(
        yard,
        starts=tuple(
            replace(
                start,
                midpoint_m=move.xy(start.midpoint_m),
                outward=frozen(np.asarray(start.outward) @ move.matrix.T),
                threshold_m=start.threshold_m + move.dz,
                hinge_side=_mirrored_hand(start.hinge_side) if move.is_mirror else start.hinge_side,
            )
            for start in yard.starts
        ),
        house_m=tuple(move.ring(ring) for ring in yard.house_m),
        lot_m=move.ring(yard.lot_m),
        obstacles=tuple(
            replace(one, outline_m=move.ring(one.outline_m), top_m=move.up(one.top_m))
            for one in yard.obstacles
        ),
        zones=tuple(
            replace(one, outline_m=move.ring(one.outline_m), underside_m=move.up(one.underside_m))
            for one in yard.zones
        ),
        arrivals_m=tuple(move.ring(ring) for ring in yard.arrivals_m),
        destination_m=None if yard.destination_m is None else move.xy(yard.destination_m),
    )


def _mirrored_hand(side: Literal["left", "right"]) -> Literal["left", "right"]:
    return "left" if side == "right" else "right"


def _carried_ground(ground: Ground, move: Move) -> Ground:
    order = [0, 2, 1] if move.is_mirror else [0, 1, 2]
    points = np.asarray(ground.points_m)
    return replace(
        ground,
        points_m=frozen(np.column_stack([move.xy(points[:, :2]), points[:, 2] + move.dz])),
        triangles_xy=frozen(move.xy(ground.triangles_xy)[:, order]),
        triangles_z=frozen(ground.triangles_z[:, order] + move.dz),
        outline_m=tuple(move.ring(ring) for ring in ground.outline_m),
        break_lines=tuple(
            replace(
                line,
                xy_m=move.xy(line.xy_m),
                top_m=frozen(line.top_m + move.dz),
                foot_m=frozen(line.foot_m + move.dz),
                high_side=(
                    {"left": "right", "right": "left"}[line.high_side] if move.is_mirror else line.high_side
                ),
            )
            for line in ground.break_lines
        ),
    )
