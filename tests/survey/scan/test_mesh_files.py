"""OBJ and GLB: what is taken, what stays unopened, what is refused."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import IO, Any

import numpy as np
import pytest

from optimizer.errors import InputError
from optimizer.survey.scan.mesh_points import sample_mesh
from optimizer.survey.scan.read_scan import read_scan
from tests.survey.scan.written_scans import damaged, points_of, write_glb

CORNERS = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0]], dtype="<f4")


def describe(**changed: object) -> dict[str, Any]:
    """A triangle as three points."""
    return {
        "asset": {"version": "2.0"},
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "mode": 0}]}],
        "accessors": [{"bufferView": 0, "componentType": 5126, "count": 3, "type": "VEC3"}],
        "bufferViews": [{"buffer": 0, "byteLength": 36}],
        "buffers": [{"byteLength": 36}],
        **changed,
    }


def refuse(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_scan(path, None)
    return str(caught.value)


def test_obj_vertices_with_colours_and_every_kind_of_face_are_read(tmp_path: Path) -> None:
    (tmp_path / "a.obj").write_text(
        "# phone\nmtllib a.mtl\no yard\nv 0 0 0 .5 .5 .5\nv 2 0 0\r\nv 2 2 0\nv\t0 2 0\nvn 0 0 1\nvt 0 0\n"
        "usemtl grass\ns off\nf 1/1/1 2/1/1 3//1 -1\nl 1 2\nv 1 3 0\nf 4 3 -1\n"
    )
    points = points_of(read_scan(tmp_path / "a.obj", None))
    assert points[:5].tolist() == [[0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0], [1, 3, 0]]
    assert (points[:, 1] > 2.0).mean() == pytest.approx(0.2, abs=0.001)


def test_obj_of_points_alone_gets_none_added(tmp_path: Path) -> None:
    (tmp_path / "a.obj").write_text("v 0 0 0\nv 1 0 0\nv nan 0 0\n")
    scan = read_scan(tmp_path / "a.obj", None)
    assert (scan.count_read, scan.count_unusable, scan.count_kept) == (3, 1, 2)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("v 0 0 0\nvn 0 0 1\nv 1 two 3\n", 'a.obj:3: "two" is not a number.'),
        ("v 0 0\n", 'a.obj:1: "v 0 0" has 2 values, where 3 are needed.'),
        ("v 0 0 0\nDear client\n", 'a.obj:2: "Dear client" is no line of an OBJ file.'),
        ("v 0 0 0\nv 1 0 0\nf 1 2 3\n", "a.obj: face 1 names vertex 2"),
        ("v 0 0 0\nv 1 0 0\nf 1 2 x\n", 'a.obj:3: "f 1 2 x" names no vertices.'),
        ("v 0 0 0\nv 1 0 0\nf 1 2 0\n", "a.obj: face 1 names vertex -1"),
        ("# nothing\n", "a.obj: the file holds no vertex."),
    ],
)
def test_a_faulty_obj_is_refused_with_its_row(tmp_path: Path, text: str, told: str) -> None:
    (tmp_path / "a.obj").write_text(text)
    assert refuse(tmp_path / "a.obj").startswith(told)


def test_nothing_that_a_mesh_names_is_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.mtl").write_text("newmtl grass\nmap_Kd grass.png\n")
    (tmp_path / "a.obj").write_text("mtllib a.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\n")
    textured = describe(
        images=[{"uri": "grass.png"}, {"uri": "http://example.org/x.png"}], textures=[{"source": 0}]
    )
    write_glb(tmp_path / "a.glb", textured, CORNERS.tobytes())
    opened: list[str] = []
    real = Path.open

    def watch(path: Path, mode: str) -> IO[Any]:
        opened.append(path.name)
        return real(path, mode)

    monkeypatch.setattr(Path, "open", watch)
    monkeypatch.setattr("builtins.open", lambda name, *_, **__: pytest.fail(f"opened {name}"))
    monkeypatch.setattr("numpy.memmap", lambda path, **_: np.frombuffer(Path(path).read_bytes(), np.uint8))
    read_scan(tmp_path / "a.obj", None)
    assert set(opened) == {"a.obj"}
    read_scan(tmp_path / "a.glb", None)
    assert set(opened) == {"a.obj", "a.glb"}


@pytest.mark.parametrize("uri", ["points.bin", "../points.bin", "data:application/octet-stream;base64,AAAA"])
def test_a_glb_that_keeps_its_points_elsewhere_is_refused(tmp_path: Path, uri: str) -> None:
    path = write_glb(
        tmp_path / "a.glb", describe(buffers=[{"byteLength": 36, "uri": uri}]), CORNERS.tobytes()
    )
    assert "which is not followed" in refuse(path)


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        (
            {"extensionsRequired": ["KHR_draco_mesh_compression"]},
            'the extension "KHR_draco_mesh_compression"',
        ),
        ({"nodes": [{"mesh": 0, "children": [1]}, {"children": [0]}]}, "node 0 hangs in the scene twice"),
        ({"nodes": [{"mesh": 7}]}, "there is no mesh 7"),
        ({"scene": 3}, "there is no scene 3"),
        ({"scenes": [{"nodes": [4]}]}, "there is no node 4"),
        ({"nodes": [{"mesh": -1}]}, "nodes.0.mesh"),
        ({"nodes": []}, "there is no node 0"),
        ({"scenes": [{"nodes": []}]}, "neither points nor triangles"),
        ({"bufferViews": [{"buffer": 0, "byteLength": 10**15}]}, "goes beyond the file's 36 bytes"),
        ({"bufferViews": [{"buffer": 0, "byteLength": 24}]}, "promises 3 rows, 36 bytes, in a stretch of 24"),
        ({"bufferViews": []}, "there is no buffer view 0"),
        ({"accessors": []}, "there is no accessor 0"),
        ({"accessors": "none"}, "accessors"),
        ({"accessors": [{"componentType": 5126, "count": 3, "type": "VEC3"}]}, "sparse or has no data"),
        (
            {"accessors": [{"bufferView": 0, "componentType": 5126, "count": 3, "type": "VEC2"}]},
            'is of type "VEC2"',
        ),
    ],
)
def test_a_faulty_description_is_refused(tmp_path: Path, changed: dict[str, object], told: str) -> None:
    path = write_glb(tmp_path / "a.glb", describe(**changed), CORNERS.tobytes())
    assert told in refuse(path)


def test_whole_numbers_stand_for_shares_where_the_file_says_so(tmp_path: Path) -> None:
    whole = np.array([[0, 0, 0, 0], [32767, 0, 0, 0], [0, -32768, 0, 0]], dtype="<i2")
    accessor = {"bufferView": 0, "componentType": 5122, "count": 3, "type": "VEC3", "normalized": True}
    changed = describe(
        accessors=[accessor],
        bufferViews=[{"buffer": 0, "byteLength": 24, "byteStride": 8}],
        nodes=[{"mesh": 0, "scale": [4, 4, 4]}],
        extensionsRequired=["KHR_mesh_quantization"],
    )
    points = points_of(read_scan(write_glb(tmp_path / "a.glb", changed, whole.tobytes()), None))
    assert points.tolist() == [[0, 0, 0], [4, 0, 0], [0, -4, 0]]


def test_a_glb_cut_off_anywhere_is_refused(tmp_path: Path) -> None:
    whole = write_glb(tmp_path / "a.glb", describe(), CORNERS.tobytes()).read_bytes()
    for length in range(4, len(whole)):
        (tmp_path / "cut.glb").write_bytes(whole[:length])
        assert refuse(tmp_path / "cut.glb").startswith("cut.glb: ")


def test_a_damaged_glb_is_read_or_refused_but_never_more(tmp_path: Path) -> None:
    whole = write_glb(tmp_path / "a.glb", describe(), CORNERS.tobytes()).read_bytes()
    refused = 0
    for copy in damaged(whole, 5, 300, (len(whole), 24)):
        (tmp_path / "a.glb").write_bytes(copy)
        try:
            read_scan(tmp_path / "a.glb", None)
        except InputError as error:
            refused += len(error.faults) > 0
    assert refused > 100


def test_deep_nesting_is_refused(tmp_path: Path) -> None:
    text = b'{"nodes":' + b"[" * 100_000 + b"]" * 100_000 + b"}"
    pieces = struct.pack("<II", len(text), 0x4E4F534A) + text
    (tmp_path / "a.glb").write_bytes(b"glTF" + struct.pack("<II", 2, 12 + len(pieces)) + pieces)
    assert "JSON" in refuse(tmp_path / "a.glb")


def test_sampling_gives_the_same_points_each_time_and_about_as_many_as_wanted() -> None:
    corners = np.array([[0, 0, 0], [3, 0, 0], [0, 2, 0], [0, 0, 9], [np.nan, 0, 0]], dtype=np.float64)
    triangles = np.array([[0, 1, 2], [0, 1, 3], [0, 1, 4], [1, 1, 1]])
    runs = [np.concatenate([chunk.xyz for chunk in sample_mesh(corners, triangles, 5000)]) for _ in range(2)]
    assert np.array_equal(runs[0], runs[1], equal_nan=True)
    added = runs[0][5:]
    assert len(added) == 5000
    assert (added[:, 2] > 0).mean() == pytest.approx(13.5 / 16.5, abs=0.002)
    assert np.isfinite(added).all()


def test_a_mesh_dense_enough_is_taken_by_its_corners() -> None:
    corners = np.random.default_rng(3).random((50, 3))
    triangles = np.array([[0, 1, 2]])
    (chunk,) = sample_mesh(corners, triangles, 50)
    assert len(chunk.xyz) == 50
    assert sum(len(chunk.xyz) for chunk in sample_mesh(corners, triangles, 51)) == 101
