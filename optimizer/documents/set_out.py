"""Where the ramp comes to lie: drops below the door landing from the top down, marks on the ground."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from optimizer.assembly.bearings import list_legs_under, list_walked
from optimizer.plan import Candidate, Piece, SupportLeg
from optimizer.terrain.yard import Start
from optimizer.visit.shots import to_door


@dataclass(frozen=True, slots=True)
class SetOutRow:
    """A line across the deck: how far it lies below the top, and the legs under it, left to right.

    ``drop_m``: level of the top of the ramp less the deck's level there, so staff reading = reading at
    the top + drop.
    """

    piece: str
    where: str
    drop_m: float
    legs: tuple[SupportLeg, ...]


@dataclass(frozen=True, slots=True)
class GroundMark:
    """A corner to mark on the ground, in the door's frame; ``check_m`` from the middle of the door, level.

    Along, out and check are the three sides of a right-angled triangle: a wrong angle shows in the third.
    """

    name: str
    along_m: float
    out_m: float
    check_m: float


def find_top_level(candidate: Candidate) -> float:
    """Level of the door landing's surface; without one, of the upper edge of the first section."""
    first = list_walked(candidate)[0]
    return 0.5 * (first.corners_m[0][2] + first.corners_m[1][2])


def name_top(candidate: Candidate) -> str:
    """What drops are counted from, as the sheet calls it."""
    first = list_walked(candidate)[0]
    return f"door landing {first.id}" if first.kind == "landing" else f"upper edge of {first.id} at the door"


def list_set_out_rows(candidate: Candidate) -> tuple[SetOutRow, ...]:
    """Corners of landings, joints, middle supports, hinge and tip, from the door down."""
    top_m = find_top_level(candidate)
    walked = list_walked(candidate)
    rows: list[SetOutRow] = []
    for i, piece in enumerate(walked):
        below = walked[i + 1] if i + 1 < len(walked) else None
        if piece.kind == "landing":
            for end, level in (("start", 0), ("end", 2)):
                legs = list_legs_under(candidate, piece.id, f"{end}-")
                rows.append(
                    SetOutRow(piece.id, f"{piece.id} {end}", top_m - piece.corners_m[level][2], _sort(legs))
                )
        elif piece.kind == "section":
            rows += _list_of_section(candidate, piece, below, top_m)
        else:
            tip_m = 0.5 * (piece.corners_m[2][2] + piece.corners_m[3][2])
            rows.append(SetOutRow(piece.id, f"{piece.id} tip, on the ground", top_m - tip_m, ()))
    return tuple(rows)


def list_ground_marks(candidate: Candidate, start: Start) -> tuple[GroundMark, ...]:
    """Corners of turn landings and the two ends of the tip; the rest sets itself out from the landing."""
    marks: list[GroundMark] = []
    names = ("start left", "start right", "end right", "end left")
    for piece in list_walked(candidate):
        if piece.kind == "landing" and piece.use != "door":
            marks += [
                _mark(start, f"{piece.id} {name}", corner)
                for name, corner in zip(names, piece.corners_m, strict=True)
            ]
        elif piece.kind == "transition_plate":
            marks += [
                _mark(start, f"{piece.id} tip {side}", piece.corners_m[corner])
                for side, corner in (("left", 3), ("right", 2))
            ]
    return tuple(marks)


def measure_check_length(along_m: float, out_m: float) -> float:
    """Third side of the triangle: 3 and 4 ask for 5.

    Setting out a right angle with a tape by 3, 4 and 5 and its multiples: FAO, Irrigation Manual 2.
    """
    return math.hypot(along_m, out_m)


def measure_surface_length(level_m: float, drop_m: float) -> float:
    """What a tape along the deck shows over ``level_m`` in plan."""
    return math.hypot(level_m, drop_m)


def measure_level_length(taped_m: float, drop_m: float) -> float:
    """What a tape held along a slope covers in plan; exact, not the first term h * h / 2 L."""
    return math.sqrt(taped_m * taped_m - drop_m * drop_m)


def _list_of_section(
    candidate: Candidate, piece: Piece, below: Piece | None, top_m: float
) -> list[SetOutRow]:
    rows: list[SetOutRow] = []
    middle = list_legs_under(candidate, piece.id, "mid")
    for station in sorted({leg.station.rpartition("-")[0] for leg in middle}):
        legs = _sort(list_legs_under(candidate, piece.id, f"{station}-"))
        drop_m = top_m - _find_deck_level(piece, legs[0])
        rows.append(SetOutRow(piece.id, f"{piece.id} middle", drop_m, legs))
    end_m = top_m - 0.5 * (piece.corners_m[2][2] + piece.corners_m[3][2])
    own = list_legs_under(candidate, piece.id, "joint") or list_legs_under(candidate, piece.id, "hinge")
    if below is None:
        where = f"{piece.id} lower end"
    elif own:
        where = f"{piece.id} to {below.id}"
    else:
        where = f"{piece.id} on {below.id}"
    rows.append(SetOutRow(piece.id, where, end_m, _sort(own)))
    return rows


def _find_deck_level(piece: Piece, leg: SupportLeg) -> float:
    corners = np.array(piece.corners_m)
    start, end = corners[:2].mean(axis=0), corners[2:].mean(axis=0)
    way = end[:2] - start[:2]
    share = float((np.array([leg.x_m, leg.y_m]) - start[:2]) @ way / (way @ way))
    return float(start[2] + share * (end[2] - start[2]))


def _sort(legs: tuple[SupportLeg, ...]) -> tuple[SupportLeg, ...]:
    """Left, middle, right, walking down."""
    sides = ("left", "middle", "right")
    return tuple(sorted(legs, key=lambda leg: sides.index(leg.station.rpartition("-")[2])))


def _mark(start: Start, name: str, corner: tuple[float, float, float]) -> GroundMark:
    along_m, out_m = to_door(start, corner[0], corner[1])
    return GroundMark(name, along_m, out_m, measure_check_length(along_m, out_m))
