"""Thinning: one point a cell, of those that were there, whatever the order, without bias."""

from __future__ import annotations

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from optimizer.survey.scan import thinning
from optimizer.survey.scan.thinning import Thinner, _mix, keep_one_a_cell
from tests.survey.scan.yard_scan import Yard, scan_yard

YARD = scan_yard(Yard(), seed=9, count=30_000)


def cells_of(points: np.ndarray, cell: float) -> list[tuple[int, ...]]:
    return [tuple(row) for row in np.floor(points / cell).astype(np.int64).tolist()]


@pytest.mark.parametrize("cell", [0.01, 0.25, 3.0, 1000.0])
def test_every_cell_with_points_keeps_exactly_one_of_them(cell: float) -> None:
    kept = keep_one_a_cell(YARD, cell)
    assert sorted(cells_of(kept, cell)) == sorted(set(cells_of(YARD, cell)))
    assert set(map(tuple, kept.tolist())) <= set(map(tuple, YARD.tolist()))


@given(seed=st.integers(0, 10**6), pieces=st.integers(1, 9))
def test_neither_order_nor_pieces_change_what_is_kept(seed: int, pieces: int) -> None:
    points = YARD[::10]
    whole = keep_one_a_cell(points, 0.4)
    shuffled = np.random.default_rng(seed).permutation(points)
    thinner = Thinner(0.4)
    for piece in np.array_split(shuffled, pieces):
        thinner.add(piece)
    assert np.array_equal(thinner.finish(), whole)


def test_thinning_on_the_way_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = keep_one_a_cell(YARD, 0.1)
    monkeypatch.setattr(thinning, "BUFFER_POINTS", 500)
    thinner = Thinner(0.1)
    for piece in np.array_split(YARD, 60):
        thinner.add(piece)
    assert np.array_equal(thinner.finish(), whole)


def test_a_stray_point_far_away_changes_nothing_but_itself() -> None:
    """Cells then do not fit one 64-bit number, and are ordered another way."""
    stray = np.array([[9e10, -9e10, 9e10]])
    kept = keep_one_a_cell(np.concatenate([YARD, stray]), 0.02)
    assert np.array_equal(kept[:-1], keep_one_a_cell(YARD, 0.02))
    assert kept[-1].tolist() == stray[0].tolist()


def test_the_same_point_twice_is_kept_once_and_both_zeros_are_one() -> None:
    points = np.array([[0.0, 0.0, 0.0], [-0.0, 0.0, -0.0], [0.0, 0.0, 0.0], [5.0, 0.0, 0.0], [5.0, 0.0, 0.0]])
    assert keep_one_a_cell(points, 1.0).tolist() == [[0, 0, 0], [5, 0, 0]]
    # Whichever zero a file writes, the lot that is drawn is the same.
    others = np.array([[0.0, 0.5, 0.5], [0.25, 0.0, 0.75], [0.5, 0.25, 0.0], [0.75, 0.75, 0.25]])
    signed = np.where(others == 0.0, -0.0, others)
    assert np.array_equal(_mix(others), _mix(signed))


def test_a_point_on_a_cell_border_belongs_to_the_upper_cell() -> None:
    below = np.nextafter(2.0, 0.0)
    points = np.array([[2.0, 0, 0], [below, 0, 0], [2.5, 0, 0]])
    assert len(keep_one_a_cell(points, 1.0)) == 2
    assert below in keep_one_a_cell(points, 1.0)[:, 0]


def test_heights_are_not_drawn_towards_any_part_of_the_cell() -> None:
    """Ten thousand cells of twenty points: the kept one is anywhere in it."""
    rng = np.random.default_rng(1)
    points = rng.random((200_000, 3)) * [100.0, 100.0, 1.0]
    within = keep_one_a_cell(points, 1.0)[:, 2]
    assert within.mean() == pytest.approx(0.5, abs=4 * 0.29 / 100)
    assert np.histogram(within, 4, (0, 1))[0] / len(within) == pytest.approx([0.25] * 4, abs=0.018)


def test_no_cell_keeps_all_in_file_order() -> None:
    thinner = Thinner(None)
    thinner.add(YARD[:7])
    thinner.add(YARD[7:])
    assert np.array_equal(thinner.finish(), YARD)
