"""The ground from spot levels: planes exact, nothing outside the survey, bad levels refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.errors import InputError
from tests.terrain.ground_samples import build, grid, lay_on_plane, line, plane, triangles_of, turn

seeds = st.integers(0, 2**32 - 1)


def find_faults(points_m: object, **given_beside: object) -> list[str]:
    with pytest.raises(InputError) as caught:
        build(points_m, **given_beside)  # type: ignore[arg-type]
    assert all(fault.where == "levels.csv" and fault.remedy for fault in caught.value.faults)
    return [fault.what for fault in caught.value.faults]


@given(seed=seeds, count=st.integers(3, 40), shift=st.sampled_from([0.0, 500.0]))
@settings(max_examples=60)
def test_a_plane_is_reproduced_everywhere_inside(seed: int, count: int, shift: float) -> None:
    rng = np.random.default_rng(seed)
    xy = rng.uniform(-10, 10, (count, 2)) + shift
    ground = build(lay_on_plane(xy))
    queries = rng.uniform(-11, 11, (500, 2)) + shift
    found = ground.elevation(queries)
    inside = np.isfinite(found)
    np.testing.assert_allclose(found[inside], plane(queries[inside]), atol=1e-9)
    covered = shapely.contains_xy(shapely.Polygon(ground.outline_m[0]), queries)
    assert np.array_equal(inside, covered)
    np.testing.assert_allclose(ground.elevation(xy), plane(xy), atol=1e-9)  # no level is given up
    assert ground.leave_one_out_m is None or ground.leave_one_out_m < 1e-9


@given(seed=seeds, count=st.integers(3, 40))
@settings(max_examples=60)
def test_triangles_tile_the_outline_without_overlap(seed: int, count: int) -> None:
    ground = build(lay_on_plane(np.random.default_rng(seed).uniform(-10, 10, (count, 2))))
    outline = shapely.Polygon(ground.outline_m[0])
    triangles = triangles_of(ground)
    assert outline.is_valid
    assert outline.exterior.is_ccw
    assert all(triangle.exterior.is_ccw for triangle in triangles)
    assert sum(triangle.area for triangle in triangles) == pytest.approx(outline.area, rel=1e-9)
    assert shapely.union_all(triangles).area == pytest.approx(outline.area, rel=1e-9)


@given(seed=seeds)
@settings(max_examples=20)
def test_one_point_gives_the_same_float_as_many(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = np.column_stack((rng.uniform(0, 5, (15, 2)), rng.uniform(0, 1, 15)))
    ground = build(points)
    nowhere = [[math.nan, 0.0], [math.inf, 0.0], [1e300, 0.0]]
    queries = np.vstack((rng.uniform(-1, 6, (200, 2)), points[:, :2], nowhere))
    one_by_one = [ground.elevation_at(x, y) for x, y in queries.tolist()]
    np.testing.assert_array_equal(ground.elevation(queries), one_by_one)


@given(seed=seeds)
@settings(max_examples=20)
def test_the_surface_agrees_with_a_search_through_every_triangle(seed: int) -> None:
    rng = np.random.default_rng(seed)
    ground = build(np.column_stack((rng.uniform(0, 5, (15, 2)), rng.uniform(0, 1, 15))))
    for query in rng.uniform(0, 5, (40, 2)):
        levels = []
        for xy, z in zip(ground.triangles_xy, ground.triangles_z, strict=True):
            weights = np.linalg.solve(np.vstack((xy.T, np.ones(3))), [*query, 1.0])
            if weights.min() >= 0:
                levels.append(weights @ z)
        expected = max(levels, default=math.nan)
        assert ground.elevation_at(*query) == pytest.approx(expected, abs=1e-9, nan_ok=True)


def test_a_search_may_ask_a_hundred_thousand_places_at_once() -> None:
    rng = np.random.default_rng(3)
    ground = build(lay_on_plane(rng.uniform(0, 20, (500, 2))))
    found = ground.elevation(rng.uniform(0, 20, (100_000, 2)))
    assert np.isfinite(found).mean() > 0.85


def test_edges_and_corners_of_the_outline_count_as_inside_and_a_micrometre_beyond_does_not() -> None:
    ground = build(lay_on_plane(turn(grid(4, 3), 0.3)))
    ring = ground.outline_m[0]
    middles = (ring + np.roll(ring, -1, axis=0)) / 2
    assert np.isfinite(ground.elevation(ring)).all()
    assert np.isfinite(ground.elevation(middles)).all()
    centre = ring.mean(axis=0)
    beyond = ring + 1e-6 * (ring - centre)
    assert np.isnan(ground.elevation(beyond)[[0, 1]]).all()


def test_a_gap_in_the_survey_is_refused() -> None:
    xy = grid(9, 9)
    notch = (xy[:, 0] > 3.5) & (xy[:, 1] > 3.5)
    ground = build(lay_on_plane(xy[~notch]))
    assert math.isnan(ground.elevation_at(6.0, 6.0))
    assert ground.elevation_at(2.0, 6.0) == pytest.approx(1 - 0.1 - 0.18, abs=1e-12)
    assert ground.elevation_at(6.0, 2.0) == pytest.approx(1 - 0.3 - 0.06, abs=1e-12)
    ring = ground.outline_m[0]
    assert np.hypot(*(ring - np.roll(ring, 1, axis=0)).T).max() <= 2.5  # 2.5 median edges of 1 m
    assert 64 - 25 <= shapely.Polygon(ring).area <= 64 - 25 + 1.0 + 1e-9


def test_a_far_level_keeps_its_ground_when_no_longest_edge_is_stated() -> None:
    ground = build(lay_on_plane(np.vstack((grid(4, 4), [[1.5, 20.0]]))))
    assert ground.elevation_at(1.5, 20.0) == pytest.approx(1 - 0.075 - 0.6)


def test_a_stated_longest_edge_is_exact_at_the_limit() -> None:
    xy = np.vstack((grid(3, 2), [[1.0, 3.0]]))
    reach = math.hypot(1.0, 2.0)
    on = build(lay_on_plane(xy), longest_edge_m=reach)
    assert math.isfinite(on.elevation_at(1.0, 2.9))
    (what,) = find_faults(lay_on_plane(xy), longest_edge_m=reach - 1e-6)
    assert '"P7" at (1.000, 3.000) m stands alone' in what


def test_a_survey_in_two_parts_is_refused_under_a_stated_longest_edge() -> None:
    two = np.vstack((grid(3, 3), grid(3, 3) + np.array([9.0, 0.5])))
    (what,) = find_faults(lay_on_plane(two), longest_edge_m=3.0)
    assert "2 parts" in what
    assert math.isfinite(build(lay_on_plane(two), longest_edge_m=8.0).elevation_at(5.0, 1.0))


@pytest.mark.parametrize("longest", [0.0, -1.0, math.nan])
def test_a_longest_edge_that_is_no_length_is_refused(longest: float) -> None:
    assert "longest edge" in find_faults(lay_on_plane(grid(3, 3)), longest_edge_m=longest)[0]


def test_a_concave_outline_is_followed_whatever_the_edges() -> None:
    xy = np.array([[0, 0], [8, 0], [8, 3], [3, 3.2], [3, 8], [0, 8], [1.4, 1.2]], dtype=np.float64)
    outline = xy[:6]
    ground = build(lay_on_plane(xy), outline=outline)
    area = shapely.Polygon(outline)
    assert shapely.Polygon(ground.outline_m[0]).equals(area)
    assert sum(triangle.area for triangle in triangles_of(ground)) == pytest.approx(area.area, rel=1e-12)
    assert math.isnan(ground.elevation_at(5.0, 5.0))
    assert math.isfinite(ground.elevation_at(7.9, 2.9))


def test_a_clockwise_outline_is_the_same_outline() -> None:
    xy = grid(4, 4)
    corners = np.array([[0, 0], [3, 0], [3, 3], [0, 3]], dtype=np.float64)
    first, other = (build(lay_on_plane(xy), outline=ring) for ring in (corners, corners[::-1]))
    assert np.array_equal(first.triangles_xy, other.triangles_xy)
    assert len(first.outline_m[0]) == 12  # every level on its sides is a corner of the ring


@pytest.mark.parametrize(
    ("corners", "complaint"),
    [
        ([[0, 0], [3, 0], [3.5, 3]], "corner at (3.500, 3.000) m, where no level was taken"),
        ([[0, 0], [3, 3], [3, 0], [0, 3]], "crosses itself"),
        ([[0, 0], [3, 0], [3, 3], [1, 1], [3, 0], [0, 3]], "passes a point twice"),
        ([[0, 0], [3, 0]], "fewer than three corners"),
        ([[0, 0], [3, 0], [math.nan, 3]], "no level was taken"),
    ],
)
def test_an_outline_that_is_none_is_refused(corners: list[list[float]], complaint: str) -> None:
    assert complaint in find_faults(lay_on_plane(grid(4, 4)), outline=np.array(corners, dtype=float))[0]


def test_fewer_than_three_levels_are_refused() -> None:
    for count in range(3):
        (what,) = find_faults(np.zeros((count, 3)) + np.arange(count)[:, None])
        assert f"{count} survey point" in what


@pytest.mark.parametrize("scale", [1e-1, 1.0, 1e4])
@pytest.mark.parametrize("shift", [0.0, 5e5])
def test_levels_all_on_one_line_are_refused_at_any_scale(scale: float, shift: float) -> None:
    along = np.linspace(0.0, 10.0, 6) * scale
    points = np.column_stack((0.3 * along + shift, 0.7 * along - shift, along))
    (what,) = find_faults(points)
    assert "all on one line" in what
    points[2, 0] += 0.2 * scale
    build(points)


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_coordinate_that_is_no_number_is_refused_by_name(value: float) -> None:
    points = lay_on_plane(grid(3, 3))
    points[4, 2] = value
    points[7, 0] = value
    assert find_faults(points) == [
        'point "P5" has a coordinate that is not a finite number.',
        'point "P8" has a coordinate that is not a finite number.',
    ]


def test_two_levels_of_one_place_are_averaged_up_to_five_millimetres_and_refused_beyond() -> None:
    points = lay_on_plane(grid(3, 3))
    for difference, away in ((0.0049, 0.0), (0.0049, 0.0099)):
        doubled = np.vstack((points, points[4] + [away, 0.0, difference]))
        ground = build(doubled)
        assert ground.elevation_at(1.0 + away / 2, 1.0) == pytest.approx(points[4, 2] + difference / 2)
        assert len(ground.triangles_xy) == 8
    (what,) = find_faults(np.vstack((points, points[4] + [0.0, 0.0, 0.0051])))
    assert '"P5", "P10" are in one place' in what
    assert "5 mm apart" in what
    build(np.vstack((points, points[4] + [0.0101, 0.0, 0.3])))  # two places


def test_all_faults_of_the_levels_come_at_once() -> None:
    points = lay_on_plane(grid(3, 3))
    twice = np.vstack((points, points[[1, 4]] + [0, 0, 1.0]))
    assert len(find_faults(twice)) == 2
    points[0, 0] = math.nan
    crossing = line([(0, 0), (0, 0)], [1, 1], [1, 1])
    assert len(find_faults(points, break_lines=(crossing,), longest_edge_m=0.0)) == 3


@given(angle=st.floats(0, 2 * math.pi), mirror=st.sampled_from([1.0, -1.0]), seed=seeds)
@settings(max_examples=40)
def test_turning_or_mirroring_a_grid_of_levels_never_changes_the_ground(
    angle: float, mirror: float, seed: int
) -> None:
    """Square grids leave Delaunay undecided; rounding must not decide."""
    rng = np.random.default_rng(seed)
    xy = grid(5, 4, 1.5)
    keep = rng.random(len(xy)) < 0.8
    keep[[0, 4, -1]] = True
    xy, z = xy[keep], rng.uniform(0, 1, int(keep.sum()))
    queries = rng.uniform(-0.2, 6.2, (200, 2))
    moved, moved_queries = (turn(p * [mirror, 1.0], angle) + np.array([12.0, -7.0]) for p in (xy, queries))
    before = build(np.column_stack((xy, z))).elevation(queries)
    after = build(np.column_stack((moved, z))).elevation(moved_queries)
    np.testing.assert_allclose(after, before, atol=1e-9)


def test_a_ground_is_read_only() -> None:
    ground = build(lay_on_plane(grid(3, 3)), (line([(0, 1), (2, 1)], [0.97, 0.87], [0.97, 0.87]),))
    wall = ground.break_lines[0]
    arrays = (ground.points_m, ground.triangles_xy, ground.triangles_z, *ground.outline_m)
    for array in (*arrays, wall.xy_m, wall.top_m, wall.foot_m):
        assert not array.flags.writeable


def test_the_callers_levels_are_neither_changed_nor_shared() -> None:
    points = lay_on_plane(grid(3, 3))
    before = points.copy()
    ground = build(points)
    assert np.array_equal(points, before)
    assert points.flags.writeable
    points[:] = 0.0
    assert np.array_equal(ground.points_m, before)
