"""What binds feet, and where ground triangles lie, as flat arrays."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.search.geometry_kernel import ARRIVAL, KEEP_CLEAR, KEEP_OFF, MAY_STAND, STAND_INSIDE
from optimizer.search.kernel_tables import Ring
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.yard import FOOT_BLOCKING, PIECE_BLOCKING

Floats = NDArray[np.float64]


class RingTable(NamedTuple):
    """Rings and break lines as flat segments (m, 4) and one row each."""

    segments: Floats
    rings: tuple[Ring, ...]


def build_ring_table(site: Site, frame: DoorFrame) -> RingTable:
    """What binds a foot (lot, house, obstacles, zones, break lines) and the arrival zones."""
    yard = site.yard
    stretches = [_closed(frame, yard.lot_m, STAND_INSIDE, 0.0)]
    stretches += [_closed(frame, ring, KEEP_OFF, 0.0) for ring in yard.house_m]
    for obstacle in yard.obstacles:
        if obstacle.may_stand and obstacle.top_m is not None:
            stretches.append(_closed(frame, obstacle.outline_m, MAY_STAND, obstacle.top_m))
        else:
            stretches.append(_closed(frame, obstacle.outline_m, KEEP_OFF, 0.0))
    stretches += [
        _closed(frame, zone.outline_m, KEEP_OFF, 0.0)
        for zone in yard.zones
        if zone.kind in FOOT_BLOCKING | PIECE_BLOCKING
    ]
    for line in site.ground.break_lines:
        points = frame.to_door(line.xy_m)
        stretches.append((np.column_stack([points[:-1], points[1:]]), KEEP_CLEAR, 0.0))
    stretches += [_closed(frame, outline, ARRIVAL, 0.0) for outline in yard.arrivals_m]
    rings = []
    first = 0
    for segments, kind, top in stretches:
        us, vs = segments[:, 0::2], segments[:, 1::2]
        last = first + len(segments)
        rings.append(Ring(first, last, kind, top, us.min(), us.max(), vs.min(), vs.max()))
        first = last
    return RingTable(np.concatenate([segments for segments, _, _ in stretches]), tuple(rings))


def _closed(frame: DoorFrame, outline: Floats, kind: int, top: float) -> tuple[Floats, int, float]:
    """A closed ring as segments, with what it asks."""
    points = frame.to_door(outline)
    return np.column_stack([points, np.roll(points, -1, axis=0)]), kind, top


class Buckets(NamedTuple):
    """Which ground triangles may cover each cell of a square grid."""

    start: NDArray[np.int64]
    items: NDArray[np.int64]
    corner: tuple[float, float]
    cell_m: float
    columns: int
    rows: int


def build_buckets(ground: Floats) -> Buckets:
    """Sort ground triangles into cells of about the mean triangle's size."""
    low = ground[:, :, :2].min(axis=(0, 1)) - 0.01
    high = ground[:, :, :2].max(axis=(0, 1)) + 0.01
    size = max(float(np.sqrt(np.prod(high - low) / max(1, len(ground)))) / 2.0, 0.05)
    columns, rows = (int(n) + 1 for n in (high - low) / size)
    cells: list[list[int]] = [[] for _ in range(columns * rows)]
    for n, triangle in enumerate(ground):
        c0, r0 = ((triangle[:, :2].min(axis=0) - 1e-6 - low) / size).astype(int)
        c1, r1 = ((triangle[:, :2].max(axis=0) + 1e-6 - low) / size).astype(int)
        for row in range(r0, r1 + 1):
            for column in range(c0, c1 + 1):
                cells[row * columns + column].append(n)
    start = np.concatenate([[0], np.cumsum([len(cell) for cell in cells])]).astype(np.int64)
    items = np.array([n for cell in cells for n in cell], dtype=np.int64)
    return Buckets(start, items, (float(low[0]), float(low[1])), size, columns, rows)
