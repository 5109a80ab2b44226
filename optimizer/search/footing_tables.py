"""What binds feet, and where ground triangles lie, as flat arrays."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.search.geometry_kernel import KEEP_CLEAR, KEEP_OFF, MAY_STAND, STAND_INSIDE
from optimizer.terrain.frames import DoorFrame
from optimizer.terrain.yard import FOOT_BLOCKING

Floats = NDArray[np.float64]


class FootRings(NamedTuple):
    """What feet keep off, as flat segments."""

    segments: Floats
    start: NDArray[np.int64]
    kind: NDArray[np.int64]
    top: Floats
    box: Floats


def build_foot_rings(site: Site, frame: DoorFrame) -> FootRings:
    """Rings (lot, house, obstacles, zones) and break lines that bind a foot."""
    segments: list[Floats] = []
    start, kind, top = [0], [], []

    def add(outline: Floats, closed: bool, code: int, level: float) -> None:
        points = frame.to_door(outline)
        after = np.roll(points, -1, axis=0) if closed else points[1:]
        before = points if closed else points[:-1]
        segments.append(np.column_stack([before, after]))
        start.append(start[-1] + len(before))
        kind.append(code)
        top.append(level)

    yard = site.yard
    add(yard.lot_m, True, STAND_INSIDE, 0.0)
    for ring in yard.house_m:
        add(ring, True, KEEP_OFF, 0.0)
    for obstacle in yard.obstacles:
        if obstacle.may_stand and obstacle.top_m is not None:
            add(obstacle.outline_m, True, MAY_STAND, obstacle.top_m)
        else:
            add(obstacle.outline_m, True, KEEP_OFF, 0.0)
    for zone in yard.zones:
        if zone.kind in FOOT_BLOCKING:
            add(zone.outline_m, True, KEEP_OFF, 0.0)
    for line in site.ground.break_lines:
        add(line.xy_m, False, KEEP_CLEAR, 0.0)
    boxes = [
        [ring[:, 0::2].min(), ring[:, 0::2].max(), ring[:, 1::2].min(), ring[:, 1::2].max()]
        for ring in segments
    ]
    return FootRings(
        np.concatenate(segments),
        np.array(start),
        np.array(kind, dtype=np.int64),
        np.array(top),
        np.array(boxes),
    )


class Buckets(NamedTuple):
    """Which ground triangles may cover each cell of a square grid."""

    start: NDArray[np.int64]
    items: NDArray[np.int64]
    grid: Floats


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
    return Buckets(start, items, np.array([low[0], low[1], size, columns, rows], dtype=np.float64))
