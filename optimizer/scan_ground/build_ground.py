"""Ground points from a placed scan near the ramp, with the error of every cell."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from optimizer.errors import Fault, InputError
from optimizer.ground_scan.sorted_scan import GROUND, LOW, OBJECT, UNKNOWN
from optimizer.scan_ground.cells import ScanCells, build_cells, extend_cells
from optimizer.scan_ground.vertices import MOST_VERTICES, Vertices, choose_vertices
from optimizer.scan_ground.yard_sorted import AreaTest, SortedYard, find_rejected
from optimizer.survey.placing.place_scan import PlacedScan
from optimizer.survey.placing.placed_errors import measure_height_errors
from optimizer.terrain.ground import BreakLine

#: A levelled point goes before the scan: no scan point is taken so near to one.
NEAR_LEVEL_M: Final = 0.5
#: Cells this near to a step, in their edges, lie on both its sides and tell neither.
_ACROSS_STEP: Final = 0.75
_FEWEST_CELLS: Final = 12
#: Share of the usual number of points that a cell beside a wall must have.
_FILLED: Final = 0.5


@dataclass(frozen=True, slots=True)
class GroundArea:
    """``may_be_ground``: points that are taken; ``is_wall``: where ground is carried on to a wall's foot;
    ``is_beside_wall``: where the wall's own points stand, which are nothing the ground could be hidden by.
    """

    may_be_ground: AreaTest
    is_wall: AreaTest
    is_beside_wall: AreaTest


@dataclass(frozen=True, slots=True)
class LevelMet:
    """A levelled ground point on the scan's ground: ``off_m`` is scan less level."""

    name: str
    off_m: float


@dataclass(frozen=True, slots=True)
class ScanGround:
    """Ground of a scan in the survey's frame, metres.

    ``xyz_m`` (n, 3): points to triangulate, those near a levelled point left out.  ``cells``: those that
    show ground, with their own errors; ``seen_m`` (m, 2) their middles and the levelled points.
    ``rejected_m`` (k, 2): where something stands.  ``vertices``: all points with the bound they keep.
    Of the ``points`` near the ramp, ``ground`` are ground, ``ghosts`` too low, ``things`` stand or hang
    there, and ``unknown`` could not be told.  ``cell_error_m``: median standard error of a cell's level
    by its own scatter; ``placing_error_m``: largest standard error of a height by the placing.
    ``met``: how far the scan is off at levelled ground points, which did not make it.
    """

    path: Path
    xyz_m: NDArray[np.float64]
    seen_m: NDArray[np.float64]
    vertices: Vertices
    cells: ScanCells
    rejected_m: NDArray[np.float64]
    points: int
    ground: int
    ghosts: int
    things: int
    unknown: int
    cell_error_m: float
    placing_error_m: float
    met: tuple[LevelMet, ...]

    @property
    def rough_error_m(self) -> float:
        """Rough standard error of a height: what the cells not chosen miss by, and the placing's."""
        return math.hypot(self.vertices.usual_m, self.placing_error_m)


def build_scan_ground(
    placed: PlacedScan,
    yard: SortedYard,
    edge_m: float,
    area: GroundArea,
    lines: tuple[BreakLine, ...],
    level_names: tuple[str, ...],
    levels_m: NDArray[np.float64],
    most: int = MOST_VERTICES,
) -> ScanGround:
    """Grid the ground points where ground is wanted, and choose at most ``most`` of the cells.

    ``lines``: break lines found in the scan; no point is taken on both sides of one.  ``levels_m``
    (k, 3): levelled ground points.  All in the survey's frame.  Raises ``InputError`` when hardly any
    ground is left.
    """
    points_m = yard.points_m[yard.kinds == GROUND]
    points_m = points_m[area.may_be_ground(points_m[:, :2])]
    ground = _keep_middles(build_cells(points_m, yard.surface, edge_m), area) if len(points_m) else None
    if ground is None or len(ground.level_m) < _FEWEST_CELLS:
        count = 0 if ground is None else len(ground.level_m)
        what = f"only {count} cells of {edge_m:g} m on the lot near the first start show ground."
        remedy = "Scan more densely, check the control points' x and y, or give [scan] a larger cell."
        raise InputError(Fault(placed.path.name, what, remedy))
    off_steps = ground.choose(~_is_across(ground, lines))
    if len(off_steps.level_m) < _FEWEST_CELLS:
        what = f"only {len(off_steps.level_m)} cells of {edge_m:g} m lie off the steps that were found."
        raise InputError(Fault(placed.path.name, what, "Give [scan] a smaller cell, or scan more ground."))
    vertices = choose_vertices(extend_cells(off_steps, area.is_wall), most)
    away = vertices.xyz_m[:, None, :2] - levels_m[None, :, :2]
    is_free = (np.hypot(away[..., 0], away[..., 1]) > NEAR_LEVEL_M).all(axis=1)
    xyz_m = vertices.xyz_m[is_free].copy()
    xyz_m.setflags(write=False)
    return ScanGround(
        path=placed.path,
        xyz_m=xyz_m,
        seen_m=np.vstack((ground.middle_m, levels_m[:, :2])),
        vertices=vertices,
        cells=ground,
        rejected_m=find_rejected(yard, lambda xy: ~area.is_beside_wall(xy)),
        points=len(yard.points_m),
        ground=yard.count(GROUND),
        ghosts=yard.count(LOW),
        things=yard.count(OBJECT),
        unknown=yard.count(UNKNOWN),
        cell_error_m=float(np.median(ground.error_m)),
        placing_error_m=float(measure_height_errors(placed.placing, vertices.xyz_m).max()),
        met=_meet(ground, level_names, levels_m),
    )


def _keep_middles(cells: ScanCells, area: GroundArea) -> ScanCells:
    """Those with their middle where ground is, and beside a wall those that are well filled.

    A wall bends up the surface that levels are measured from, and hides part of the cells at its foot.
    """
    is_filled = cells.count >= _FILLED * np.median(cells.count)
    is_kept = is_filled | ~area.is_beside_wall(cells.middle_m)
    return cells.choose(area.may_be_ground(cells.middle_m) & is_kept)


def _is_across(cells: ScanCells, lines: tuple[BreakLine, ...]) -> NDArray[np.bool_]:
    """Which cells (n,) lie so near to a step that points of both its sides are in them."""
    if not lines:
        return np.zeros(len(cells.level_m), dtype=np.bool_)
    spots = np.concatenate([_space_out(line.xy_m, 0.25 * cells.edge_m) for line in lines])
    return np.asarray(KDTree(spots).query(cells.middle_m)[0] < _ACROSS_STEP * cells.edge_m)


def _space_out(xy_m: NDArray[np.float64], spacing_m: float) -> NDArray[np.float64]:
    """Places (k, 2) along a line, so close together."""
    walked = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))))
    at = np.linspace(0.0, walked[-1], max(2, math.ceil(walked[-1] / spacing_m) + 1))
    return np.column_stack([np.interp(at, walked, xy_m[:, axis]) for axis in range(2)])


def _meet(ground: ScanCells, names: tuple[str, ...], levels_m: NDArray[np.float64]) -> tuple[LevelMet, ...]:
    """Levelled points that lie in a ground cell, each against the plane of the cells around it."""
    met = []
    for name, (x, y, z) in zip(names, levels_m, strict=True):
        away = ground.middle_m - [x, y]
        distance = np.hypot(away[:, 0], away[:, 1])
        if distance.min() > 0.75 * ground.edge_m:
            continue
        near = distance <= 1.6 * ground.edge_m
        if near.sum() < 4:
            continue
        design = np.column_stack((away[near], np.ones(int(near.sum()))))
        level = float(np.linalg.lstsq(design, ground.level_m[near], rcond=None)[0][2])
        met.append(LevelMet(name, level - float(z)))
    return tuple(met)
