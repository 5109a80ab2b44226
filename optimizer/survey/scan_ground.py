"""Ground points from a placed scan near the ramp: a first, simple and robust way."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.placing.place_scan import PlacedScan
from optimizer.survey.placing.placed_errors import measure_height_errors
from optimizer.survey.scan_cells import AreaTest, ScanCells, build_cells, extend_cells
from optimizer.survey.scan_filter import filter_cells
from optimizer.survey.scan_vertices import MOST_VERTICES, Vertices, choose_vertices

#: A levelled point goes before the scan: no scan point is taken so near to one.
NEAR_LEVEL_M: Final = 0.5
_FEWEST_CELLS: Final = 12


@dataclass(frozen=True, slots=True)
class GroundArea:
    """``may_be_ground``: points that are taken; ``is_wall``: where ground is carried on to a wall's foot."""

    may_be_ground: AreaTest
    is_wall: AreaTest


@dataclass(frozen=True, slots=True)
class LevelMet:
    """A levelled ground point on the scan's ground: ``off_m`` is scan less level."""

    name: str
    off_m: float


@dataclass(frozen=True, slots=True)
class ScanGround:
    """Ground of a scan in the survey's frame, metres.

    ``xyz_m`` (n, 3): points to triangulate, those near a levelled point left out.  ``seen_m`` (m, 2):
    where cells show ground.  ``vertices``: all points with the bound they keep.  ``points`` of the scan
    lay in the area, in ``cells`` cells of ``edge_m``; left out were ``poor`` cells (too few points),
    ``ghosts`` (too low) and ``objects`` (too high).  ``cell_error_m``: median standard error of a
    cell's level by its own scatter; ``placing_error_m``: largest standard error of a height by the
    placing.  ``met``: how far the scan is off at levelled ground points, which did not make it.
    """

    path: Path
    xyz_m: NDArray[np.float64]
    seen_m: NDArray[np.float64]
    vertices: Vertices
    points: int
    edge_m: float
    cells: int
    poor: int
    ghosts: int
    objects: int
    cell_error_m: float
    placing_error_m: float
    met: tuple[LevelMet, ...]

    @property
    def rough_error_m(self) -> float:
        """Rough standard error of a height: what the cells not chosen miss by, and the placing's."""
        return math.hypot(self.vertices.usual_m, self.placing_error_m)


def build_scan_ground(
    placed: PlacedScan,
    edge_m: float,
    area: GroundArea,
    level_names: tuple[str, ...],
    levels_m: NDArray[np.float64],
    most: int = MOST_VERTICES,
) -> ScanGround:
    """Grid the points where ground is wanted, filter, and choose at most ``most`` of the cells.

    ``levels_m`` (k, 3): levelled ground points, survey's frame.  Raises ``InputError`` when hardly any
    ground is left.
    """
    points_m = placed.to_points()
    points_m = points_m[area.may_be_ground(points_m[:, :2])]
    if len(points_m) == 0:
        what = "no point of the scan lies on the lot near the first start."
        remedy = "Check the control points' x and y, the lot, and reach of [scan]."
        raise InputError(Fault(placed.path.name, what, remedy))
    cells = build_cells(points_m, edge_m)
    filtered = filter_cells(cells)
    ground = filtered.ground
    if len(ground.level_m) < _FEWEST_CELLS:
        what = f"only {len(ground.level_m)} cells of {edge_m:g} m show ground."
        remedy = "Scan the yard more densely, or give [scan] a larger cell."
        raise InputError(Fault(placed.path.name, what, remedy))
    vertices = choose_vertices(extend_cells(ground, area.is_wall), most)
    away = vertices.xyz_m[:, None, :2] - levels_m[None, :, :2]
    is_free = (np.hypot(away[..., 0], away[..., 1]) > NEAR_LEVEL_M).all(axis=1)
    xyz_m = vertices.xyz_m[is_free].copy()
    xyz_m.setflags(write=False)
    return ScanGround(
        path=placed.path,
        xyz_m=xyz_m,
        seen_m=np.vstack((ground.middle_m, levels_m[:, :2])),
        vertices=vertices,
        points=len(points_m),
        edge_m=edge_m,
        cells=len(cells.level_m),
        poor=cells.poor,
        ghosts=filtered.ghosts,
        objects=filtered.objects,
        cell_error_m=float(np.median(ground.error_m)),
        placing_error_m=float(measure_height_errors(placed.placing, vertices.xyz_m).max()),
        met=_meet(ground, level_names, levels_m),
    )


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
