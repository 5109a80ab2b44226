"""The ground as a block: normals up, steps filled, pad cut out, contours where the heights say."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.viewer import sample
from viewer.relief import BLOCK_DEPTH_M, LIFT_M, ContourSteps, build_contours, build_relief, cut_ring_out
from viewer.solids import Solid, build_joined


def list_normals(solid: Solid) -> NDArray[np.float64]:
    """Area vectors (m, 3): twice the area of each face along its normal."""
    a, b, c = (solid.vertices[solid.faces[:, k]] for k in range(3))
    return np.cross(b - a, c - a)


GROUND = sample.build_ground()
PLANE_AREA_M2 = 16.0 * 14.0
PAD = np.column_stack(
    [sample.to_site(np.array([[5.0, 7.0], [6.5, 7.0], [6.5, 8.5], [5.0, 8.5]])), np.full(4, -0.85)]
)


def test_every_face_of_the_ground_looks_up() -> None:
    assert list_normals(build_relief(GROUND).surface)[:, 2].min() > 0.0


def test_triangles_wound_the_other_way_still_look_up() -> None:
    turned = dataclasses.replace(
        GROUND, triangles_xy=GROUND.triangles_xy[:, ::-1], triangles_z=GROUND.triangles_z[:, ::-1]
    )
    assert list_normals(build_relief(turned).surface)[:, 2].min() > 0.0


def test_the_step_of_the_wall_is_filled_and_faces_the_low_side() -> None:
    steps = list_normals(build_relief(GROUND).steps)
    out = sample.to_site(np.array([[0.0, 1.0]]))[0] - sample.to_site(np.array([[0.0, 0.0]]))[0]
    assert np.linalg.norm(steps, axis=1).sum() / 2 == pytest.approx(16.0 * sample.WALL_DROP_M)
    assert (steps[:, :2] @ out).min() > 0.0
    assert np.abs(steps[:, 2]).max() < 1e-9


def test_ground_without_a_step_has_no_upright_faces_inside() -> None:
    ground = dataclasses.replace(
        GROUND, triangles_xy=GROUND.triangles_xy[:10], triangles_z=GROUND.triangles_z[:10]
    )
    assert len(build_relief(ground).steps.faces) == 0


@pytest.mark.parametrize("pads", [(), (PAD,)])
def test_surface_steps_sides_and_underside_close_the_block(pads: tuple[NDArray[np.float64], ...]) -> None:
    relief = build_relief(GROUND, pads)
    block = build_joined([relief.surface, relief.steps, relief.sides])
    # A closed surface has area vectors that cancel; under the pad the hole has no floor.
    missing = np.array([0.0, 0.0, 2.0 * 1.5 * 1.5 * len(pads)])
    assert list_normals(block).sum(axis=0) + missing == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)
    assert relief.base_m == pytest.approx(GROUND.triangles_z.min() - BLOCK_DEPTH_M)
    assert relief.sides.vertices[:, 2].min() == relief.base_m


def test_the_block_has_the_volume_of_its_two_prisms() -> None:
    relief = build_relief(GROUND)
    block = build_joined([relief.surface, relief.steps, relief.sides])
    a, b, c = (block.vertices[block.faces[:, k]] for k in range(3))
    volume = np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0
    # Planes over rectangles: mean height times area, door frame u -6..10, v 0..10.2 and 10.2..14.
    upper = sample.slope_plane(np.array([[2.0, 5.1]]))[0]
    lower = sample.slope_plane(np.array([[2.0, 12.1]]))[0] - sample.WALL_DROP_M
    expected = 16 * 10.2 * (upper - relief.base_m) + 16 * 3.8 * (lower - relief.base_m)
    assert volume == pytest.approx(expected, rel=1e-9)


def test_the_pad_is_cut_out_and_its_hole_is_walled_facing_inward() -> None:
    whole, cut = build_relief(GROUND), build_relief(GROUND, (PAD,))
    areas = [list_normals(r.surface)[:, 2].sum() / 2 for r in (whole, cut)]
    assert areas[0] == pytest.approx(PLANE_AREA_M2)
    assert areas[1] == pytest.approx(PLANE_AREA_M2 - 2.25)
    rim = Solid(cut.sides.vertices, cut.sides.faces[len(whole.sides.faces) :])
    normals = list_normals(rim)
    to_middle = PAD[:, :2].mean(axis=0) - rim.vertices[rim.faces].mean(axis=1)[:, :2]
    assert len(rim.faces) > 0
    assert (normals[:, :2] * to_middle).sum(axis=1).min() > 0.0


def test_a_ring_beside_a_triangle_leaves_it_whole() -> None:
    triangle = np.array([[[0, 0, 0.0], [4, 0, 0], [0, 4, 0]]])
    ring = np.array([[3.0, 3.0], [3.9, 3.0], [3.9, 3.9], [3.0, 3.9]])
    assert np.array_equal(cut_ring_out(triangle, ring), triangle)


def test_contours_lie_on_their_levels_just_above_the_ground() -> None:
    steps = ContourSteps(zero_m=0.25, step_m=0.1, index_every=5)
    plain, index = build_contours(GROUND, steps)
    for lines, is_index in ((plain, False), (index, True)):
        middles = lines.vertices.reshape(-1, 4, 3).mean(axis=1)
        numbers = (middles[:, 2] - LIFT_M - 0.25) / 0.1
        # The strip is lifted square to the ground, whose normal leans by 4 %.
        assert np.abs(numbers - np.round(numbers)).max() < 0.02
        assert ((np.round(numbers) % 5 == 0) == is_index).all()
        ground = GROUND.elevation(middles[:, :2])
        assert np.abs(middles[:, 2] - ground - LIFT_M).max() < 1e-3


def test_a_contour_of_the_plane_is_as_long_as_the_plane_is_wide_there() -> None:
    # One line only: level 0.7 below the zero, in the upper plane it runs right across.
    level = float(sample.slope_plane(np.array([[2.0, 5.0]]))[0])
    plain, index = build_contours(GROUND, ContourSteps(level, 50.0, 1))
    starts, ends = index.vertices.reshape(-1, 4, 3)[:, 0], index.vertices.reshape(-1, 4, 3)[:, 1]
    slope = 0.018 / 0.035
    assert len(plain.faces) == 0
    assert np.linalg.norm(ends - starts, axis=1).sum() == pytest.approx(16.0 * np.hypot(1, slope), rel=1e-3)
