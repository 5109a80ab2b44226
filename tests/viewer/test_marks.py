"""The names in a model that programs read again: marks, walking faces first, what it was drawn from."""

from __future__ import annotations

import numpy as np
import pygltflib
import pytest

from optimizer.brief.site import Site
from optimizer.plan import Candidate
from viewer.glb import DrawnFrom, build_glb
from viewer.meshes import draw_scene
from viewer.solids import NamedMesh

LOT = np.array([[0.0, 0.0], [9.0, 0.5], [8.0, 7.0]])


@pytest.fixture(name="content", scope="module")
def fixture_content(meshes: tuple[NamedMesh, ...]) -> bytes:
    return build_glb(meshes, DrawnFrom("a site", "candidate 3", LOT))


@pytest.fixture(name="file", scope="module")
def fixture_file(content: bytes) -> pygltflib.GLTF2:
    return pygltflib.GLTF2.load_from_bytes(content)


def test_the_scene_says_what_it_shows(file: pygltflib.GLTF2, meshes: tuple[NamedMesh, ...]) -> None:
    assert file.scenes[0].extras["evenfall"] == {
        "schema": "evenfall-model-1",
        "site": "a site",
        "candidate": "candidate 3",
        "units": "m",
        "up": "y",
        "parts": len(meshes),
        "lot_m": LOT.tolist(),
    }


def test_every_part_of_the_plan_has_one_mark(file: pygltflib.GLTF2, candidate: Candidate) -> None:
    marks = [mesh.extras["evenfall"] for mesh in file.meshes]
    wanted = {("piece", piece.id, piece.catalogue_id) for piece in candidate.pieces}
    wanted |= {("support", leg.id, leg.leg_type) for leg in candidate.legs}
    wanted |= {("foot", leg.id, leg.foot) for leg in candidate.legs}
    wanted |= {("brace", leg.id, leg.brace) for leg in candidate.legs if leg.brace is not None}
    wanted |= {("rail", rail.id, rail.catalogue_id) for rail in candidate.rails}
    found = [(mark["role"], mark["id"], mark["catalogue_id"]) for mark in marks if "catalogue_id" in mark]
    assert sorted(found) == sorted(wanted)
    assert len(wanted) == len(found)


def test_the_obstacles_and_the_ground_are_told(file: pygltflib.GLTF2, site: Site) -> None:
    marks = {mesh.name: mesh.extras["evenfall"] for mesh in file.meshes}
    assert {f"obstacle {obstacle.name}" for obstacle in site.yard.obstacles} <= marks.keys()
    assert marks["obstacle planter"]["kind"] == "passable"
    assert marks["obstacle meter box"]["kind"] == "solid"
    assert marks["ground"]["role"] == "ground"


def test_the_first_triangles_are_the_face_that_is_walked_on(
    meshes: tuple[NamedMesh, ...], candidate: Candidate
) -> None:
    """All of it, nothing else, and each triangle in the plane of the plan's corners, facing up."""
    by_mark = {mesh.mark.id: mesh for mesh in meshes if mesh.mark is not None and mesh.mark.role == "piece"}
    again = pygltflib.GLTF2.load_from_bytes(build_glb(meshes))
    for piece in candidate.pieces:
        mesh = by_mark[piece.id]
        (entry,) = [entry for entry in again.meshes if entry.name == mesh.name]
        accessor = again.accessors[entry.primitives[0].attributes.POSITION]
        view = again.bufferViews[accessor.bufferView]
        raw = np.frombuffer(again.binary_blob(), np.float32, 3 * accessor.count, view.byteOffset)
        x, y, z = raw.reshape(-1, 3).astype(np.float64).T
        walked = np.column_stack([x, -z, y])[: 3 * entry.extras["evenfall"]["walking"]].reshape(-1, 3, 3)
        corners = np.array(piece.corners_m)
        normal = np.cross(corners[1] - corners[0], corners[3] - corners[0])
        normal /= np.linalg.norm(normal) * np.sign(normal[2])
        assert np.abs((walked - corners[0]) @ normal).max() < 1e-5
        area = np.cross(walked[:, 1] - walked[:, 0], walked[:, 2] - walked[:, 0]) @ normal / 2.0
        assert area.min() > 0.0
        whole = np.linalg.norm(np.cross(corners[1] - corners[0], corners[3] - corners[0]))
        assert 0.9 * whole < area.sum() < whole + 1e-6


def test_the_same_plan_gives_the_same_bytes_from_the_start(site: Site, candidate: Candidate) -> None:
    drawn_from = DrawnFrom(site.name, candidate.name, site.yard.lot_m)
    first = build_glb(draw_scene(site, candidate), drawn_from)
    assert build_glb(draw_scene(site, candidate), drawn_from) == first
