"""A stated outline of the surveyed ground, as a ring of mesh vertices."""

from __future__ import annotations

import numpy as np
import shapely

from optimizer.errors import Fault, InputError
from optimizer.terrain.break_lines import SAME_PLACE_M, Weave, place
from optimizer.terrain.yard import Points

_SUBJECT = "the outline of the surveyed ground"
_REMEDY = "Draw it through survey points once round, without crossing itself."


def find_outline_ring(outline: Points, xy_m: Points, weave: Weave, where: str) -> list[int]:
    """Vertex numbers round ``outline`` (k, 2), with every vertex that lies on one of its edges.

    ``xy_m`` (n, 2): vertices of the mesh, break lines' first.  The outline's corners must be
    among them: nothing else has a measured level.  Raises ``InputError``.
    """
    corners = _find_corners(outline, xy_m, where)
    ring: list[int] = []
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        along = xy_m[b] - xy_m[a]
        length = float(np.hypot(*along))
        offset = xy_m - xy_m[a]
        share = offset @ along / length**2
        off = np.abs(offset @ np.array([-along[1], along[0]])) / length
        on_edge = np.flatnonzero((share > 0.0) & (share < 1.0) & (off <= SAME_PLACE_M))
        ring.extend([a, *sorted(set(on_edge.tolist()) - {a, b}, key=share.tolist().__getitem__)])
    if len(set(ring)) < len(ring) or not shapely.Polygon(xy_m[ring]).is_valid:
        raise InputError(Fault(where, f"{_SUBJECT} crosses itself.", _REMEDY))
    faults = _check_crossings(ring, xy_m, weave, where)
    if faults:
        raise InputError(*faults)
    return ring


def _find_corners(outline: Points, xy_m: Points, where: str) -> list[int]:
    faults: list[Fault] = []
    corners: list[int] = []
    for spot in outline:
        away = np.hypot(*(xy_m - spot).T)
        nearest = int(away.argmin())
        if not away[nearest] <= SAME_PLACE_M:
            what = f"{_SUBJECT} has a corner at {place(spot)}, where no level was taken."
            faults.append(Fault(where, what, "Draw it through survey points."))
        elif nearest not in corners[-1:]:
            corners.append(nearest)
    if faults:
        raise InputError(*faults)
    if len(corners) > 1 and corners[0] == corners[-1]:
        corners.pop()
    if len(set(corners)) < len(corners):
        raise InputError(Fault(where, f"{_SUBJECT} passes a point twice.", _REMEDY))
    if len(corners) < 3:
        raise InputError(Fault(where, f"{_SUBJECT} has fewer than three corners.", _REMEDY))
    return corners


def _check_crossings(ring: list[int], xy_m: Points, weave: Weave, where: str) -> list[Fault]:
    """Break lines may meet the outline at vertices only."""
    faults = []
    outline = shapely.LinearRing(xy_m[ring])
    for line in weave.lines:
        string = shapely.LineString(xy_m[list(line.vertices)])
        for spot in shapely.get_coordinates(shapely.intersection(string, outline)):
            if np.hypot(*(xy_m[ring] - spot).T).min() > SAME_PLACE_M:
                what = f'break line "{line.name}" crosses {_SUBJECT} at {place(spot)}.'
                faults.append(Fault(where, what, "Give the line a vertex there."))
    return faults
