"""Wishes that cannot be met whatever is built: refused at once, with the names of both sides.

What the search alone can find out (a destination walled in, a place further off than any
ramp reaches) is not refused: its answer is that there is no layout.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely

from optimizer.brief.site import SearchSettings, Wishes
from optimizer.errors import Fault
from optimizer.rulebook.design_limits import DesignLimits
from optimizer.terrain.ground import Ground
from optimizer.terrain.setback import build_free_area
from optimizer.terrain.yard import PIECE_BLOCKING, Points, Yard
from optimizer.toml_file import TomlFile
from optimizer.units import TOLERANCE_M, Slope, format_length

#: Steps are counted with this much to spare, as DEVELOPERS.md, 'Slopes', says.
_WHOLE: Final = 1e-9


def check_locks(wishes: Wishes, yard: Yard, ground: Ground, file: TomlFile) -> Iterator[Fault]:
    """Locked places where no piece can lie; coordinates are told as those of ``wishes`` are."""
    for key, spots in (("must_pass", wishes.must_pass_m), ("landing_at", wishes.landing_at_m)):
        for index, spot_m in enumerate(spots):
            x, y = spot_m
            for trouble, remedy in _list_troubles(spot_m, yard, ground):
                what = f"wishes: place {index + 1} of {key}, at ({x:.3f}, {y:.3f}) m, {trouble}."
                yield file.fault(("wishes", key, index), what, remedy)


def _list_troubles(spot_m: Points, yard: Yard, ground: Ground) -> Iterator[tuple[str, str]]:
    """What is wrong with a place (2,) that a piece must cover, and what to do."""
    spot = shapely.Point(spot_m)
    move = "Move the place, or leave it out."
    if _is_outside(spot, shapely.Polygon(yard.lot_m)):
        yield "lies outside the lot", move
    elif yard.setback_kind == "hard" and _is_outside(spot, build_free_area(yard)):
        setback = format_length(yard.setback_m, "m", 0.001)
        yield f"lies inside the hard setback of {setback}", f"{move[:-1]}, or correct setback_kind."
    if not np.isfinite(ground.elevation(spot_m[None, :])).all():
        yield "lies off the surveyed ground", "Take levels round it, or move the place."
    for outline_m in yard.house_m:
        if _is_inside(spot, outline_m):
            yield "lies inside the house", move
    for obstacle in yard.obstacles:
        if obstacle.top_m is None and _is_inside(spot, obstacle.outline_m):
            remedy = "Move the place, or give the obstacle's top when a piece may pass over it."
            yield f'lies inside obstacle "{obstacle.name}", which has no top', remedy
    for zone in yard.zones:
        if zone.kind in PIECE_BLOCKING and _is_inside(spot, zone.outline_m):
            remedy = (
                f'Move the place, or have the zone waived (by {zone.waived_by}) and take "{zone.name}" out.'
            )
            yield f'lies inside zone "{zone.name}" ({zone.kind}), where no piece may lie', remedy


def _is_outside(spot: shapely.Point, area: shapely.Geometry) -> bool:
    return bool(area.is_empty or area.distance(spot) > TOLERANCE_M)


def _is_inside(spot: shapely.Point, outline_m: Points) -> bool:
    """Deeper inside than the tolerance: a piece may touch what it may not overlap."""
    area = shapely.Polygon(outline_m)
    return bool(area.contains(spot) and area.exterior.distance(spot) > TOLERANCE_M)


def check_slopes(
    wishes: Wishes, search: SearchSettings, designs: tuple[DesignLimits, ...], file: TomlFile
) -> Iterator[Fault]:
    """The steepest slope allowed at any door must drop one height step over the longest run.

    Else no run can fall.
    """
    allowed = max(design.steepest for design in designs)
    steepest, keys = (math.inf if wishes.steepest is None else wishes.steepest), ("wishes", "steepest")
    if allowed < steepest:
        steepest, keys = allowed, ("rules", "set")
    longest_m = search.longest_run_m
    drop_m = longest_m * steepest / math.hypot(1.0, steepest) if math.isfinite(steepest) else longest_m
    if drop_m / search.height_step_m + _WHOLE >= 1.0:
        return
    what = (
        f"{keys[0]}: the steepest slope of {Slope.from_ratio(steepest)} is flatter than the flattest "
        f"possible: over the longest_run of {longest_m:g} m it drops less than one height_step of "
        f"{search.height_step_m:g} m."
    )
    yield file.fault(keys, what, "Allow a steeper slope, or give a smaller height_step.")
