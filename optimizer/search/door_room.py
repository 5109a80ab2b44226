"""Whether the room that rules ask in front of a door fits on the landing there.

DEVELOPERS.md, 'The start'.
"""

from __future__ import annotations

from optimizer.catalogue.parts import Landing
from optimizer.layout.spec import Exit
from optimizer.rulebook.design_limits import DesignLimits
from optimizer.rulebook.door_clearance import Approach, DoorClearance, DoorSide
from optimizer.terrain.yard import Start
from optimizer.units import is_at_most


def name_approach(start: Start, leaves: Exit) -> Approach:
    """How somebody who comes up the ramp arrives at the door."""
    if leaves == "front":
        return "front"
    return "hinge" if leaves == start.hinge_side else "latch"


def has_door_room(design: DesignLimits, start: Start, landing: Landing, slide_m: float, leaves: Exit) -> bool:
    """Whether every table finds its room on a door landing whose middle lies ``slide_m`` along the wall."""
    approach = name_approach(start, leaves)
    side: DoorSide = "pull" if start.swing == "out" else "push"
    for table in design.doors:
        rows = [row for row in table if (row.approach, row.side) == (approach, side)]
        if rows and not any(_fits(row, design, start, landing, slide_m) for row in rows):
            return False
    return True


def _fits(row: DoorClearance, design: DesignLimits, start: Start, landing: Landing, slide_m: float) -> bool:
    depth, latch = row.depth_m, row.beyond_latch_m
    if design.closer:
        depth += row.closer_depth_m
        if design.latch:
            depth += row.closer_latch_depth_m
            latch += row.closer_latch_beyond_m
    half = start.clear_width_m / 2.0
    left, right = (row.beyond_hinge_m, latch) if start.hinge_side == "left" else (latch, row.beyond_hinge_m)
    clear = landing.clear_width_m / 2.0
    return (
        is_at_most(depth, landing.clear_length_m)
        and is_at_most(half + left, clear - slide_m)
        and is_at_most(half + right, clear + slide_m)
    )
