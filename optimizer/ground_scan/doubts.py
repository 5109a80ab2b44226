"""What a scan cannot tell: raised where no ground can be trusted, else listed beside the result."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.errors import Fault, InputError
from optimizer.ground_scan.cells import Cells
from optimizer.ground_scan.find_ground import GroundPlanes
from optimizer.ground_scan.settings import Settings
from optimizer.ground_scan.sorted_scan import Doubt, Grid, Mask
from optimizer.ground_scan.surfaces import fill_gaps

#: Less ground than this in one piece is no yard.
LEAST_GROUND_M2: Final = 4.0
#: Below this cells of 10 cm stay empty.
DENSE: Final = 500
#: Less of the scanned plan than this in the ground is a facade or a hedge, or water.
LEAST_GROUND_SHARE: Final = 0.15
#: A level this far above or below the ground beside it is another storey or a pit, not a terrace.
HIGHEST_STEP_M: Final = 1.2
_RIM_CELLS: Final = 3
#: Less than this of solid ground may be what water or glass mirrors.
_SURE_M2: Final = 0.5
#: Under a roof above this share of the ground one stands in a room.
ROOM_SHARE: Final = 0.5


def keep_joined_ground(
    planes: GroundPlanes, cells: Cells, settings: Settings, where: str
) -> tuple[GroundPlanes, tuple[Doubt, ...]]:
    """Ground that hangs together with the largest piece of it; other levels are no longer 'seen'.

    ``InputError`` where there is too little ground to call it a yard.
    """
    area = settings.cell_m**2
    solid = ndimage.binary_opening(planes.is_seen, structure=np.ones((3, 3)))
    pieces, count = _label_levels(planes, solid)
    sizes = np.bincount(pieces.ravel(), minlength=count + 1)[1:] if count else np.zeros(0)
    largest = float(sizes.max()) * area if count else 0.0
    plan = float((cells.counts > 0).sum()) * area
    if largest < LEAST_GROUND_M2:
        dense = len(cells.points) / max(plan, area)
        what = f"the largest piece of ground has {largest:.1f} m2, at {dense:.0f} points a square metre."
        remedy = (
            f"Scan at least {LEAST_GROUND_M2:.0f} m2 of bare ground with {DENSE} points a square metre;"
            " walls, plants and water do not tell it."
        )
        raise InputError(Fault(where, what, remedy))
    if float(sizes.sum()) * area < LEAST_GROUND_SHARE * plan:
        what = f"only {100 * float(sizes.sum()) * area / plan:.0f} % of the scanned plan looks like ground."
        raise InputError(Fault(where, what, "Cut out the yard, or scan the ground itself."))
    main = int(sizes.argmax()) + 1
    joined = _join(planes, pieces, main, settings.cell_m)
    # Small pieces and single cells at the rim must go on the ground beside them, or they are mirrored.
    sure = joined & (np.concatenate([[0.0], sizes]) * area >= _SURE_M2)
    kept = sure[pieces] & solid
    seen = kept | (planes.is_seen & _goes_on(planes, kept, settings) & (joined[pieces] | ~solid))
    doubts = []
    for piece in np.flatnonzero(~joined[1:]) + 1:
        size = float(sizes[piece - 1]) * area
        if size < 1.0:
            continue
        mine = pieces == piece
        level, beside = (
            float(np.median(planes.level_m[mine])),
            float(np.median(planes.level_m[pieces == main])),
        )
        what = (
            f"{size:.1f} m2 of level surface at {level:.2f} m do not join the ground"
            f" (middle of the ground at {beside:.2f} m)."
        )
        doubts.append(
            Doubt(what, "A storey, a roof, a deck or a pit? Left out; measure it if the ramp starts there.")
        )
    return _fill_unseen(planes, seen), tuple(doubts)


def _goes_on(planes: GroundPlanes, kept: Mask, settings: Settings) -> Mask:
    """Cells near kept ones whose level is about theirs: within two reaches, and one in five of the way."""
    away, nearest = ndimage.distance_transform_edt(~kept, return_indices=True)
    beside = planes.level_m[nearest[0], nearest[1]]
    allowed = 2.0 * settings.reach_m + 0.2 * settings.cell_m * away
    return np.asarray((away <= _RIM_CELLS) & (np.abs(planes.level_m - beside) <= allowed))


def _fill_unseen(planes: GroundPlanes, seen: Mask) -> GroundPlanes:
    """The planes with what is not seen filled from what is."""
    level = fill_gaps(np.where(seen, planes.level_m, np.nan))
    along_x, along_y = (np.where(seen, each, 0.0) for each in (planes.along_x, planes.along_y))
    return GroundPlanes(level, along_x, along_y, seen)


def check_roof(planes: GroundPlanes, is_roofed: Mask, grid: Grid, where: str) -> tuple[Doubt, ...]:
    """A doubt where part of the ground lies under something wide; ``InputError`` where most of it does."""
    wide = ndimage.binary_opening(is_roofed, structure=np.ones((5, 5)))
    ground = planes.is_seen
    share = float((wide & ground).sum()) / max(1, int(ground.sum()))
    if share > ROOM_SHARE:
        what = f"{100 * share:.0f} % of the ground lies under a roof or ceiling."
        raise InputError(Fault(where, what, "This looks like a room; give a scan of the yard."))
    if share * float(ground.sum()) * grid.cell_m**2 < 1.0:
        return ()
    what = f"{100 * share:.0f} % of the ground lies under something wide that hangs above it."
    return (Doubt(what, "Measure the headroom where the ramp passes below."),)


def _label_levels(planes: GroundPlanes, solid: Mask) -> tuple[NDArray[np.int32], int]:
    """Pieces of ground without a step higher than ``HIGHEST_STEP_M`` inside."""
    level = planes.level_m
    highest, lowest = ndimage.maximum_filter(level, 3), ndimage.minimum_filter(level, 3)
    is_cliff = (highest - lowest) > HIGHEST_STEP_M
    labels, count = ndimage.label(solid & ~is_cliff, structure=np.ones((3, 3)))
    return labels.astype(np.int32), int(count)


def _join(planes: GroundPlanes, pieces: NDArray[np.int32], main: int, cell_m: float) -> Mask:
    """Which pieces (by number; 0 is none) go on the main one across a gap: by level where nearest."""
    joined = np.zeros(int(pieces.max()) + 1, dtype=np.bool_)
    joined[main] = True
    changed = True
    while changed:
        changed = False
        away, nearest = ndimage.distance_transform_edt(~joined[pieces], return_indices=True)
        for piece in np.flatnonzero(~joined[1:]) + 1:
            mine = np.flatnonzero((pieces == piece).ravel())
            at = mine[away.ravel()[mine].argmin()]
            beside = planes.level_m[nearest[0].ravel()[at], nearest[1].ravel()[at]]
            # A slope of one in three over the gap between them is allowed.
            allowed = HIGHEST_STEP_M / 2 + 0.33 * cell_m * away.ravel()[at]
            if abs(planes.level_m.ravel()[at] - beside) <= allowed:
                joined[piece] = changed = True
    return joined
