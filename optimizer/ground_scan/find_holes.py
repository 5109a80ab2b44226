"""Where inside the scan no ground was seen."""

from __future__ import annotations

from typing import Literal

import numpy as np
from scipy import ndimage

from optimizer.ground_scan.outlines import draw_outline, label_patches
from optimizer.ground_scan.sorted_scan import Grid, Hole, Mask

#: Gaps smaller than this in both directions are no holes: between two walks of the scanner.
LEAST_HOLE_M2 = 0.09


def find_holes(is_seen: Mask, stands: Mask, grid: Grid) -> tuple[Hole, ...]:
    """Holes that the seen ground surrounds, or that cut into it, by place."""
    reach = max(2, round(1.5 / grid.cell_m))
    # Closed over 3 m: bays in the edge of the scan count, the world outside does not.
    padded = np.pad(is_seen, reach)
    closed = ndimage.binary_closing(padded, structure=np.ones((3, 3)), iterations=reach)
    inside = ndimage.binary_fill_holes(closed)[reach:-reach, reach:-reach]
    labels, _ = label_patches(inside & ~is_seen)
    holes = []
    for number, window in enumerate(ndimage.find_objects(labels), start=1):
        patch = labels[window] == number
        area = float(patch.sum()) * grid.cell_m**2
        if area < LEAST_HOLE_M2:
            continue
        mask = np.zeros(labels.shape, dtype=np.bool_)
        mask[window] = patch
        stood_on = float(stands[window][patch].mean())
        why: Literal["nothing seen", "something stands there"] = (
            "something stands there" if stood_on > 0.2 else "nothing seen"
        )
        holes.append(Hole(draw_outline(mask, grid), area, why))
    return tuple(holes)
