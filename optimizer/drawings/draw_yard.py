"""What stands around the ramp, as lines in the frame of the door: u right, v out, as seen looking out."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely

from optimizer.brief.site import Site
from optimizer.drawings.contours import choose_every, trace_contours
from optimizer.drawings.figure import Stroke, line, ring
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.setback import build_free_area
from optimizer.terrain.yard import Points, Start

_ARC_STEPS: Final = 16
#: Jambs are drawn this deep into the wall.
_JAMB_M: Final = 0.12


def draw_yard(site: Site, start: Start, frame: DoorFrame) -> tuple[Stroke, ...]:
    """Lot, setback, house, door, obstacles, zones and the edge of the surveyed ground."""
    yard = site.yard
    strokes = [ring("lot-line", frame.to_door(yard.lot_m))]
    if yard.setback_m > 0.0:
        strokes += [ring("setback", frame.to_door(one)) for one in list_rings(build_free_area(yard))]
    strokes += [ring("house", frame.to_door(one)) for one in yard.house_m]
    strokes += [ring("obstacle", frame.to_door(one.outline_m)) for one in yard.obstacles]
    strokes += [ring("zone", frame.to_door(one.outline_m)) for one in yard.zones]
    strokes += [ring("surveyed-edge", frame.to_door(one)) for one in site.ground.outline_m]
    strokes += [line("break-line", *frame.to_door(one.xy_m)) for one in site.ground.break_lines]
    return (*strokes, *_draw_door(start))


def draw_ground_lines(site: Site, start: Start, frame: DoorFrame) -> tuple[Stroke, ...]:
    """Contour lines, counted from the sill."""
    found = trace_contours(site.ground, choose_every(start.threshold_m, site.display.system))
    return tuple(
        line("contour-index" if one.is_index else "contour", *frame.to_door(one.line_m)) for one in found
    )


def list_rings(area: shapely.Geometry) -> list[Points]:
    """Outer rings (n, 2) of an area, the last point not repeated."""
    return [
        np.array(part.exterior.coords)[:-1]
        for part in shapely.get_parts(area)
        if isinstance(part, shapely.Polygon) and not part.is_empty
    ]


def _draw_door(start: Start) -> list[Stroke]:
    half = start.clear_width_m / 2.0
    if start.kind == "edge":
        return [line("door", np.array([-half, 0.0]), np.array([half, 0.0]))]
    jambs = [line("door", np.array([u, 0.0]), np.array([u, -_JAMB_M])) for u in (-half, half)]
    # Seen looking out, so the hinge's own left and right are those of the frame.
    hinge = np.array([-half if start.hinge_side == "left" else half, 0.0])
    way = 1.0 if start.swing == "out" else -1.0
    across = -np.sign(hinge[0])
    angles = np.linspace(0.0, math.pi / 2.0, _ARC_STEPS)
    arc = hinge + start.clear_width_m * np.column_stack((across * np.cos(angles), way * np.sin(angles)))
    return [*jambs, line("door", hinge, arc[-1]), line("door", *arc)]
