"""Packed shapes unpacked by the page's own rule: nothing moves by half a step, none lies twice."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.errors import InternalError
from tests.viewer.page.made_job import made_plan, made_site
from viewer.meshes import draw_scene
from viewer.page.shapes import PackedShapes, pack_shapes
from viewer.solids import NamedMesh, Solid, build_named_mesh


def unpack(shapes: PackedShapes, number: int) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Points (n, 3) in the site frame and triangles (m, 3), as ``source/data.js`` reads them."""
    mesh = shapes.meshes[number]
    numbers = np.frombuffer(shapes.content, "<u2", shapes.points)
    corners = np.frombuffer(shapes.content, "<u2", shapes.corners, 2 * shapes.points)
    points = numbers[mesh.points_at : mesh.points_at + 3 * mesh.points].reshape(-1, 3).astype(np.float64)
    faces = corners[mesh.corners_at : mesh.corners_at + 3 * mesh.triangles].reshape(-1, 3)
    return points * shapes.step_m + shapes.low_m + shapes.middle_m, faces.astype(np.int64)


def _scenes() -> tuple[tuple[NamedMesh, ...], ...]:
    return tuple(draw_scene(made_site(), candidate) for candidate in made_plan().candidates)


def test_every_mesh_comes_back_to_half_a_step() -> None:
    scenes = _scenes()
    shapes = pack_shapes(scenes)
    assert shapes.step_m < 0.001
    for scene, numbers in zip(scenes, shapes.numbers, strict=True):
        for mesh, number in zip(scene, numbers, strict=True):
            points, faces = unpack(shapes, number)
            off = np.abs(points[faces] - mesh.vertices[mesh.faces])
            assert off.max() <= 0.5 * shapes.step_m + 1e-8
            assert shapes.meshes[number].group == mesh.group


def test_what_all_candidates_share_lies_there_once() -> None:
    scenes = _scenes()
    shapes = pack_shapes(scenes)
    house = [
        number
        for scene, numbers in zip(scenes, shapes.numbers, strict=True)
        for mesh, number in zip(scene, numbers, strict=True)
        if mesh.name == "house"
    ]
    assert len(house) == 3
    assert len(set(house)) == 1
    assert len(pack_shapes((*scenes, *scenes)).content) == len(shapes.content)


def test_loose_triangles_share_their_points() -> None:
    scenes = _scenes()[:1]
    shapes = pack_shapes(scenes)
    for mesh, number in zip(scenes[0], shapes.numbers[0], strict=True):
        if mesh.group == "ground":
            assert shapes.meshes[number].points < 0.5 * len(mesh.vertices)


def test_a_mesh_that_is_too_large_is_our_fault() -> None:
    vertices = np.random.default_rng(1).uniform(0.0, 9.0, (65_536, 3))
    mesh = build_named_mesh("x", "house", Solid(vertices, np.array([[0, 1, 2]])))
    with pytest.raises(InternalError, match="65536 points"):
        pack_shapes(((mesh,),))
