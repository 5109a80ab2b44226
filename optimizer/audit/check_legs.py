"""Legs and low supports: length, place, what they carry, what they stand on."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from optimizer.audit.drawn_ground import DrawnGround
from optimizer.audit.drawn_model import DrawnPart
from optimizer.audit.judge import Words, judge_excess, judge_length, judge_unknown
from optimizer.audit.match_plan import DrawnLeg
from optimizer.audit.report import DRAWN_M, AuditFinding
from optimizer.audit.walking_face import Plane, Points


def check_leg(words: Words, drawn: DrawnLeg, underside: Plane, ground: DrawnGround) -> Iterator[AuditFinding]:
    """One support; ``underside`` is the plane (a, b, c) under the piece it carries, as drawn.

    Its bottom is the higher one of shaft and foot, so that a shaft that hangs above its foot is
    short.  A foot beds into the ground by what the plan says: ground less bottom.
    """
    leg, name = drawn.leg, drawn.leg.id
    top = float(drawn.shaft.triangles[:, :, 2].max())
    sole = float(drawn.foot.triangles[:, :, 2].min())
    bottom = max(sole, float(drawn.shaft.triangles[:, :, 2].min()))
    yield judge_length(words, "drawn.leg_length", name, "length", top - bottom, leg.height_m)
    places = np.array([_find_middle(drawn.shaft), _find_middle(drawn.foot)])
    off = float(np.linalg.norm(places - (leg.x_m, leg.y_m), axis=1).max())
    yield judge_excess(words, "drawn.leg_place", name, "it is off in plan", off, 0.0)
    place = places[1]
    carried = float(underside[:2] @ place + underside[2])
    what = f"its top is off the underside of {leg.piece}"
    yield judge_excess(words, "drawn.leg_carries", name, what, abs(top - carried), 0.0)
    yield judge_length(words, "drawn.frame_level", name, "its top lies at", top, leg.frame_elevation_m)
    level = float(ground.level(place[None])[0])
    what = "its foot is in the ground"
    if not np.isfinite(level):
        yield judge_unknown("drawn.foot_on_ground", name, what, "no ground is drawn under it")
        return
    bedding = leg.ground_elevation_m - (leg.frame_elevation_m - leg.height_m)
    yield judge_length(words, "drawn.foot_on_ground", name, what, level - sole, bedding)


def _find_middle(part: DrawnPart) -> Points:
    """Middle (2,) in plan of the points that lie lowest: brackets and arms are higher up."""
    points = part.triangles.reshape(-1, 3)
    lowest = points[points[:, 2] <= points[:, 2].min() + DRAWN_M]
    return np.asarray(shapely.get_coordinates(shapely.MultiPoint(lowest[:, :2]).convex_hull.centroid)[0])
