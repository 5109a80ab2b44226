"""Labels cover neither each other, nor the edge, nor each other's points; the ramp only when they must."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from viewer.labels import GAP_PX, Box, Label, place_labels

AREA = Box(0.0, 100.0, 1600.0, 950.0)
NOTHING = np.zeros((1000, 1600), dtype=bool)


def build_label(x: float, y: float) -> Label:
    return Label(("landing P1", "12 mm below the sill"), (x, y), (190.0, 56.0))


@given(st.lists(st.tuples(st.floats(50, 1550), st.floats(150, 900)), min_size=1, max_size=7))
def test_placed_labels_overlap_neither_each_other_nor_the_edge_nor_a_point(
    points: list[tuple[float, float]],
) -> None:
    placed = place_labels(tuple(build_label(*p) for p in points), AREA, (), NOTHING)
    for n, one in enumerate(placed):
        assert one.box.is_inside(AREA, GAP_PX)
        assert all(not one.box.has_overlap(other.box, GAP_PX) for other in placed[n + 1 :])
        for x, y in points:
            if (x, y) != one.label.anchor:
                assert not one.box.has_overlap(Box(x, y, x, y), 0.0)


def test_labels_apart_all_find_a_place() -> None:
    labels = tuple(build_label(200.0 * k, 500.0) for k in range(1, 8))
    assert len(place_labels(labels, AREA, (), NOTHING)) == 7


def test_a_label_keeps_off_the_ramp_when_there_is_room_beside_it() -> None:
    ramp = NOTHING.copy()
    ramp[300:600, 400:1200] = True
    (placed,) = place_labels((build_label(800.0, 320.0),), AREA, (), ramp)
    box = placed.box
    assert not ramp[int(box.top) : int(box.bottom), int(box.left) : int(box.right)].any()


def test_a_label_without_any_room_is_left_out() -> None:
    assert place_labels((build_label(60.0, 120.0),), Box(0, 100, 120, 140), (), NOTHING) == ()


def test_a_taken_box_is_kept_free() -> None:
    taken = Box(0.0, 100.0, 1600.0, 480.0)
    (placed,) = place_labels((build_label(800.0, 500.0),), AREA, (taken,), NOTHING)
    assert not placed.box.has_overlap(taken, GAP_PX)
