"""A model in other units than metres, or with another axis up than y, is refused before it is measured.

Both are told from the triangles: areas of walking faces do not care how a model is turned, and the
ground's normal does not care how large it is.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from optimizer.audit.drawn_model import DrawnModel, Triangles
from optimizer.audit.glb_file import AGAIN
from optimizer.audit.match_plan import Matched
from optimizer.errors import Fault, InputError
from optimizer.plan import Piece

#: How many times too large a model of another unit is.
UNITS: Final = (
    ("millimetres", 1000.0),
    ("centimetres", 100.0),
    ("inches", 1.0 / 0.0254),
    ("feet", 1.0 / 0.3048),
    ("kilometres", 0.001),
)
#: Planks have gaps: a face as drawn is a few per cent smaller than its outline.
_NEAR: Final = 0.08
#: A face of less area in plan, m2, cannot be measured.
_LEAST_M2: Final = 1e-4
_FLAT: Final = np.array([1.0, 1.0, 0.0])
_REMEDY: Final = "glTF is in metres with y up: export it so, or draw it again with `evenfall plan`."


def refuse_frame(model: DrawnModel, matched: Matched) -> None:
    """Raise InputError when the model is scaled or does not stand upright."""
    ratio = float(
        np.median([measure_area(part.face) / _measure_stated(piece) for piece, part in matched.pieces])
    )
    scale = math.sqrt(ratio)
    for unit, factor in UNITS:
        if abs(scale / factor - 1.0) < _NEAR:
            what = f"is in {unit}: its walking faces are {factor:g} times as long as the plan's."
            raise InputError(Fault(model.file, what, _REMEDY))
    # Twice as large is no unit, but no drawing of this plan either.
    if not 0.5 < scale < 2.0:
        what = f"is not in metres: its walking faces are {scale:.3g} times as long as the plan's."
        raise InputError(Fault(model.file, what, _REMEDY))
    _refuse_turned(model, matched.ground.triangles)
    upright = [
        Fault(f"{model.file}: node {part.node!r}", "its walking face has no area in plan.", AGAIN)
        for _, part in matched.pieces
        if measure_area(part.face * _FLAT) < _LEAST_M2
    ]
    if upright:
        raise InputError(*upright)


def _refuse_turned(model: DrawnModel, ground: Triangles) -> None:
    """The ground's normals, added up by area, point up: +z here, +y in the file."""
    total = np.cross(ground[:, 1] - ground[:, 0], ground[:, 2] - ground[:, 0]).sum(axis=0)
    axis = int(np.argmax(np.abs(total)))
    if axis == 2 and total[2] > 0.0:
        return
    # The file's axes from the site's: x is x, its y is our z, its z our -y.
    in_file = (
        f"{'-' if total[axis] < 0.0 else ''}x",
        f"{'-' if total[axis] > 0.0 else ''}z",
        f"{'-' if total[axis] < 0.0 else ''}y",
    )[axis]
    what = f"has {in_file} up: the normals of its ground point that way."
    raise InputError(Fault(f"{model.file}: node {'ground'!r}", what, _REMEDY))


def measure_area(triangles: Triangles) -> float:
    """Area of triangles (t, 3, 3) as they lie in space."""
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return float(0.5 * np.linalg.norm(normals, axis=1).sum())


def _measure_stated(piece: Piece) -> float:
    """Area of the plan's face; of steps, which are drawn as level treads, its area in plan."""
    corners = np.array(piece.corners_m)
    if piece.kind == "steps":
        corners[:, 2] = 0.0
    return measure_area(np.array([corners[[0, 1, 2]], corners[[0, 2, 3]]]))
