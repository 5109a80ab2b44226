"""The same ramp when the crew sets its runs anew, so that the tip meets the ground as found.

Hung from the door as planned, a ramp makes the plate pay for what the ground at the toe is off, and
every leg for its own ground.  Set a little steeper or flatter, steel at a share c of the fall follows c
times what the tip's ground is off.  Near the door legs still bear the whole of an error that all feet
share, near the toe nearly none of it, and a ground that lies too low can use up the slope that is
allowed.  So a common error is paid by the first legs, not by the last.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from optimizer.chance.layout_question import LayoutQuestion, Window
from optimizer.errors import InternalError
from optimizer.plan import Candidate, Piece
from optimizer.units import TOLERANCE_M


def regrade(question: LayoutQuestion, candidate: Candidate, steepest: float) -> LayoutQuestion:
    """The question of a candidate asked again, its runs free to be set anew.

    All runs change their slope by the same share.  Adds the condition that none gets steeper than
    ``steepest``; the plate keeps its planned slope, and clearances move with the steel.  Raises
    ``InternalError`` for a layout that does not descend.
    """
    decks = {piece.id: piece for piece in candidate.pieces if piece.kind in ("landing", "section")}
    start = max(corner[2] for piece in decks.values() for corner in piece.corners_m)
    fall = start - question.tip_m
    if not (fall > 0.0 and candidate.steepest_slope > 0.0):
        raise InternalError("the layout does not descend, so there is no slope to set anew")
    supports = []
    for spot, leg in zip(question.supports, candidate.legs, strict=True):
        share = (start - _deck_at(decks[leg.piece], leg.x_m, leg.y_m)) / fall
        supports.append(
            replace(
                spot,
                xy_m=np.vstack([spot.xy_m, question.tip_xy_m]),
                weights=np.append(spot.weights, -share),
                steel_m=spot.steel_m - share * question.tip_m,
                hung=1.0 - share,
            )
        )
    windows = [window for window in question.windows if window.kind == "bottom"]
    for window in question.windows:
        if window.kind == "clearance":
            x, y = window.xy_m[0].tolist()
            share = (start - _deck_at(decks[window.subject], x, y)) / fall
            windows.append(
                replace(
                    window,
                    xy_m=np.vstack([window.xy_m, question.tip_xy_m]),
                    weights=np.append(window.weights, -share),
                    steel_m=window.steel_m - share * question.tip_m,
                    hung=1.0 - share,
                )
            )
    spare = fall * (steepest / candidate.steepest_slope - 1.0)
    at_tip, alone = question.tip_xy_m[None], np.ones(1)
    windows.append(
        Window("runs", "slope", at_tip, alone, question.tip_m, -math.inf, spare + TOLERANCE_M, 1.0)
    )
    return replace(question, supports=tuple(supports), windows=tuple(windows))


def _deck_at(piece: Piece, x_m: float, y_m: float) -> float:
    """Elevation of the piece's surface, continued beyond its edges."""
    start, end = (np.mean([piece.corners_m[i] for i in pair], axis=0) for pair in ((0, 1), (2, 3)))
    along = end[:2] - start[:2]
    share = float((np.array([x_m, y_m]) - start[:2]) @ along / (along @ along))
    return float(start[2] + min(1.0, max(0.0, share)) * (end[2] - start[2]))
