"""Unit and upward axis: proposed with evidence from shape and size, taken only when confirmed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import laspy
import numpy as np
import pytest
import trimesh
from laspy.vlrs.known import WktCoordinateSystemVlr
from numpy.typing import NDArray

from optimizer.errors import InputError
from optimizer.survey.scan.confirm_frame import confirm_frame
from optimizer.survey.scan.file_frame import UP_AXES, ScanUnit, UpAxis, metres_in, unit_of_factor
from optimizer.survey.scan.propose_frame import FrameProposal, propose_frame
from optimizer.survey.scan.read_scan import read_scan
from optimizer.survey.scan.scan import FARTHEST_M, Scan
from tests.survey.scan.written_scans import in_order, points_of, write_las, write_ply
from tests.survey.scan.yard_scan import Yard, scan_yard

YARDS = {
    "level wall across": Yard(yaw_deg=0.0),
    "turned": Yard(yaw_deg=33.0),
    "steep": Yard(fall_out=0.13, fall_along=0.05, yaw_deg=-70.0),
    "two storeys": Yard(wall_high_m=5.4, width_m=26.0, yaw_deg=12.0),
    "small": Yard(width_m=13.0, depth_m=9.0, wall_long_m=8.0, bushes=2),
}
COUNT = 120_000

#: For a file whose upward axis is the key: which column of the file each of x, y, z (z up) goes to, and sign.
LAID: dict[UpAxis, NDArray[np.float64]] = {
    "z": np.eye(3),
    "y": np.array([[1, 0, 0], [0, 0, 1], [0, -1, 0]], dtype=np.float64),
    "-y": np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0]], dtype=np.float64),
    "x": np.array([[0, 0, 1], [1, 0, 0], [0, 1, 0]], dtype=np.float64),
    "-x": np.array([[0, 0, -1], [-1, 0, 0], [0, 1, 0]], dtype=np.float64),
    "-z": np.array([[1, 0, 0], [0, -1, 0], [0, 0, -1]], dtype=np.float64),
}


def write_yard(path: Path, yard: Yard, unit: ScanUnit = "m", up: UpAxis = "z", seed: int = 1) -> Path:
    return write_ply(path, scan_yard(yard, seed, COUNT) @ LAID[up].T / metres_in(unit))


def propose(path: Path) -> FrameProposal:
    return propose_frame(read_scan(path, 0.02))


@pytest.mark.parametrize("name", YARDS)
@pytest.mark.parametrize("unit", ["m", "cm", "mm", "ft", "in"])
def test_every_unit_is_proposed_by_size(tmp_path: Path, name: str, unit: ScanUnit) -> None:
    found = propose(write_yard(tmp_path / "a.ply", YARDS[name], unit))
    assert (found.unit, found.up) == (unit, "z")
    assert not found.is_unit_certain  # size alone never is


@pytest.mark.parametrize("name", YARDS)
@pytest.mark.parametrize("up", UP_AXES)
def test_every_upward_axis_is_proposed_by_shape(tmp_path: Path, name: str, up: UpAxis) -> None:
    found = propose(write_yard(tmp_path / "a.ply", YARDS[name], up=up))
    assert (found.unit, found.up, found.is_up_certain) == ("m", up, True)


def test_feet_taken_for_metres_are_told_by_how_high_walls_would_stand(tmp_path: Path) -> None:
    found = propose(write_yard(tmp_path / "a.ply", YARDS["turned"], "ft"))
    as_metres = next(line for line in found.evidence if line.startswith("Read as m,"))
    high = float(as_metres.rpartition("stand ")[2].partition(" m")[0])
    assert high == pytest.approx(2.7 / 0.3048, rel=0.05)


def test_a_glb_written_in_feet_is_doubted_though_its_standard_says_metres(tmp_path: Path) -> None:
    for unit, certain in (("m", True), ("ft", False)):
        points = scan_yard(YARDS["turned"], 2, COUNT) @ LAID["y"].T / metres_in(unit)  # type: ignore[arg-type]
        (tmp_path / "a.glb").write_bytes(trimesh.Scene([trimesh.PointCloud(points)]).export(file_type="glb"))
        found = propose(tmp_path / "a.glb")
        assert (found.unit, found.up, found.is_certain) == (unit, "y", certain)
        assert any("against m, which the file states" in line for line in found.evidence) is not certain


def test_a_glb_with_z_up_is_doubted_though_its_standard_says_y(tmp_path: Path) -> None:
    points = scan_yard(YARDS["turned"], 2, COUNT)
    (tmp_path / "a.glb").write_bytes(trimesh.Scene([trimesh.PointCloud(points)]).export(file_type="glb"))
    found = propose(tmp_path / "a.glb")
    assert (found.unit, found.up, found.is_up_certain) == ("m", "z", False)
    assert any("The file has y up, its shape z" in line for line in found.evidence)


def test_las_in_survey_feet_is_certain_when_sizes_agree(tmp_path: Path) -> None:
    path = tmp_path / "a.las"
    for points, unit, certain in (
        (scan_yard(YARDS["turned"], 2, COUNT) / metres_in("us-ft"), "us-ft", True),
        (scan_yard(YARDS["turned"], 2, COUNT), "m", False),
    ):
        las = laspy.read(write_las(path, points + np.array([2_000_000.0, 700_000.0, 300.0]), point_format=6))
        las.header.vlrs.append(WktCoordinateSystemVlr('PROJCS["p",UNIT["US survey foot",0.304800609601219]]'))
        las.write(path)
        found = propose(path)
        assert (found.unit, found.up, found.is_certain) == (unit, "z", certain)


def test_a_facade_with_a_strip_of_ground_is_not_called_certain(tmp_path: Path) -> None:
    facade = Yard(width_m=20.0, depth_m=3.0, wall_long_m=17.0, wall_high_m=6.0, bushes=0)
    assert not propose(write_yard(tmp_path / "a.ply", facade)).is_up_certain


def test_a_cloud_without_anything_flat_proposes_no_axis(tmp_path: Path) -> None:
    ball = np.random.default_rng(5).normal(size=(50_000, 3))
    found = propose(write_ply(tmp_path / "a.ply", ball))
    assert (found.up, found.is_certain) == (None, False)
    assert any("no flat patches" in line for line in found.evidence)


@pytest.mark.parametrize("up", UP_AXES)
def test_confirmed_scans_stand_upright_and_are_not_mirrored(tmp_path: Path, up: UpAxis) -> None:
    yard = scan_yard(YARDS["turned"], 3, 2_000)
    scan = confirm_frame(read_scan(write_ply(tmp_path / "a.ply", yard @ LAID[up].T), None), "m", up)
    points = points_of(scan)
    assert np.abs(points[:, 2] - yard[:, 2]).max() < 1e-5
    turn, _, _, _ = np.linalg.lstsq(yard, points, rcond=None)
    assert np.linalg.det(turn) == pytest.approx(1.0, abs=1e-4)


def test_units_scale_and_thin_to_the_cell_that_was_asked_for(tmp_path: Path) -> None:
    yard = scan_yard(YARDS["turned"], 3, 40_000) + np.array([500_000.0, 5_000_000.0, 90.0])
    scans = [
        confirm_frame(read_scan(write_ply(tmp_path / f"{unit}.ply", yard / metres_in(unit)), 0.25), unit, "z")
        for unit in ("m", "ft", "mm")
    ]
    for scan in scans:
        cells = np.floor(points_of(scan) / 0.25)
        assert len(np.unique(cells, axis=0)) >= 0.999 * scan.count_kept  # rounding may cross a border
        # Thinned twice: a cell may lose its last point to a small cell across its border.
        assert scan.count_kept == pytest.approx(scans[0].count_kept, rel=0.02)
        assert scan.count_read == 40_000
        assert np.abs(scan.local_m).max() < 40.0
        assert np.array_equal(scan.offset_m, np.round(scan.offset_m))
    exact = confirm_frame(read_scan(tmp_path / "mm.ply", None), "mm", "z")
    assert np.abs(points_of(exact) - yard).max() < 1e-4


def confirm_with_strays(path: Path, strays: int, away: float) -> Scan:
    yard = scan_yard(YARDS["turned"], 3, 10_000)
    far = np.full((strays, 3), away) + np.arange(strays)[:, None] * 0.37
    return confirm_frame(read_scan(write_ply(path, np.concatenate([yard, far])), None), "m", "z")


def test_a_few_strays_far_away_are_left_out_and_counted(tmp_path: Path) -> None:
    scan = confirm_with_strays(tmp_path / "a.ply", 90, FARTHEST_M + 30.0)
    assert (scan.count_too_far, scan.count_kept) == (90, 10_000)
    assert scan.box_m[1].max() < 40.0
    assert confirm_with_strays(tmp_path / "a.ply", 90, FARTHEST_M - 100.0).count_too_far == 0


def test_two_places_in_one_file_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"200 of 10,200 points lie more than 2048 m from the middle"):
        confirm_with_strays(tmp_path / "a.ply", 200, 9_000.0)


def test_a_unit_or_axis_that_is_none_is_refused_with_both_faults(tmp_path: Path) -> None:
    raw = read_scan(write_yard(tmp_path / "a.ply", YARDS["small"]), 0.5)
    with pytest.raises(InputError) as caught:
        confirm_frame(raw, "yd", "up")  # type: ignore[arg-type]
    assert [fault.where for fault in caught.value.faults] == ["unit", "up"]


def test_the_two_feet_are_told_apart() -> None:
    assert unit_of_factor(0.3048) == "ft"
    assert unit_of_factor(0.30480061) == "us-ft"
    assert unit_of_factor(0.9144) is None


def test_the_box_of_a_raw_scan_is_that_of_all_its_points(tmp_path: Path) -> None:
    yard = scan_yard(YARDS["small"], 3, 5_000)
    scan = read_scan(write_ply(tmp_path / "a.ply", yard), 2.0)
    assert np.array_equal(scan.box, [yard.min(axis=0), yard.max(axis=0)])
    assert in_order(points_of(scan)).shape == (scan.count_kept, 3)
    assert replace(scan, cell=None).count_kept == scan.count_kept
