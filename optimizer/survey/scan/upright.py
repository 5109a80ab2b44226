"""Which way is up in a scan, judged from its shape alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.scan.file_frame import UpAxis
from optimizer.survey.scan.patches import Patches

#: A patch lies across an axis when its normal is within 15 degrees of it: ground of 1:4 still does.
_COSINE: Final = float(np.cos(np.radians(15.0)))
#: How much more ground than the next axis, and how many more points on one side of it than the other,
#: leave no doubt (chosen on generated yards).
CLEAR_AREA_RATIO: Final = 2.0
CLEAR_SIDE_RATIO: Final = 4.0

#: Patches whose middle level is the ground around a place: 2.5 m in a yard of 20 m.
_AROUND: Final = 8
#: Patches above it that a thing must stand to be told from the ground's own slope.
_WELL: Final = 2.5


@dataclass(frozen=True, slots=True)
class Uprightness:
    """What the shape says.

    ``areas`` (3,): how much of the scan, seen along x, y and z, is covered by patches that lie
    across that axis, in patches.  ``side_ratio``: points on the side called up, divided by
    points on the other.  ``up`` is ``None`` when there is no flat patch.
    """

    up: UpAxis | None
    areas: tuple[int, int, int]
    side_ratio: float
    is_clear: bool


def judge_up(points: NDArray[np.float64], patches: Patches) -> Uprightness:
    """The ground is the widest flat thing in a yard, and what stands there stands above it."""
    areas = [_count_columns(patches, axis) for axis in range(3)]
    axis = int(np.argmax(areas))
    if areas[axis] == 0:
        return Uprightness(None, (0, 0, 0), 1.0, False)
    above, below = _count_sides(points, patches, axis)
    ratio = (max(above, below) + 1.0) / (min(above, below) + 1.0)
    name = "xyz"[axis]
    others = max(area for i, area in enumerate(areas) if i != axis)
    is_clear = areas[axis] >= CLEAR_AREA_RATIO * others and ratio >= CLEAR_SIDE_RATIO
    up = next(known for known in _AXES if known == (name if above >= below else f"-{name}"))
    return Uprightness(up, (areas[0], areas[1], areas[2]), ratio, is_clear)


_AXES: Final[tuple[UpAxis, ...]] = ("x", "y", "z", "-x", "-y", "-z")


def _lies_across(patches: Patches, axis: int) -> NDArray[np.bool_]:
    is_across: NDArray[np.bool_] = np.abs(patches.normals[:, axis]) >= _COSINE
    return is_across


def _columns(places: NDArray[np.float64], axis: int, width: float) -> NDArray[np.int64]:
    """Number of the square column along ``axis`` that each place stands in."""
    first, second = (other for other in range(3) if other != axis)
    cells = np.floor(places / width).astype(np.int64)
    columns: NDArray[np.int64] = (cells[:, first] << 32) + cells[:, second]
    return columns


def _count_columns(patches: Patches, axis: int) -> int:
    return len(np.unique(_columns(patches.centres[_lies_across(patches, axis)], axis, patches.edge)))


def _count_sides(points: NDArray[np.float64], patches: Patches, axis: int) -> tuple[int, int]:
    """Points well above and well below the flat patches around them."""
    places, levels = measure_levels(patches, axis)
    at = _columns(points, axis, _AROUND * patches.edge)
    row = np.minimum(np.searchsorted(places, at), len(places) - 1)
    heights = (points[:, axis] - levels[row])[places[row] == at]
    margin = _WELL * patches.edge
    return int((heights > margin).sum()), int((heights < -margin).sum())


def measure_levels(patches: Patches, axis: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Wide columns that hold a patch across ``axis``, sorted, and the middle level of the patches in each."""
    ground = patches.centres[_lies_across(patches, axis)]
    columns = _columns(ground, axis, _AROUND * patches.edge)
    order = np.lexsort((ground[:, axis], columns))
    known, starts, counts = np.unique(columns[order], return_index=True, return_counts=True)
    return known, ground[order[starts + counts // 2], axis]
