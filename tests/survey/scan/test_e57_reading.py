"""E57: marks of invalid points, spherical scans, damage, and the library that may be missing."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from optimizer.errors import InputError
from optimizer.survey.scan.confirm_frame import confirm_frame
from optimizer.survey.scan.open_scan import open_scan
from optimizer.survey.scan.read_scan import read_scan
from tests.survey.scan.written_scans import damaged, points_of
from tests.survey.scan.yard_scan import Yard, scan_yard

YARD = scan_yard(Yard(), seed=4, count=3_000)


def write_e57(path: Path, xyz: NDArray[np.float64], **further: NDArray[Any]) -> Path:
    pye57 = pytest.importorskip("pye57")
    file = pye57.E57(str(path), "w")
    data: dict[str, NDArray[Any]] = {f"cartesian{axis}": xyz[:, i].copy() for i, axis in enumerate("XYZ")}
    file.write_scan_raw({**data, **further})
    file.close()
    return path


def write_spherical_e57(path: Path, rae: NDArray[np.float64]) -> Path:
    """Range, azimuth and elevation by the bare library: the friendlier one writes none."""
    libe57 = pytest.importorskip("pye57.libe57")
    file = pytest.importorskip("pye57").E57(str(path), "w")
    image = file.image_file
    layout = libe57.StructureNode(image)
    columns = [np.ascontiguousarray(rae[:, i]) for i in range(3)]
    buffers = libe57.VectorSourceDestBuffer()
    for name, column in zip(("Range", "Azimuth", "Elevation"), columns, strict=True):
        field = f"spherical{name}"
        layout.set(field, libe57.FloatNode(image, 0.0, libe57.E57_DOUBLE, -1e9, 1e9))
        buffers.append(libe57.SourceDestBuffer(image, field, column, len(column), True, True))
    scan = libe57.StructureNode(image)
    scan.set("guid", libe57.StringNode(image, "{1}"))
    file.data3d.append(scan)
    points = libe57.CompressedVectorNode(image, layout, libe57.VectorNode(image, True))
    scan.set("points", points)
    writer = points.writer(buffers)
    writer.write(len(rae))
    writer.close()
    file.close()
    return path


def refuse(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_scan(path, None)
    return str(caught.value)


def test_the_unit_is_the_standards_and_the_axis_is_not_told(tmp_path: Path) -> None:
    told = open_scan(write_e57(tmp_path / "a.e57", YARD)).told
    assert (told.unit, told.up) == ("m", None)


def test_points_marked_invalid_are_counted_as_unusable(tmp_path: Path) -> None:
    marks = (np.arange(len(YARD)) % 3).astype(np.int8)
    scan = read_scan(write_e57(tmp_path / "a.e57", YARD, cartesianInvalidState=marks), None)
    assert scan.count_unusable == int((marks != 0).sum())
    assert np.abs(points_of(scan) - YARD[marks == 0]).max() < 1e-5


def test_spherical_scans_are_read(tmp_path: Path) -> None:
    right = np.pi / 2
    rae = np.array([[2.0, 0.0, 0.0], [3.0, right, 0.0], [4.0, 0.0, -right], [5.0, right, np.radians(30.0)]])
    points = points_of(read_scan(write_spherical_e57(tmp_path / "a.e57", rae), None))
    assert np.allclose(points, [[2, 0, 0], [0, 3, 0], [0, 0, -4], [0, 5 * 0.75**0.5, 2.5]], atol=1e-6)


def test_grid_coordinates_in_single_precision_are_refused(tmp_path: Path) -> None:
    scan = read_scan(write_e57(tmp_path / "a.e57", YARD + np.array([500_000.0, 5_000_000.0, 0.0])), None)
    with pytest.raises(InputError, match=r"rounded to single precision, in steps of up to 0\.5 m"):
        confirm_frame(scan, "m", "z")


def test_without_the_library_the_message_says_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.e57").write_bytes(b"ASTM-E57" + b"\0" * 100)
    monkeypatch.setitem(sys.modules, "pye57", None)
    assert refuse(tmp_path / "a.e57") == (
        "a.e57: E57 files need the library pye57, which is not installed here. "
        'Install it with: pip install "evenfall[e57]", or export LAZ or PLY.'
    )


def test_a_cut_or_damaged_file_is_refused_and_left_where_it_is(tmp_path: Path) -> None:
    path = write_e57(tmp_path / "a.e57", YARD)
    whole = path.read_bytes()
    for length in (20, 100, 2000, len(whole) // 2, len(whole) - 1):
        path.write_bytes(whole[:length])
        assert "damaged or cut off" in refuse(path)
        assert path.stat().st_size == length
    for copy in damaged(whole, 2, 20, (len(whole),)):
        path.write_bytes(copy)
        assert refuse(path).startswith("a.e57: ")  # every page has a checksum
