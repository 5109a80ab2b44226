"""Scan files written by other programs' libraries, read by ours.

Sources and tolerances:

* LAS and LAZ written by laspy 2.x with lazrs, E57 by pye57 (libE57Format), PLY, OBJ and GLB by trimesh, GLB
  once more by pygltflib.  Coordinates of a national grid (500 000 / 5 000 000 m) must come back
  within 0.1 mm; the files themselves keep 0.01 mm or better.
* G. Turk, 'The PLY Polygon File Format' (1994): the example file of a cube, 8 vertices and 6 faces of
  4 corners; its surface is 6.
* US survey foot: 1200/3937 m (NIST Special Publication 811, B.6): 1 000 000 of them are
  304 800.6096 m, to 0.1 mm.
* Steele, Lea and Flood, 'Fast splittable pseudorandom number generators' (OOPSLA 2014): the mixing of
  SplitMix64; its first output from seed 0 is 0xE220A8397B1DCDAF (from memory; many reference
  implementations print it).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pygltflib
import pytest
import trimesh
from numpy.typing import NDArray

from optimizer.survey.scan.confirm_frame import confirm_frame
from optimizer.survey.scan.read_scan import read_scan
from optimizer.survey.scan.thinning import _mix
from tests.survey.scan.written_scans import in_order, points_of, write_las
from tests.survey.scan.yard_scan import Yard, scan_yard

GRID_M = np.array([500_000.0, 5_000_000.0, 187.0])
TOLERANCE_M = 1e-4


@pytest.fixture(scope="module")
def yard() -> NDArray[np.float64]:
    return scan_yard(Yard(yaw_deg=21.0), seed=11, count=20_000) + GRID_M


@pytest.mark.parametrize(("name", "point_format"), [("a.las", 3), ("a.laz", 1), ("a.laz", 6), ("a.laz", 7)])
def test_las_and_laz_on_a_national_grid_come_back_to_a_tenth_of_a_millimetre(
    tmp_path: Path, yard: NDArray[np.float64], name: str, point_format: int
) -> None:
    path = write_las(tmp_path / name, yard, point_format=point_format, step=1e-5)
    scan = confirm_frame(read_scan(path, None), "m", "z")
    assert scan.count_read == len(yard)
    assert np.abs(points_of(scan) - yard).max() < TOLERANCE_M
    assert np.array_equal(scan.offset_m, np.round(scan.offset_m))


def test_e57_scans_come_back_with_their_poses_applied(tmp_path: Path, yard: NDArray[np.float64]) -> None:
    pye57 = pytest.importorskip("pye57")
    file = pye57.E57(str(tmp_path / "a.e57"), "w")
    for points, station, turn_deg in ((yard[:9000], (7, 3, 1.6), 40.0), (yard[9000:], (2, 9, 1.2), -115.0)):
        place, turn = GRID_M + station, np.radians(turn_deg)
        about_z = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
        own = (points - place) @ about_z  # as the instrument saw them
        data = {f"cartesian{axis}": own[:, i].copy() for i, axis in enumerate("XYZ")}
        quaternion = np.array([np.cos(turn / 2), 0.0, 0.0, np.sin(turn / 2)])
        file.write_scan_raw(data, rotation=quaternion, translation=place)
    file.close()
    scan = confirm_frame(read_scan(tmp_path / "a.e57", None), "m", "z")
    assert np.abs(points_of(scan) - yard).max() < TOLERANCE_M


@pytest.mark.parametrize("encoding", ["binary", "ascii"])
def test_ply_written_by_another_library_comes_back(
    tmp_path: Path, yard: NDArray[np.float64], encoding: str
) -> None:
    local = yard - GRID_M
    path = tmp_path / "a.ply"
    path.write_bytes(trimesh.PointCloud(local).export(file_type="ply", encoding=encoding))
    assert np.abs(points_of(read_scan(path, None)) - local).max() < TOLERANCE_M


def test_a_glb_scene_comes_back_where_its_nodes_place_it(tmp_path: Path, yard: NDArray[np.float64]) -> None:
    upright = yard - GRID_M
    scene = trimesh.Scene()
    move = trimesh.transformations.rotation_matrix(np.radians(-90.0), [1, 0, 0])
    move[:3, 3] = [100.0, 5.0, -30.0]
    scene.add_geometry(trimesh.PointCloud(upright), transform=move)
    path = tmp_path / "a.glb"
    path.write_bytes(scene.export(file_type="glb"))
    scan = confirm_frame(read_scan(path, None), "m", "y")
    moved = np.array([100.0, 30.0, 5.0])  # with z up again
    assert np.abs(points_of(scan) - (upright + moved)).max() < TOLERANCE_M


def test_a_glb_of_another_writer_is_read_by_its_accessors(tmp_path: Path) -> None:
    corners = np.array([[0, 0, 0], [4, 0, 0], [4, 3, 0], [0, 3, 0]], dtype="<f4")
    strip = np.array([0, 1, 3, 2], dtype="<u2")
    gltf = pygltflib.GLTF2(
        scene=0,
        scenes=[pygltflib.Scene(nodes=[0])],
        nodes=[pygltflib.Node(children=[1], scale=[2, 2, 2]), pygltflib.Node(mesh=0, translation=[1, 0, 0])],
        meshes=[
            pygltflib.Mesh(
                primitives=[
                    pygltflib.Primitive(attributes=pygltflib.Attributes(POSITION=0), indices=1, mode=5)
                ]
            )
        ],
        accessors=[
            pygltflib.Accessor(bufferView=0, componentType=5126, count=4, type="VEC3"),
            pygltflib.Accessor(bufferView=1, componentType=5123, count=4, type="SCALAR"),
        ],
        bufferViews=[
            pygltflib.BufferView(buffer=0, byteOffset=0, byteLength=48),
            pygltflib.BufferView(buffer=0, byteOffset=48, byteLength=8),
        ],
        buffers=[pygltflib.Buffer(byteLength=56)],
    )
    gltf.set_binary_blob(corners.tobytes() + strip.tobytes())
    gltf.save_binary(str(tmp_path / "a.glb"))
    scan = read_scan(tmp_path / "a.glb", 0.25)
    # moved by 1, then twice as large: from (2, 0) to (10, 6), all of it covered
    assert scan.box.tolist() == [[2.0, 0.0, 0.0], [10.0, 6.0, 0.0]]
    cells = {(int(x // 0.25), int(y // 0.25)) for x, y, _ in points_of(scan)}
    assert {(i, j) for i in range(8, 40) for j in range(24)} <= cells


@pytest.mark.parametrize("kind", ["obj", "glb", "ply"])
def test_points_on_a_mesh_are_spread_evenly_over_its_surface(tmp_path: Path, kind: str) -> None:
    box = trimesh.creation.box(extents=[2.0, 3.0, 5.0])
    path = tmp_path / f"box.{kind}"
    exported = box.export(file_type=kind)
    path.write_bytes(exported.encode() if isinstance(exported, str) else exported)
    points = points_of(read_scan(path, None))[8:]
    assert np.abs(np.abs(points) - [1.0, 1.5, 2.5]).min(axis=1).max() < 1e-6
    shares = [
        np.isclose(np.abs(points[:, i]), half, atol=1e-6).mean() for i, half in enumerate((1, 1.5, 2.5))
    ]
    assert shares == pytest.approx([30 / 62, 20 / 62, 12 / 62], abs=0.001)


def test_the_published_cube_is_read(tmp_path: Path) -> None:
    path = tmp_path / "cube.ply"
    path.write_text(
        "ply\nformat ascii 1.0\ncomment this file is a cube\nelement vertex 8\nproperty float x\n"
        "property float y\nproperty float z\nelement face 6\nproperty list uchar int vertex_index\n"
        "end_header\n"
        "0 0 0\n0 0 1\n0 1 1\n0 1 0\n1 0 0\n1 0 1\n1 1 1\n1 1 0\n"
        "4 0 1 2 3\n4 7 6 5 4\n4 0 4 5 1\n4 1 5 6 2\n4 2 6 7 3\n4 3 7 4 0\n"
    )
    points = points_of(read_scan(path, None))
    assert points[:8].tolist() == [[x, *yz] for x in (0, 1) for yz in ([0, 0], [0, 1], [1, 1], [1, 0])]
    on_faces = points[8:]
    for axis in range(3):
        for value in (0.0, 1.0):
            assert (on_faces[:, axis] == value).mean() == pytest.approx(1 / 6, abs=0.001)


def test_a_million_survey_feet_are_as_long_as_published(tmp_path: Path) -> None:
    path = tmp_path / "a.xyz"
    path.write_text("1000000 0.1 0\n1000000 1 0.3\n1000001.7 0 1\n")
    scan = confirm_frame(read_scan(path, None), "us-ft", "z")
    assert in_order(points_of(scan))[0, 0] == pytest.approx(304_800.6096, abs=5e-5)


def test_the_mixing_is_the_published_one() -> None:
    # One axis of the mix, from zero, is one step of SplitMix64 from seed zero.
    three_steps = int(_mix(np.zeros((1, 3)))[0])
    state = 0
    for _ in range(3):
        state = splitmix64(state)
    assert splitmix64(0) == 0xE220A8397B1DCDAF
    assert three_steps == state


def splitmix64(state: int) -> int:
    """One output of the published generator, in whole numbers of 64 bits."""
    most = 2**64 - 1
    z = (state + 0x9E3779B97F4A7C15) & most
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & most
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & most
    return z ^ (z >> 31)


def test_las_and_its_points_reversed_in_laz_are_thinned_to_the_same_points(
    tmp_path: Path, yard: NDArray[np.float64]
) -> None:
    las = read_scan(write_las(tmp_path / "a.las", yard, step=0.001), 0.05)
    laz = read_scan(write_las(tmp_path / "a.laz", yard[::-1], step=0.001), 0.05)
    assert np.array_equal(las.local, laz.local)
