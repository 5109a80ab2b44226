"""What is there beside the ground: house, door, lot, obstacles, zones.

Site frame: metres, z up, origin near the door (see ``Site.origin_shift_m``).
Polygons are ``(n, 2)`` float64 read-only arrays, counter-clockwise, not closed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.terrain.zone_kinds import ZoneKind, list_kinds_blocking

__all__ = [
    "DIG_BLOCKING",
    "FOOT_BLOCKING",
    "OVERHEAD",
    "PIECE_BLOCKING",
    "Obstacle",
    "Points",
    "SetbackKind",
    "Start",
    "Yard",
    "Zone",
    "ZoneKind",
]

Points = NDArray[np.float64]

SetbackKind = Literal["hard", "needs_relief"]

#: Zones no piece may stand in or pass over.
PIECE_BLOCKING: Final = list_kinds_blocking("pieces")
#: Zones no foot may touch (pieces may pass over).
FOOT_BLOCKING: Final = list_kinds_blocking("feet")
#: Zones with something overhead: ``underside_m`` and ``headroom_m`` bind, measured from the deck.
OVERHEAD: Final = list_kinds_blocking("overhead")
#: Zones where no bottom pad may be dug.
DIG_BLOCKING: Final = list_kinds_blocking("digging")


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
    """An area with a rule.

    ``underside_m`` (elevation of what hangs there) and ``headroom_m`` (free height asked above
    the deck) are given for overhead kinds only.  ``reason`` says why the zone is there,
    ``source`` what its size rests on, ``waived_by`` who may allow what it forbids.
    """

    name: str
    kind: ZoneKind
    outline_m: Points
    reason: str
    underside_m: float | None
    headroom_m: float | None
    source: str
    waived_by: str


@dataclass(frozen=True, slots=True)
class Yard:
    """The built surroundings of one job.

    ``setback_m`` is the width of the strip inside the lot line to be kept free:
    ``hard`` (no piece may stand in it) or ``needs_relief`` (pieces may, once the authority has
    granted relief, which costs ``relief_cents`` however many pieces use the strip).
    """

    starts: tuple[Start, ...]
    house_m: tuple[Points, ...]
    lot_m: Points
    setback_m: float
    setback_kind: SetbackKind
    relief_cents: int
    obstacles: tuple[Obstacle, ...]
    zones: tuple[Zone, ...]
    arrivals_m: tuple[Points, ...]
    destination_m: Points | None
