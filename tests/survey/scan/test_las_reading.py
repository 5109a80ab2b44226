"""LAS and LAZ: coordinate systems, cut off and damaged files."""

from __future__ import annotations

import struct
import subprocess
import sys
from pathlib import Path

import laspy
import numpy as np
import pytest
from laspy.vlrs.known import GeoKeyDirectoryVlr, WktCoordinateSystemVlr

from optimizer.errors import InputError
from optimizer.survey.scan.open_scan import open_scan, read_chunks
from optimizer.survey.scan.read_scan import read_scan
from tests.survey.scan.written_scans import damaged, write_las
from tests.survey.scan.yard_scan import Yard, scan_yard

YARD = scan_yard(Yard(), seed=4, count=3_000)

_FOOT_GRID = (
    'PROJCS["a grid",GEOGCS["a datum",DATUM["d",SPHEROID["s",6378137,298.25]],PRIMEM["Greenwich",0],'
    'UNIT["degree",0.0174532925199433]],PROJECTION["Lambert"],PARAMETER["false_easting",1968500],'
    'UNIT["US survey foot",0.3048006096012192,AUTHORITY["EPSG","9003"]],AXIS["X",EAST]]'
)
_METRE_GRID = (
    'PROJCRS["a grid",BASEGEOGCRS["a datum",DATUM["d",ELLIPSOID["s",6378137,298.25,LENGTHUNIT["metre",1]]]],'
    'CONVERSION["c",METHOD["m"],PARAMETER["scale",0.9996,SCALEUNIT["unity",1]]],CS[Cartesian,2],'
    'AXIS["east",east],AXIS["north",north],LENGTHUNIT["metre",1]]'
)
_FEET_HIGH = 'VERT_CS["heights",VERT_DATUM["v",2005],UNIT["foot",0.3048],AXIS["Up",UP]]'


def refuse(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_scan(path, None)
    return str(caught.value)


def write_with_keys(path: Path, *keys: tuple[int, int]) -> Path:
    las = laspy.read(write_las(path, YARD))
    record = GeoKeyDirectoryVlr()
    body = struct.pack("<4H", 1, 1, 0, len(keys)) + b"".join(struct.pack("<4H", k, 0, 1, v) for k, v in keys)
    record.parse_record_data(body)
    las.header.vlrs.append(record)
    las.write(path)
    return path


def write_with_wkt(path: Path, text: str) -> Path:
    las = laspy.read(write_las(path, YARD, point_format=6))
    las.header.vlrs.append(WktCoordinateSystemVlr(text))
    las.write(path)
    return path


@pytest.mark.parametrize(
    ("keys", "unit"),
    [
        (((3076, 9001),), "m"),
        (((3076, 9002), (4099, 9002)), "ft"),
        (((3076, 9003),), "us-ft"),
        (((3072, 32633),), "m"),  # UTM 33 north
        (((3072, 2263),), None),  # a state plane: its unit stands in a registry, not in the file
        (((1024, 1),), None),
    ],
)
def test_geotiff_keys_tell_the_unit(
    tmp_path: Path, keys: tuple[tuple[int, int], ...], unit: str | None
) -> None:
    told = open_scan(write_with_keys(tmp_path / "a.las", *keys)).told
    assert (told.unit, told.up) == (unit, "z")
    assert any("GeoTIFF keys" in reason for reason in told.because)


@pytest.mark.parametrize(
    ("text", "unit"), [(_FOOT_GRID, "us-ft"), (_METRE_GRID, "m"), (_FEET_HIGH, "ft"), ("nonsense[", None)]
)
def test_wkt_tells_the_unit_of_the_grid_not_of_its_angles(
    tmp_path: Path, text: str, unit: str | None
) -> None:
    assert open_scan(write_with_wkt(tmp_path / "a.laz", text)).told.unit == unit


def test_a_file_without_coordinate_system_states_no_unit(tmp_path: Path) -> None:
    told = open_scan(write_las(tmp_path / "a.laz", YARD, step=0.001)).told
    assert told.unit is None
    assert "steps of 0.001" in " ".join(told.because)


def test_plan_in_metres_and_heights_in_feet_are_refused(tmp_path: Path) -> None:
    told = refuse(write_with_wkt(tmp_path / "a.laz", f'COMPD_CS["both",{_METRE_GRID},{_FEET_HIGH}]'))
    assert "plan coordinates are in m, heights in ft" in told


@pytest.mark.parametrize("kind", ["keys", "wkt"])
def test_degrees_are_refused(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "a.las"
    if kind == "keys":
        write_with_keys(path, (1024, 2))
    else:
        write_with_wkt(path, 'GEOGCS["a datum",UNIT["degree",0.0174532925199433]]')
    assert "degrees of longitude and latitude" in refuse(path)


@pytest.mark.parametrize("name", ["a.las", "a.laz"])
@pytest.mark.parametrize("point_format", [3, 6])
def test_a_file_cut_off_anywhere_is_refused(tmp_path: Path, name: str, point_format: int) -> None:
    whole = write_las(tmp_path / name, YARD, point_format=point_format).read_bytes()
    for length in (
        5,
        100,
        226,
        227,
        300,
        380,
        500,
        len(whole) // 2,
        len(whole) - 40,
        len(whole) - 9,
        len(whole) - 1,
    ):
        (tmp_path / name).write_bytes(whole[:length])
        told = refuse(tmp_path / name)
        assert told.startswith(f"{name}: ")
        assert "Copy or export it again" in told


def test_a_cut_las_file_tells_both_counts(tmp_path: Path) -> None:
    path = write_las(tmp_path / "a.las", YARD, point_format=0)
    path.write_bytes(path.read_bytes()[: -20 * 700 - 3])
    count = len(YARD)
    assert f"promises {count:,} points, the file ends after {count - 701:,}" in refuse(path)


def test_a_damaged_laz_is_read_or_refused_and_never_ends_the_program(tmp_path: Path) -> None:
    """In a process of its own, as a decompressor led astray can end it."""
    for point_format in (3, 6):
        whole = write_las(tmp_path / "a.laz", YARD, point_format=point_format).read_bytes()
        for i, copy in enumerate(damaged(whole, 8, 120, (len(whole), 620))):
            (tmp_path / f"{point_format}-{i}.laz").write_bytes(copy)
    program = (
        "import sys; from pathlib import Path; from optimizer.errors import InputError\n"
        "from optimizer.survey.scan.read_scan import read_scan\n"
        "refused = 0\n"
        "for path in sorted(Path(sys.argv[1]).glob('*-*.laz')):\n"
        "    try: read_scan(path, 0.05)\n"
        "    except InputError: refused += 1\n"
        "print(refused)"
    )
    command = [sys.executable, "-c", program, str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr[-600:]
    assert done.stderr == ""
    assert int(done.stdout) > 60


def test_chunks_together_are_the_file(tmp_path: Path) -> None:
    chunks = list(read_chunks(write_las(tmp_path / "a.laz", YARD, step=1e-5)))
    assert np.abs(np.concatenate([chunk.xyz for chunk in chunks]) - YARD).max() < 1e-5
