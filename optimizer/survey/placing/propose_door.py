"""Propose where the house wall and the door are, with the evidence; nothing is taken until confirmed.

The height of the threshold is not among it.  A phone's heights drift by centimetres, and half an inch at the
sill decides whether a landing is allowed: it is levelled or taped.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.placing.find_walls import Wall, find_walls
from optimizer.survey.placing.wall_openings import (
    SHORTEST_OPENING_M,
    Opening,
    find_openings,
)

#: Points so far from a stated wall are looked at for it.
_NEAR_STATED_M: Final = 0.6
_WORST_ANGLE_DEG: Final = 10.0
#: How many times as many points on one side make it the outside without doubt (our choice).
_CLEAR_SIDES: Final = 4.0
#: The strip beside a wall in which the points of each side are counted.
_BESIDE_M: Final = (0.3, 3.0)
#: More of a gap hidden than this, and the gap may only be a shadow.
_MOST_HIDDEN: Final = 0.5
_SEED: Final = 20_260_401

THRESHOLD_NOTE: Final = (
    "The threshold's height is not taken from the scan: level it, or tape it from a levelled mark."
)
WIDTH_NOTE: Final = "The width is that of the opening in the wall: tape the clear width of the door itself."


@dataclass(frozen=True, slots=True)
class StatedWall:
    """A wall of the house as drawn, from one end to the other in plan, metres."""

    start_m: tuple[float, float]
    end_m: tuple[float, float]


@dataclass(frozen=True, slots=True)
class DoorProposal:
    """An opening for a person to confirm.  It has no height: see ``to_measure``.

    ``centre_m``: in plan, on the face of the wall, survey's frame.  ``width_m``: of the opening.
    ``outward_deg``: direction out of the house, counter-clockwise from x.  ``is_outward_certain``: one
    side has far more points; ``is_clear``: nothing that hides the wall stands before the gap, and
    there is wall above it.
    """

    wall: Wall
    centre_m: tuple[float, float]
    width_m: float
    outward_deg: float
    is_outward_certain: bool
    is_clear: bool
    evidence: tuple[str, ...]
    to_measure: tuple[str, ...] = (THRESHOLD_NOTE, WIDTH_NOTE)


def propose_doors(
    points_m: NDArray[np.float64], stated: StatedWall | None = None, seed: int = _SEED
) -> tuple[DoorProposal, ...]:
    """Openings of door size, clear ones first, then by the size of their wall; empty without any.

    ``points_m`` (n, 3): placed, survey's frame.  ``stated``: the house wall to look in; without it every
    large upright plane is tried, fences among them.  Raises ``InputError`` when there is no
    wall where one is stated, or no upright plane at all.
    """
    walls = _find(points_m, stated, seed)
    doors: list[DoorProposal] = []
    for wall in walls:
        near = points_m[np.abs((points_m[:, :2] - wall.start_m) @ wall.across) <= _BESIDE_M[1]]
        outside = _find_outside(near, wall)
        told = (*_tell_wall(wall, stated), outside.told)
        openings = find_openings(near, wall, outside.direction)
        doors.extend(_propose(wall, opening, outside, told) for opening in openings)
    return tuple(sorted(doors, key=lambda door: not door.is_clear))


def _find(points_m: NDArray[np.float64], stated: StatedWall | None, seed: int) -> tuple[Wall, ...]:
    if stated is None:
        walls = find_walls(points_m, seed)
        if not walls:
            what = "there is no upright plane 1.5 m long and 1.2 m high."
            remedy = "State the door by hand, or scan the wall again from 2 m, all of it."
            raise InputError(Fault("scan", what, remedy))
        return walls
    start, end = np.array(stated.start_m, dtype=np.float64), np.array(stated.end_m, dtype=np.float64)
    length = float(np.hypot(*(end - start)))
    if not (np.isfinite(length) and length >= 1.0):
        what = f"the stated wall is {length:g} m long."
        raise InputError(Fault("wall", what, "Give two ends at least 1 m apart."))
    along = (end - start) / length
    away = points_m[:, :2] - start
    where, off = away @ along, away @ np.array([-along[1], along[0]])
    near = (np.abs(off) <= _NEAR_STATED_M) & (where >= -_NEAR_STATED_M) & (where <= length + _NEAR_STATED_M)
    cosine = math.cos(math.radians(_WORST_ANGLE_DEG))
    walls = tuple(
        wall for wall in find_walls(points_m[near], seed) if abs(float(wall.along @ along)) >= cosine
    )[:1]
    if not walls:
        what = (
            f"within {_NEAR_STATED_M:g} m of the stated wall, ({start[0]:g}, {start[1]:g}) to "
            f"({end[0]:g}, {end[1]:g}), the scan has no upright plane along it."
        )
        remedy = "Check the stated wall and the placing, or state the door by hand."
        raise InputError(Fault("wall", what, remedy))
    return walls


@dataclass(frozen=True, slots=True)
class _Outside:
    """Which way is out of the house, (2,) of length 1, and by what evidence."""

    direction: NDArray[np.float64]
    is_certain: bool
    told: str


def _find_outside(near: NDArray[np.float64], wall: Wall) -> _Outside:
    """The side that was walked on: a phone in the yard sees little behind a wall."""
    away = near[:, :2] - wall.start_m
    where, off = away @ wall.along, away @ wall.across
    beside = (where >= 0.0) & (where <= wall.length_m) & (np.abs(off) >= _BESIDE_M[0])
    left, right = int((off[beside] > 0.0).sum()), int((off[beside] < 0.0).sum())
    more, less = max(left, right), min(left, right)
    told = f"Up to {_BESIDE_M[1]:g} m from the wall {more:,} points lie outside, {less:,} on the other side."
    direction = wall.across if left >= right else -wall.across
    return _Outside(direction, more >= _CLEAR_SIDES * max(1, less), told)


def _tell_wall(wall: Wall, stated: StatedWall | None) -> tuple[str, ...]:
    told = (
        f"The wall is {wall.length_m:.2f} m long, seen {wall.top_m - wall.bottom_m:.1f} m high; "
        f"its points scatter by {1000.0 * wall.noise_m:.0f} mm, its plane leans {wall.lean_deg:.2f} degrees."
    )
    if stated is None:
        return (told, "No wall was stated: a fence may look the same.")
    start = np.array(stated.start_m)
    away = np.array(stated.end_m) - start
    x, y = away / np.hypot(*away)
    turn = math.degrees(math.asin(min(1.0, abs(float(wall.along @ np.array([-y, x]))))))
    middle = 0.5 * (wall.start_m + wall.end_m) - start
    off = abs(float(middle @ np.array([-y, x])))
    return (told, f"It lies {1000.0 * off:.0f} mm off the stated wall, turned by {turn:.2f} degrees.")


def _propose(wall: Wall, opening: Opening, outside: _Outside, told: tuple[str, ...]) -> DoorProposal:
    x, y = wall.start_m + 0.5 * (opening.left_m + opening.right_m) * wall.along
    lintel = (
        "the scan does not reach above it" if opening.lintel is None else f"{opening.lintel:.0%} above it"
    )
    evidence = (
        *told,
        f"The gap is {opening.width_m:.2f} m wide over at least {SHORTEST_OPENING_M:g} m of height; wall was "
        f"seen on {opening.jambs:.0%} of the strips beside it, {lintel}.",
        f"Behind {opening.behind:.0%} of it something stands back, as a leaf does; something hides "
        f"{opening.before:.0%} of it.",
    )
    return DoorProposal(
        wall=wall,
        centre_m=(float(x), float(y)),
        width_m=opening.width_m,
        outward_deg=math.degrees(math.atan2(outside.direction[1], outside.direction[0])) % 360.0,
        is_outward_certain=outside.is_certain,
        is_clear=opening.before <= _MOST_HIDDEN and opening.lintel is not None,
        evidence=evidence,
    )
