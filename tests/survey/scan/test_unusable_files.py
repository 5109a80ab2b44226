"""Files that are no scan: one clear sentence, no traceback, nothing written."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from optimizer.errors import InputError
from optimizer.survey.scan.open_scan import ENDINGS
from optimizer.survey.scan.read_scan import GREATEST_COORDINATE, read_scan
from tests.survey.scan.written_scans import points_of, write_las, write_ply
from tests.survey.scan.yard_scan import Yard, scan_yard

YARD = scan_yard(Yard(), seed=4, count=2_000)


def refuse(path: Path, cell_m: float | None = None) -> str:
    with pytest.raises(InputError) as caught:
        read_scan(path, cell_m)
    return str(caught.value)


@pytest.mark.parametrize("ending", ENDINGS)
def test_an_empty_file_is_told_whatever_its_ending(tmp_path: Path, ending: str) -> None:
    (tmp_path / f"a{ending}").write_bytes(b"")
    assert refuse(tmp_path / f"a{ending}") == f"a{ending}: the file is empty. Export the scan again."


@pytest.mark.parametrize("ending", [ending for ending in ENDINGS if ending not in (".las", ".laz")])
def test_las_under_another_name_is_told_its_right_one(tmp_path: Path, ending: str) -> None:
    whole = write_las(tmp_path / "right.laz", YARD).read_bytes()
    (tmp_path / f"a{ending}").write_bytes(whole)
    told = "the file begins like a .las file. Rename it to end in .las or .laz."
    assert refuse(tmp_path / f"a{ending}") == f"a{ending}: {told}"


@pytest.mark.parametrize("ending", ENDINGS)
def test_a_letter_is_no_scan_whatever_its_ending(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"a{ending}"
    path.write_text("Dear client, the yard was scanned on Monday.\nIt rained.\n" * 40)
    assert refuse(path).startswith(f"a{ending}")
    assert sorted(tmp_path.iterdir()) == [path]


def test_an_unknown_ending_names_the_known_ones(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(b"%PDF")
    assert refuse(tmp_path / "a.pdf").endswith(f"Give a file of one of {', '.join(ENDINGS)}.")
    (tmp_path / "a.gltf").write_text("{}")
    assert "Export one .glb file." in refuse(tmp_path / "a.gltf")


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    assert "No such file" in refuse(tmp_path / "a.laz")
    (tmp_path / "b.laz").mkdir()
    assert "cannot be read" in refuse(tmp_path / "b.laz")


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf, 1e300, -2 * GREATEST_COORDINATE])
def test_points_without_usable_numbers_are_left_out_and_counted(tmp_path: Path, bad: float) -> None:
    spoilt = YARD.copy()
    spoilt[::7, 1] = bad
    scan = read_scan(write_ply(tmp_path / "a.ply", spoilt), None)
    assert scan.count_read == len(YARD)
    assert scan.count_unusable == len(YARD[::7])
    expected = np.delete(YARD, np.s_[::7], axis=0)
    assert np.abs(points_of(scan) - expected).max() < 1e-5


def test_the_greatest_coordinate_is_still_one(tmp_path: Path) -> None:
    points = np.array([[GREATEST_COORDINATE, 0, 0], [0, 0, 0], [1, 0, 0.1]])
    assert read_scan(write_ply(tmp_path / "a.ply", points), None).count_unusable == 0
    points[0, 0] = np.nextafter(GREATEST_COORDINATE, np.inf)
    assert read_scan(write_ply(tmp_path / "a.ply", points), None).count_unusable == 1


def test_a_file_of_nothing_but_bad_points_is_refused_with_the_first(tmp_path: Path) -> None:
    path = tmp_path / "a.xyz"
    path.write_text("1 nan 2\ninf 0 0\n")
    assert "none of its 2 points has finite coordinates: point 1 is (1, nan, 2)." in refuse(path)


def test_points_that_all_lie_at_one_place_are_refused(tmp_path: Path) -> None:
    path = write_ply(tmp_path / "a.ply", np.full((50, 3), 4.5))
    assert "all its 50 points lie at one place, (4.5, 4.5, 4.5)." in refuse(path)


def test_a_las_file_without_points_is_refused(tmp_path: Path) -> None:
    path = write_las(tmp_path / "a.las", YARD[:1])
    path.write_bytes(path.read_bytes()[:107] + b"\0\0\0\0" + path.read_bytes()[111:-34])
    assert "the file holds no points" in refuse(path)


@pytest.mark.parametrize("cell_m", [0.0, -1.0, float("nan"), float("inf"), 0.00009])
def test_a_cell_that_is_none_is_refused(tmp_path: Path, cell_m: float) -> None:
    path = write_ply(tmp_path / "a.ply", YARD)
    assert refuse(path, cell_m).startswith("cell_m: ")
    assert read_scan(path, 0.0001).count_kept == len(YARD)
