"""Walking faces against the plan, one piece at a time."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from optimizer.audit.drawn_model import DrawnPart, Triangles
from optimizer.audit.judge import Words, judge_excess, judge_length, judge_slope
from optimizer.audit.report import AuditFinding
from optimizer.audit.walking_face import (
    Points,
    WalkingFace,
    measure_above,
    measure_opening,
    measure_ring,
    measure_sides,
    state_face,
)
from optimizer.plan import Piece

#: ADA 302.3 lets no sphere of 1/2 in through a floor surface; from memory, so it is a drawn
#: face's measure of wholeness here and no rule's verdict.
MOST_OPENING_M: Final = 0.0127
#: Treads are at least this far apart in height.
_SAME_TREAD_M: Final = 0.02


def check_face(words: Words, piece: Piece, part: DrawnPart, face: WalkingFace) -> Iterator[AuditFinding]:
    """Place, levels, slopes, sizes and wholeness of a face that is one plane."""
    stated = state_face(piece)
    name = piece.id
    off = np.linalg.norm(face.ring_m - stated.ring_m, axis=1)
    yield judge_excess(words, "drawn.place", name, "its worst corner in plan is off", float(off.max()), 0.0)
    yield judge_length(words, "drawn.level", name, "its worst corner lies at", *_pick_level(face, stated))
    yield judge_slope("drawn.slope", name, "slope along the way", face.slope, piece.slope, stated.length_m)
    yield judge_slope(
        "drawn.cross_slope",
        name,
        "slope across the way",
        face.cross_slope,
        stated.cross_slope,
        stated.width_m,
    )
    yield judge_length(words, "drawn.length", name, "plan length", face.length_m, stated.length_m)
    yield judge_length(words, "drawn.width", name, "width", face.width_m, stated.width_m)
    yield judge_excess(
        words, "drawn.flat", name, "a point of its face is off the plane", face.off_plane_m, 0.0
    )
    yield _check_openings(words, name, part, face.ring_m)
    above = measure_above(part, face)
    yield judge_excess(words, "drawn.clear_face", name, "it stands above its own face", above, 0.0)


def check_steps(words: Words, piece: Piece, part: DrawnPart) -> Iterator[AuditFinding]:
    """Treads are level faces one riser apart; the plan's slope is riser over going.

    The upper corners are the landing's edge, one riser above the first tread; the lower corners lie
    on the last tread.
    """
    name, stated = piece.id, state_face(piece)
    ring = measure_ring(part.face[:, :, :2].reshape(-1, 2), stated.ring_m)
    off = np.linalg.norm(ring - stated.ring_m, axis=1)
    yield judge_excess(words, "drawn.place", name, "its worst corner in plan is off", float(off.max()), 0.0)
    treads = _split_treads(part.face)
    riser = piece.slope * stated.length_m / len(treads)
    wanted = piece.corners_m[0][2] - riser * np.arange(1, len(treads) + 1)
    drawn = np.array([float(tread[:, :, 2].mean()) for tread in treads])
    worst = int(np.argmax(np.abs(drawn - wanted)))
    what = f"tread {worst + 1} of {len(treads)} lies at"
    yield judge_length(words, "drawn.level", name, what, float(drawn[worst]), float(wanted[worst]))
    length, width = measure_sides(ring)
    yield judge_length(words, "drawn.length", name, "plan length", length, stated.length_m)
    yield judge_length(words, "drawn.width", name, "width", width, stated.width_m)
    spread = max(float(np.ptp(tread[:, :, 2])) for tread in treads)
    yield judge_excess(words, "drawn.flat", name, "a tread is off level", spread, 0.0)
    yield _check_openings(words, name, part, ring)


def _split_treads(face: Triangles) -> list[Triangles]:
    """Triangles by level, the highest first; a new tread begins where the level jumps."""
    levels = face[:, :, 2].mean(axis=1)
    order = np.argsort(-levels, kind="stable")
    jumps = np.nonzero(np.diff(levels[order]) < -_SAME_TREAD_M)[0] + 1
    return [face[rows] for rows in np.split(order, jumps)]


def _pick_level(face: WalkingFace, stated: WalkingFace) -> tuple[float, float]:
    """The drawn level that is furthest from the plan's at its corner, and the plan's."""
    wanted = stated.levels_m[:, :1]
    corner, end = np.unravel_index(np.argmax(np.abs(face.levels_m - wanted)), face.levels_m.shape)
    return float(face.levels_m[corner, end]), float(wanted[corner, 0])


def _check_openings(words: Words, name: str, part: DrawnPart, ring_m: Points) -> AuditFinding:
    opening = measure_opening(part.face, ring_m)
    what = "widest opening in its face"
    return judge_excess(words, "drawn.openings", name, what, opening, MOST_OPENING_M)
