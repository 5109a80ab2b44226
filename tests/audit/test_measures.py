"""What the audit measures with, against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from optimizer.audit.drawn_ground import build_ground
from optimizer.audit.drawn_solids import DrawnSolid, Slab
from optimizer.audit.judge import Words, judge_excess, judge_length, judge_slope
from optimizer.audit.walking_face import measure_face, measure_opening

Array = NDArray[np.float64]
WORDS = Words("mm", 0.0001)


def turn(points: Array, angle_deg: float, shift: tuple[float, float, float]) -> Array:
    angle = math.radians(angle_deg)
    x, y, z = points.T
    turned = [x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle), z]
    return np.column_stack(turned) + np.array(shift)


def build_face(rise: float, lean: float, angle_deg: float) -> tuple[Array, Array]:
    """A face 2 m down +y and 1 m wide, as two triangles, and its corners in the plan's order."""
    plan = np.array([[-0.5, 0.0], [0.5, 0.0], [0.5, 2.0], [-0.5, 2.0]])
    # Walking down +y the left side is -x and the right side +x.
    level = -rise * plan[:, 1] - lean * plan[:, 0]
    corners = turn(np.column_stack([plan, level]), angle_deg, (7.0, -3.0, 0.4))
    return corners[[[0, 1, 2], [0, 2, 3]]], corners


@pytest.mark.parametrize("angle_deg", [0.0, 24.0, 90.0, 133.7, 180.0, -71.0])
@pytest.mark.parametrize(("rise", "lean"), [(1 / 12, 0.0), (1 / 12, 1 / 48), (0.0, -1 / 48), (0.0, 0.0)])
def test_slopes_and_sizes_of_a_face_however_it_is_turned(angle_deg: float, rise: float, lean: float) -> None:
    triangles, corners = build_face(rise, lean, angle_deg)
    face = measure_face(triangles, corners)
    assert face.slope == pytest.approx(rise, abs=1e-12)
    assert face.cross_slope == pytest.approx(lean, abs=1e-12)
    assert (face.length_m, face.width_m) == (pytest.approx(2.0), pytest.approx(1.0))
    assert face.ring_m == pytest.approx(corners[:, :2], abs=1e-12)
    assert face.levels_m[:, 0] == pytest.approx(corners[:, 2], abs=1e-12)
    assert face.level(face.start_m) - face.level(face.end_m) == pytest.approx(2.0 * rise, abs=1e-12)


def test_the_slope_is_over_plan_and_not_over_the_surface() -> None:
    """5 in over 60 in of plan is 1:12; over the surface it would be 1:12.04."""
    corners = np.array([[0, 0, 5], [40, 0, 5], [40, 60, 0], [0, 60, 0]]) * 0.0254
    face = measure_face(corners[[[0, 1, 2], [0, 2, 3]]], corners)
    assert face.slope == pytest.approx(1 / 12, abs=1e-12)


@pytest.mark.parametrize("missing", [(), (3,), (3, 4)])
def test_the_widest_opening_of_boards(missing: tuple[int, ...]) -> None:
    pitch, gap = 0.145, 0.009
    boards = [k for k in range(10) if k not in missing]
    triangles = []
    for k in boards:
        y0, y1 = k * pitch, (k + 1) * pitch - gap
        ring = np.array([[0, y0, 0], [1, y0, 0], [1, y1, 0], [0, y1, 0]], dtype=np.float64)
        triangles += [ring[[0, 1, 2]], ring[[0, 2, 3]]]
    outline = np.array([[0, 0], [1, 0], [1, 10 * pitch - gap], [0, 10 * pitch - gap]])
    opening = measure_opening(np.array(triangles), outline)
    assert opening == pytest.approx(len(missing) * pitch + gap, abs=2e-4)


def test_a_board_that_faces_down_covers_nothing() -> None:
    ring = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], dtype=np.float64)
    triangles = ring[[[0, 1, 2], [0, 2, 3]]]
    assert measure_opening(triangles, ring[:, :2]) < 2e-4
    assert measure_opening(triangles[:, ::-1], ring[:, :2]) == pytest.approx(1.0, abs=2e-4)


def build_grid(levels: Array) -> Array:
    """A surface over whole metres, two triangles a square, from levels (n, n)."""
    count = len(levels)
    point = [[np.array([i, j, levels[i, j]]) for j in range(count)] for i in range(count)]
    triangles = []
    for i in range(count - 1):
        for j in range(count - 1):
            a, b, c, d = point[i][j], point[i + 1][j], point[i + 1][j + 1], point[i][j + 1]
            triangles += [[a, b, c], [a, c, d]]
    return np.array(triangles, dtype=np.float64)


@given(
    st.lists(st.floats(-0.5, 0.5), min_size=25, max_size=25),
    st.floats(0.0, 360.0),
    st.floats(-0.12, 0.12),
    st.floats(-0.12, 0.12),
)
def test_the_least_gap_is_exact(levels: list[float], angle: float, a: float, b: float) -> None:
    """Nowhere on a fine grid is it less, and somewhere it is reached as nearly as the grid is fine."""
    ground = build_ground(build_grid(np.array(levels).reshape(5, 5)))
    ring = turn(np.array([[-0.6, -1.1, 0], [0.6, -1.1, 0], [0.6, 1.1, 0], [-0.6, 1.1, 0]]), angle, (2, 2, 0))
    underside = np.array([a, b, 1.0])
    gap = ground.least_gap(ring[:, :2], underside)
    share = np.linspace(0.0, 1.0, 33)
    u, v = np.meshgrid(share, share)
    places = (
        ring[0, :2] + u.reshape(-1, 1) * (ring[1] - ring[0])[:2] + v.reshape(-1, 1) * (ring[3] - ring[0])[:2]
    )
    gaps = places @ underside[:2] + underside[2] - ground.level(places)
    # A square of 1 m rises by 1 m a side at most: the surface is steep by 1.5, the underside by 0.2.
    step = math.hypot(1.2, 2.2) / 32.0
    assert gaps.min() - 1.7 * step <= gap <= gaps.min() + 1e-4


def test_a_peak_between_all_samples_is_seen() -> None:
    levels = np.zeros((5, 5))
    levels[2, 2] = 0.3
    ground = build_ground(build_grid(levels))
    ring = np.array([[1.2, 1.2], [2.7, 1.2], [2.7, 2.7], [1.2, 2.7]])
    assert ground.least_gap(ring, np.array([0.0, 0.0, 1.0])) == pytest.approx(0.7, abs=1e-9)


def test_a_ridge_is_seen_where_it_crosses_the_edge_of_the_footprint() -> None:
    """No vertex of the ground and no corner of the footprint lies there."""
    roof = np.array(
        [[[0, -5, 0], [0, 5, 1], [-5, 0, 0]], [[0, -5, 0], [5, 0, 0], [0, 5, 1]]], dtype=np.float64
    )
    ring = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 2.0], [-1.0, 2.0]])
    # On the ridge x = 0 the ground rises from 0 at y = -5 to 1 at y = 5: at y = 2 it stands at 0.7.
    gap = build_ground(roof).least_gap(ring, np.array([0.0, 0.0, 1.0]))
    assert gap == pytest.approx(0.3, abs=1e-4)


def test_the_high_side_of_a_step_does_not_count_under_what_touches_it() -> None:
    low = np.array([[0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0]], dtype=np.float64)
    high = low + np.array([2.0, 0.0, 0.8])
    wall = np.array([[2, 0, 0], [2, 2, 0], [2, 2, 0.8]], dtype=np.float64)
    triangles = np.concatenate([low[[[0, 1, 2], [0, 2, 3]]], high[[[0, 1, 2], [0, 2, 3]]], wall[None]])
    ground = build_ground(triangles)
    level = np.array([0.0, 0.0, 1.0])
    ring = np.array([[0.5, 0.5], [2.0, 0.5], [2.0, 1.5], [0.5, 1.5]])
    assert ground.least_gap(ring, level) == pytest.approx(1.0)
    assert ground.least_gap(ring + np.array([0.001, 0.0]), level) == pytest.approx(0.2)
    assert ground.level(np.array([[1.0, 1.0], [3.0, 1.0], [2.0, 1.0]])) == pytest.approx([0.0, 0.8, 0.8])
    assert np.isnan(ground.level(np.array([[9.0, 9.0]])))[0]
    assert ground.least_gap(ring + 20.0, level) == math.inf


def build_slab(x: tuple[float, float], low: Array, high: Array) -> DrawnSolid:
    outline = shapely.box(x[0], 0.0, x[1], 1.0)
    return DrawnSolid("slab", (Slab(outline, low, high),))


def test_slabs_that_touch_or_pass_do_not_overlap() -> None:
    flat = np.array([0.0, 0.0, 0.0])
    up = np.array([0.0, 0.0, 0.1])
    own = build_slab((0.0, 1.0), flat, up)
    assert own.overlap(build_slab((1.0, 2.0), flat, up)) == 0.0  # side by side
    assert own.overlap(build_slab((0.5, 2.0), up, 2 * up)) == 0.0  # one upon the other
    assert own.overlap(build_slab((0.9, 2.0), flat, up)) == pytest.approx(0.1)
    assert own.overlap(build_slab((0.9, 2.0), up / 2, 2 * up)) == pytest.approx(0.1)


def test_a_slab_that_dives_under_another_overlaps_only_where_it_is_not_yet_below() -> None:
    """It falls by 0.5 over 1 m and is 0.1 thick: its top meets the other's underside (0) at x = 0.2."""
    own = build_slab((0.0, 1.0), np.array([0.0, 0.0, 0.0]), np.array([0.0, 0.0, 0.2]))
    diving = build_slab((0.0, 1.0), np.array([-0.5, 0.0, 0.0]), np.array([-0.5, 0.0, 0.1]))
    # Heights count from 1 mm on, which is 2 mm of the way here.
    assert own.overlap(diving) == pytest.approx(0.2 - 0.002)


def test_a_millimetre_is_met_and_a_hair_more_is_not() -> None:
    for measured, verdict in ((0.001, "agrees"), (0.001 + 1e-9, "disagrees"), (-0.001, "agrees")):
        assert judge_length(WORDS, "drawn.level", "S1", "level", measured, 0.0).verdict == verdict
    assert judge_slope("drawn.slope", "S1", "slope", 0.0005, 0.0, 2.0).verdict == "agrees"
    assert judge_slope("drawn.slope", "S1", "slope", 0.00050001, 0.0, 2.0).verdict == "disagrees"
    assert judge_excess(WORDS, "drawn.flat", "S1", "off", 0.001, 0.0).verdict == "agrees"
    assert judge_excess(WORDS, "drawn.flat", "S1", "off", 0.0010001, 0.0).verdict == "disagrees"


@pytest.mark.parametrize("number", [math.nan, math.inf])
def test_what_is_no_number_never_agrees(number: float) -> None:
    assert judge_length(WORDS, "drawn.level", "S1", "level", number, 0.0).verdict == "disagrees"
    assert judge_excess(WORDS, "drawn.flat", "S1", "off", number, 0.0).verdict == "disagrees"


def test_the_file_s_own_rounding_is_not_told_as_another_slope() -> None:
    shown = judge_slope("drawn.slope", "S1", "slope", 1 / 12 + 1e-7, 1 / 12, 2.0)
    assert "1:12 (8.3 %) drawn, 1:12 (8.3 %) in the plan" in shown.text
    assert shown.measured == 1 / 12 + 1e-7
