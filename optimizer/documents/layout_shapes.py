"""What is drawn of the ramp and round it, as polygons and lines on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from optimizer.documents.job import DocumentJob
from optimizer.documents.labels import XY
from optimizer.documents.layout_labels import PlacedPiece
from optimizer.documents.layout_view import Window, see_corners
from optimizer.visit.shots import to_door

ShapeKind = Literal["house", "deck", "neighbour", "pad", "steps", "obstacle", "door", "way", "arrow"]


@dataclass(frozen=True, slots=True)
class Shape:
    """A polygon or a line (``door``, ``way``) in millimetres on the drawing."""

    kind: ShapeKind
    points_mm: tuple[XY, ...]


def draw_surroundings(job: DocumentJob, window: Window) -> list[Shape]:
    """House, obstacles, door."""
    shapes = [
        Shape("house", tuple(window.to_mm(to_door(job.start, x, y)) for x, y in ring.tolist()))
        for ring in job.site.yard.house_m
    ]
    shapes += [
        Shape("obstacle", tuple(window.to_mm(to_door(job.start, x, y)) for x, y in one.outline_m.tolist()))
        for one in job.site.yard.obstacles
    ]
    half_m = 0.5 * job.start.clear_width_m
    return [*shapes, Shape("door", (window.to_mm((-half_m, 0.0)), window.to_mm((half_m, 0.0))))]


def draw_pieces(job: DocumentJob, window: Window, shown: set[str]) -> list[Shape]:
    """Pad and steps below, then decks; those of another part as neighbours."""
    shapes: list[Shape] = []
    order = {"bottom_pad": 0, "steps": 1}
    for piece in sorted(job.candidate.pieces, key=lambda one: order.get(one.kind, 2)):
        kind: ShapeKind = "deck" if piece.id in shown or piece.kind == "threshold_plate" else "neighbour"
        kind = "pad" if piece.kind == "bottom_pad" else "steps" if piece.kind == "steps" else kind
        shapes.append(Shape(kind, tuple(window.to_mm(corner) for corner in see_corners(job, piece))))
    return shapes


def draw_way(placed: PlacedPiece) -> list[Shape]:
    """The way down over a section, with its arrow head near the upper end."""
    if placed.piece.kind != "section":
        return []
    start, end = placed.start_mm, placed.end_mm
    ahead = placed.heading
    right = (-ahead[1], ahead[0])
    tip = (start[0] + 5.5 * ahead[0], start[1] + 5.5 * ahead[1])
    back = (tip[0] - 3.0 * ahead[0], tip[1] - 3.0 * ahead[1])
    head = (
        tip,
        (back[0] + 1.3 * right[0], back[1] + 1.3 * right[1]),
        (back[0] - 1.3 * right[0], back[1] - 1.3 * right[1]),
    )
    return [Shape("way", (start, end)), Shape("arrow", head)]
