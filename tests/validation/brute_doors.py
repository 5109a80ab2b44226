"""'The room at the door' of the discrete problem.

Written from DEVELOPERS.md alone; shares nothing with the search but the data classes.
"""

from __future__ import annotations

from optimizer.catalogue.parts import Landing
from optimizer.rulebook.design_limits import DesignLimits
from optimizer.rulebook.door_clearance import DoorClearance
from optimizer.terrain.yard import Start
from tests.validation.brute_geometry import E, Rect


class Door:
    """The door of one start with what rules ask in front of it."""

    def __init__(self, design: DesignLimits, start: Start) -> None:
        self.design, self.start = design, start
        self.side = {"out": "pull", "in": "push"}[start.swing]
        self.to_hinge = {"left": -1, "right": 1}[start.hinge_side]

    def has_room(self, landing: Landing, slide_m: float, leaves: str) -> bool:
        """Whether a landing whose middle lies ``slide_m`` along the wall may be left by an exit."""
        half = landing.clear_width_m / 2
        clear = slide_m - half, 0.0, slide_m + half, landing.clear_length_m
        approach = "front"
        if leaves != "front":
            approach = "hinge" if leaves == self.start.hinge_side else "latch"
        for table in self.design.doors:
            asked = [self._asked(row) for row in table if row.approach == approach and row.side == self.side]
            if asked and all(not _is_inside(one, clear) for one in asked):
                return False
        return True

    def _asked(self, row: DoorClearance) -> Rect:
        """What a row asks, from the landing's edge at the wall out."""
        both = self.design.closer and self.design.latch
        depth = row.depth_m
        depth += row.closer_depth_m if self.design.closer else 0.0
        depth += row.closer_latch_depth_m if both else 0.0
        hinge = self.to_hinge * (self.start.clear_width_m / 2 + row.beyond_hinge_m)
        beyond = row.beyond_latch_m + (row.closer_latch_beyond_m if both else 0.0)
        latch = -self.to_hinge * (self.start.clear_width_m / 2 + beyond)
        return min(hinge, latch), 0.0, max(hinge, latch), depth


def _is_inside(inner: Rect, outer: Rect) -> bool:
    return (
        inner[0] >= outer[0] - E
        and inner[1] >= outer[1] - E
        and inner[2] <= outer[2] + E
        and inner[3] <= outer[3] + E
    )
