"""The way down unrolled into one plane: how far along each piece, joint and support lies."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from optimizer.plan import Candidate, Piece, SupportLeg
from optimizer.terrain.yard import Points

#: Pieces beside the way or under its end.
_OFF_THE_WAY: Final = ("bottom_pad", "steps")
_SAME_M: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Stretch:
    """One piece on the way: ``way_m`` (n, 3) from where it is stepped on to where it is left.

    ``begin_m`` and ``end_m``: distance along the way from the sill, in plan.
    """

    piece: Piece
    way_m: Points
    begin_m: float
    end_m: float


@dataclass(frozen=True, slots=True)
class Standing:
    """A support beside the way: the distance along it and on which hand, going down."""

    support: SupportLeg
    along_m: float
    hand: str


def unfold(candidate: Candidate) -> tuple[Stretch, ...]:
    """The pieces walked on, from the door down."""
    walked = [piece for piece in candidate.pieces if piece.kind not in _OFF_THE_WAY]
    stretches: list[Stretch] = []
    along_m = 0.0
    for number, piece in enumerate(walked):
        arrive = stretches[-1].way_m[-1] if stretches else _middle(piece, 0)
        leave = _middle(walked[number + 1], 0) if number + 1 < len(walked) else _middle(piece, 2)
        if piece.kind == "landing":
            way = _cross(arrive, leave, piece)
        else:
            way = np.array([_middle(piece, 0), _middle(piece, 2)])
        length = float(np.hypot(*np.diff(way[:, :2], axis=0).T).sum())
        stretches.append(Stretch(piece, way, along_m, along_m + length))
        along_m += length
    return tuple(stretches)


def stand_along(candidate: Candidate, stretches: tuple[Stretch, ...]) -> tuple[Standing, ...]:
    """Every support of a piece on the way, by distance; those of steps are left out."""
    by_piece = {one.piece.id: one for one in stretches}
    found = []
    for support in candidate.legs:
        stretch = by_piece.get(support.piece)
        if stretch is not None:
            found.append(_stand(support, stretch))
    return tuple(sorted(found, key=lambda one: (one.along_m, one.support.id)))


def _middle(piece: Piece, edge: int) -> Points:
    """Middle (3,) of the upper (0) or lower (2) edge."""
    return np.asarray(np.mean(np.array(piece.corners_m)[[edge, edge + 1]], axis=0))


def _cross(arrive: Points, leave: Points, piece: Piece) -> Points:
    """Square corners over a landing, between where it is reached and left."""
    start_left, _, _, end_left = np.array(piece.corners_m)
    ahead = (end_left - start_left) / np.linalg.norm(end_left - start_left)
    forward = float((leave - arrive) @ ahead)
    length = float(np.linalg.norm(end_left - start_left))
    if abs(forward) < _SAME_M:  # a half turn: out to the middle, across, and back
        out = ahead * (length / 2.0)
        corners = [arrive + out, leave + out]
    else:
        corners = [arrive + ahead * forward]
    points = [arrive]
    for corner in [*corners, leave]:
        level = np.array([corner[0], corner[1], arrive[2]])
        if np.hypot(*(level - points[-1])[:2]) > _SAME_M:
            points.append(level)
    return np.array(points)


def _stand(support: SupportLeg, stretch: Stretch) -> Standing:
    place = np.array([support.x_m, support.y_m])
    way = stretch.way_m[:, :2]
    best, along, hand = np.inf, stretch.begin_m, "left"
    walked = stretch.begin_m
    for here, there in pairwise(way):
        length = float(np.hypot(*(there - here)))
        ahead = (there - here) / length
        share = float(np.clip((place - here) @ ahead, 0.0, length))
        away = place - (here + share * ahead)
        if (apart := float(np.hypot(*away))) < best - 1e-9:
            best, along = apart, walked + share
            hand = "left" if ahead[0] * away[1] - ahead[1] * away[0] >= 0.0 else "right"
        walked += length
    return Standing(support, along, hand)
