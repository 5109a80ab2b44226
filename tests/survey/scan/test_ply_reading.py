"""PLY: both byte orders and ascii, any properties and lists, and headers that lie."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.open_scan import read_chunks
from optimizer.survey.scan.read_scan import read_scan
from tests.survey.scan.written_scans import points_of, write_ply

POINTS = np.array(
    [[500000.1234, 5000000.5678, 10.25], [500003.5, 5000001.75, 11.5], [500001.0, 5000002.0, 9.0]]
)
FORMATS = ("ascii", "binary_little_endian", "binary_big_endian")


def find_faults(path: Path) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        read_scan(path, None)
    return caught.value.faults


@pytest.mark.parametrize("form", FORMATS)
def test_every_format_gives_the_same_points(tmp_path: Path, form: str) -> None:
    scan = read_scan(write_ply(tmp_path / "a.ply", POINTS, form=form), None)
    assert np.abs(points_of(scan) - POINTS).max() < 1e-6


@pytest.mark.parametrize("order", ["<", ">"])
def test_further_properties_of_any_type_are_stepped_over(tmp_path: Path, order: str) -> None:
    form = "binary_little_endian" if order == "<" else "binary_big_endian"
    head = (
        f"ply\nformat {form} 1.0\nobj_info scanned\nelement station 1\nproperty int16 number\n"
        "element vertex 3\nproperty uchar red\nproperty float64 z\nproperty short ring\nproperty float64 x\n"
        "property float32 confidence\nproperty float64 y\nend_header\n"
    )
    rows = b"".join(struct.pack(order + "Bdhdfd", 7, z, -3, x, 0.5, y) for x, y, z in POINTS)
    (tmp_path / "a.ply").write_bytes(head.encode() + struct.pack(order + "h", 12) + rows)
    assert np.abs(points_of(read_scan(tmp_path / "a.ply", None)) - POINTS).max() < 1e-6


@pytest.mark.parametrize("lengths", [(2, 2, 2), (0, 3, 1)])
@pytest.mark.parametrize("form", FORMATS)
def test_lists_among_the_vertices_are_stepped_over(
    tmp_path: Path, form: str, lengths: tuple[int, ...]
) -> None:
    head = (
        f"ply\nformat {form} 1.0\nelement vertex 3\nproperty double x\nproperty list uchar short seen_from\n"
        "property double y\nproperty double z\nend_header\n"
    )
    body = b""
    for length, (x, y, z) in zip(lengths, POINTS.tolist(), strict=True):
        if form == "ascii":
            body += f"{x} {length} {'4 ' * length}{y} {z}\n".encode()
        else:
            order = "<" if form == "binary_little_endian" else ">"
            body += struct.pack(f"{order}dB{length}hdd", x, length, *[4] * length, y, z)
    (tmp_path / "a.ply").write_bytes(head.encode() + body)
    assert np.abs(points_of(read_scan(tmp_path / "a.ply", None)) - POINTS).max() < 1e-6


@pytest.mark.parametrize("form", FORMATS)
def test_faces_of_mixed_corners_before_the_vertices_are_covered(tmp_path: Path, form: str) -> None:
    """A square of 2 as a quadrangle with a triangle on top."""
    corners = [(0, 0), (2, 0), (2, 2), (0, 2), (1, 3)]
    faces = [(0, 1, 2, 3), (3, 2, 4)]
    head = (
        f"ply\nformat {form} 1.0\nelement face 2\nproperty list uchar uint vertex_indices\n"
        "property uchar flags\n"
        "element vertex 5\nproperty float x\nproperty float y\nproperty float z\nend_header\n"
    )
    if form == "ascii":
        body = "".join(f"{len(face)} {' '.join(map(str, face))} 0\n" for face in faces).encode()
        body += "".join(f"{x} {y} 0\n" for x, y in corners).encode()
    else:
        order = "<" if form == "binary_little_endian" else ">"
        body = b"".join(struct.pack(f"{order}B{len(face)}IB", len(face), *face, 0) for face in faces)
        body += b"".join(struct.pack(order + "3f", x, y, 0) for x, y in corners)
    (tmp_path / "a.ply").write_bytes(head.encode() + body)
    points = points_of(read_scan(tmp_path / "a.ply", None))
    assert (points[:, 1] > 2.0).mean() == pytest.approx(0.2, abs=0.001)  # areas 1 of 5
    assert points[:, 1].max() > 2.99


@pytest.mark.parametrize("form", FORMATS)
def test_a_header_that_promises_more_is_told_with_both_counts(tmp_path: Path, form: str) -> None:
    (fault,) = find_faults(write_ply(tmp_path / "yard.ply", POINTS, form=form, promised=4))
    assert fault.where == "yard.ply"
    assert "promises 4 rows" in fault.what
    assert "3" in fault.what.partition("promises 4 rows")[2]


@pytest.mark.parametrize("form", FORMATS)
def test_a_header_that_promises_less_is_told(tmp_path: Path, form: str) -> None:
    (fault,) = find_faults(write_ply(tmp_path / "yard.ply", POINTS, form=form, promised=2))
    assert ("24 bytes follow" in fault.what) or ("promises 2 rows, the file holds 3" in fault.what)


def test_line_feeds_after_the_last_row_are_no_fault_but_more_bytes_are(tmp_path: Path) -> None:
    path = write_ply(tmp_path / "yard.ply", POINTS)
    whole = path.read_bytes()
    path.write_bytes(whole + b"\r\n\n")
    assert read_scan(path, None).count_read == 3
    for extra in (b"\n\0\n", b"\n" * 65):
        path.write_bytes(whole + extra)
        (fault,) = find_faults(path)
        assert f"{len(extra)} bytes follow" in fault.what


@pytest.mark.parametrize("form", FORMATS)
def test_an_enormous_promise_asks_for_no_memory(tmp_path: Path, form: str) -> None:
    (fault,) = find_faults(write_ply(tmp_path / "yard.ply", POINTS, form=form, promised=10**17))
    assert "100,000,000,000,000,000" in fault.what


def test_a_row_of_words_is_named_with_its_line(tmp_path: Path) -> None:
    path = write_ply(tmp_path / "yard.ply", POINTS, form="ascii")
    path.write_text(path.read_text().replace("500003.5", "high"))
    (fault,) = find_faults(path)
    assert fault.where == "yard.ply:10"
    assert '"high" is not a number' in fault.what


@pytest.mark.parametrize(
    ("header", "told"),
    [
        ("element vertex 3\nproperty float x\nproperty float y\n", "no z"),
        ("element face 3\nproperty float x\n", 'no element "vertex"'),
        ("element vertex -3\n", '"element vertex -3"'),
        ("element vertex 3\nproperty wide x\n", '"property wide x"'),
        ("element vertex 0\nproperty float x\nproperty float y\nproperty float z\n", "promises no vertex"),
        ("element vertex 1\nproperty float x\nproperty float x\n", "a property twice"),
    ],
)
def test_a_faulty_header_is_refused(tmp_path: Path, header: str, told: str) -> None:
    (tmp_path / "a.ply").write_text(f"ply\nformat ascii 1.0\n{header}end_header\n0 0 0\n")
    (fault,) = find_faults(tmp_path / "a.ply")
    assert told in fault.what


def test_a_face_that_names_no_vertex_is_told(tmp_path: Path) -> None:
    head = "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
    head += "element face 1\nproperty list uchar int vertex_indices\nend_header\n"
    (tmp_path / "a.ply").write_text(head + "0 0 0\n1 0 0\n0 1 0\n3 0 1 3\n")
    (fault,) = find_faults(tmp_path / "a.ply")
    assert "face 1 names vertex 3" in fault.what


def test_large_files_come_in_chunks_of_known_numbers(tmp_path: Path) -> None:
    points = np.arange(3 * 1_200_000, dtype=np.float64).reshape(-1, 3)
    chunks = list(read_chunks(write_ply(tmp_path / "a.ply", points)))
    assert [(chunk.first, len(chunk.xyz)) for chunk in chunks] == [(1, 1_000_000), (1_000_001, 200_000)]
    assert np.array_equal(np.concatenate([chunk.xyz for chunk in chunks]), points)
