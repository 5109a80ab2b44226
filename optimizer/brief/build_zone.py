"""From a site file's ``[[zone]]`` to a zone: where it lies, and the words of its kind."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely

from optimizer.brief.locate import Locator
from optimizer.brief.zone_table import ZoneTable
from optimizer.errors import InputError, InternalError
from optimizer.terrain.yard import Points, Zone
from optimizer.terrain.zone_kinds import ZoneRule, find_zone_rule
from optimizer.toml_file import KeyPath
from optimizer.toml_model import subject_of
from optimizer.units import TOLERANCE_M

_STATED = "stated in the site file"


def build_zone(table: ZoneTable, locator: Locator, keys: KeyPath) -> Zone:
    """One zone in shifted coordinates; ``InputError`` with what is wrong with its places.

    What the file leaves out is taken from the kind's rule; the source of a size that the file
    gives itself is the file.
    """
    rule = find_zone_rule(table.kind)
    is_usual = table.around is not None and table.distance is None
    return Zone(
        name=table.name,
        kind=table.kind,
        outline_m=_locate_zone(table, rule, locator, keys),
        reason=table.reason or rule.reason,
        underside_m=None if table.underside is None else table.underside - float(locator.shift_m[2]),
        headroom_m=table.headroom,
        source=table.source or (rule.source if is_usual else _STATED),
        waived_by=table.waived_by or rule.waived_by,
    )


def _locate_zone(table: ZoneTable, rule: ZoneRule, locator: Locator, keys: KeyPath) -> Points:
    """Outline (n, 2), counter-clockwise, not closed, read-only."""
    if table.outline is not None:
        return locator.locate_outline(table.outline, (*keys, "outline"))
    around_keys = (*keys, "around")
    places = table.around or ()  # the model has seen to it that there is one
    spots = locator.locate_all(places, around_keys)
    distance_m = rule.size_m if table.distance is None else table.distance
    is_closed = len(spots) > 3 and math.dist(spots[0], spots[-1]) <= TOLERANCE_M
    subject = subject_of(locator.file, keys)
    if any(math.dist(a, b) <= TOLERANCE_M for a, b in pairwise(spots)):
        what = f"{subject}two places of around, one after the other, are one."
        raise InputError(locator.file.fault(around_keys, what, "Give each place once."))
    if is_closed:
        protected = shapely.Polygon(locator.locate_outline(places, around_keys))
    elif distance_m <= TOLERANCE_M:
        thing = "a point" if len(spots) == 1 else "a line"
        what = f'{subject}a zone of kind "{table.kind}" around {thing} covers no area: its distance is 0.'
        remedy = "Give distance, how far it reaches."
        raise InputError(locator.file.fault(keys, what, remedy))
    elif len(spots) == 1:
        return _freeze(_square(spots[0], distance_m, locator))
    else:
        protected = shapely.LineString(spots)
    grown = protected.buffer(distance_m, cap_style="square", join_style="mitre")
    return _freeze(shapely.get_coordinates(grown.exterior)[:-1])


def _square(middle_m: Points, reach_m: float, locator: Locator) -> Points:
    """Corners (4, 2) of a square, its sides along the wall of the first start and out from it."""
    if locator.wall is None:
        raise InternalError("zones are placed after the first start")
    out_m = reach_m * locator.wall.outward
    right_m = np.array([out_m[1], -out_m[0]])
    return np.array([middle_m + s * right_m + t * out_m for s, t in ((-1, -1), (1, -1), (1, 1), (-1, 1))])


def _freeze(ring_m: Points) -> Points:
    ring_m = ring_m.copy() if shapely.LinearRing(ring_m).is_ccw else ring_m[::-1].copy()
    ring_m.setflags(write=False)
    return ring_m
