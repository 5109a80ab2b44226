"""The ramp seen from above, as lines and signs in the frame of the door."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from optimizer.catalogue.parts import Catalogue, Landing
from optimizer.drawings.figure import Stroke, Symbol, line, ring
from optimizer.drawings.layers import LayerName
from optimizer.drawings.unfold import unfold
from optimizer.plan import Candidate, Piece
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.yard import Points

_LAYERS: Final[dict[str, LayerName]] = {
    "threshold_plate": "plate",
    "transition_plate": "plate",
    "landing": "deck",
    "section": "deck",
    "bottom_pad": "pad",
    "steps": "steps",
}
_CIRCLE_STEPS: Final = 48
_ARROW_M: Final = 0.25
_TURNS: Final = ("left", "right", "half_left", "half_right")


@dataclass(frozen=True, slots=True)
class TurningSpace:
    """The largest clear circle on a landing where the way turns; centre (2,) in the door frame."""

    piece: Piece
    centre_m: Points
    diameter_m: float


def draw_pieces(candidate: Candidate, frame: DoorFrame) -> tuple[Stroke, ...]:
    """Outlines of all pieces, the place at the bottom, and the way down with an arrow at the tip."""
    strokes = [ring(_LAYERS[one.kind], outline(one, frame)) for one in candidate.pieces]
    strokes.append(ring("bottom-space", frame.to_door(np.array(candidate.toe.bottom_space_m)[:, :2])))
    way = np.concatenate([one.way_m[:, :2] for one in unfold(candidate)])
    way = frame.to_door(way[np.r_[True, np.hypot(*np.diff(way, axis=0).T) > 1e-6]])
    return (*strokes, line("walking-line", *way), _draw_arrow(way))


def draw_rails(candidate: Candidate, frame: DoorFrame) -> tuple[Stroke, ...]:
    """Rails and guards as lines along their edges."""
    return tuple(line("rail", *frame.to_door(np.array(one.line_m)[:, :2])) for one in candidate.rails)


def draw_legs(candidate: Candidate, frame: DoorFrame) -> tuple[Symbol, ...]:
    """A square for a leg's foot, a diamond for a low support."""
    return tuple(
        Symbol(
            "leg",
            frame.to_door(np.array([[one.x_m, one.y_m]]))[0],
            "foot" if one.kind == "leg" else "low foot",
        )
        for one in candidate.legs
    )


def list_turning_spaces(
    candidate: Candidate, catalogue: Catalogue, frame: DoorFrame
) -> tuple[TurningSpace, ...]:
    """One for each landing on which the way turns."""
    found = []
    for piece in candidate.pieces:
        part = catalogue.part(piece.catalogue_id)
        if piece.use in _TURNS and isinstance(part, Landing):
            centre_m = outline(piece, frame).mean(axis=0)
            found.append(TurningSpace(piece, centre_m, min(part.clear_length_m, part.clear_width_m)))
    return tuple(found)


def draw_circle(layer: LayerName, centre_m: Points, diameter_m: float) -> Stroke:
    """A circle as a ring of short lines."""
    angles = np.linspace(0.0, 2.0 * math.pi, _CIRCLE_STEPS, endpoint=False)
    return ring(layer, centre_m + diameter_m / 2.0 * np.column_stack((np.cos(angles), np.sin(angles))))


def outline(piece: Piece, frame: DoorFrame) -> Points:
    """Corners (4, 2) of a piece in the door frame."""
    return frame.to_door(np.array(piece.corners_m)[:, :2])


def join_outlines(candidate: Candidate, frame: DoorFrame) -> shapely.Geometry:
    """The area that the ramp takes, seen from above, without what is dug."""
    return shapely.unary_union(
        [shapely.Polygon(outline(one, frame)) for one in candidate.pieces if one.kind != "bottom_pad"]
    )


def _draw_arrow(way_m: Points) -> Stroke:
    ahead = way_m[-1] - way_m[-2]
    ahead = ahead / np.hypot(*ahead)
    side = np.array([-ahead[1], ahead[0]])
    back = way_m[-1] - _ARROW_M * ahead
    return line("walking-line", back + 0.4 * _ARROW_M * side, way_m[-1], back - 0.4 * _ARROW_M * side)
