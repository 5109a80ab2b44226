"""What is wrong with a yard that was read: shapes that are no shapes, a door in the air."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.validation import explain_validity

from optimizer.errors import Fault
from optimizer.terrain.frames import build_door_frame
from optimizer.terrain.ground import Ground
from optimizer.terrain.setback import build_free_area
from optimizer.terrain.yard import Points, Start, Yard
from optimizer.units import TOLERANCE_M, format_length, is_at_least, is_at_most

#: A threshold further above the nearest ground is asked back: most likely a slip.
HIGHEST_THRESHOLD_M = 3.0
#: Ground must be known somewhere within this distance outward of the start.
GROUND_WITHIN_M = 1.0
#: This much straight out of the door must be free of obstacles.
FREE_BEFORE_DOOR_M = 0.3
_LEAST_AREA_M2 = 1e-4


def check_yard(yard: Yard, ground: Ground, where: str) -> tuple[Fault, ...]:
    """Every fault of the yard's shapes and starts, each under ``where``."""
    faults: list[Fault] = []
    for name, outline_m in _outlines(yard):
        faults.extend(_check_outline(name, outline_m, where))
    if not faults:
        faults.extend(_check_setback(yard, where))
        for start in yard.starts:
            faults.extend(_check_start(start, yard, where))
            faults.extend(_check_threshold(start, ground, where))
    return tuple(faults)


def _outlines(yard: Yard) -> Iterator[tuple[str, Points]]:
    yield "the lot", yard.lot_m
    for number, outline_m in enumerate(yard.house_m, start=1):
        yield "the house" if len(yard.house_m) == 1 else f"house outline {number}", outline_m
    for obstacle in yard.obstacles:
        yield f'obstacle "{obstacle.name}"', obstacle.outline_m
    for zone in yard.zones:
        yield f'zone "{zone.name}"', zone.outline_m
    for number, outline_m in enumerate(yard.arrivals_m, start=1):
        yield f"arrival zone {number}", outline_m


def _check_outline(name: str, outline_m: Points, where: str) -> list[Fault]:
    if not np.isfinite(outline_m).all():
        return [Fault(where, f"{name} has a corner that is not a finite number.", "Give x and y in numbers.")]
    if len(outline_m) < 3:
        return [Fault(where, f"{name} has {len(outline_m)} corners.", "Give at least three.")]
    polygon = shapely.Polygon(outline_m)
    if polygon.convex_hull.area < _LEAST_AREA_M2:
        return [Fault(where, f"{name} covers no area.", "Give its corners in order round it.")]
    if not polygon.is_valid:
        # 'Self-intersection[4.5 2.0]' of the validity report, as a place.
        spot = explain_validity(polygon).partition("[")[2].rstrip("]").split()
        at = f" at ({float(spot[0]):.3f}, {float(spot[1]):.3f}) m" if len(spot) == 2 else ""
        return [
            Fault(where, f"the outline of {name} crosses itself{at}.", "Give its corners in order round it.")
        ]
    return []


def _check_setback(yard: Yard, where: str) -> list[Fault]:
    setback = format_length(yard.setback_m, "m", 0.001)
    if not is_at_least(yard.setback_m, 0.0):
        return [Fault(where, f"the setback is {setback}.", "Give zero or more.")]
    # Where relief may be asked, a lot narrower than its setbacks is unlucky, not wrong.
    if yard.setback_kind == "hard" and build_free_area(yard).area < _LEAST_AREA_M2:
        return [Fault(where, f"the setback of {setback} leaves nothing of the lot.", "Check its unit.")]
    return []


def _check_start(start: Start, yard: Yard, where: str) -> list[Fault]:
    faults = []
    lot = shapely.Polygon(yard.lot_m)
    if shapely.distance(lot, shapely.Point(start.midpoint_m)) > TOLERANCE_M:
        x, y = start.midpoint_m
        what = f'start "{start.name}" at ({x:.3f}, {y:.3f}) m lies outside the lot.'
        faults.append(Fault(where, what, "Check the start and the lot line."))
    strip = shapely.Polygon(before_door(start, FREE_BEFORE_DOOR_M))
    for obstacle in yard.obstacles:
        stood_over = start.kind == "over_steps" and obstacle.top_m is not None
        if not stood_over and shapely.Polygon(obstacle.outline_m).intersection(strip).area > TOLERANCE_M:
            what = f'obstacle "{obstacle.name}" lies before start "{start.name}", within 0.3 m of its sill.'
            remedy = (
                'Move it, or, for steps that the landing stands over, give its top and the kind "over_steps".'
            )
            faults.append(Fault(where, what, remedy))
    return faults


def before_door(start: Start, reach_m: float) -> Points:
    """Corners (4, 2) of the strip as wide as the opening, straight out of the start."""
    half = start.clear_width_m / 2
    uv = np.array([[-half, 0.0], [half, 0.0], [half, reach_m], [-half, reach_m]])
    return build_door_frame(start).to_site(uv)


def _check_threshold(start: Start, ground: Ground, where: str) -> list[Fault]:
    """The nearest known ground outward, and the threshold 0 to 3 m above it."""
    half = start.clear_width_m / 2
    u, v = np.meshgrid(np.linspace(-half, half, 9), np.linspace(0.0, GROUND_WITHIN_M, 21))
    uv = np.column_stack((u.ravel(), v.ravel()))
    elevations = ground.elevation(build_door_frame(start).to_site(uv))
    known = np.isfinite(elevations)
    if not known.any():
        x, y = start.midpoint_m
        what = f'start "{start.name}" at ({x:.3f}, {y:.3f}) m lies off the surveyed ground.'
        return [Fault(where, what, "Take levels at the wall on both sides of it and 1.5 m out.")]
    nearest = int(np.argmin(np.where(known, np.hypot(uv[:, 0], uv[:, 1]), math.inf)))
    height_m = start.threshold_m - float(elevations[nearest])
    if is_at_least(height_m, 0.0) and is_at_most(height_m, HIGHEST_THRESHOLD_M):
        return []
    side = "above" if height_m > 0 else "below"
    what = (
        f'the threshold of start "{start.name}" is {format_length(abs(height_m), "m", 0.001)} {side} '
        f"the nearest ground (0 to 3 m above is expected)."
    )
    return [Fault(where, what, "Check that threshold and levels share one datum and one unit.")]
