"""The ramp from above as the crew reads it: pieces, legs and drops by number, nothing over anything else.

The house lies at the foot of the drawing or at its left, and what is on the right looking out is on the right
of the page, or below.  The largest scale is taken at which every label has its own place; what does not fit
on one page so is drawn in parts, from the door down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from optimizer.assembly.build_order import BuildStep
from optimizer.documents.first_shots import FirstShot
from optimizer.documents.job import DocumentJob
from optimizer.documents.labels import XY, Label, build_label, is_any_overlap, is_inside, overlap
from optimizer.documents.layout_labels import (
    Beside,
    Look,
    PlacedPiece,
    label_drop,
    label_legs,
    list_names,
)
from optimizer.documents.layout_shapes import Shape, draw_pieces, draw_surroundings, draw_way
from optimizer.documents.layout_view import LayoutView, SeenPiece, Side, Window, build_window, view_layout
from optimizer.errors import Fault, InputError
from optimizer.visit.shots import to_door

#: Metres on the ground to one on paper; the last is the smallest at which runs hold three lines of text.
_SCALES_METRIC: Final = (20, 25, 30, 40, 50, 60, 75)
_SCALES_FEET: Final = (24, 32, 48, 64, 72)
_SIDES: Final[tuple[Side, ...]] = ("house below", "house left")
_LOOKS: Final[tuple[Look, ...]] = ("settings", "numbers")
_BESIDES: Final[tuple[Beside, ...]] = ("side", "over")


@dataclass(frozen=True, slots=True)
class LayoutDrawing:
    """One part of ``parts`` of the plan at 1 to ``scale``; ``dots_mm`` are the feet."""

    width_mm: float
    height_mm: float
    scale: int
    part: int
    parts: int
    shapes: tuple[Shape, ...]
    dots_mm: tuple[XY, ...]
    labels: tuple[Label, ...]
    look: Look


@dataclass(frozen=True, slots=True)
class Room:
    """The largest drawing that there is room for, in millimetres."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class _Fitted:
    """Some pieces in a row that fit: their window and their labels."""

    pieces: tuple[SeenPiece, ...]
    window: Window
    labels: tuple[Label, ...]
    look: Look


def draw_layout(
    job: DocumentJob, steps: tuple[BuildStep, ...], shots: tuple[FirstShot, ...], first: Room, more: Room
) -> tuple[LayoutDrawing, ...]:
    """The whole ramp in one drawing within ``first``, else in parts: the others within ``more``.

    Raises ``InputError`` when not even a single piece finds room with its numbers.
    """
    view = view_layout(job, steps)
    parts = _split(job, view, (first, more), len(view.pieces))
    # As few parts as can be, and then none much longer than the others.
    even_most = -(-len(view.pieces) // len(parts))
    even = _split(job, view, (first, more), even_most + 1) if len(parts) > 1 else parts
    if len(even) == len(parts):
        parts = even
    return tuple(
        replace(_draw(job, shots, one), part=i, parts=len(parts)) for i, one in enumerate(parts, start=1)
    )


def _split(job: DocumentJob, view: LayoutView, rooms: tuple[Room, Room], most: int) -> list[_Fitted]:
    """Parts from the door down, each with as many pieces as its page holds, at most so many."""
    parts: list[_Fitted] = []
    left = view.pieces
    while left:
        # The parts look alike: none is drawn larger than the one before, if that can be.
        largest = parts[-1].window.scale if parts else 0
        part = _take_most(job, view, left[:most], rooms[0] if not parts else rooms[1], largest)
        parts.append(part)
        left = left[len(part.pieces) :]
    return parts


def _take_most(
    job: DocumentJob, view: LayoutView, left: tuple[SeenPiece, ...], room: Room, largest: int
) -> _Fitted:
    """As many of the pieces left as one page holds, with their settings where that costs no page."""
    for scale in sorted({largest, 0}, reverse=True):
        for count in range(len(left), 0, -1):
            for look in _LOOKS:
                found = _fit(job, view, left[:count], room, look, scale)
                if found is not None:
                    return found
    what = "its numbers do not fit on a page beside each other."
    raise InputError(Fault(left[0].piece.id, what, "Choose other paper, or leave out the field sheet."))


def _fit(
    job: DocumentJob,
    view: LayoutView,
    pieces: tuple[SeenPiece, ...],
    room: Room,
    look: Look,
    largest: int,
) -> _Fitted | None:
    scales = _SCALES_FEET if job.lengths.place == "ft-in" else _SCALES_METRIC
    for scale, side in product(scales, _SIDES):
        if scale < largest:
            continue
        window = build_window(view, pieces, scale, side)
        width, height = window.size_mm
        if width > room.width_mm or height > room.height_mm:
            continue
        for beside in _BESIDES:
            labels = _label_pieces(job, pieces, window, look, beside)
            if all(is_inside(one, width, height) for one in labels) and not is_any_overlap(labels):
                return _Fitted(pieces, window, tuple(labels), look)
    return None


def _label_pieces(
    job: DocumentJob, pieces: Sequence[SeenPiece], window: Window, look: Look, beside: Beside
) -> list[Label]:
    """Drops and legs where they belong, then the name of each piece where there is room."""
    labels: list[Label] = []
    placed = [_place(one, window) for one in pieces]
    for seen, one in zip(pieces, placed, strict=True):
        feet = tuple((name, window.to_mm(at)) for name, at in seen.feet)
        labels += label_drop(job, one)
        labels += label_legs(job, one, feet, look, beside)
    for seen, one in zip(pieces, placed, strict=True):
        names = list_names(one, seen.step)
        free = (name for name in names if not any(overlap(name, other) for other in labels))
        labels.append(next(free, names[0]))
    return labels


def _draw(job: DocumentJob, shots: tuple[FirstShot, ...], fitted: _Fitted) -> LayoutDrawing:
    window = fitted.window
    shown = {one.piece.id for one in fitted.pieces}
    ways = [shape for one in fitted.pieces for shape in draw_way(_place(one, window))]
    width, height = window.size_mm
    return LayoutDrawing(
        width,
        height,
        window.scale,
        1,
        1,
        (*draw_surroundings(job, window), *draw_pieces(job, window, shown), *ways),
        tuple(window.to_mm(at) for one in fitted.pieces for _, at in one.feet),
        (*fitted.labels, *_label_marks(job, shots, window, fitted.labels)),
        fitted.look,
    )


def _label_marks(
    job: DocumentJob, shots: tuple[FirstShot, ...], window: Window, taken: tuple[Label, ...]
) -> list[Label]:
    """A letter on each obstacle of the first box, at the first of its places that is free."""
    marks: list[Label] = []
    width, height = window.size_mm
    outlines = {one.name: one.outline_m.tolist() for one in job.site.yard.obstacles}
    for shot in shots:
        if not shot.mark:
            continue
        places = [
            (shot.along_m, shot.out_m),
            *(to_door(job.start, x, y) for x, y in outlines[shot.thing]),
        ]
        for place in places:
            label = build_label("mark", (shot.mark,), window.to_mm(place))
            if is_inside(label, width, height) and not any(
                overlap(label, other) for other in (*taken, *marks)
            ):
                marks.append(label)
                break
    return marks


def _place(seen: SeenPiece, window: Window) -> PlacedPiece:
    return PlacedPiece(seen.piece, tuple(window.to_mm(corner) for corner in seen.corners))
