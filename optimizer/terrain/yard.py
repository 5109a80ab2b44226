"""What is there beside the ground: house, door, lot, obstacles, zones.

Site frame: metres, z up, origin near the door (see ``Site.origin_shift_m``).
Polygons are ``(n, 2)`` float64 read-only arrays, counter-clockwise, not closed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

ZoneKind = Literal[
    "no_build",
    "no_foot",
    "no_cover",
    "headroom",
    "wire",
    "vehicle",
    "escape_window",
    "drip_line",
    "right_of_way",
    "keep_walkable",
]
#: Zones no piece may stand in or pass over.
PIECE_BLOCKING: frozenset[ZoneKind] = frozenset(
    {"no_build", "no_cover", "vehicle", "escape_window", "right_of_way", "keep_walkable"}
)
#: Zones no foot may touch (pieces may pass over).
FOOT_BLOCKING: frozenset[ZoneKind] = frozenset({"no_foot"})
#: Zones with something overhead: ``underside_m`` and ``headroom_m`` bind, measured from the deck.
OVERHEAD: frozenset[ZoneKind] = frozenset({"headroom", "wire"})
#: Zones where no bottom pad may be dug.
DIG_BLOCKING: frozenset[ZoneKind] = frozenset({"drip_line", "no_foot"})


@dataclass(frozen=True, slots=True)
class Start:
    """Where the ramp begins.

    ``kind``: ``landing`` (a new landing at the door), ``over_steps`` (the same, standing
    over existing steps, which are an obstacle with a top), or ``edge`` (a run hung on an
    existing porch or deck edge).

    ``midpoint_m`` (2,) is the middle of the sill (or of the edge) on the *furthest
    projection* of wall or sill, ``outward`` (2,) the unit vector away from the house.
    ``threshold_m`` is the elevation of the sill (or deck edge), ``drop_m`` how far the
    landing's surface lies below it, ``clear_width_m`` the door's clear opening (or the
    length of the edge), ``gap_m`` what the threshold plate bridges.
    """

    name: str
    kind: Literal["landing", "over_steps", "edge"]
    midpoint_m: Points
    outward: Points
    threshold_m: float
    drop_m: float
    clear_width_m: float
    gap_m: float
    swing: Literal["in", "out"]
    hinge_side: Literal["left", "right"]


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Something standing in the yard.

    ``top_m``: elevation of its top, or ``None`` when it may not be passed over.
    ``may_stand``: feet may stand on its top (the whole foot, with edge distance).
    """

    name: str
    outline_m: Points
    top_m: float | None
    may_stand: bool


@dataclass(frozen=True, slots=True)
class Zone:
    """An area with a rule.  ``underside_m`` and ``headroom_m`` are given for overhead kinds only."""

    name: str
    kind: ZoneKind
    outline_m: Points
    reason: str
    underside_m: float | None
    headroom_m: float | None


@dataclass(frozen=True, slots=True)
class Yard:
    """The built surroundings of one job."""

    starts: tuple[Start, ...]
    house_m: tuple[Points, ...]
    lot_m: Points
    setback_m: float
    obstacles: tuple[Obstacle, ...]
    zones: tuple[Zone, ...]
    arrivals_m: tuple[Points, ...]
    destination_m: Points | None
