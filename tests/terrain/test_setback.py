"""Who reaches into the strip along the lot line, and so needs relief."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import shapely

from optimizer.terrain.setback import build_free_area, needs_relief
from optimizer.terrain.yard import Yard
from tests.terrain.test_check_yard import YARD

#: The lot runs from (-2, -8) to (12, 12); 1 m is to be kept free.
ASKED = dataclasses.replace(YARD, setback_kind="needs_relief", relief_cents=45_000)


def deck(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float, float], ...]:
    """Corners of a sloped piece, clockwise."""
    return ((x0, y0, 1.0), (x0, y1, 0.9), (x1, y1, 0.9), (x1, y0, 1.0))


@pytest.mark.parametrize(
    ("reach_m", "asks"),
    [(0.01, False), (0.0, False), (-0.9e-6, False), (-1.1e-6, True), (-0.5, True), (-1.5, True)],
)
def test_a_piece_may_touch_the_strip_and_not_reach_into_it(reach_m: float, *, asks: bool) -> None:
    assert needs_relief(ASKED, [deck(2, 2, 11 - reach_m, 4)]) is asks


def test_one_piece_of_many_is_enough_and_none_asks_for_nothing() -> None:
    inside, strip = deck(2, 2, 4, 4), deck(2, 10, 4, 11.5)
    assert needs_relief(ASKED, [inside, strip, inside])
    assert not needs_relief(ASKED, [inside, inside])
    assert not needs_relief(ASKED, [])


def test_there_is_no_relief_from_a_hard_setback() -> None:
    assert not needs_relief(YARD, [deck(2, 10, 4, 11.5)])


def test_the_free_area_has_square_corners_also_where_the_lot_turns_inward() -> None:
    notched = np.array([[0, 0], [10, 0], [10, 4], [4, 4], [4, 10], [0, 10]], dtype=np.float64)
    yard: Yard = dataclasses.replace(YARD, lot_m=notched)
    hand = shapely.Polygon([(1, 1), (9, 1), (9, 3), (3, 3), (3, 9), (1, 9)])
    assert build_free_area(yard).symmetric_difference(hand).area == pytest.approx(0.0, abs=1e-12)
