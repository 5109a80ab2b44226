"""Points of a PCD file (``binary_compressed``), as the labelled airborne samples are kept."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray


def read_pcd(path: Path) -> NDArray[np.float64]:
    """Coordinates (n, 3)."""
    raw = path.read_bytes()
    head, _, body = raw.partition(b"DATA binary_compressed\n")
    fields = dict(line.split(" ", 1) for line in head.decode().splitlines() if " " in line)
    assert fields["FIELDS"].split()[:3] == ["x", "y", "z"]
    assert fields["SIZE"].split()[:3] == ["4", "4", "4"]
    packed, unpacked = (int(size) for size in np.frombuffer(body[:8], dtype="<u4"))
    data = unpack_lzf(body[8 : 8 + packed], unpacked)
    count = int(fields["POINTS"])
    # Column by column: all x, then all y, then all z.
    return np.frombuffer(data, dtype="<f4", count=3 * count).reshape(3, count).T.astype(np.float64)


def unpack_lzf(packed: bytes, size: int) -> bytes:
    """LZF: a control byte below 32 announces that many bytes less one, others a copy from before."""
    out = bytearray()
    at = 0
    while at < len(packed):
        control = packed[at]
        at += 1
        if control < 32:
            out += packed[at : at + control + 1]
            at += control + 1
            continue
        length = control >> 5
        if length == 7:
            length += packed[at]
            at += 1
        back = len(out) - ((control & 31) << 8) - packed[at] - 1
        at += 1
        for k in range(length + 2):
            out.append(out[back + k])
    assert len(out) == size
    return bytes(out)
