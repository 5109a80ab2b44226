"""The checker's own ground: exact on planes, two values at a wall, the lowest point of a disc."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from optimizer.standards.ground_measure import Facets, build_facets
from optimizer.terrain.ground import Ground


def build_plane(a: float, b: float, c: float) -> Facets:
    """z = a x + b y + c over a square of 20 m, in eight triangles."""
    grid = [(x, y) for x in (-10.0, 0.0, 10.0) for y in (-10.0, 0.0, 10.0)]
    faces = []
    for i in (0, 1):
        for j in (0, 1):
            first = 3 * i + j
            faces += [(first, first + 3, first + 4), (first, first + 4, first + 1)]
    xy = np.array([[grid[index] for index in face] for face in faces])
    z = xy[:, :, 0] * a + xy[:, :, 1] * b + c
    ring = np.array([(-10.0, -10.0), (10.0, -10.0), (10.0, 10.0), (-10.0, 10.0)])
    return build_facets(Ground(np.zeros((0, 3)), (), xy, z, (ring,), (), None))


def build_wall() -> Facets:
    """Level 1.0 m for x < 0 and 0.2 m for x > 0."""
    xy = np.array(
        [
            [(-5, -5), (0, -5), (0, 5)],
            [(-5, -5), (0, 5), (-5, 5)],
            [(0, -5), (5, -5), (5, 5)],
            [(0, -5), (5, 5), (0, 5)],
        ],
        dtype=float,
    )
    z = np.array([[1.0] * 3, [1.0] * 3, [0.2] * 3, [0.2] * 3])
    ring = np.array([(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)])
    return build_facets(Ground(np.zeros((0, 3)), (), xy, z, (ring,), (), None))


def test_a_plane_is_measured_exactly_everywhere() -> None:
    facets = build_plane(0.03, -0.07, 2.5)
    random = np.random.default_rng(3)
    for x, y in random.uniform(-10.0, 10.0, (200, 2)):
        assert facets.elevation_at(np.array([x, y])) == pytest.approx(0.03 * x - 0.07 * y + 2.5, abs=1e-12)


def test_beyond_the_survey_there_is_no_elevation() -> None:
    assert np.isnan(build_plane(0.0, 0.0, 1.0).elevation_at(np.array([10.001, 0.0])))


def test_at_a_wall_the_upper_level_counts() -> None:
    facets = build_wall()
    assert [facets.elevation_at(np.array([x, 1.0])) for x in (-0.001, 0.0, 0.001)] == [1.0, 1.0, 0.2]


def test_the_lowest_ground_in_a_disc_lies_straight_down_the_slope() -> None:
    """Closed form on a plane: height at the middle less radius times the steepest slope."""
    facets = build_plane(0.03, -0.04, 2.0)
    for x, y in ((0.0, 0.0), (3.3, -2.7), (-4.0, 4.0)):
        expected = 0.03 * x - 0.04 * y + 2.0 - 0.9144 * 0.05
        assert facets.lowest_within(np.array([x, y]), 0.9144) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("x", "expected"), [(-0.92, 1.0), (-0.9144, 0.2), (-0.5, 0.2), (2.0, 0.2)])
def test_the_lowest_ground_in_a_disc_sees_over_a_wall(x: float, expected: float) -> None:
    assert build_wall().lowest_within(np.array([x, 0.5]), 0.9144) == expected


def test_the_lowest_ground_near_many_points_is_below_every_sample_and_close_to_the_lowest() -> None:
    """Against a dense polar sample of a ragged surface: never above it, nowhere far below."""
    random = np.random.default_rng(11)
    grid = np.array([(x, y) for x in np.linspace(-4, 4, 9) for y in np.linspace(-4, 4, 9)])
    grid[np.abs(grid).max(axis=1) < 4] += random.uniform(-0.3, 0.3, (49, 2))
    levels = random.uniform(0.0, 0.6, 81)
    corners = [(9 * i + j, 9 * i + j + 9, 9 * i + j + 10, 9 * i + j + 1) for i in range(8) for j in range(8)]
    faces = np.array([face for a, b, c, d in corners for face in ((a, b, c), (a, c, d))])
    ring = np.array([(-4.0, -4.0), (4.0, -4.0), (4.0, 4.0), (-4.0, 4.0)])
    facets = build_facets(Ground(np.zeros((0, 3)), (), grid[faces], levels[faces], (ring,), (), None))
    centres = np.vstack([random.uniform(-4.5, 4.5, (40, 2)), [[9.0, 9.0]]])
    radius = 0.9144
    found = facets.lowest_near(centres, radius)
    assert np.isnan(found[-1])
    angles, radii = np.meshgrid(np.linspace(0, 2 * np.pi, 181), np.linspace(0, radius, 61))
    disc = np.column_stack([(radii * np.cos(angles)).ravel(), (radii * np.sin(angles)).ravel()])
    surface = Ground(np.zeros((0, 3)), (), grid[faces], levels[faces], (ring,), (), None)
    for centre, lowest in zip(centres[:-1], found[:-1], strict=True):
        sampled = float(np.nanmin(surface.elevation(centre + disc)))
        assert lowest <= sampled + 1e-9
        assert lowest == pytest.approx(sampled, abs=0.03)
        assert lowest == facets.lowest_within(centre, radius)


def test_ground_in_an_area_is_measured_against_a_plane_without_sampling() -> None:
    facets = build_plane(0.02, 0.05, 0.0)
    area = shapely.box(1.0, 1.0, 2.0, 3.0)
    above, where = facets.rise_above(area, (0.0, 0.0, 0.1))
    assert above == pytest.approx(0.02 * 2.0 + 0.05 * 3.0 - 0.1, abs=1e-12)
    assert where == pytest.approx([2.0, 3.0, 0.19])
    assert facets.lowest_in(area) == pytest.approx(0.07, abs=1e-12)


def test_an_area_off_the_survey_measures_nothing() -> None:
    facets = build_plane(0.0, 0.0, 0.0)
    assert np.isnan(facets.lowest_in(shapely.box(20.0, 20.0, 21.0, 21.0)))
    assert np.isnan(facets.rise_above(shapely.box(20.0, 20.0, 21.0, 21.0), (0.0, 0.0, 0.0))[0])
