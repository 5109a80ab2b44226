"""Small scan files written for tests, by other libraries or byte by byte, never by the readers."""

from __future__ import annotations

import json
import struct
from collections.abc import Iterator, Sequence
from pathlib import Path

import laspy
import numpy as np
from numpy.typing import NDArray

from optimizer.survey.scan.scan import RawScan, Scan


def write_las(path: Path, xyz: NDArray[np.float64], *, point_format: int = 3, step: float = 0.0001) -> Path:
    """LAS or LAZ by the ending of ``path``, coordinates in steps of ``step``."""
    header = laspy.LasHeader(point_format=point_format, version="1.4" if point_format >= 6 else "1.2")
    header.scales, header.offsets = np.full(3, step), np.floor(np.nanmin(xyz, axis=0))
    las = laspy.LasData(header)
    las.x, las.y, las.z = xyz[:, 0], xyz[:, 1], xyz[:, 2]
    las.write(path)
    return path


def write_ply(
    path: Path, xyz: NDArray[np.float64], *, form: str = "binary_little_endian", promised: int | None = None
) -> Path:
    """Vertices of three doubles; the header may promise another count."""
    count = len(xyz) if promised is None else promised
    head = f"ply\nformat {form} 1.0\ncomment a yard\nelement vertex {count}\n"
    head += "".join(f"property double {axis}\n" for axis in "xyz") + "end_header\n"
    if form == "ascii":
        body = "".join(" ".join(repr(float(v)) for v in row) + "\n" for row in xyz).encode()
    else:
        body = xyz.astype("<f8" if form == "binary_little_endian" else ">f8").tobytes()
    path.write_bytes(head.encode() + body)
    return path


def write_glb(path: Path, description: object, binary: bytes) -> Path:
    """A GLB file around a description, which may be nonsense."""
    text = json.dumps(description).encode()
    text += b" " * (-len(text) % 4)
    binary += b"\0" * (-len(binary) % 4)
    pieces = struct.pack("<II", len(text), 0x4E4F534A) + text
    pieces += struct.pack("<II", len(binary), 0x004E4942) + binary
    path.write_bytes(b"glTF" + struct.pack("<II", 2, 12 + len(pieces)) + pieces)
    return path


def points_of(scan: RawScan | Scan) -> NDArray[np.float64]:
    """Coordinates (n, 3) float64 as the scan says it keeps them."""
    if isinstance(scan, Scan):
        return scan.offset_m + scan.local_m
    return scan.offset + scan.local


def in_order(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Sorted by x, then y, then z."""
    return points[np.lexsort(points.T[::-1])]


def damaged(data: bytes, seed: int, times: int, places: Sequence[int]) -> Iterator[bytes]:
    """Copies with three bytes changed among the first so many, by turns."""
    rng = np.random.default_rng(seed)
    for i in range(times):
        copy = bytearray(data)
        for at in rng.integers(0, places[i % len(places)], 3):
            copy[at] ^= int(rng.integers(1, 256))
        yield bytes(copy)
