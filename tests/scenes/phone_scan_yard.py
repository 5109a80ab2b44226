"""The yard of ``scenes/phone-scan``, invented and scanned here.

Made again by ``python -m tests.scenes.phone_scan_yard scenes/phone-scan``.
Writes the scan twice (``yard.laz``, z up; ``yard.glb``, y up), its control points and the level book that
gives their levels.  Everything comes from one seed, so the files can be made again.
"""

from __future__ import annotations

import json
import math
import struct
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import laspy
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SEED: Final = 20_260_412
#: The door in the survey's frame, where it looks, and the level of its sill (the bench mark).
DOOR_M: Final = (36.40, 22.75)
OUTWARD_DEG: Final = 197.3
SILL_M: Final = 21.340
#: How the phone's frame lies: yaw, and where the survey's origin is in it.
_SCAN_YAW_DEG: Final = 41.0
_SCAN_SHIFT_M: Final = (-3.7, 2.9, -20.1)
_DRIFT_M: Final = 0.012
_NOISE_M: Final = 0.010
_GHOSTS: Final = 0.004
#: Along the wall from the door (right looking out), out from it.
_LEFT, _RIGHT, _FAR = -8.0, 8.5, 9.5
_WALL_HIGH_M: Final = 2.6


@dataclass(frozen=True, slots=True)
class Thing:
    """Something that stands in the yard: middle along and out, half sizes, height; porous or not."""

    along_m: float
    out_m: float
    half_m: tuple[float, float]
    high_m: float
    is_shrub: bool


THINGS: Final = (
    Thing(-4.6, 3.1, (0.45, 0.40), 0.9, is_shrub=True),
    Thing(5.9, 6.3, (0.55, 0.50), 1.1, is_shrub=True),
    Thing(-2.2, 7.9, (0.35, 0.40), 0.7, is_shrub=True),
    Thing(7.3, 1.1, (0.30, 0.32), 1.05, is_shrub=False),  # a bin
    Thing(2.9, 8.1, (0.80, 0.40), 0.45, is_shrub=False),  # a bench
)
#: Painted marks on hard spots: control points C, and K for the check.
MARKS: Final = (
    ("C1", -6.2, 1.2),
    ("C2", 7.6, 2.6),
    ("C3", 7.9, 8.6),
    ("C4", -6.1, 8.3),
    ("C5", 0.7, 5.2),
    ("K1", 3.6, 3.4),
)
#: Ground shot in between, which the scan is held against.
SHOTS: Final = (("G1", -0.6, 0.5), ("G2", 4.4, 1.3), ("G3", -3.4, 5.6), ("G4", 2.2, 6.6))


def ground_level(along_m: Array, out_m: Array) -> Array:
    """Elevation: a fall of 3.4 % out and 1.3 % along, and lawn that is not quite a plane."""
    lawn = 0.020 * np.sin(1.9 * along_m + 0.5) * np.cos(1.4 * out_m) + 0.008 * np.sin(5.1 * out_m + along_m)
    return SILL_M - 0.435 - 0.034 * out_m - 0.013 * along_m + lawn


def to_survey(along_m: Array, out_m: Array) -> Array:
    """Plan coordinates (n, 2) of places by tape from the door."""
    turn = math.radians(OUTWARD_DEG)
    outward, right = np.array([math.cos(turn), math.sin(turn)]), np.array([math.sin(turn), -math.cos(turn)])
    return np.array(DOOR_M) + np.outer(along_m, right) + np.outer(out_m, outward)


def to_scan(survey_m: Array) -> Array:
    """Points (n, 3) as the phone has them before noise and drift, z up."""
    turn = math.radians(_SCAN_YAW_DEG)
    turned = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])
    return (survey_m - [*DOOR_M, 0.0]) @ turned.T + np.array(_SCAN_SHIFT_M)


def scan_points(seed: int = SEED, density: float = 210.0) -> Array:
    """The scan (n, 3), z up, ``density`` points a square metre of ground, with noise, drift, ghosts."""
    rng = np.random.default_rng(seed)
    parts = [_scan_ground(rng, density), _scan_wall(rng, density)]
    parts += [_scan_thing(rng, thing, density) for thing in THINGS]
    points = to_scan(np.concatenate(parts))
    points = points[rng.permutation(len(points))]
    points += rng.normal(size=points.shape) * _NOISE_M
    points[:, 2] += _drift(points)
    ghosts = rng.random(len(points)) < _GHOSTS
    points[ghosts, 2] += rng.normal(size=int(ghosts.sum())) * 0.5
    return points


def _drift(points: Array) -> Array:
    """Smooth error of height that a phone collects on its way, metres (n,)."""
    return _DRIFT_M * np.sin(0.21 * points[:, 0] + 0.17 * points[:, 1])


def _scan_ground(rng: np.random.Generator, density: float) -> Array:
    count = int((_RIGHT - _LEFT) * _FAR * density)
    along, out = _LEFT + rng.random(count) * (_RIGHT - _LEFT), 0.02 + rng.random(count) * _FAR
    for thing in THINGS:
        covered = (np.abs(along - thing.along_m) < thing.half_m[0]) & (
            np.abs(out - thing.out_m) < thing.half_m[1]
        )
        # Through a shrub some of the ground is seen, through a bin none.
        seen = rng.random(len(along)) < (0.25 if thing.is_shrub else 0.0)
        along, out = along[~covered | seen], out[~covered | seen]
    return np.column_stack((to_survey(along, out), ground_level(along, out)))


def _scan_wall(rng: np.random.Generator, density: float) -> Array:
    count = int(11.0 * _WALL_HIGH_M * density * 0.5)
    along, up = -6.0 + rng.random(count) * 11.0, rng.random(count) * _WALL_HIGH_M
    is_door = (np.abs(along) < 0.5) & (up > 0.435) & (up < 2.47)
    along, up = along[~is_door], up[~is_door]
    zero = np.zeros_like(along)
    return np.column_stack((to_survey(along, zero), ground_level(along, zero) + up))


def _scan_thing(rng: np.random.Generator, thing: Thing, density: float) -> Array:
    count = int(4.0 * (thing.half_m[0] + thing.half_m[1]) * thing.high_m * density)
    spread = 2.0 * rng.random((count, 2)) - 1.0
    up = rng.random(count)
    if not thing.is_shrub:  # its sides and its top alone are seen
        side = rng.integers(0, 3, count)
        spread[side == 0, 0] = np.sign(spread[side == 0, 0])
        spread[side == 1, 1] = np.sign(spread[side == 1, 1])
        up[side == 2] = 1.0
    along = thing.along_m + spread[:, 0] * thing.half_m[0]
    out = thing.out_m + spread[:, 1] * thing.half_m[1]
    return np.column_stack((to_survey(along, out), ground_level(along, out) + up * thing.high_m))


def write_laz(path: Path, points: Array) -> None:
    header = laspy.LasHeader(point_format=0, version="1.2")
    header.scales, header.offsets = np.full(3, 0.001), np.floor(points.min(axis=0))
    las = laspy.LasData(header)
    las.x, las.y, las.z = points.T
    las.write(path)


def write_glb(path: Path, points: Array) -> None:
    """Points alone, y up: x stays, y becomes -z."""
    turned = np.column_stack((points[:, 0], points[:, 2], -points[:, 1])).astype("<f4")
    binary = turned.tobytes()
    description = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "mode": 0}]}],
        "accessors": [
            {
                "bufferView": 0,
                "componentType": 5126,
                "count": len(turned),
                "type": "VEC3",
                "min": turned.min(axis=0).tolist(),
                "max": turned.max(axis=0).tolist(),
            }
        ],
        "bufferViews": [{"buffer": 0, "byteLength": len(binary)}],
        "buffers": [{"byteLength": len(binary)}],
    }
    text = json.dumps(description).encode()
    text += b" " * (-len(text) % 4)
    pieces = struct.pack("<II", len(text), 0x4E4F534A) + text
    pieces += struct.pack("<II", len(binary), 0x004E4942) + binary
    path.write_bytes(b"glTF" + struct.pack("<II", 2, 12 + len(pieces)) + pieces)


def format_control(rng: np.random.Generator) -> str:
    """Picks with their own error, taped positions; elevations come from the level book by name."""
    rows = ["name,scan_x_m,scan_y_m,scan_z_m,x_m,y_m,role"]
    for name, along, out in MARKS:
        place = to_survey(np.array([along]), np.array([out]))[0]
        level = ground_level(np.array([along]), np.array([out]))[0]
        pick = to_scan(np.array([[*place, level]]))
        pick[:, 2] += _drift(pick)
        x, y, z = pick[0] + rng.normal(size=3) * [0.006, 0.006, 0.003]
        taped = place + rng.normal(size=2) * 0.006
        role = "check" if name.startswith("K") else "control"
        rows.append(f"{name},{x:.3f},{y:.3f},{z:.3f},{taped[0]:.3f},{taped[1]:.3f},{role}")
    return "\n".join(rows) + "\n"


def format_book(rng: np.random.Generator) -> str:
    """Two set-ups from the sill and back to it: control points, and ground shots with their places."""

    def level(along: float, out: float) -> float:
        return float(ground_level(np.array([along]), np.array([out]))[0])

    def reading(height_m: float, elevation_m: float) -> str:
        return f"{height_m - elevation_m + rng.normal() * 0.0007:.3f}"

    first, second = SILL_M + 0.912, SILL_M + 0.655
    turn = level(-1.9, 4.4)
    rows = ["name,bs_m,is_m,fs_m,known_elevation_m,x_m,y_m,note"]
    rows.append(f"sill,{reading(first, SILL_M)},,,{SILL_M:.3f},,,left corner of the sill")
    for name, along, out in (MARKS[0], MARKS[1], MARKS[5]):
        rows.append(f"{name},,{reading(first, level(along, out))},,,,,")
    for name, along, out in SHOTS[:2]:
        x, y = to_survey(np.array([along]), np.array([out]))[0]
        rows.append(f"{name},,{reading(first, level(along, out))},,,{x:.2f},{y:.2f},")
    rows.append(f"CP1,{reading(second, turn)},,{reading(first, turn)},,,,paving stone")
    for name, along, out in (MARKS[2], MARKS[3], MARKS[4]):
        rows.append(f"{name},,{reading(second, level(along, out))},,,,,")
    for name, along, out in SHOTS[2:]:
        x, y = to_survey(np.array([along]), np.array([out]))[0]
        rows.append(f"{name},,{reading(second, level(along, out))},,,{x:.2f},{y:.2f},")
    rows.append(f"sill,,,{reading(second, SILL_M)},,,,")
    return "\n".join(rows) + "\n"


def write_files(folder: Path) -> None:
    """All four files of the scene."""
    points = scan_points()
    write_laz(folder / "yard.laz", points)
    write_glb(folder / "yard.glb", points)
    rng = np.random.default_rng(SEED + 1)
    (folder / "control.csv").write_text(format_control(rng), encoding="utf-8")
    (folder / "book.csv").write_text(format_book(rng), encoding="utf-8")


if __name__ == "__main__":
    write_files(Path(sys.argv[1]))
