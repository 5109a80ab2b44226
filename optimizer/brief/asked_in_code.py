"""The things of a yard as a program gives them, in metres and the survey's own coordinates.

Each stands for one table of a site file.  ``None`` is 'left out': the value is then what the
site file's documented default is (``evenfall schema site`` prints them).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from optimizer.rulebook.facts import YesNo
from optimizer.terrain.yard import Points, ZoneKind

#: Plan coordinates (2,), metres.
PlanPoint = Sequence[float] | Points
#: Plan coordinates (n, 2), metres, in order round or along something, either way, not closed.
PlanPoints = Sequence[PlanPoint] | Points
#: x, y and elevation (n, 3), metres.
LevelPoints = Sequence[Sequence[float]] | Points


@dataclass(frozen=True, slots=True, kw_only=True)
class StartAt:
    """``[[start]]``: a door, or an existing edge to hang a run on.

    ``outward_deg``: the direction away from the house, degrees counter-clockwise from +x, or
    in its place ``wall_m`` (2, 2): two places on the wall, the left one first as seen from
    outside.  A door needs ``swing`` and ``hinge_side`` (looking out).  ``egress_door``, ``closer``
    and ``latch``: facts of this door where they differ from the job's.
    """

    name: str
    midpoint_m: PlanPoint
    threshold_m: float
    clear_width_m: float
    kind: Literal["landing", "over_steps", "edge"] = "landing"
    outward_deg: float | None = None
    wall_m: PlanPoints | None = None
    swing: Literal["in", "out"] | None = None
    hinge_side: Literal["left", "right"] | None = None
    drop_m: float | None = None
    gap_m: float | None = None
    egress_door: YesNo | None = None
    closer: YesNo | None = None
    latch: YesNo | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ObstacleAt:
    """``[[obstacle]]``: ``top_m`` its elevation; without one nothing may pass over."""

    name: str
    outline_m: PlanPoints
    top_m: float | None = None
    may_stand: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneAt:
    """``[[zone]]``: an area with a rule: its ``outline_m``, or what it lies around and how far."""

    name: str
    kind: ZoneKind
    outline_m: PlanPoints | None = None
    around_m: PlanPoints | None = None
    distance_m: float | None = None
    reason: str | None = None
    source: str | None = None
    waived_by: str | None = None
    underside_m: float | None = None
    headroom_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BreakLineAt:
    """``[[break_line]]``: a crease (``points_m``), or a step (``top_m``, ``foot_m``, ``high_side``).

    Points (n, 3) are levels of the survey: those that are not among the spots are added to them.
    """

    name: str
    points_m: LevelPoints | None = None
    top_m: LevelPoints | None = None
    foot_m: LevelPoints | None = None
    high_side: Literal["left", "right"] | None = None
