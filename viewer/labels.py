"""Labels on a picture: placed so that they cover neither each other nor the ramp."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

#: Room kept between two labels, and between a label and the edge of the picture, pixels.
GAP_PX: Final = 10
_REACHES_PX: Final = (46, 72, 100, 135, 175, 220, 270, 330)
_DIRECTIONS: Final = 24


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in pixels, from the top left."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def middle(self) -> tuple[float, float]:
        """Its centre."""
        return (self.left + self.right) / 2.0, (self.top + self.bottom) / 2.0

    def has_overlap(self, other: Box, gap: float) -> bool:
        """Do two boxes come closer than ``gap``."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom + gap
            and other.top < self.bottom + gap
        )

    def is_inside(self, other: Box, gap: float) -> bool:
        """Does this box lie within another, ``gap`` from its edges."""
        return (
            self.left >= other.left + gap
            and self.right <= other.right - gap
            and self.top >= other.top + gap
            and self.bottom <= other.bottom - gap
        )


@dataclass(frozen=True, slots=True)
class Label:
    """What is said, about which point (pixels), and the size of the text box (pixels)."""

    lines: tuple[str, ...]
    anchor: tuple[float, float]
    size: tuple[float, float]


@dataclass(frozen=True, slots=True)
class PlacedLabel:
    """A label with the box that was found for it."""

    label: Label
    box: Box


def place_labels(
    labels: tuple[Label, ...], area: Box, taken: tuple[Box, ...], ramp: NDArray[np.bool_]
) -> tuple[PlacedLabel, ...]:
    """Find a box for each label, in order; one that finds no free place is left out.

    ``area`` is where labels may be, ``taken`` boxes they must not touch, ``ramp`` (h, w)
    marks the pixels they should rather not cover.  The first labels choose first.
    """
    covered = np.pad(np.cumsum(np.cumsum(ramp.astype(np.int64), axis=0), axis=1), ((1, 0), (1, 0)))
    placed: list[PlacedLabel] = []
    for label in labels:
        blocked = [*taken, *(other.box for other in placed)]
        # Other labels' points are kept free, and no leader may cross a box or another leader.
        points = [other.anchor for other in labels if other is not label]
        best: tuple[float, Box] | None = None
        for box in _list_boxes(label):
            if not box.is_inside(area, GAP_PX) or any(box.has_overlap(other, GAP_PX) for other in blocked):
                continue
            if any(box.has_overlap(Box(x, y, x, y), 8.0) for x, y in points):
                continue
            cost = _measure_cost(label, box, covered) + _count_crossings(label, box, placed) * 4000.0
            if best is None or cost < best[0]:
                best = (cost, box)
        if best is not None:
            placed.append(PlacedLabel(label, best[1]))
    return tuple(placed)


def _list_boxes(label: Label) -> list[Box]:
    x, y = label.anchor
    wide, tall = label.size
    boxes = []
    for reach in _REACHES_PX:
        for k in range(_DIRECTIONS):
            angle = 2.0 * math.pi * k / _DIRECTIONS
            across, up = math.cos(angle), math.sin(angle)
            # The box's nearest edge, not its middle, lies 'reach' away from the point.
            middle_x = x + across * (reach + wide / 2.0 * abs(across))
            middle_y = y - up * (reach + tall / 2.0)
            boxes.append(
                Box(
                    middle_x - wide / 2.0, middle_y - tall / 2.0, middle_x + wide / 2.0, middle_y + tall / 2.0
                )
            )
    return boxes


def _measure_cost(label: Label, box: Box, covered: NDArray[np.int64]) -> float:
    """Pixels of the ramp under the box, the leader's length, and a little for a place below."""
    x, y = label.anchor
    middle_x, middle_y = box.middle
    reach = math.hypot(middle_x - x, middle_y - y)
    below = 25.0 if middle_y > y else 0.0
    return _count_covered(box, covered) * 1.2 + reach * 1.6 + below


def _count_covered(box: Box, covered: NDArray[np.int64]) -> float:
    height, width = covered.shape[0] - 1, covered.shape[1] - 1
    x0, x1 = (int(np.clip(value, 0, width)) for value in (box.left, box.right))
    y0, y1 = (int(np.clip(value, 0, height)) for value in (box.top, box.bottom))
    total = covered[y1, x1] - covered[y0, x1] - covered[y1, x0] + covered[y0, x0]
    return float(total)


def _count_crossings(label: Label, box: Box, placed: list[PlacedLabel]) -> int:
    leader = (label.anchor, box.middle)
    count = 0
    for other in placed:
        count += _crosses(leader, (other.label.anchor, other.box.middle))
        edges = _list_edges(other.box)
        count += any(_crosses(leader, edge) for edge in edges)
        own = _list_edges(box)
        count += any(_crosses((other.label.anchor, other.box.middle), edge) for edge in own)
    return count


_Line = tuple[tuple[float, float], tuple[float, float]]


def _list_edges(box: Box) -> tuple[_Line, ...]:
    corners = ((box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom))
    return tuple(zip(corners, (*corners[1:], corners[0]), strict=True))


def _crosses(first: _Line, second: _Line) -> bool:
    (a, b), (c, d) = first, second
    return _turn(a, b, c) * _turn(a, b, d) < 0.0 and _turn(c, d, a) * _turn(c, d, b) < 0.0


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
