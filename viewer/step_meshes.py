"""A flight of steps as a solid: level treads between two stringers, on two feet."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimizer.catalogue.parts import StepFlight
from optimizer.plan import Piece
from viewer.solids import UP, Solid, Vertices, build_joined, build_loft, build_prism

_TREAD_M: Final = 0.03
_STRINGER_M: Final = 0.03
_SINK_M: Final = 0.015
_FOOT_M: Final = 0.12
_FOOT_DEPTH_M: Final = 0.02


def build_flight(piece: Piece, part: StepFlight) -> Solid:
    """The upper faces of the treads lie where the plan's corners put them, the last at its lower edge.

    The treads come first.
    """
    corners = np.array(piece.corners_m, dtype=np.float64)
    treads = part.risers - 1
    down = corners[3] - corners[0]
    riser = float(-down[2]) / treads
    along = np.array([down[0], down[1], 0.0]) / treads
    across = corners[1] - corners[0]
    side = across / float(np.linalg.norm(across))
    solids = [
        build_prism(_build_tread(corners[0] + k * along - (k + 1) * riser * UP, along, across), _TREAD_M)
        for k in range(treads)
    ]
    foot = treads * along - part.risers * riser * UP
    for outer, inward in ((corners[0], side), (corners[1], -side)):
        solids.append(_build_stringer(outer, treads * along, treads * riser, riser, _STRINGER_M * inward))
        solids.append(_build_foot(outer + foot, along, inward))
    return build_joined(solids)


def _build_tread(corner_m: Vertices, along: Vertices, across: Vertices) -> Vertices:
    return np.array([corner_m, corner_m + across, corner_m + across + along, corner_m + along])


def _build_stringer(
    outer_m: Vertices, along: Vertices, drop_m: float, riser_m: float, thick: Vertices
) -> Solid:
    """A plate on edge from just under the nosings down to the line one riser below them."""
    upper = outer_m - _SINK_M * UP
    lower = outer_m - riser_m * UP
    on = along - drop_m * UP
    ring = np.array([upper, lower, lower + on, upper + on])
    # The ring turns to the right of the way; a plate that thickens to the left is turned round.
    is_right = float(np.cross(along, UP) @ thick) > 0.0
    return build_loft(ring, ring + thick) if is_right else build_loft(ring[::-1], ring[::-1] + thick)


def _build_foot(ground_m: Vertices, along: Vertices, inward: Vertices) -> Solid:
    """A square plate on the ground under the end of a stringer, inside the flight's own outline."""
    back = -_FOOT_M * along / float(np.linalg.norm(along))
    first = ground_m + _FOOT_DEPTH_M * UP
    across = _FOOT_M * inward
    return build_prism(np.array([first + back, first + back + across, first + across, first]), _FOOT_DEPTH_M)
