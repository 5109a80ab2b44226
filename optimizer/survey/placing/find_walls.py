"""Walls in a placed scan: upright planes by random pairs of columns, refined on the points themselves.

M. A. Fischler and R. C. Bolles, 'Random sample consensus' (Communications of the ACM 24(6), 1981).  A wall
has points above each other and the ground has not, so the scan is first cut into columns and only tall ones
are drawn; a pair of them is an upright plane.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.placing.planes import Plane, fit_plane

#: Edge of the columns and of their storeys.  A wall needs a point in most cells of that size.
CELL_M: Final = 0.05
_FEWEST_STOREYS: Final = 8
_DRAWS: Final = 1500
#: Columns whose middle is this close to a drawn plane lie in it; points this close are refined on.
_NEAR_M: Final = 0.04
_REFINE_M: Final = 0.08
#: Columns further apart along a plane than a wide opening are two walls.
_GAP_M: Final = 2.5
#: A shorter or lower thing is no house wall.
_SHORTEST_M: Final = 1.5
_LOWEST_M: Final = 1.2
_REFINEMENTS: Final = 6
_MAD_TO_SD: Final = 1.4826


@dataclass(frozen=True, slots=True)
class Wall:
    """An upright stretch of plane.

    ``start_m`` and ``end_m`` (2,): its ends in plan.  ``plane``: refined, its true normal, which
    leans where the scan does.  ``noise_m``: robust scatter of its points.  ``bottom_m`` and
    ``top_m``: between which heights it was seen.  ``area_m2``: of the cells seen.
    """

    start_m: NDArray[np.float64]
    end_m: NDArray[np.float64]
    plane: Plane
    noise_m: float
    bottom_m: float
    top_m: float
    area_m2: float

    @property
    def along(self) -> NDArray[np.float64]:
        """Direction (2,) from start to end."""
        away = self.end_m - self.start_m
        direction: NDArray[np.float64] = away / np.hypot(*away)
        return direction

    @property
    def across(self) -> NDArray[np.float64]:
        """Level normal (2,), to the left seen from start to end."""
        x, y = self.along
        return np.array([-y, x])

    @property
    def length_m(self) -> float:
        """From end to end."""
        return float(np.hypot(*(self.end_m - self.start_m)))

    @property
    def lean_deg(self) -> float:
        """How far its plane is from upright."""
        return abs(90.0 - self.plane.dip_deg)


@dataclass(frozen=True, slots=True)
class _Columns:
    """``middles_m`` (k, 2) of tall columns, and how many storeys of each hold points."""

    middles_m: NDArray[np.float64]
    storeys: NDArray[np.float64]


def find_walls(points_m: NDArray[np.float64], seed: int, most: int = 4) -> tuple[Wall, ...]:
    """Up to ``most`` walls, the largest seen area first; ``points_m`` (n, 3) in metres, z up.

    The same points and seed give the same walls.  Empty when nothing upright is long and tall
    enough, or the scan is too thin to tell.
    """
    rng = np.random.default_rng(seed)
    columns = _find_columns(points_m)
    walls: list[Wall] = []
    for _ in range(3 * most):
        inside = _draw_plane(columns, rng)
        if inside is None or len(walls) == most:
            break
        wall = _refine(points_m, columns.middles_m[inside])
        if wall is not None:
            walls.append(wall)
        columns = _Columns(columns.middles_m[~inside], columns.storeys[~inside])
    return tuple(sorted(walls, key=lambda wall: -wall.area_m2))


def _find_columns(points_m: NDArray[np.float64]) -> _Columns:
    nothing = _Columns(np.empty((0, 2)), np.empty(0))
    if len(points_m) == 0:
        return nothing
    cells = np.floor((points_m - points_m.min(axis=0)) / CELL_M).astype(np.int64)
    wide, high = int(cells[:, 1].max()) + 1, int(cells[:, 2].max()) + 1
    column = cells[:, 0] * wide + cells[:, 1]
    filled = np.unique(column * high + cells[:, 2]) // high
    names, storeys = np.unique(filled, return_counts=True)
    tall = storeys >= _FEWEST_STOREYS
    if not tall.any():
        return nothing
    names, storeys = names[tall], storeys[tall]
    row = np.minimum(np.searchsorted(names, column), len(names) - 1)
    mine = names[row] == column
    row, own = row[mine], points_m[mine]
    counts = np.bincount(row, minlength=len(names))
    sums = [np.bincount(row, weights=own[:, axis], minlength=len(names)) for axis in (0, 1)]
    return _Columns(np.stack(sums, axis=1) / counts[:, None], storeys.astype(np.float64))


def _draw_plane(columns: _Columns, rng: np.random.Generator) -> NDArray[np.bool_] | None:
    """Columns (k,) of the heaviest stretch of any plane drawn; ``None`` when none is long enough."""
    count = len(columns.storeys)
    if count < 2:
        return None
    chance = columns.storeys / columns.storeys.sum()
    pairs = rng.choice(count, size=(_DRAWS, 2), p=chance)
    away = columns.middles_m[pairs[:, 1]] - columns.middles_m[pairs[:, 0]]
    apart = np.hypot(away[:, 0], away[:, 1])
    is_apart = apart > 0.5 * _SHORTEST_M
    pairs, away, apart = pairs[is_apart], away[is_apart], apart[is_apart]
    if len(pairs) == 0:
        return None
    across = np.stack([-away[:, 1], away[:, 0]], axis=1) / apart[:, None]
    offsets = (across * columns.middles_m[pairs[:, 0]]).sum(axis=1)
    weights = np.array(
        [
            columns.storeys[np.abs(columns.middles_m @ normal - offset) <= _NEAR_M].sum()
            for normal, offset in zip(across, offsets, strict=True)
        ]
    )
    best = int(np.argmax(weights))
    inside: NDArray[np.bool_] = np.abs(columns.middles_m @ across[best] - offsets[best]) <= _NEAR_M
    return _heaviest_stretch(columns, inside, away[best] / apart[best])


def _heaviest_stretch(
    columns: _Columns, inside: NDArray[np.bool_], along: NDArray[np.float64]
) -> NDArray[np.bool_] | None:
    rows = np.flatnonzero(inside)
    where = columns.middles_m[rows] @ along
    order = np.argsort(where, kind="stable")
    rows, where = rows[order], where[order]
    stretch = np.concatenate(([0], np.cumsum(np.diff(where) > _GAP_M)))
    best = int(np.argmax(np.bincount(stretch, weights=columns.storeys[rows])))
    chosen = stretch == best
    if float(np.ptp(where[chosen])) < _SHORTEST_M:
        return None
    marked = np.zeros(len(inside), dtype=np.bool_)
    marked[rows[chosen]] = True
    return marked


def _refine(points_m: NDArray[np.float64], middles_m: NDArray[np.float64]) -> Wall | None:
    """Fit the stretch's own points again and again, each time without those that lie far off."""
    middle = middles_m.mean(axis=0)
    _, _, rows = np.linalg.svd(middles_m - middle, full_matrices=False)
    along, across = rows[0], rows[1]
    reach = (middles_m - middle) @ along
    first, last = float(reach.min()) - 0.5 * CELL_M, float(reach.max()) + 0.5 * CELL_M
    where = (points_m[:, :2] - middle) @ along
    off = (points_m[:, :2] - middle) @ across
    near = points_m[(where >= first) & (where <= last) & (np.abs(off) <= _REFINE_M)]
    plane = fit_plane(near)
    noise = _REFINE_M
    for _ in range(_REFINEMENTS):
        if plane is None:
            return None
        distances = plane.distances_m(near)
        noise = _MAD_TO_SD * float(np.median(np.abs(distances - np.median(distances))))
        plane = fit_plane(near[np.abs(distances) <= max(2.5 * noise, 0.001)])
    if plane is None:
        return None
    wall = _measure(near, plane, noise, along)
    return wall if wall.top_m - wall.bottom_m >= _LOWEST_M else None


def _measure(near: NDArray[np.float64], plane: Plane, noise: float, along: NDArray[np.float64]) -> Wall:
    inside = near[np.abs(plane.distances_m(near)) <= max(3.0 * noise, 0.005)]
    level = plane.normal[:2] / np.hypot(*plane.normal[:2])
    direction = np.array([level[1], -level[0]])
    direction = direction if float(direction @ along) > 0.0 else -direction
    where = (inside[:, :2] - plane.middle_m[:2]) @ direction
    heights = inside[:, 2]
    cells = np.unique(np.floor(np.stack([where, heights], axis=1) / CELL_M).astype(np.int64), axis=0)
    return Wall(
        start_m=plane.middle_m[:2] + float(where.min()) * direction,
        end_m=plane.middle_m[:2] + float(where.max()) * direction,
        plane=plane,
        noise_m=noise,
        bottom_m=float(np.percentile(heights, 0.5)),
        top_m=float(np.percentile(heights, 99.5)),
        area_m2=len(cells) * CELL_M**2,
    )
