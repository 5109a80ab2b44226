"""The ground under what stands on it.

Progressive opening after Zhang et al. 2003 and Pingel, Clarke and McBride 2013 on the level of each
cell's lowest layer instead of its minimum; cells that go on a neighbour's plane are taken back, as in
Axelsson's densification (2000); then the ground is measured by medians of the points about it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from optimizer.ground_scan.cell_kernel import drop_lonely, fit_planes, grow_ground, measure_near
from optimizer.ground_scan.cells import Cells
from optimizer.ground_scan.drop_mirrored import drop_mirrored
from optimizer.ground_scan.settings import Settings
from optimizer.ground_scan.sorted_scan import Heights, Mask
from optimizer.ground_scan.surfaces import close_surface, fill_gaps, fit_trend, open_surface, smooth_known

_SWEEPS = 8
_ENOUGH = 20.0  # more points do not make a cell's level surer: they come from the same passes


@dataclass(frozen=True, slots=True)
class GroundPlanes:
    """By rows and columns: the ground at each cell's middle and its rise a cell east and north.

    ``level_m`` is filled everywhere; ``is_seen`` marks cells with ground points of their own.
    """

    level_m: Heights
    along_x: Heights
    along_y: Heights
    is_seen: Mask


def find_ground(cells: Cells, settings: Settings) -> GroundPlanes:
    """Find the ground; cells without any stay unseen."""
    level = _find_levels(cells, settings)
    kept = _open_by_steps(level, settings)
    reach = settings.grow * settings.reach_m
    weight = np.minimum(cells.low_counts, _ENOUGH)
    for _ in range(2):
        fitted, along_x, along_y = _fit(np.where(kept, level, np.nan), weight, 2, settings)
        grow_ground(level, kept, fitted, along_x, along_y, reach, _SWEEPS)
    return _measure(cells, np.where(kept, level, np.nan), settings)


def _find_levels(cells: Cells, settings: Settings) -> Heights:
    """The lowest layer of each cell, or the one above it where the lowest is mirrored."""
    level = cells.low_m.copy()
    drop_lonely(cells.low_m, cells.low_counts, settings.layer_m, level)
    if not np.isfinite(level).any():
        return level
    trend = fit_trend(level)
    level -= trend
    main = cells.main_m - trend
    about = ndimage.median_filter(np.where(np.isfinite(main), main, 0.0), 7)
    is_main = (cells.main_counts >= 3) & (cells.main_counts >= 0.5 * cells.counts)
    for _ in range(2):
        closed = close_surface(level, round(settings.pit_wide_m / settings.cell_m / 2))
        is_pit = level < closed - settings.pit_m
        # Ground lets nothing through: a thin layer that goes on the surroundings is above what it mirrors.
        goes_on = (np.abs(main - closed) < settings.pit_m) | (np.abs(main - about) < settings.pit_m)
        mirrored = is_pit & is_main & goes_on & (main > level)
        level = np.where(mirrored, main, level)
        level[is_pit & ~mirrored & (cells.low_counts <= 2)] = np.nan
    return drop_mirrored(cells, level, trend, settings) + trend


def _open_by_steps(level: Heights, settings: Settings) -> Mask:
    """Which cells stay when ever wider things are cut off."""
    widest = round(settings.widest_m / settings.cell_m / 2)
    kept = np.isfinite(level)
    if not kept.any():
        return kept
    trend = fit_trend(level)
    for turn in range(settings.passes):
        if turn and kept.any():
            trend = smooth_known(level, kept, 8.0)
        whole = level - trend
        opened = whole
        kept = np.isfinite(level)
        for radius in range(1, widest + 1):
            lower = open_surface(opened, radius)
            allowed = settings.base_m + settings.slope * 2 * radius * settings.cell_m
            before = whole if settings.fall == "whole" else opened
            kept &= ~(before - lower > allowed)
            opened = np.where(np.isfinite(opened), lower, np.nan)
    return kept


def _measure(cells: Cells, level: Heights, settings: Settings) -> GroundPlanes:
    """Medians of the points about the ground found so far, twice, and planes through them."""
    shape = cells.grid.shape
    reach = np.full(shape, settings.reach_m)
    near, counts = np.empty(level.size), np.empty(level.size, dtype=np.int64)
    if not np.isfinite(level).any():
        nothing = np.full(shape, np.nan)
        return GroundPlanes(nothing, np.zeros(shape), np.zeros(shape), np.zeros(shape, dtype=np.bool_))
    about = fill_gaps(level)
    for _ in range(2):
        measure_near(cells.heights, cells.starts, about.ravel(), reach.ravel(), near, counts)
        weight = np.minimum(counts, _ENOUGH).reshape(shape)
        fitted, along_x, along_y = _fit(near.reshape(shape), weight, 2, settings)
        about = fill_gaps(fitted)
        reach = measure_reach(along_x, along_y, settings)
    seen = np.isfinite(near).reshape(shape)
    return GroundPlanes(*_fit(about, np.ones(shape), 1, settings), seen)


def measure_reach(along_x: Heights, along_y: Heights, settings: Settings) -> Heights:
    """How far a ground point may lie from the ground, by its rises a cell."""
    return settings.reach_m + settings.sideways_m * np.hypot(along_x, along_y) / settings.cell_m


def _fit(
    level: Heights, weight: Heights, radius: int, settings: Settings
) -> tuple[Heights, Heights, Heights]:
    rows, columns = level.shape
    fitted, along_x, along_y = np.empty_like(level), np.empty_like(level), np.empty_like(level)
    agree, far = settings.agree * settings.reach_m, settings.agree_far * settings.reach_m
    fit_planes(level, weight, radius, agree, far, rows, columns, fitted, along_x, along_y)
    return fitted, along_x, along_y
