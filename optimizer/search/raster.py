"""Build the raster of one start: what is certain of every place in a cell."""

from __future__ import annotations

import numpy as np

from optimizer.search.geometry_kernel import MAY_STAND, scratch
from optimizer.search.kernel_tables import NEAR_EDGE, Raster, Tables
from optimizer.search.raster_kernel import (
    BESIDE_M,
    lay_ceiling,
    lay_cover,
    lay_ground,
    lay_near_low,
    lay_strips,
)

#: Width of a cell on lots that need no more than ``MOST_CELLS`` of it, metres.
CELL_M = 0.05
MOST_CELLS = 250_000


def choose_cell(wide_m: float, deep_m: float, least_reach_m: float) -> float:
    """Width of a cell: small lots 50 mm, larger ones as many cells as memory should hold.

    A foot's reach must exceed a cell's half diagonal, or 'inside' would not be certain of the
    whole cell (see ``look_at_foot``).
    """
    cell = max(CELL_M, float(np.sqrt(wide_m * deep_m / MOST_CELLS)))
    widest = (least_reach_m * 0.95 / np.sqrt(2.0) - BESIDE_M) * 2.0
    return min(cell, max(float(widest), 0.01))


def build_raster(tables: Tables) -> Raster:
    """The raster of the buildable, surveyed ground of one start."""
    numbers = tables.numbers[0]
    ground = tables.triangles[: int(numbers.ground_end)]
    low = ground[:, :, :2].min(axis=(0, 1))
    high = ground[:, :, :2].max(axis=(0, 1))
    if len(tables.rings):
        lot = tables.rings[0]  # the lot line is always the first ring
        low = np.maximum(low, [lot.u_low, lot.v_low])
        high = np.minimum(high, [lot.u_high, lot.v_high])
    wide, deep = np.maximum(high - low, 0.05)
    cell = choose_cell(float(wide), float(deep), float(tables.supports.reach.min()))
    columns, rows = int(np.ceil(wide / cell)) + 2, int(np.ceil(deep / cell)) + 2
    pairs = sorted({(float(s.lateral), float(s.reach)) for s in tables.supports})
    shape = (rows, columns)
    has_overhead = int(numbers.overhead_end) > int(numbers.dig_end)
    raster = Raster(
        corner_u=float(low[0]) - cell,
        corner_v=float(low[1]) - cell,
        cell=cell,
        columns=columns,
        rows=rows,
        strip=max(1, int(np.floor(float(numbers.width) / cell + 1e-9)) - 1),
        ground_low=np.full(shape, np.inf),
        ground_high=np.full(shape, -np.inf),
        cover=np.full(shape, -np.inf),
        ceiling=np.full(shape if has_overhead else (1, 1), np.inf),
        strip_u=np.empty(shape),
        strip_v=np.empty(shape),
        near_low=np.empty(shape),
        groups=np.array(pairs),
        group_of=np.array([pairs.index((float(s.lateral), float(s.reach))) for s in tables.supports]),
        allowed=np.zeros((len(pairs), *shape), dtype=np.uint8),
        tops=np.zeros((len(pairs), *shape) if has_tops(tables) else (len(pairs), 1, 1)),
    )
    room = scratch()
    lay_ground(raster, tables.triangles, int(numbers.ground_end), room)
    lay_cover(raster, tables.triangles, int(numbers.ground_end), int(numbers.solid_end), room)
    if has_overhead:
        lay_ceiling(raster, tables.triangles, int(numbers.dig_end), int(numbers.overhead_end), room)
    lay_strips(raster)
    lay_near_low(raster, np.empty(shape), NEAR_EDGE)
    return raster


def has_tops(tables: Tables) -> bool:
    """Whether feet may stand on some obstacle."""
    return bool((tables.rings.kind == MAY_STAND).any())
