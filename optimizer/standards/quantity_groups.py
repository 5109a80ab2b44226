"""The groups the checker divides its clauses into, by the thing they speak of.

Every quantity is in exactly one group; ``check_rules`` proves it to the type checker.
"""

from __future__ import annotations

from typing import Literal

#: Sloped surfaces and the whole ramp.
RunQuantity = Literal[
    "running_slope",
    "run_law",
    "cross_slope",
    "rise_per_run",
    "length_per_run",
    "clear_width",
    "surface_width",
    "total_rise",
    "steps_rise",
]
#: Landings, the space at the bottom, and the two ends.
LevelQuantity = Literal[
    "landing_slope",
    "landing_slope_along",
    "landing_slope_across",
    "landing_length",
    "landing_width",
    "landing_turn",
    "landing_passing",
    "threshold_drop",
    "tip_vertical_change",
]
#: Rails, guards and edges.
RailQuantity = Literal[
    "handrail_rise",
    "handrail_slope",
    "handrail_drop",
    "handrail_sides",
    "handrail_height_min",
    "handrail_height_max",
    "handrail_extension",
    "handrail_grip_min",
    "handrail_grip_max",
    "edge_protection_height",
    "guard_drop",
    "guard_height",
    "guard_opening",
]
#: What is over and under the way, and the room in front of the door.
RoomQuantity = Literal[
    "headroom",
    "soffit",
    "door_clearance",
    "door_swing_takes",
    "door_swing_leaves",
    "swing_clear_length",
]
