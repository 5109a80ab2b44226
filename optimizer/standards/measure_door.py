"""The landing at a door in the door's own frame: what is clear in front of it, and how the way arrives.

Door frame: origin at the middle of the sill, ``u`` along the wall to the right looking out, ``v`` out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

from optimizer.rulebook.door_clearance import Approach, DoorClearance, DoorSide
from optimizer.rulebook.facts import YesNo
from optimizer.standards.chain import Chain, measure_clear_width
from optimizer.standards.placed import Vector, measure_clear_size
from optimizer.terrain.yard import Start

Hinge = Literal["left", "right"]


@dataclass(frozen=True, slots=True)
class Room:
    """Room asked in front of a door: from the wall ``depth_m`` out, ``left_m`` to ``right_m`` along it."""

    depth_m: float
    left_m: float
    right_m: float


@dataclass(frozen=True, slots=True)
class DoorRoom:
    """A door and the clear area of its landing (metres, door frame).

    ``half_m``: half the doorway; ``leaf_m``: the leaf, taken as wide as the clear opening.
    ``left_m`` to ``right_m`` and ``near_m`` to ``far_m`` is the area inside rails and posts: the part's
    clear width in the middle of the landing as placed, its clear length from the edge at the wall on.
    The strip between wall and landing is the threshold's and counts as room in front of the door.
    ``way_m``: clear width of the run that leaves.  ``side``: what the door is on the landing.
    """

    half_m: float
    leaf_m: float
    hinge: Hinge
    side: DoorSide
    approach: Approach
    left_m: float
    right_m: float
    near_m: float
    far_m: float
    way_m: float
    exit: Literal["front", "left", "right"]
    origin_m: Vector
    outward: Vector

    def to_site(self, room: Room) -> shapely.Polygon:
        """The room's rectangle in the site's plan."""
        right = np.array([self.outward[1], -self.outward[0]])
        corners = (
            (room.left_m, 0.0),
            (room.right_m, 0.0),
            (room.right_m, room.depth_m),
            (room.left_m, room.depth_m),
        )
        return shapely.Polygon([self.origin_m + u * right + v * self.outward for u, v in corners])

    def ask(self, row: DoorClearance, closer: YesNo, latch: YesNo) -> Room:
        """The room a row asks at this door, with what a closer and a latch add."""
        depth, beyond_latch = row.depth_m, row.beyond_latch_m
        if closer == "yes":
            depth += row.closer_depth_m
        if closer == latch == "yes":
            depth += row.closer_latch_depth_m
            beyond_latch += row.closer_latch_beyond_m
        beyond_hinge = row.beyond_hinge_m
        left, right = (beyond_hinge, beyond_latch) if self.hinge == "left" else (beyond_latch, beyond_hinge)
        return Room(depth, -self.half_m - left, self.half_m + right)


def measure_door_room(chain: Chain, start: Start) -> DoorRoom | None:
    """The clear area at the door as placed; ``None`` where the ramp begins at an existing edge."""
    landing = chain.door
    if landing is None or start.kind == "edge":
        return None
    outward = start.outward / np.hypot(*start.outward)
    right = np.array([outward[1], -outward[0]])
    offset = landing.corners_m[:, :2] - start.midpoint_m[:2]
    u, v = offset @ right, offset @ outward
    clear_length, clear_width = measure_clear_size(landing)
    middle = float(u[0] + u[1] + u[2] + u[3]) / 4.0
    near = float(max(v[0], v[1]))
    exit_side = chain.exit
    approach: Approach = "front"
    if exit_side != "front":
        approach = "hinge" if exit_side == start.hinge_side else "latch"
    return DoorRoom(
        half_m=start.clear_width_m / 2.0,
        leaf_m=start.clear_width_m,
        hinge=start.hinge_side,
        side="pull" if start.swing == "out" else "push",
        approach=approach,
        left_m=middle - clear_width / 2.0,
        right_m=middle + clear_width / 2.0,
        near_m=near,
        far_m=near + clear_length,
        way_m=measure_clear_width(chain.runs[0]),
        exit=exit_side,
        origin_m=start.midpoint_m[:2],
        outward=outward,
    )
