"""How far the surface from points called ground lies from the true ground, where a ramp may stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import LinearNDInterpolator
from scipy.ndimage import binary_dilation, distance_transform_edt
from scipy.spatial import Delaunay

from tests.ground_scan.scan_made_yard import MadeScan
from tests.ground_scan.yard_parts import GROUND, MadeYard

CELL_M = 0.05


@dataclass(frozen=True, slots=True)
class Judgement:
    """Errors in metres over the free cells; ``over_3cm`` is a share."""

    rmse_m: float
    p95_m: float
    max_m: float
    over_3cm: float


@dataclass(frozen=True, slots=True)
class Judge:
    """The cells of one yard that are judged, their true heights and the scan's own tilt and shift."""

    yard: MadeYard
    shape: tuple[int, int]
    zone: NDArray[np.bool_]
    true_m: NDArray[np.float64]
    tilt: NDArray[np.float64]

    def judge(self, ground_m: NDArray[np.float64]) -> Judgement:
        """Judge the surface through points (n, 3) called ground."""
        off = self.errors(ground_m)
        return Judgement(
            rmse_m=float(np.sqrt((off**2).mean())),
            p95_m=float(np.quantile(off, 0.95)),
            max_m=float(off.max()),
            over_3cm=float((off > 0.03).mean()),
        )

    def errors(self, ground_m: NDArray[np.float64]) -> NDArray[np.float64]:
        """Absolute errors of the judged cells."""
        surface = build_surface(ground_m, self.shape)
        return np.abs(surface - self.true_m - plane_at(self.tilt, self.shape))[self.zone]


def prepare_judge(yard: MadeYard, scan: MadeScan) -> Judge:
    """Judged: free ground on the lot, 5 cm from objects and 8 cm from steps, within 25 cm of a ground point.

    Drift of the scanner is no fault of a filter: a plane through the errors of a perfect labelling at
    six control points is taken off every surface alike.
    """
    shape = (int(yard.size_m[1] / CELL_M), int(yard.size_m[0] / CELL_M))
    centres = centres_of(shape)
    true = yard.elevation(centres).reshape(shape)
    perfect = scan.xyz_m[scan.label == GROUND]
    seen = np.isfinite(cell_medians(perfect, shape))
    zone = yard.is_free(centres, 0.05).reshape(shape)
    zone &= yard.step_distance(centres).reshape(shape) > 0.08
    zone &= distance_transform_edt(~seen) * CELL_M <= 0.25
    edge = int(0.3 / CELL_M)
    inner = np.zeros(shape, dtype=np.bool_)
    inner[edge:-edge, edge:-edge] = True
    zone &= inner
    off = (build_surface(perfect, shape) - true)[zone]
    at = centres[zone.ravel()]
    rng = np.random.default_rng([yard.seed, 9])
    spots = [at[rng.integers(len(at))]]
    while len(spots) < 6:  # well spread, as a surveyor sets them
        spots.append(at[np.min([np.hypot(*(at - spot).T) for spot in spots], axis=0).argmax()])
    rows = []
    for spot in spots:
        near = np.hypot(*(at - spot).T) < 0.15
        rows.append([1.0, *at[near].mean(axis=0), np.median(off[near])])
    table = np.array(rows)
    tilt = np.linalg.lstsq(table[:, :3], table[:, 3], rcond=None)[0]
    return Judge(yard, shape, zone, true, tilt)


def centres_of(shape: tuple[int, int]) -> NDArray[np.float64]:
    """Middles of the cells, (n, 2)."""
    y, x = np.mgrid[: shape[0], : shape[1]]
    return np.column_stack([(x.ravel() + 0.5) * CELL_M, (y.ravel() + 0.5) * CELL_M])


def plane_at(tilt: NDArray[np.float64], shape: tuple[int, int]) -> NDArray[np.float64]:
    """Heights of a plane at the middles."""
    centres = centres_of(shape)
    return (tilt[0] + centres @ tilt[1:]).reshape(shape)


def cell_medians(xyz: NDArray[np.float64], shape: tuple[int, int]) -> NDArray[np.float64]:
    """Median height of the points in each cell, NaN where there are none."""
    j = np.floor(xyz[:, 0] / CELL_M).astype(int)
    i = np.floor(xyz[:, 1] / CELL_M).astype(int)
    inside = (i >= 0) & (i < shape[0]) & (j >= 0) & (j < shape[1])
    cell, z = (i * shape[1] + j)[inside], xyz[inside, 2]
    order = np.lexsort((z, cell))
    cell, z = cell[order], z[order]
    starts = np.flatnonzero(np.diff(cell, prepend=-1))
    counts = np.diff(starts, append=len(cell))
    medians = 0.5 * (z[starts + counts // 2] + z[starts + (counts - 1) // 2])
    grid = np.full(shape[0] * shape[1], np.nan)
    grid[cell[starts]] = medians
    return grid.reshape(shape)


def build_surface(ground_m: NDArray[np.float64], shape: tuple[int, int]) -> NDArray[np.float64]:
    """Median of each 5 cm cell, holes by a linear mesh over the cells round them."""
    grid = cell_medians(ground_m, shape)
    empty = ~np.isfinite(grid)
    if not empty.any():
        return grid
    rim = binary_dilation(empty, iterations=2) & ~empty
    rim[[0, 0, -1, -1], [0, -1, 0, -1]] = ~empty[[0, 0, -1, -1], [0, -1, 0, -1]]
    places = np.argwhere(rim)
    mesh = LinearNDInterpolator(Delaunay(places), grid[rim])
    wanted = np.argwhere(empty)
    grid[empty] = mesh(wanted)
    left = ~np.isfinite(grid)
    if left.any():  # outside the mesh: the nearest cell
        nearest = distance_transform_edt(left, return_distances=False, return_indices=True)
        grid = grid[tuple(nearest)]
    return grid
