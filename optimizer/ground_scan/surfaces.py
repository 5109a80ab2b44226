"""Work on grids of heights in which NaN is 'not known'."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from optimizer.errors import InternalError
from optimizer.ground_scan.sorted_scan import Heights, Mask


def open_surface(heights: Heights, radius: int) -> Heights:
    """What is narrower than ``2 radius + 1`` cells cut off; unknown cells and the outside bind nothing."""
    size = 2 * radius + 1
    known = np.where(np.isfinite(heights), heights, np.inf)
    worn = ndimage.minimum_filter(known, size=size, mode="constant", cval=np.inf)
    worn[np.isinf(worn)] = -np.inf
    return np.asarray(ndimage.maximum_filter(worn, size=size, mode="constant", cval=-np.inf))


def close_surface(heights: Heights, radius: int) -> Heights:
    """Whatever is narrower than ``2 radius + 1`` cells filled up."""
    return -open_surface(-heights, radius)


def fit_trend(heights: Heights) -> Heights:
    """A bowl through most cells, little moved by what stands above: second order, reweighted by residuals."""
    known = np.isfinite(heights)
    rows, columns = heights.shape
    y, x = np.mgrid[-1 : 1 : rows * 1j, -1 : 1 : columns * 1j]
    shapes = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    table, wanted = shapes[known], heights[known]
    weight: NDArray[np.floating] = np.ones(len(wanted))
    bowl = np.zeros(6)
    for _ in range(12):
        square = table.T @ (table * weight[:, None]) + 1e-9 * len(wanted) * np.eye(6)
        bowl = np.linalg.solve(square, table.T @ (weight * wanted))
        off = wanted - table @ bowl
        spread = max(1.4826 * float(np.median(np.abs(off))), 0.02)
        # Three times as wide below: what lies low is ground more often than what lies high.
        weight = 1.0 / (1.0 + (off / np.where(off > 0, spread, 3.0 * spread)) ** 2) ** 2
    return np.asarray(shapes @ bowl)


def smooth_known(heights: Heights, known: Mask, spread: float) -> Heights:
    """Gaussian mean of the known cells, ``spread`` in cells; gaps filled.  At least one is known."""
    weight = ndimage.gaussian_filter(known.astype(np.float64), spread)
    total = ndimage.gaussian_filter(np.where(known, heights, 0.0), spread)
    enough = 0.05 * float(weight.max())
    return fill_gaps(np.where(weight > enough, total / np.maximum(weight, enough), np.nan))


def fill_gaps(heights: Heights) -> Heights:
    """Unknown cells from a plane and ever coarser means of what is off it, then smoothed; known cells stay.

    At least one is known.  Without the plane a hillside would be level where nothing was seen beyond it.
    """
    known = np.isfinite(heights)
    if known.all():
        return heights
    if not known.any():
        raise InternalError("no cell of the grid is known: nothing can be filled from it")
    plane = _fit_plane(heights, known)
    off = heights - plane
    levels = [(np.where(known, off, 0.0), known.astype(np.float64))]
    while not (levels[-1][1] > 0).all():
        levels.append(_halve(*levels[-1]))
    filled = levels[-1][0]
    for values, weights in reversed(levels[:-1]):
        larger = ndimage.zoom(filled, 2, order=1, grid_mode=True, mode="nearest")
        filled = np.where(weights > 0, values, larger[: values.shape[0], : values.shape[1]])
    for _ in range(12):
        filled = np.where(known, off, ndimage.uniform_filter(filled, 3, mode="nearest"))
    return np.where(known, heights, filled + plane)


def _fit_plane(heights: Heights, known: Mask) -> Heights:
    """The plane of least squares through the known cells, level where they do not tell."""
    rows, columns = heights.shape
    y, x = np.arange(rows)[:, None] - 0.5 * (rows - 1), np.arange(columns) - 0.5 * (columns - 1)
    count = float(known.sum())
    level = np.where(known, heights, 0.0)
    middle_x, middle_y = float((known * x).sum()) / count, float((known * y).sum()) / count
    middle = float(level.sum()) / count
    x, y = x - middle_x, y - middle_y
    off = np.where(known, heights - middle, 0.0)
    by_column, by_row = known.sum(axis=0), known.sum(axis=1)
    xx, yy = float(by_column @ x**2), float(by_row @ y[:, 0] ** 2)
    xy = float(y[:, 0] @ known @ x)
    pull = 1e-6 * (xx + yy) + 1e-9
    square = np.array([[xx + pull, xy], [xy, yy + pull]])
    along = np.linalg.solve(square, np.array([float(off.sum(axis=0) @ x), float(off.sum(axis=1) @ y[:, 0])]))
    return np.asarray(middle + along[0] * x + along[1] * y)


def _halve(values: Heights, weights: Heights) -> tuple[Heights, Heights]:
    """Means of two by two cells."""
    pad = ((0, values.shape[0] % 2), (0, values.shape[1] % 2))
    weight = np.pad(np.minimum(weights, 1.0), pad)
    total = np.pad(values, pad) * weight
    sums = total[::2, ::2] + total[1::2, ::2] + total[::2, 1::2] + total[1::2, 1::2]
    counts = weight[::2, ::2] + weight[1::2, ::2] + weight[::2, 1::2] + weight[1::2, 1::2]
    return sums / np.maximum(counts, 1e-9), counts
