"""The ramp in the door's frame, and the window that lays it on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from optimizer.assembly.bearings import list_walked
from optimizer.assembly.build_order import BuildStep
from optimizer.documents.job import DocumentJob
from optimizer.documents.labels import XY
from optimizer.plan import Piece
from optimizer.visit.shots import to_door

Side = Literal["house below", "house left"]

_MARGIN_M: Final = 0.35
#: What is shown of the house.
_HOUSE_M: Final = 0.45


@dataclass(frozen=True, slots=True)
class SeenPiece:
    """A walked piece in the door's frame, metres: its corners, its legs by id with their feet, its step."""

    piece: Piece
    corners: tuple[XY, ...]
    feet: tuple[tuple[str, XY], ...]
    step: int


@dataclass(frozen=True, slots=True)
class LayoutView:
    """All walked pieces from the door down, and what must be in sight at the door and beyond the tip."""

    pieces: tuple[SeenPiece, ...]
    at_door: tuple[XY, ...]
    at_tip: tuple[XY, ...]


@dataclass(frozen=True, slots=True)
class Window:
    """From the door's frame (u right looking out, v out) to millimetres on paper, never mirrored."""

    low: XY
    high: XY
    scale: int
    side: Side

    def to_mm(self, point: XY) -> XY:
        """From the upper left corner of the drawing, rightwards and downwards."""
        per_m = 1000.0 / self.scale
        right, away = (point[0] - self.low[0]) * per_m, (point[1] - self.low[1]) * per_m
        if self.side == "house left":
            return (away, right)
        return (right, (self.high[1] - self.low[1]) * per_m - away)

    @property
    def size_mm(self) -> XY:
        """Width and height on paper."""
        per_m = 1000.0 / self.scale
        u, v = (self.high[0] - self.low[0]) * per_m, (self.high[1] - self.low[1]) * per_m
        return (v, u) if self.side == "house left" else (u, v)


def view_layout(job: DocumentJob, steps: tuple[BuildStep, ...]) -> LayoutView:
    """The candidate of a job with the step in which each piece is set."""
    start = job.start
    seen = tuple(
        SeenPiece(
            piece,
            see_corners(job, piece),
            tuple(
                (leg.id, to_door(start, leg.x_m, leg.y_m))
                for leg in job.candidate.legs
                if leg.piece == piece.id
            ),
            next(step.number for step in steps if step.piece == piece.id),
        )
        for piece in list_walked(job.candidate)
    )
    half_m = 0.5 * start.clear_width_m
    flights = [piece for piece in job.candidate.pieces if piece.kind == "steps"]
    at_door = ((-half_m, -_HOUSE_M), (half_m, -_HOUSE_M))
    return LayoutView(
        seen,
        (*at_door, *(corner for flight in flights for corner in see_corners(job, flight))),
        tuple(to_door(start, x, y) for x, y, _ in job.candidate.toe.bottom_space_m),
    )


def see_corners(job: DocumentJob, piece: Piece) -> tuple[XY, ...]:
    """Corners of a piece in the door's frame."""
    return tuple(to_door(job.start, x, y) for x, y, _ in piece.corners_m)


def build_window(view: LayoutView, pieces: Sequence[SeenPiece], scale: int, side: Side) -> Window:
    """A window that holds some pieces in a row, the door with the first and the tip with the last."""
    corners = [corner for one in pieces for corner in one.corners]
    if pieces[0] is view.pieces[0]:
        corners += view.at_door
    if pieces[-1] is view.pieces[-1]:
        corners += view.at_tip
    low = (min(u for u, _ in corners) - _MARGIN_M, min(v for _, v in corners) - _MARGIN_M)
    high = (max(u for u, _ in corners) + _MARGIN_M, max(v for _, v in corners) + _MARGIN_M)
    return Window(low, high, scale, side)
