"""Level ground with one straight wall in it, as seen from a piece of a hand-built ramp."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from optimizer.plan import Candidate
from optimizer.standards.check_candidate import CheckCase
from optimizer.terrain.ground import Ground


def lower_beside(
    candidate: Candidate, case: CheckCase, piece: str, away_m: float, level_m: float, low_m: float
) -> CheckCase:
    """Ground at ``level_m``; farther than ``away_m`` to the left of the piece's left edge at ``low_m``."""
    corners = np.array(next(one.corners_m for one in candidate.pieces if one.id == piece))[:, :2]
    along = corners[3] - corners[0]
    along /= np.linalg.norm(along)
    left = np.array([-along[1], along[0]])
    base = corners[0] + away_m * left
    shapes, levels = [], []
    for side, level in ((-1.0, level_m), (1.0, low_m)):
        quad = [
            base - 50 * along,
            base + 50 * along,
            base + 50 * along + side * 50 * left,
            base - 50 * along + side * 50 * left,
        ]
        for triangle in ((0, 1, 2), (0, 2, 3)):
            shapes.append([quad[index] for index in triangle])
            levels.append([level] * 3)
    outline = np.array(
        [base + v * 50 * along + u * 50 * left for u, v in ((-1, -1), (-1, 1), (1, 1), (1, -1))]
    )
    ground = Ground(case.ground.points_m, (), np.array(shapes), np.array(levels), (outline,), (), None)
    return replace(case, ground=ground)
