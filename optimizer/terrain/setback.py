"""The strip along the lot line: what of a yard lies inside it, and who uses it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import shapely

from optimizer.terrain.yard import Yard
from optimizer.units import TOLERANCE_M

#: Room for the long mitres of a sharp corner when an outline is offset.
_MITRE_LIMIT: Final = 1000.0


def build_free_area(yard: Yard) -> shapely.Geometry:
    """The lot less its setback (inward offset with square corners), site frame."""
    return _offset(shapely.Polygon(yard.lot_m), -yard.setback_m)


def needs_relief(yard: Yard, corners_m: Iterable[Sequence[tuple[float, float, float]]]) -> bool:
    """Whether any outline, seen from above, reaches into a strip where relief may be granted.

    Each outline is given by its corners (x, y, z), site frame.  It is first shrunk by the
    tolerance on every side, so touching the strip is free.
    """
    if yard.setback_kind == "hard":
        return False
    free = build_free_area(yard)
    outlines = (shapely.Polygon([(x, y) for x, y, _ in corners]) for corners in corners_m)
    return any(not free.covers(_offset(outline, -TOLERANCE_M)) for outline in outlines)


def _offset(polygon: shapely.Polygon, by_m: float) -> shapely.Geometry:
    return polygon.buffer(by_m, join_style="mitre", mitre_limit=_MITRE_LIMIT)
