"""Replay an order of building step by step and see, from geometry alone, what stands by itself.

Written without a look at ``optimizer/assembly``: it knows the corners of the pieces, the places of the legs
and the middle of the door, and one law of statics.  A body rests when the middle of its weight lies within
the outline of the points that carry it (Archimedes, On the Equilibrium of Planes).  A piece held along one
edge alone is therefore not at rest, however well it is bolted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPoint, Point, Polygon

from optimizer.plan import Candidate, Piece

#: Feet stand so far outside the deck's edge at most, and joints of frames are so wide.
_NEAR_M = 0.35
_TOUCH_M = 0.08
_LEVEL_M = 0.03

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Standing:
    """What is there after a step: ids of pieces and legs, and pieces with a prop under the lower end."""

    pieces: frozenset[str]
    legs: frozenset[str]
    props: frozenset[str]


def list_fallen(candidate: Candidate, door: XY, now: Standing) -> tuple[str, ...]:
    """Pieces that do not rest: grown from those that need nobody, until no other can be added."""
    there = [piece for piece in candidate.pieces if piece.id in now.pieces]
    resting: set[str] = set()
    grown = True
    while grown:
        grown = False
        for piece in there:
            if piece.id in resting:
                continue
            holders = [other for other in there if other.id in resting]
            if _rests(candidate, piece, holders, door, now):
                resting.add(piece.id)
                grown = True
    return tuple(piece.id for piece in there if piece.id not in resting)


def list_missing_feet(candidate: Candidate, added: str, now: Standing) -> tuple[str, ...]:
    """Legs that do not stand yet under pieces which take weight of the piece ``added``."""
    new = _piece(candidate, added)
    touched = [
        piece
        for piece in candidate.pieces
        if piece.id in now.pieces and piece.id != added and _touches(piece, new)
    ]
    return tuple(
        leg.id
        for leg in candidate.legs
        if leg.id not in now.legs and any(leg.piece == piece.id for piece in touched)
    )


def _rests(candidate: Candidate, piece: Piece, holders: list[Piece], door: XY, now: Standing) -> bool:
    carried = [*_points_of_legs(candidate, piece, now)]
    corners = np.array(piece.corners_m)
    if piece.kind == "bottom_pad":
        return True
    if piece.kind != "landing":
        for end in (corners[:2], corners[2:]):
            if any(_carries(other, end) for other in holders):
                carried += [(float(x), float(y)) for x, y, _ in end]
        if _is_at(corners[:2], door):
            carried += [(float(x), float(y)) for x, y, _ in corners[:2]]
        on_ground = piece.kind in ("transition_plate", "steps")
        if piece.id in now.props or on_ground:
            carried += [(float(x), float(y)) for x, y, _ in corners[2:]]
    if len(carried) < 3:
        return False
    outline = MultiPoint(carried).convex_hull
    middle = Point(corners[:, :2].mean(axis=0))
    return bool(outline.area > 1e-4 and outline.buffer(1e-6).contains(middle))


def _points_of_legs(candidate: Candidate, piece: Piece, now: Standing) -> list[XY]:
    """Feet that stand under the piece or close beside it, their heads at its frame."""
    outline = Polygon([(x, y) for x, y, _ in piece.corners_m])
    return [
        (leg.x_m, leg.y_m)
        for leg in candidate.legs
        if leg.id in now.legs
        and outline.distance(Point(leg.x_m, leg.y_m)) <= _NEAR_M
        and 0.0 < _deck_at(piece, leg.x_m, leg.y_m) - leg.frame_elevation_m < 0.4
        and (piece.kind != "landing" or leg.piece == piece.id)
    ]


def _carries(other: Piece, end: NDArray[np.float64]) -> bool:
    """Whether a standing piece reaches along the whole of this edge, at its level."""
    if other.kind not in ("landing", "section"):
        return False
    outline = LineString([(x, y) for x, y, _ in (*other.corners_m, other.corners_m[0])])
    near = all(outline.distance(Point(x, y)) <= _TOUCH_M for x, y, _ in end)
    return near and all(abs(_deck_at(other, x, y) - z) <= _LEVEL_M for x, y, z in end)


def _touches(one: Piece, other: Piece) -> bool:
    ends = np.array(other.corners_m)
    return _carries(one, ends[:2]) or _carries(one, ends[2:])


def _is_at(end: NDArray[np.float64], door: XY) -> bool:
    """Whether an edge lies at the door's sill or at the edge of the porch."""
    return LineString(end[:, :2].tolist()).distance(Point(door)) <= 0.25


def _deck_at(piece: Piece, x_m: float, y_m: float) -> float:
    """Level of the piece's surface: by its share of the way down, no lower and no higher than its ends."""
    corners = np.array(piece.corners_m)
    start, end = corners[:2].mean(axis=0), corners[2:].mean(axis=0)
    way = end[:2] - start[:2]
    share = float(np.clip((np.array([x_m, y_m]) - start[:2]) @ way / (way @ way), 0.0, 1.0))
    return float(start[2] + share * (end[2] - start[2]))


def _piece(candidate: Candidate, name: str) -> Piece:
    return next(piece for piece in candidate.pieces if piece.id == name)
