"""The layout plan: pieces and legs by number, clear widths, landings, turning spaces, dimensions."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
import shapely

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing, Section
from optimizer.drawings.cut_strokes import cut_to
from optimizer.drawings.draw_ramp import (
    TurningSpace,
    draw_circle,
    draw_legs,
    draw_pieces,
    draw_rails,
    join_outlines,
    list_turning_spaces,
    outline,
)
from optimizer.drawings.draw_yard import draw_yard
from optimizer.drawings.figure import Dimension, Figure, Note, free_note
from optimizer.drawings.levels import show_slope
from optimizer.plan import Candidate, Piece
from optimizer.schedule_tables import show_length
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.yard import Points, Start

TITLE: Final = "Layout plan"
_WORDS_MM: Final = 2.5
_MIDDLE_MM: Final = 2.0
_SMALL_MM: Final = 1.8
_RUN_LINE_MM: Final = 9.0
_PIECE_LINE_MM: Final = 4.5
#: Pieces of a run; how far down a section its clear width is shown; what must be free for dimensions.
_WALKED: Final = ("section", "transition_plate")
_WIDTH_AT: Final = 0.72
_SIDE_M: Final = 0.4
#: What stands so near the ramp is shown.
_AROUND_M: Final = 1.2


def draw_layout_plan(site: Site, start: Start, candidate: Candidate, frame: DoorFrame) -> Figure:
    """The ramp and what is close to it, in the frame of the door."""
    turning = list_turning_spaces(candidate, site.catalogue, frame)
    strokes = [
        *cut_to(draw_yard(site, start, frame), _reach(candidate, frame)),
        *draw_pieces(candidate, frame),
        *draw_rails(candidate, frame),
        *(draw_circle("turning-space", one.centre_m, one.diameter_m) for one in turning),
    ]
    notes = [_name_piece(site, one, frame, turning) for one in candidate.pieces]
    middle = np.array(join_outlines(candidate, frame).centroid.coords[0])
    for leg, symbol in zip(candidate.legs, draw_legs(candidate, frame), strict=True):
        notes.append(free_note("text-layout", leg.id, symbol.at_m, _SMALL_MM, symbol.at_m - middle))
    dimensions = (*_measure_runs(site, candidate, frame), *_measure_landings(site, candidate, frame))
    return Figure(TITLE, tuple(strokes), draw_legs(candidate, frame), tuple(notes), dimensions)


def _reach(candidate: Candidate, frame: DoorFrame) -> shapely.Geometry:
    space = shapely.Polygon(frame.to_door(np.array(candidate.toe.bottom_space_m)[:, :2]))
    return shapely.box(*shapely.union(join_outlines(candidate, frame), space).buffer(_AROUND_M).bounds)


def _name_piece(site: Site, piece: Piece, frame: DoorFrame, turning: tuple[TurningSpace, ...]) -> Note:
    """Its number, of a slope how steep it is, of a landing what is clear on it."""
    corners = outline(piece, frame)
    lines = [piece.id]
    if piece.kind in ("section", "transition_plate"):
        lines = [piece.id, show_slope(piece.slope)]
    part = site.catalogue.part(piece.catalogue_id)
    if isinstance(part, Landing):
        lines += [
            f"clear {show_length(site, part.clear_length_m)}",
            f"x {show_length(site, part.clear_width_m)}",
        ]
    lines += [f"circle {show_length(site, one.diameter_m)}" for one in turning if one.piece is piece]
    return free_note(
        "text-layout", "\n".join(lines), corners.mean(axis=0), _WORDS_MM if len(lines) <= 2 else _MIDDLE_MM
    )


def _measure_runs(site: Site, candidate: Candidate, frame: DoorFrame) -> list[Dimension]:
    """Each run's whole plan length, each of its pieces, and the clear width across its first section.

    On the side where nothing of the ramp is; between two runs on the run itself.
    """
    found = []
    ramp = join_outlines(candidate, frame)
    for number in sorted({one.run for one in candidate.pieces if one.run is not None}):
        pieces = [one for one in candidate.pieces if one.run == number and one.kind in _WALKED]
        if not pieces:
            continue
        outlines = [outline(one, frame) for one in pieces]
        side = _find_free_side(ramp, outlines[0], outlines[-1])
        far, near = (-_PIECE_LINE_MM, None) if side is None else (_RUN_LINE_MM, _PIECE_LINE_MM)
        found.append(_measure(site, *_edge(outlines[0], outlines[-1], side), far))
        if len(pieces) > 1 and near is not None:
            found += [_measure(site, *_edge(one, one, side), near) for one in outlines]
        part = site.catalogue.part(pieces[0].catalogue_id)
        if isinstance(part, Section):
            first = outlines[0]
            across = (first[1] - first[0]) / np.hypot(*(first[1] - first[0]))
            middle = (first[0] + first[1]) / 2.0 + _WIDTH_AT * (first[3] - first[0])
            half = across * part.clear_width_m / 2.0
            words = f"{show_length(site, part.clear_width_m)} clear"
            found.append(Dimension("dimension", middle - half, middle + half, 0.0, words))
    return found


def _find_free_side(ramp: shapely.Geometry, first: Points, last: Points) -> Literal["left", "right"] | None:
    """The side, going down, along which nothing of the ramp lies; the right one when both are free."""
    sides: tuple[Literal["left", "right"], ...] = ("right", "left")
    for side in sides:
        if _is_free(ramp, *_edge(first, last, side)):
            return side
    return None


def _is_free(ramp: shapely.Geometry, start: Points, end: Points) -> bool:
    """Whether a strip to the left of the way from start to end has nothing of the ramp in it."""
    ahead = (end - start) / np.hypot(*(end - start))
    left = np.array([-ahead[1], ahead[0]])
    strip = [start + 0.05 * left, end + 0.05 * left, end + _SIDE_M * left, start + _SIDE_M * left]
    return not shapely.intersects(shapely.buffer(shapely.Polygon(strip), -0.02), ramp)


def _edge(first: Points, last: Points, side: Literal["left", "right"] | None) -> tuple[Points, Points]:
    """The edge of a run from its first piece to its last, the outside to the left of it."""
    if side == "left":
        return first[0], last[3]
    return last[2], first[1]


def _measure_landings(site: Site, candidate: Candidate, frame: DoorFrame) -> list[Dimension]:
    ramp = join_outlines(candidate, frame)
    return [
        _measure(site, *edge, _PIECE_LINE_MM)
        for piece in candidate.pieces
        if piece.kind == "landing"
        for edge in _outer_edges(outline(piece, frame), ramp)
    ]


def _outer_edges(corners: Points, ramp: shapely.Geometry) -> list[tuple[Points, Points]]:
    """One edge along and one across, outside to the left: a free one, else the further out of the two."""
    middle = np.array(ramp.centroid.coords[0])
    chosen = []
    for pair in (((0, 1), (2, 3)), ((1, 2), (3, 0))):
        edges = [_turn_outside(corners, *one) for one in pair]
        away = [float(np.hypot(*((start + end) / 2.0 - middle))) for start, end in edges]
        is_free = [_is_free(ramp, *one) for one in edges]
        chosen.append(edges[max((0, 1), key=lambda one: (is_free[one], away[one]))])
    return chosen


def _turn_outside(corners: Points, here: int, there: int) -> tuple[Points, Points]:
    start, end = corners[here], corners[there]
    outward = (start + end) / 2.0 - corners.mean(axis=0)
    ahead = end - start
    is_left = ahead[0] * outward[1] - ahead[1] * outward[0] > 0.0
    return (start, end) if is_left else (end, start)


def _measure(site: Site, start_m: Points, end_m: Points, offset_mm: float) -> Dimension:
    return Dimension(
        "dimension", start_m, end_m, offset_mm, show_length(site, float(np.hypot(*(end_m - start_m))))
    )
