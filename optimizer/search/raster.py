"""Build the raster of one start: what is certain of every place in a cell."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimizer.search.geometry_kernel import MAY_STAND, E, scratch
from optimizer.search.kernel_tables import NEAR_EDGE, NEVER, Raster, Tables
from optimizer.search.raster_kernel import (
    BESIDE_M,
    HEIGHT_BIN_M,
    LOWEST_M,
    lay_ceiling,
    lay_cover,
    lay_ground,
    lay_near_low,
    lay_strips,
    look_at_feet,
)

#: Width of a cell on lots that need no more than ``MOST_CELLS`` of it, metres.
CELL_M = 0.05
MOST_CELLS = 250_000


def choose_cell(wide_m: float, deep_m: float, least_reach_m: float, width_m: float) -> float:
    """Width of a cell: small lots 50 mm, larger ones as many cells as memory should hold.

    A foot's reach must exceed a cell's half diagonal, or 'inside' would not be certain of the
    whole cell (see ``look_at_foot``); a run of ``width_m`` must cover one cell whole wherever it lies.
    """
    cell = max(CELL_M, float(np.sqrt(wide_m * deep_m / MOST_CELLS)))
    widest = (least_reach_m * 0.95 / np.sqrt(2.0) - BESIDE_M) * 2.0
    return min(cell, width_m / 2.05, max(float(widest), 0.01))


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
    cell = choose_cell(float(wide), float(deep), float(tables.supports.reach.min()), float(numbers.width))
    columns, rows = int(np.ceil(wide / cell)) + 2, int(np.ceil(deep / cell)) + 2
    pairs = sorted({(float(s.lateral), float(s.reach)) for s in tables.supports})
    sets = sorted(
        {int(s.supports) for s in tables.sections}
        | {int(s.low_supports) for s in tables.sections}
        | {int(x.legs) for x in tables.landings}
    )
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
        least_at=np.array([[price_heights(tables, bits, pair) for pair in pairs] for bits in sets]),
        joint_set=np.array([sets.index(int(s.supports)) for s in tables.sections]),
        hinge_set=np.array([sets.index(int(s.low_supports)) for s in tables.sections]),
        landing_set=np.array([sets.index(int(x.legs)) for x in tables.landings], dtype=np.int64),
        ends=np.zeros(shape, dtype=np.uint8),
        allowed=np.zeros((len(pairs), *shape), dtype=np.uint8),
        tops=np.zeros((len(pairs), *shape) if has_tops(tables) else (len(pairs), 1, 1)),
    )
    room = scratch()
    lay_ground(raster, tables.triangles, int(numbers.ground_end), room)
    lay_cover(raster, tables.triangles, int(numbers.ground_end), int(numbers.solid_end), room)
    if has_overhead:
        lay_ceiling(raster, tables.triangles, int(numbers.dig_end), int(numbers.overhead_end), room)
    lay_strips(raster)
    if has_tops(tables):
        # Up front: a top and that there is one are two writes, and two threads may look at once.
        look_at_feet(tables, raster)
    lay_near_low(raster, np.empty(shape), NEAR_EDGE)
    return raster


def price_heights(tables: Tables, bits: int, pair: tuple[float, float]) -> NDArray[np.int64]:
    """Least cents of a support of a set, with feet of one kind, somewhere in each height bin."""
    bins = int((float(tables.supports.high.max()) - LOWEST_M) / HEIGHT_BIN_M) + 3
    found = np.full(bins, NEVER, dtype=np.int64)
    low = LOWEST_M + np.arange(bins) * HEIGHT_BIN_M
    high = low + HEIGHT_BIN_M
    for kind, one in enumerate(tables.supports):
        if not (bits >> kind) & 1 or (float(one.lateral), float(one.reach)) != pair:
            continue
        fits = (high >= float(one.low) - 2 * E) & (low <= float(one.high) + 2 * E)
        braced = np.maximum(low, float(one.low)) > float(one.brace_above) + 2 * E
        cost = int(one.cost) + np.where(braced, int(one.brace_cost), 0)
        found = np.where(fits, np.minimum(found, cost), found)
    return found


def has_tops(tables: Tables) -> bool:
    """Whether feet may stand on some obstacle."""
    return bool((tables.rings.kind == MAY_STAND).any())
