"""A placed piece as a frame of its own, and what is attached to its edges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.plan import Piece
from viewer.solids import UP, Vertices

Edge = Literal["left", "right", "start", "end"]
#: Two edges belong together when they lie this close, in plan and in height.
ATTACHED_M: Final = 0.15


@dataclass(frozen=True, slots=True)
class PieceFrame:
    """``corners`` (4, 3): start-left, start-right, end-right, end-left of the walking surface.

    ``ahead`` (3,) is the unit vector down the piece along its surface, ``right`` (3,) the
    level one to the right, looking down.
    """

    corners: Vertices
    ahead: Vertices
    right: Vertices
    length_m: float
    width_m: float

    def point(self, along_m: float, right_m: float, below_m: float) -> Vertices:
        """Point at a surface distance from the start edge, right of the left edge, below the surface."""
        return np.asarray(self.corners[0] + along_m * self.ahead + right_m * self.right - below_m * UP)

    def ring(self, along: tuple[float, float], right: tuple[float, float], below_m: float) -> Vertices:
        """Four corners of a strip of the surface, lowered by ``below_m``."""
        (a0, a1), (r0, r1) = along, right
        return np.array(
            [
                self.point(a0, r0, below_m),
                self.point(a0, r1, below_m),
                self.point(a1, r1, below_m),
                self.point(a1, r0, below_m),
            ]
        )

    @property
    def heading(self) -> NDArray[np.float64]:
        """Unit vector (2,) down the piece in plan."""
        plan = self.ahead[:2]
        return np.asarray(plan / np.linalg.norm(plan))


def build_piece_frame(piece: Piece) -> PieceFrame:
    """Frame of a piece from its four corners."""
    corners = np.array(piece.corners_m, dtype=np.float64)
    down, across = corners[3] - corners[0], corners[1] - corners[0]
    length, width = float(np.linalg.norm(down)), float(np.linalg.norm(across))
    return PieceFrame(corners, down / length, across / width, length, width)


def list_edge_ends(piece: Piece, edge: Edge) -> tuple[Vertices, Vertices]:
    """The two ends (3,) of an edge: left and right run down the piece, start and end left to right."""
    start_left, start_right, end_right, end_left = (np.array(corner) for corner in piece.corners_m)
    match edge:
        case "left":
            return start_left, end_left
        case "right":
            return start_right, end_right
        case "start":
            return start_left, start_right
        case "end":
            return end_left, end_right


def find_free_stretches(piece: Piece, edge: Edge, pieces: tuple[Piece, ...]) -> list[tuple[float, float]]:
    """Stretches of an edge, as distances from its first end, where no other piece is attached."""
    first, second = list_edge_ends(piece, edge)
    length = float(np.linalg.norm(second - first))
    along = (second - first) / length
    free = [(0.0, length)]
    others: tuple[Edge, ...] = ("start", "end")
    for other in pieces:
        if other.id == piece.id or other.kind == "bottom_pad":
            continue
        for other_edge in others:
            ends = np.array(list_edge_ends(other, other_edge))
            at = (ends - first) @ along
            off = np.linalg.norm(ends - first - at[:, None] * along, axis=1)
            if off.max() < ATTACHED_M:
                free = _subtract(free, float(at.min()), float(at.max()))
    return free


def _subtract(stretches: list[tuple[float, float]], low: float, high: float) -> list[tuple[float, float]]:
    left: list[tuple[float, float]] = []
    for start, end in stretches:
        left += [(a, b) for a, b in ((start, min(end, low)), (max(start, high), end)) if b - a > 0.02]
    return left
