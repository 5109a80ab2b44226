"""Opening, closing, filling and the trend, on grids that can be worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.errors import InternalError
from optimizer.ground_scan.surfaces import close_surface, fill_gaps, fit_trend, open_surface


def test_opening_cuts_off_what_is_narrower_than_the_window_and_nothing_else() -> None:
    heights = np.zeros((20, 20))
    heights[8:11, 8:11] = 1.0  # 3 cells: stays under a window of 3, falls under one of 5
    assert np.array_equal(open_surface(heights, 1), heights)
    assert np.array_equal(open_surface(heights, 2), np.zeros((20, 20)))


def test_a_terrace_at_the_edge_of_the_scan_or_beside_a_gap_stays() -> None:
    heights = np.zeros((20, 20))
    heights[:, :3] = 1.0
    assert np.array_equal(open_surface(heights, 2), heights)
    heights[:, 3:6] = 1.0
    heights[:, :3] = np.nan
    assert np.array_equal(open_surface(heights, 2)[:, 3:], heights[:, 3:])


def test_closing_fills_a_narrow_pit() -> None:
    heights = np.zeros((9, 9))
    heights[4, 4] = -1.0
    assert np.array_equal(close_surface(heights, 1), np.zeros((9, 9)))


def test_gaps_in_a_plane_are_filled_with_the_plane_and_the_rest_stays() -> None:
    i, j = np.mgrid[:24, :30]
    plane = 0.02 * i - 0.03 * j
    heights = plane.copy()
    heights[10:14, 10:15] = np.nan
    heights[:, 24:] = np.nan  # a hillside goes on beyond the last cell that was seen
    filled = fill_gaps(heights)
    assert np.abs(filled - plane).max() < 1e-4
    known = np.isfinite(heights)
    assert np.array_equal(filled[known], plane[known])


def test_a_gap_in_a_hollow_is_filled_from_its_rim() -> None:
    i, j = np.mgrid[:40, :40]
    hollow = 0.0005 * ((i - 20.0) ** 2 + (j - 20.0) ** 2)
    heights = hollow.copy()
    heights[17:24, 17:24] = np.nan  # rim 4 cells from the middle: 8 mm above it
    off = fill_gaps(heights)[17:24, 17:24] - hollow[17:24, 17:24]
    assert 0.0 < off.max() < 0.02


@pytest.mark.parametrize("known", [(slice(3, 4), slice(4, 5)), (slice(3, 4), slice(None))])
def test_one_cell_or_one_row_fills_all_at_its_level(known: tuple[slice, slice]) -> None:
    heights = np.full((7, 9), np.nan)
    heights[known] = 1.25
    assert np.allclose(fill_gaps(heights), 1.25, atol=1e-9)


def test_nothing_known_is_a_fault_of_the_program() -> None:
    with pytest.raises(InternalError):
        fill_gaps(np.full((4, 4), np.nan))


def test_the_trend_of_a_bowl_is_the_bowl_though_a_fifth_stands_a_metre_above() -> None:
    i, j = np.mgrid[:40, :50]
    bowl = 0.01 * i + 0.0004 * (j - 20) ** 2
    heights = bowl.copy()
    heights[:8] += 1.0
    assert np.abs(fit_trend(heights) - bowl).max() < 0.02
