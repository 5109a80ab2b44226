"""Does the ramp pass where it was locked to pass, measured from the corners in the plan.

Clauses of our own: ``build.must_pass``, ``build.landing_at``.  Edges count.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from optimizer.plan import Candidate, Finding, PieceKind
from optimizer.standards.case import CheckCase
from optimizer.standards.findings import judge_build

_WALKED: Final[tuple[PieceKind, ...]] = ("landing", "section", "transition_plate")


def check_locks(candidate: Candidate, case: CheckCase) -> Iterator[Finding]:
    """One finding for each locked place; its distance (m) from the nearest piece that would meet it."""
    for clause, kinds, spots, what in (
        ("build.must_pass", _WALKED, case.must_pass_m, "the walking surface passes it by"),
        ("build.landing_at", _WALKED[:1], case.landing_at_m, "the nearest landing passes it by"),
    ):
        areas = [
            shapely.Polygon(np.array(piece.corners_m)[:, :2])
            for piece in candidate.pieces
            if piece.kind in kinds
        ]
        for number, spot_m in enumerate(spots, start=1):
            spot = shapely.Point(spot_m)
            away = min((area.distance(spot) for area in areas), default=np.inf)
            elevation = case.ground.elevation_at(float(spot_m[0]), float(spot_m[1]))
            where = (float(spot_m[0]), float(spot_m[1]), elevation) if np.isfinite(elevation) else None
            yield judge_build(clause, f"locked place {number}", what, float(away), "<=", 0.0, "m", where)
