"""One run laid by hand anywhere, any way round, for clauses that look at runs alone."""

from __future__ import annotations

import math

import numpy as np

from optimizer.catalogue.parts import Section, ThresholdPlate
from optimizer.plan import Piece
from optimizer.standards.chain import Chain, Run
from optimizer.standards.placed import measure_piece


def lay_run(
    plan_m: float, rise_m: float, angle: float, at: tuple[float, float, float], tilt_m: float = 0.0
) -> Chain:
    """One section of this plan length and rise, from a point, its way at an angle to x."""
    heading = np.array([math.cos(angle), math.sin(angle), 0.0])
    right = np.array([heading[1], -heading[0], 0.0])
    upper, lower = np.array(at), np.array(at) + plan_m * heading - [0.0, 0.0, rise_m]
    half, up = 0.5 * right, np.array([0.0, 0.0, tilt_m / 2.0])
    corners = (upper - half - up, upper + half + up, lower + half + up, lower - half - up)
    section = Section(
        id="s", name="s", weight_kg=1.0, price_cents=1, labour_min=0.0, pitch_m=math.hypot(plan_m, rise_m),
        clear_width_m=0.9144, overall_width_m=1.0, frame_depth_m=0.05, hinge_depth_m=0.0, curb_height_m=0.1,
        mid_supports_m=(), legs=(), low_supports=(), rail_panel="p", rated_load_kg=1.0,
    )  # fmt: skip
    sill = ThresholdPlate("t", "t", 1.0, 1, 0.0, 0.1, 1.0, 1.0)

    def piece(kind: str, name: str) -> Piece:
        points = tuple(tuple(float(value) for value in corner) for corner in corners)
        return Piece.model_validate(
            {
                "id": name,
                "catalogue_id": name,
                "kind": kind,
                "use": None,
                "run": 1,
                "corners_m": points,
                "slope": 0.0,
            }
        )

    run = Run(1, (measure_piece(piece("section", "s"), section),), None)
    return Chain(measure_piece(piece("threshold_plate", "t"), sill), None, (run,), (), None, "front", ())
