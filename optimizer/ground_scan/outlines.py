"""Outlines of marked cells."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.ground_scan.sorted_scan import Grid, Heights, Mask

_EIGHT = np.ones((3, 3), dtype=np.int8)


def label_patches(cells: Mask) -> tuple[NDArray[np.int32], int]:
    """Patches of marked cells that touch, corners too: numbers from 1, and how many."""
    labels, count = ndimage.label(cells, structure=_EIGHT)
    return labels.astype(np.int32), int(count)


def draw_outline(cells: Mask, grid: Grid) -> Heights:
    """Outer ring (k, 2) of one patch, counter-clockwise, not closed, within half a cell of the cells."""
    i, j = np.nonzero(cells)
    west, south = grid.west_m + j * grid.cell_m, grid.south_m + i * grid.cell_m
    squares = shapely.box(west, south, west + grid.cell_m, south + grid.cell_m)
    # Grown a little so that cells that touch at a corner hang together.
    patch = shapely.unary_union(squares).buffer(0.05 * grid.cell_m, join_style="mitre")
    outer = max(shapely.get_parts(patch), key=lambda part: part.area)
    ring = shapely.Polygon(outer.exterior).simplify(0.5 * grid.cell_m)
    corners = np.asarray(shapely.orient_polygons(ring).exterior.coords)[:-1]
    corners.flags.writeable = False
    return corners
