"""Room in front of a door: one row of a document's table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Approach = Literal["front", "hinge", "latch"]
DoorSide = Literal["pull", "push"]


@dataclass(frozen=True, slots=True)
class DoorClearance:
    """Level room asked in front of a door (metres), over the doorway's width and beyond it.

    ``depth_m`` perpendicular to the wall; ``beyond_latch_m``, ``beyond_hinge_m`` along it.  Additions
    with a closer (``closer_depth_m``), and with closer and latch both.  Rows of one document with the same
    approach and side are alternatives: one of them must be met.
    """

    approach: Approach
    side: DoorSide
    depth_m: float
    beyond_latch_m: float
    beyond_hinge_m: float
    closer_depth_m: float = 0.0
    closer_latch_depth_m: float = 0.0
    closer_latch_beyond_m: float = 0.0
