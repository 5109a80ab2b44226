"""The GLB file as another library reads it: metres, y up, part names, legs where the plan says.

The reader is pygltflib (JSON and binary chunk only); accessors are read here by the rules of
glTF 2.0, section 3.6.2.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pygltflib
import pytest
from numpy.typing import NDArray

from optimizer.brief.site import Site
from optimizer.errors import OutputError
from optimizer.plan import Candidate
from tests.viewer import sample
from viewer.glb import build_glb, write_glb
from viewer.look import FINISHES, measure_linear
from viewer.solids import NamedMesh

COMPONENTS = {5121: np.uint8, 5123: np.uint16, 5125: np.uint32, 5126: np.float32}
WIDTHS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4}


def read_accessor(file: pygltflib.GLTF2, number: int) -> NDArray[np.float64]:
    accessor = file.accessors[number]
    view = file.bufferViews[accessor.bufferView]
    assert view.byteStride is None
    start = (view.byteOffset or 0) + (accessor.byteOffset or 0)
    wide = WIDTHS[accessor.type]
    raw = np.frombuffer(file.binary_blob(), COMPONENTS[accessor.componentType], accessor.count * wide, start)
    return raw.astype(np.float64).reshape(-1, wide)


def to_site_frame(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """From y up (right, up, towards the viewer) to z up."""
    return np.column_stack([points[:, 0], -points[:, 2], points[:, 1]])


@pytest.fixture(scope="module")
def content(meshes: tuple[NamedMesh, ...]) -> bytes:
    return build_glb(meshes)


@pytest.fixture(scope="module")
def file(content: bytes) -> pygltflib.GLTF2:
    return pygltflib.GLTF2.load_from_bytes(content)


@pytest.fixture(scope="module")
def parts(file: pygltflib.GLTF2) -> dict[str, tuple[NDArray[np.float64], NDArray[np.int64]]]:
    """Corner points in the site frame and faces, by node name."""
    found = {}
    for node in file.nodes:
        if node.mesh is None:
            continue
        assert node.matrix is None
        assert node.translation is None
        assert node.rotation is None
        assert node.scale is None
        (primitive,) = file.meshes[node.mesh].primitives
        points = to_site_frame(read_accessor(file, primitive.attributes.POSITION))
        faces = read_accessor(file, primitive.indices).astype(np.int64).reshape(-1, 3)
        found[node.name] = (points, faces)
    return found


Parts = dict[str, tuple[NDArray[np.float64], NDArray[np.int64]]]


def test_every_part_is_a_node_of_its_name(parts: Parts, meshes: tuple[NamedMesh, ...]) -> None:
    assert sorted(parts) == sorted(mesh.name for mesh in meshes)


def test_every_part_has_its_faces_and_its_size_in_metres(parts: Parts, meshes: tuple[NamedMesh, ...]) -> None:
    for mesh in meshes:
        points, faces = parts[mesh.name]
        assert len(faces) == len(mesh.faces)
        used = mesh.vertices[mesh.faces].reshape(-1, 3)
        assert points.min(axis=0) == pytest.approx(used.min(axis=0), abs=1e-5)
        assert points.max(axis=0) == pytest.approx(used.max(axis=0), abs=1e-5)


def test_legs_reach_from_the_bedded_ground_to_the_frame_within_a_millimetre(
    parts: Parts, candidate: Candidate
) -> None:
    for leg in candidate.legs:
        word = "leg" if leg.kind == "leg" else "low support"
        points, _ = parts[f"{word} {leg.id} ({leg.leg_type})"]
        foot, _ = parts[f"foot {leg.id} ({leg.foot})"]
        bottom = leg.ground_elevation_m - sample.BEDDING_M
        assert points[:, 2].max() == pytest.approx(leg.frame_elevation_m, abs=1e-3)
        assert points[:, 2].min() == pytest.approx(bottom, abs=1e-3)
        assert foot[:, 2].min() == pytest.approx(bottom, abs=1e-3)
        assert leg.height_m == pytest.approx(points[:, 2].max() - points[:, 2].min(), abs=1e-3)
        assert (foot.min(axis=0) + foot.max(axis=0))[:2] / 2.0 == pytest.approx((leg.x_m, leg.y_m), abs=1e-3)


def test_deck_corners_are_those_of_the_plan(parts: Parts, candidate: Candidate) -> None:
    for piece in candidate.pieces:
        points = next(parts[name][0] for name in parts if name.endswith(f" {piece.id}"))
        for corner in piece.corners_m:
            assert np.linalg.norm(points - corner, axis=1).min() < 1e-3


def test_up_is_y_in_the_file(file: pygltflib.GLTF2, meshes: tuple[NamedMesh, ...]) -> None:
    lows, highs = [], []
    for mesh in file.meshes:
        accessor = file.accessors[mesh.primitives[0].attributes.POSITION]
        lows.append(accessor.min)
        highs.append(accessor.max)
    every = np.concatenate([mesh.vertices[mesh.faces].reshape(-1, 3) for mesh in meshes])
    x, y, z = every.T
    assert np.min(lows, axis=0) == pytest.approx([x.min(), z.min(), (-y).min()], abs=1e-5)
    assert np.max(highs, axis=0) == pytest.approx([x.max(), z.max(), (-y).max()], abs=1e-5)


def test_the_ground_is_seen_from_above(parts: Parts) -> None:
    points, faces = parts["ground"]
    a, b, c = (points[faces[:, k]] for k in range(3))
    assert np.cross(b - a, c - a)[:, 2].min() > 0.0


def test_stored_normals_are_those_of_the_flat_faces(file: pygltflib.GLTF2) -> None:
    for mesh in file.meshes:
        (primitive,) = mesh.primitives
        points = read_accessor(file, primitive.attributes.POSITION)
        normals = read_accessor(file, primitive.attributes.NORMAL)
        faces = read_accessor(file, primitive.indices).astype(np.int64).reshape(-1, 3)
        a, b, c = (points[faces[:, k]] for k in range(3))
        flat = np.cross(b - a, c - a)
        size = np.linalg.norm(flat, axis=1)
        large = size > 1e-6  # slivers have no sure normal in 32-bit numbers
        for k in range(3):
            match = (normals[faces[large, k]] * flat[large] / size[large, None]).sum(axis=1)
            assert match.min() > 0.99, mesh.name


def test_colours_are_linear(file: pygltflib.GLTF2) -> None:
    colours = {m.name: m.pbrMetallicRoughness.baseColorFactor for m in file.materials}
    assert set(colours) <= set(FINISHES)
    for group, colour in colours.items():
        assert colour == pytest.approx([*measure_linear(FINISHES[group].colour), 1.0], abs=2 / 255)


def test_facts_travel_as_extras(file: pygltflib.GLTF2, candidate: Candidate) -> None:
    extras = {mesh.name: mesh.extras for mesh in file.meshes}
    leg = candidate.legs[0]
    assert extras[f"leg {leg.id} ({leg.leg_type})"]["height"] == f"{leg.height_m * 1000:.0f} mm"
    assert extras["section S1"]["part"] == "section 1.80 m"


def test_the_same_plan_gives_the_same_bytes(content: bytes, meshes: tuple[NamedMesh, ...]) -> None:
    assert build_glb(meshes) == content


def test_the_file_appears_whole_under_its_name(site: Site, candidate: Candidate, tmp_path: Path) -> None:
    write_glb(site, candidate, tmp_path / "model.glb")
    assert [path.name for path in tmp_path.iterdir()] == ["model.glb"]
    assert (tmp_path / "model.glb").read_bytes()[:4] == b"glTF"


def test_a_folder_that_is_not_there_is_an_output_error(
    site: Site, candidate: Candidate, tmp_path: Path
) -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        write_glb(site, candidate, tmp_path / "nowhere" / "model.glb")
