"""Build what is left to pay at least from any height and place (``Bound``)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimizer.search.bound_kernel import (
    lay_by_height,
    lay_by_way,
    lay_sums_anywhere,
    spread_distance,
    widen_drops,
)
from optimizer.search.geometry_kernel import ARRIVAL, HIGH
from optimizer.search.kernel_tables import (
    HALF_LEFT,
    HALF_RIGHT,
    LEFT,
    NEVER,
    RIGHT,
    STRAIGHT,
    Bound,
    Raster,
    Tables,
)
from optimizer.search.raster_kernel import lay_ends

#: Levels on which a tip may lie are sorted into so many bands.
BANDS = 6
#: Cells of the raster that make one cell of the distances.
COARSER = 6

#: Bins of the bound by drop and way, metres.
DROP_BIN_M = 0.05
WAY_BIN_M = 0.6

Cells = NDArray[np.bool_]


def find_tip_cells(tables: Tables, raster: Raster) -> Cells:
    """Cells in which a tip could lie: surveyed, not blocked whole, in an arrival zone if there are any."""
    open_ground = np.isfinite(raster.ground_low) & (raster.cover < HIGH / 2)
    # A cell blocked in part may hold a tip; the plate behind it then covers an open neighbour whole.
    padded = np.pad(open_ground, 1)
    free = np.zeros_like(open_ground)
    for row in (0, 1, 2):
        for column in (0, 1, 2):
            free |= padded[row : row + raster.rows, column : column + raster.columns]
    free &= np.isfinite(raster.ground_low)
    arrivals = [ring for ring in tables.rings if ring.kind == ARRIVAL]
    if not arrivals:
        return free
    inside = np.zeros_like(free)
    us = raster.corner_u + np.arange(raster.columns + 1) * raster.cell
    vs = raster.corner_v + np.arange(raster.rows + 1) * raster.cell
    for ring in arrivals:
        columns = (us[1:] >= ring.u_low) & (us[:-1] <= ring.u_high)
        rows = (vs[1:] >= ring.v_low) & (vs[:-1] <= ring.v_high)
        inside |= rows[:, None] & columns[None, :]
    return free & inside


def build_bound(tables: Tables, raster: Raster, most_due: int) -> Bound | None:
    """The bound of one start, or ``None`` when no tip can lie anywhere.

    ``most_due``: landings that can be known to lie ahead, at least 1.
    """
    numbers = tables.numbers[0]
    tips = find_tip_cells(tables, raster)
    ends = raster.ends
    lay_ends(tables, raster, tips, ends)
    tips &= ends > 0
    if not tips.any():
        return None
    low, high = raster.ground_low, raster.ground_high
    lowest, highest = float(low[tips].min()), float(high[tips].max())
    bands = np.linspace(lowest, highest, BANDS + 1)
    # Every band once for ends that need no pad, once for those that do.
    tip_low, tip_high = np.tile(bands[:-1], 2), np.tile(bands[1:], 2)
    pads = np.repeat(np.array([0, int(numbers.pad_cost)], dtype=np.int64), BANDS)
    feet = np.isfinite(low)
    least, greatest = float(low[feet].min()), float(high[feet].max())
    tops = [float(ring.top) for ring in tables.rings]
    least, greatest = min([least, *tops]), max([greatest, *tops])
    deepest = float(numbers.deck) - lowest
    steps = max(2, int(np.ceil(deepest / float(numbers.height_step))) + 2)
    by_height = np.full((2 * BANDS, int(numbers.most_runs) + 1, steps), NEVER, dtype=np.int64)
    sums = len(tables.sums)
    landed = np.full((most_due + 1, *by_height.shape), NEVER, dtype=np.int64)
    lay_by_height(
        tables,
        by_height,
        landed,
        least,
        greatest,
        tip_low,
        tip_high,
        pads,
        np.zeros((2, sums), dtype=np.int64),
        np.zeros((4, sums), dtype=np.int64),
    )
    cell = raster.cell * COARSER
    rows, columns = -(-raster.rows // COARSER), -(-raster.columns // COARSER)
    distance = np.full((2 * BANDS, rows, columns), 1e9)
    tip_rows, tip_columns = np.nonzero(tips)
    for c in range(2 * BANDS):
        here = (low[tips] <= tip_high[c]) & (high[tips] >= tip_low[c])
        here &= ends[tips] == (2 if c < BANDS else 1)
        distance[c, tip_rows[here] // COARSER, tip_columns[here] // COARSER] = 0.0
        spread_distance(distance[c], cell)
    advance = measure_advance(tables)
    steepest = float(numbers.steepest)
    plate_fall = float(numbers.longest_plate) * steepest / float(np.sqrt(1.0 + steepest**2)) + 1e-3
    # Tips of one class lie within a band; the runs' whole drop is known to within it and the plate's fall.
    band = (highest - lowest) / BANDS + plate_fall
    by_sum = np.full((len(tables.drops), sums), NEVER, dtype=np.int64)
    lay_sums_anywhere(tables, by_sum, np.zeros((2, sums), dtype=np.int64))
    farthest = float(distance[distance < 1e8].max(initial=0.0))
    runs = int(numbers.most_runs)
    drops = int(np.ceil((deepest + band) / DROP_BIN_M)) + runs + 2
    by_way = np.empty((runs + 1, drops, int(farthest / WAY_BIN_M) + 2), dtype=np.int64)
    landed_by_way = np.empty((most_due + 1, *by_way.shape), dtype=np.int64)
    lay_by_way(tables, by_way, landed_by_way, by_sum, DROP_BIN_M, WAY_BIN_M, advance)
    for landings in landed_by_way:
        widen_drops(landings, int(np.ceil(band / DROP_BIN_M)) + 2 * runs + 2)
    least_long = np.minimum.accumulate(by_sum.min(axis=0)[::-1])[::-1]
    return Bound(
        by_height=by_height,
        by_step=by_height.min(axis=0),
        tells_rests=int(has_no_idle_run(tables)),
        landed=landed,
        by_way=landed_by_way,
        by_length=np.ascontiguousarray(tables.sums.length),
        by_length_cost=np.ascontiguousarray(least_long),
        drop_bin=DROP_BIN_M,
        way_bin=WAY_BIN_M,
        highest=tip_high,
        ends=pads + int(min(tables.plates.cost)) + int(numbers.least_low_pair),
        plate_fall=plate_fall,
        distance=distance,
        corner_u=raster.corner_u,
        corner_v=raster.corner_v,
        cell=cell,
        advance=advance,
    )


def has_no_idle_run(tables: Tables) -> bool:
    """Whether a run of every sum drops at least one height step at every level.

    Else the rest of a run after a joint may be one that no run could be by itself; so it may where
    laws bend the levels.
    """
    if tables.numbers[0].bends:
        return False
    step = float(tables.numbers[0].height_step)
    shortest = float(tables.sums.length[1:].min(initial=np.inf))
    return bool(shortest * float(tables.sines.min()) >= step)


def measure_advance(tables: Tables) -> float:
    """Furthest way, along both axes together, that a landing between two runs takes the path."""
    width = float(tables.numbers[0].width)
    most = 0.0
    for n, landing in enumerate(tables.landings):
        spare = float(landing.width) - width
        if min(tables.kinds[n, LEFT], tables.kinds[n, RIGHT]) < NEVER:
            most = max(most, float(landing.length) + float(landing.width) - width)
        if tables.kinds[n, STRAIGHT] < NEVER:
            most = max(most, float(landing.length) + spare)
        if min(tables.kinds[n, HALF_LEFT], tables.kinds[n, HALF_RIGHT]) < NEVER:
            most = max(most, spare)
    return most
