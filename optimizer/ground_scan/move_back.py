"""The offset of a scan put back on everything found in it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from optimizer.ground_scan.sorted_scan import Heights, SortedScan


def move_back(scan: SortedScan, offset_m: NDArray[np.float64]) -> SortedScan:
    """The same scan moved by ``offset_m`` (3,)."""
    x, y, z = (float(each) for each in offset_m)
    on_plan = offset_m[:2]
    return replace(
        scan,
        grid=replace(scan.grid, west_m=scan.grid.west_m + x, south_m=scan.grid.south_m + y),
        ground_m=_frozen(scan.ground_m + z),
        error_m=_frozen(scan.error_m),
        obstacles=tuple(
            replace(
                each,
                outline_m=_frozen(each.outline_m + on_plan),
                top_m=each.top_m + z,
                bottom_m=each.bottom_m + z,
                ground_m=each.ground_m + z,
            )
            for each in scan.obstacles
        ),
        break_lines=tuple(
            replace(
                line,
                xy_m=_frozen(line.xy_m + on_plan),
                top_m=_frozen(line.top_m + z),
                foot_m=_frozen(line.foot_m + z),
            )
            for line in scan.break_lines
        ),
        holes=tuple(replace(hole, outline_m=_frozen(hole.outline_m + on_plan)) for hole in scan.holes),
    )


def _frozen(values: Heights) -> Heights:
    values.flags.writeable = False
    return values
