"""Where the ramp lands: the ground beyond the tip, and a pad where it is not level enough."""

from __future__ import annotations

import math

import numpy as np

from optimizer.catalogue.rates import part_cost_cents
from optimizer.errors import Fault, InputError
from optimizer.layout.building import Building
from optimizer.layout.strip import Strip
from optimizer.plan import Toe
from optimizer.units import TOLERANCE_M

#: Greatest gap under a tip corner without a pad: 1/4 in, metres.
LIP_M = 0.00635
#: Steepest ground that counts as level where no rule says: 1:48 (ADA 2010, 405.7.1).
STEEPEST_LEVEL = 1.0 / 48.0


def lay_toe(building: Building, at: Strip, tip_m: float) -> Toe:
    """Look at the ground beyond the tip and lay a pad when it is not level enough."""
    design = building.design
    long, wide = design.bottom.length_m, max(building.width_m, design.bottom.width_m)
    space = at.laid(wide, long)
    slope, uneven = _measure_evenness(building, space)
    half = building.width_m / 2.0
    gap = max(abs(building.ground_at(at.point(0.0, side)) - tip_m) for side in (-half, half))
    if math.isnan(slope) or math.isnan(gap):
        raise InputError(
            Fault(
                "bottom space",
                "the ground beyond the tip is not surveyed.",
                "Survey further or land elsewhere.",
            )
        )
    level_limit = design.landing_slope if math.isfinite(design.landing_slope) else STEEPEST_LEVEL
    plate = building.pieces[-1]
    buried = building.highest_above(plate)
    needs_pad = slope > level_limit + 1e-9 or max(gap, buried, uneven) > LIP_M + TOLERANCE_M
    if needs_pad:
        _lay_pad(building, at, tip_m, long, wide)
    start_left, start_right, end_right, end_left = (
        building.site_point(uv, tip_m if needs_pad else building.ground_at(uv)) for uv in space.corners()
    )
    tip = building.site_point(at.point(0.0, 0.0), tip_m)
    to = building.site.yard.destination_m
    return Toe(
        tip_m=tip,
        ground_elevation_m=tip_m,
        plate_slope=plate.slope,
        tip_corner_gap_m=0.0 if needs_pad else float(gap),
        bottom_space_m=(start_left, start_right, end_right, end_left),
        bottom_slope=0.0 if needs_pad else slope,
        pad=needs_pad,
        to_destination_m=None if to is None else math.hypot(tip[0] - float(to[0]), tip[1] - float(to[1])),
    )


def _measure_evenness(building: Building, space: Strip) -> tuple[float, float]:
    """Steepest slope of the plane fitted to nine levels of the bottom space, and how far any of them
    leaves that plane; NaN when a level is unknown.
    """
    long, wide = space.length_m, space.width_m
    steps = np.array([-1.0, 0.0, 1.0])
    levels = np.array(
        [
            [building.ground_at(space.point(long * i / 2, wide * (j - 1) / 2)) for j in range(3)]
            for i in range(3)
        ]
    )
    along = (levels[2].mean() - levels[0].mean()) / long
    across = (levels[:, 2].mean() - levels[:, 0].mean()) / wide
    plane = levels.mean() + np.add.outer(along * long / 2 * steps, across * wide / 2 * steps)
    return float(math.hypot(along, across)), float(np.abs(levels - plane).max())


def _lay_pad(building: Building, at: Strip, tip_m: float, long: float, wide: float) -> None:
    site = building.site
    pads = [
        pad
        for pad in site.catalogue.in_stock().bottom_pads
        if pad.length_m >= long - TOLERANCE_M and pad.width_m >= wide - TOLERANCE_M
    ]
    if not pads:
        raise InputError(
            Fault(
                "bottom pad",
                f"the ground at the tip is not level and no pad is {long:.2f} x {wide:.2f} m.",
                "Add a pad to the catalogue or land elsewhere.",
            )
        )
    pad = min(pads, key=lambda p: part_cost_cents(p, site.rates))
    building.place("bottom_pad", pad.id, at.laid(pad.width_m, pad.length_m), (tip_m, tip_m))
