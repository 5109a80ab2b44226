"""How long scans take to read, thin, place and sort, and how much memory.

Run with: pytest -m slow -s tests/benchmarks.  On two cores (read to placed / sorted / peak): LAZ of 5 million
points 3.4 s / 1.5 s / 0.6 GB, of 20 million 13.2 s / 3.5 s / 1.6 GB; PLY of 5 million 2.1 s / 1.4 s / 0.6 GB.

Each size in a process of its own, so that its peak memory is its own.  Targets: 5 million points in
10 s, 20 million of LAZ in 30 s and 4 GB; measured far below that on a quiet machine, because a busy one
is no fault of the reader.
"""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import laspy
import numpy as np
import pytest

from tests.survey.scan.yard_scan import Yard, scan_yard

TOP = Path(__file__).parents[2]
CELL_M = 0.01
GRID_M = np.array([500_000.0, 5_000_000.0, 187.0])
_PIECE = 200_000

_PROGRAM = """
import json, resource, sys, time
from pathlib import Path
import numpy as np
from optimizer.ground_scan.sort_scan import sort_scan
from optimizer.survey.placing.control_points import ControlPoint, build_control
from optimizer.survey.placing.place_scan import place_scan
from optimizer.survey.placing.placing_report import accept_placing, place_by_control
from optimizer.survey.scan.confirm_frame import confirm_frame
from optimizer.survey.scan.propose_frame import propose_frame
from optimizer.survey.scan.read_scan import read_scan
began = time.perf_counter()
raw = read_scan(Path(sys.argv[1]), float(sys.argv[2]))
read = time.perf_counter()
proposal = propose_frame(raw)
proposed = time.perf_counter()
scan = confirm_frame(raw, "m", "z")
confirmed = time.perf_counter()
picks = np.array([[-6.0, -4.0, 0.0], [6.0, -4.0, 0.0], [6.0, 5.0, 0.0], [-6.0, 5.0, 0.0]]) + scan.offset_m
points = [
    ControlPoint(f"C{i}", tuple(pick), (pick[0] + 7.0, pick[1] - 3.0), pick[2] + 20.0)
    for i, pick in enumerate(picks)
]
placed = place_scan(scan, accept_placing(place_by_control(build_control(points))))
done = time.perf_counter()
found = sort_scan(placed.local_m, placed.offset_m)
print(json.dumps({
    "read_s": read - began, "propose_s": proposed - read, "confirm_s": confirmed - proposed,
    "place_s": done - confirmed, "sort_s": time.perf_counter() - done,
    "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    "count_read": scan.count_read, "count_kept": scan.count_kept, "unit": proposal.unit, "up": proposal.up,
}))
"""


@dataclass(frozen=True, slots=True)
class Reading:
    """One file read in a process of its own."""

    count: int
    kept: int
    read_s: float
    propose_s: float
    confirm_s: float
    place_s: float
    sort_s: float
    peak_mb: float

    @property
    def whole_s(self) -> float:
        """From the file to points in the survey's frame."""
        return self.read_s + self.propose_s + self.confirm_s + self.place_s


def write_large_laz(path: Path, count: int) -> None:
    """A scan of a yard in LAZ, written piece by piece; the pieces differ in noise alone."""
    header = laspy.LasHeader(point_format=3, version="1.2")
    header.scales, header.offsets = np.full(3, 0.001), GRID_M
    with laspy.open(path, mode="w", header=header) as writer:
        for seed in range(count // _PIECE):
            xyz = scan_yard(Yard(yaw_deg=17.0), seed, _PIECE) + GRID_M
            points = laspy.ScaleAwarePointRecord.zeros(len(xyz), header=header)
            points.x, points.y, points.z = xyz[:, 0], xyz[:, 1], xyz[:, 2]
            writer.write_points(points)


def write_large_ply(path: Path, count: int) -> None:
    """The same as floats near zero, as phones write them."""
    properties = "".join(f"property float {axis}\n" for axis in "xyz")
    head = f"ply\nformat binary_little_endian 1.0\nelement vertex {count}\n{properties}end_header\n"
    with path.open("wb") as handle:
        handle.write(head.encode())
        for seed in range(count // _PIECE):
            handle.write(scan_yard(Yard(yaw_deg=17.0), seed, _PIECE).astype("<f4").tobytes())


def measure(path: Path) -> Reading:
    command = [sys.executable, "-c", _PROGRAM, str(path), str(CELL_M)]
    done = subprocess.run(command, cwd=TOP, check=True, capture_output=True, text=True)
    told = json.loads(done.stdout)
    assert (told["unit"], told["up"]) == ("m", "z")
    reading = Reading(
        count=told["count_read"],
        kept=told["count_kept"],
        read_s=told["read_s"],
        propose_s=told["propose_s"],
        confirm_s=told["confirm_s"],
        place_s=told["place_s"],
        sort_s=told["sort_s"],
        peak_mb=told["peak_mb"],
    )
    print(f"{path.suffix} {reading.count:>10,} points, {reading.kept:>10,} kept:", end="")
    print(f" read {reading.read_s:6.2f} s,", end="")
    print(f" proposed {reading.propose_s:5.2f} s, confirmed {reading.confirm_s:5.2f} s,", end="")
    print(f" placed {reading.place_s:5.2f} s, sorted {reading.sort_s:5.2f} s,", end="")
    print(f" peak {reading.peak_mb:6.0f} MB")
    return reading


@pytest.mark.slow
@pytest.mark.parametrize("ending", [".laz", ".ply"])
def test_reading_grows_no_faster_than_the_file_and_keeps_its_time(tmp_path: Path, ending: str) -> None:
    readings = []
    for count in (200_000, 1_000_000, 5_000_000):
        path = tmp_path / f"yard{ending}"
        write = write_large_laz if ending == ".laz" else write_large_ply
        write(path, count)
        readings.append(measure(path))
        assert readings[-1].count == pytest.approx(count, rel=1e-4)
    assert readings[-1].whole_s < 10.0
    # Twice in proportion: sorting grows by a logarithm, and the small file pays for the imports.
    assert readings[-1].whole_s < 2.0 * 5.0 * readings[-2].whole_s


@pytest.mark.slow
def test_twenty_million_points_of_laz_are_read_in_half_a_minute_and_4_gb(tmp_path: Path) -> None:
    write_large_laz(tmp_path / "yard.laz", 20_000_000)
    reading = measure(tmp_path / "yard.laz")
    assert reading.whole_s < 30.0
    assert reading.peak_mb < 4096.0
