"""The door frame: u to the right looking out, v outward, lengths kept."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.terrain.frames import build_door_frame
from optimizer.terrain.yard import Start


def build_start(outward: tuple[float, float]) -> Start:
    return Start(
        name="front",
        kind="landing",
        midpoint_m=np.array([3.0, -2.0]),
        outward=np.array(outward),
        threshold_m=0.7,
        drop_m=0.0127,
        clear_width_m=0.9,
        gap_m=0.02,
        swing="in",
        hinge_side="left",
    )


@pytest.mark.parametrize(
    ("outward", "right_of_it"),
    [
        ((0.0, 1.0), (1.0, 0.0)),
        ((0.0, -1.0), (-1.0, 0.0)),
        ((1.0, 0.0), (0.0, -1.0)),
        ((0.6, 0.8), (0.8, -0.6)),
    ],
)
def test_u_points_right_looking_out_and_v_out(
    outward: tuple[float, float], right_of_it: tuple[float, float]
) -> None:
    frame = build_door_frame(build_start(outward))
    site = frame.to_site(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    np.testing.assert_allclose(site[0], [3.0, -2.0], atol=1e-15)
    np.testing.assert_allclose(site[1] - site[0], right_of_it, atol=1e-15)
    np.testing.assert_allclose(site[2] - site[0], outward, atol=1e-15)
    np.testing.assert_allclose(frame.right, right_of_it, atol=1e-15)


@given(angle=st.floats(0, 2 * math.pi), u=st.floats(-50, 50), v=st.floats(-50, 50))
def test_going_to_the_site_and_back_moves_nothing(angle: float, u: float, v: float) -> None:
    frame = build_door_frame(build_start((math.cos(angle), math.sin(angle))))
    there = frame.to_site(np.array([[u, v]]))
    np.testing.assert_allclose(frame.to_door(there), [[u, v]], atol=1e-13)
    assert math.hypot(*(there[0] - [3.0, -2.0])) == pytest.approx(math.hypot(u, v), abs=1e-13)


def test_an_outward_vector_of_another_length_gives_the_same_frame() -> None:
    long, unit = build_door_frame(build_start((3.0, 4.0))), build_door_frame(build_start((0.6, 0.8)))
    np.testing.assert_allclose(long.out, unit.out, atol=1e-15)
