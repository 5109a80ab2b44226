"""Break lines: a wall is a true step, a crease a true bend, and no triangle crosses either."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.errors import InputError
from optimizer.terrain.ground import BreakLine
from optimizer.terrain.yard import Points
from tests.terrain.ground_samples import build, grid, line, plane, triangles_of, turn

seeds = st.integers(0, 2**32 - 1)


def find_faults(points_m: Points, *lines: BreakLine, outline: Points | None = None) -> list[str]:
    with pytest.raises(InputError) as caught:
        build(points_m, lines, outline)
    assert all(fault.where == "levels.csv" and fault.remedy for fault in caught.value.faults)
    return [fault.what for fault in caught.value.faults]


def upper(xy_m: Points) -> Points:
    return plane(xy_m, 2.0, 0.02, 0.01)


def lower(xy_m: Points) -> Points:
    return plane(xy_m, 1.0, -0.03, 0.04)


@given(seed=seeds, angle=st.floats(0, 6.28))
@settings(max_examples=40)
def test_a_millimetre_either_side_of_a_wall_the_ground_is_the_plane_of_that_side(
    seed: int, angle: float
) -> None:
    """A bent wall from edge to edge; upper plane on its left, lower on its right."""
    rng = np.random.default_rng(seed)
    bend = rng.uniform(-1.5, 1.5)
    wall_xy = np.array([[5.0, 0.0], [5.0 + bend, 5.0], [5.0, 10.0]])
    corners = np.array([[0, 0], [5, 0], [10, 0], [10, 10], [5, 10], [0, 10]], dtype=np.float64)
    spots = np.vstack((corners[[0, 2, 3, 5]], rng.uniform(0.5, 9.5, (20, 2))))
    wall = shapely.LineString(wall_xy)
    spots = spots[shapely.distance(shapely.points(spots), wall) > 0.02]
    left_of_wall = shapely.Polygon([*wall_xy.tolist(), (5, 11), (-1, 11), (-1, -1), (5, -1)])
    left = shapely.contains_xy(left_of_wall, spots)
    z = np.where(left, upper(spots), lower(spots))
    placed = BreakLine("wall", turn(wall_xy, angle), upper(wall_xy), lower(wall_xy), "left")
    ground = build(np.column_stack((turn(spots, angle), z)), (placed,), None, 30.0)

    shares = np.linspace(0.02, 0.98, 25)
    along = shapely.get_coordinates(shapely.line_interpolate_point(wall, shares, normalized=True))
    aside = np.array([0.001, 0.0])
    left_of_it, right_of_it = along - aside, along + aside
    np.testing.assert_allclose(ground.elevation(turn(left_of_it, angle)), upper(left_of_it), atol=1e-9)
    np.testing.assert_allclose(ground.elevation(turn(right_of_it, angle)), lower(right_of_it), atol=1e-9)
    np.testing.assert_allclose(ground.elevation(turn(wall_xy, angle)), upper(wall_xy), atol=1e-9)
    string = shapely.LineString(placed.xy_m)
    for triangle in triangles_of(ground):
        assert triangle.buffer(-1e-9).intersection(string).is_empty
    assert sum(t.area for t in triangles_of(ground)) == pytest.approx(
        shapely.Polygon(ground.outline_m[0]).area, rel=1e-9
    )


def two_levels() -> Points:
    """4 by 4 levels, 1 m up to x = 1, 0 m from x = 2."""
    xy = grid(4, 4)
    return np.column_stack((xy, np.where(xy[:, 0] < 1.5, 1.0, 0.0)))


def test_the_high_side_is_told_walking_from_first_to_last_vertex() -> None:
    north = line([(1.5, 0), (1.5, 3)], [1, 1], [0, 0], "left")
    south = line([(1.5, 3), (1.5, 0)], [1, 1], [0, 0], "right")
    for wall in (north, south):
        ground = build(two_levels(), (wall,))
        levels = ground.elevation(np.array([[1.499, 1.3], [1.501, 1.3], [1.5, 1.3]]))
        np.testing.assert_allclose(levels, [1.0, 0.0, 1.0], atol=1e-12)


def test_a_wall_is_a_nanometre_thick_and_so_is_the_edge_of_the_survey() -> None:
    ground = build(two_levels(), (line([(1.5, 0), (1.5, 3)], [1, 1], [0, 0]),))
    assert ground.elevation_at(1.5 + 0.9e-9, 1.3) == pytest.approx(1.0)
    assert ground.elevation_at(1.5 + 1.1e-9, 1.3) == pytest.approx(0.0)
    assert ground.elevation_at(3.0 + 0.9e-9, 1.3) == pytest.approx(0.0)
    assert np.isnan(ground.elevation_at(3.0 + 1.1e-9, 1.3))


def test_levels_named_as_top_and_foot_may_stand_in_one_place() -> None:
    spots = np.vstack((two_levels(), [[1.5, 0, 1], [1.5, 0, 0], [1.5, 3, 1.004], [1.5, 3, -0.004]]))
    wall = line([(1.5, 0), (1.5, 3)], [1, 1], [0, 0])
    ground = build(spots, (wall,))
    assert ground.elevation_at(1.5, 3.0) == 1.0
    assert len(ground.points_m) == 20
    faults = find_faults(spots)
    assert len(faults) == 2  # without the wall they disagree
    assert '"P17", "P18"' in faults[0]


@pytest.mark.parametrize(("level", "agrees"), [(1.005, True), (1.006, False), (-0.005, True), (0.5, False)])
def test_a_level_on_a_wall_agrees_with_its_top_or_foot_or_is_refused(level: float, *, agrees: bool) -> None:
    wall = line([(1.5, 0), (1.5, 3)], [1, 1], [0, 0])
    for y in (0.0, 1.4):
        spots = np.vstack((two_levels(), [1.5, y, level]))
        if agrees:
            assert build(spots, (wall,)).elevation_at(1.499, 1.4) == pytest.approx(1.0, abs=1e-12)
        else:
            (what,) = find_faults(spots, wall)
            assert '"P17"' in what
            assert "1.000 m on top, 0.000 m at the foot" in what


def test_a_level_on_a_crease_becomes_a_vertex_of_it() -> None:
    spots = np.vstack((two_levels(), [1.505, 1.5, 0.8]))
    ground = build(spots, (line([(1.5, 0), (1.5, 3)], [0.5, 0.5], [0.5, 0.5]),))
    assert ground.elevation_at(1.505, 1.5) == 0.8
    (crease,) = ground.break_lines
    assert crease.xy_m.tolist() == [[1.5, 0], [1.505, 1.5], [1.5, 3]]
    assert crease.top_m.tolist() == [0.5, 0.8, 0.5]


def test_a_crease_bends_the_ground_where_plain_triangles_would_bridge_it() -> None:
    corners = np.array([[0, 0, 1], [4, 0, 1], [4, 3, 1], [0, 3, 1]], dtype=np.float64)
    ditch = line([(2, 0), (2, 3)], [0, 0], [0, 0])
    assert build(corners).elevation_at(2.0, 1.5) == 1.0
    assert build(corners, (ditch,)).elevation_at(2.0, 1.5) == 0.0
    assert build(corners, (ditch,)).elevation_at(1.0, 1.5) == pytest.approx(0.5)


def test_a_wall_may_run_out_inside_the_ground_when_its_end_has_one_elevation() -> None:
    spots = np.column_stack((grid(5, 5), np.zeros(25)))
    ground = build(spots, (line([(1.5, 0), (1.5, 1.6), (1.5, 2.5)], [1, 1, 0], [0, 0, 0]),))
    np.testing.assert_allclose(
        ground.elevation(np.array([[1.499999, 0.5], [1.500001, 0.5], [1.5, 3.0]])), [1, 0, 0], atol=1e-5
    )


def test_a_wall_that_ends_inside_the_ground_with_a_step_is_refused() -> None:
    wall = line([(1.5, 0), (1.5, 2)], [1, 1], [0, 0])
    (what,) = find_faults(two_levels(), wall)
    assert 'break line "wall" ends at (1.500, 2.000) m inside the surveyed ground with a step' in what
    within = line([(1.5, 0), (1.5, 2)], [1, 0.9e-6], [0, 0])
    build(two_levels(), (within,))
    beyond = line([(1.5, 0), (1.5, 2)], [1, 1.1e-6], [0, 0])
    assert len(find_faults(two_levels(), beyond)) == 1


def test_a_closed_wall_is_a_raised_bed() -> None:
    spots = np.column_stack((grid(6, 6), np.zeros(36)))
    spots[(np.abs(spots[:, :2] - 2.5) < 1).all(axis=1), 2] = 0.4
    corners = [(1.5, 1.5), (3.5, 1.5), (3.5, 3.5), (1.5, 3.5), (1.5, 1.5)]
    ground = build(spots, (line(corners, [0.4] * 5, [0.0] * 5, "left"),))
    inside = ground.elevation(np.array([[1.501, 1.501], [3.499, 3.499], [2.5, 2.5], [1.5, 1.5]]))
    outside = ground.elevation(np.array([[1.499, 1.499], [3.501, 3.501], [0.5, 4.5]]))
    np.testing.assert_allclose(inside, 0.4, atol=1e-12)
    np.testing.assert_allclose(outside, 0.0, atol=1e-12)


def test_a_line_may_end_on_a_vertex_of_a_wall_and_takes_its_side() -> None:
    """A crease on the low side, up to the foot of a wall."""
    wall = line([(1.5, 0), (1.5, 1.5), (1.5, 3)], [1, 1, 1], [0, 0, 0])
    crease = line([(1.5, 1.5), (3, 1.5)], [0, 0.2], [0, 0.2], name="crease")
    ground = build(two_levels(), (wall, crease))
    np.testing.assert_allclose(
        ground.elevation(np.array([[1.499, 1.5], [1.501, 1.5], [2.25, 1.5]])), [1.0, 0.0, 0.1], atol=1e-3
    )
    raised = line([(1.5, 1.5), (3, 1.5)], [0.5, 0.2], [0.5, 0.2], name="crease")
    (what,) = find_faults(two_levels(), wall, raised)
    assert 'break lines "wall" and "crease" meet at (1.500, 1.500) m' in what


def test_a_wall_may_end_on_a_stated_outline_inside_the_hull() -> None:
    spots = np.vstack((two_levels(), [[1.5, 1.9, 1.0]]))
    wall = line([(1.5, 0), (1.5, 2)], [1, 1], [0, 0])
    outline = np.array([[0, 0], [3, 0], [3, 2], [0, 2]], dtype=np.float64)
    ground = build(spots, (wall,), outline)
    assert ground.elevation_at(1.499, 1.99) == pytest.approx(1.0)
    assert ground.elevation_at(1.501, 1.99) == pytest.approx(0.0)
    through = line([(1.5, 0), (1.5, 3)], [1, 1], [0, 0])
    (what,) = find_faults(two_levels(), through, outline=outline)
    assert "crosses the outline of the surveyed ground at (1.500, 2.000) m" in what


def crease(name: str, *vertices: tuple[float, float]) -> BreakLine:
    return line(list(vertices), [0.5] * len(vertices), [0.5] * len(vertices), name=name)


ACROSS = crease("a", (0.5, 1.5), (2.5, 1.5))


@pytest.mark.parametrize(
    ("lines", "complaint"),
    [
        ((crease("a", (0.5, 0.2), (2.5, 2.2)), crease("b", (0.5, 2.2), (2.5, 0.2))), '"a" and "b" cross at'),
        ((ACROSS, crease("b", (1.5, 1.5), (1.5, 2.5))), "only one of them has a vertex"),
        ((ACROSS, crease("b", (1.4, 1.495), (1.5, 2.5))), "only one of them has a vertex"),
        ((ACROSS, crease("b", (2.5, 1.5), (0.5, 1.5))), "run along each other"),
        ((crease("a", (0.5, 0.5), (2.5, 2.5), (2.5, 0.5), (0.5, 2.5)),), 'line "a" crosses itself'),
        ((crease("a", (0.5, 0.5)),), "at least two vertices"),
        ((crease("a", (0.5, 0.5), (0.505, 0.5)),), "two vertices in a row"),
        ((crease("a", (0.5, 0.5), (np.nan, 0.5)),), "not a finite number"),
        ((line([(1.5, 0), (1.5, 3)], [0, 0], [1, 0], name="a"),), "top 1000 mm below its foot"),
        ((line([(1.5, 0), (1.5, 3)], [1, 1], [0, 0], "uphill", name="a"),), 'high side on the "uphill"'),
    ],
)
def test_a_break_line_that_is_none_is_refused(lines: tuple[BreakLine, ...], complaint: str) -> None:
    assert complaint in find_faults(two_levels(), *lines)[0]


def test_the_survey_may_stop_at_a_wall() -> None:
    """Nothing was levelled below: the wall is the rim, its top the ground."""
    spots = np.column_stack((grid(3, 4), np.ones(12)))
    ground = build(spots, (line([(2.3, 0), (2.3, 3)], [1, 1], [0, 0]),))
    assert ground.elevation_at(2.3, 1.5) == 1.0
    assert np.isnan(ground.elevation_at(2.301, 1.5))
