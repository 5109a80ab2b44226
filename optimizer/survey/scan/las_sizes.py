"""Whether a LAS or LAZ file is as long as its header says, before a library believes the header.

A wrong count or block size makes a decompressor ask for memory that is not there, which ends the
whole program.  Offsets are those of the public header block of LAS 1.0 to 1.4 (ASPRS, LAS
Specification 1.4-R15, table 3) and of the LAZ record and chunk table (Isenburg, LASzip, PE&RS
79(2), 2013, and its open source).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

from optimizer.errors import Fault, InputError

_REMEDY: Final = "Copy or export it again; a download may have broken off."
_SHORTEST_HEADER: Final = 227
_HEADER_1_4: Final = 375
_VARIABLE: Final = 0xFFFF_FFFF
#: A block of more points than this is not written by any program known to us (usual: 50,000).
_LARGEST_BLOCK: Final = 50_000_000


@dataclass(frozen=True, slots=True)
class _Head:
    size: int
    header_size: int
    points_at: int
    record_count: int
    point_format: int
    record_size: int
    point_count: int


def check_las_sizes(path: Path) -> None:
    """Raise ``InputError`` when the file is shorter than its header, or contradicts itself."""
    with path.open("rb") as handle:
        head = _read_head(path, handle)
        if head.point_format & 0x80:
            _check_laz(path, handle, head)
        else:
            end = head.points_at + head.point_count * head.record_size
            if end > head.size:
                whole = max(0, head.size - head.points_at) // max(1, head.record_size)
                what = f"the header promises {head.point_count:,} points, the file ends after {whole:,}."
                raise InputError(Fault(path.name, what, _REMEDY))


def _read_head(path: Path, handle: BinaryIO) -> _Head:
    start = handle.read(_HEADER_1_4)
    size = path.stat().st_size
    if len(start) < _SHORTEST_HEADER:
        what = f"the file ends at byte {size:,}, within its header."
        raise InputError(Fault(path.name, what, _REMEDY))
    minor = start[25]
    header_size, points_at, record_count = struct.unpack_from("<HII", start, 94)
    point_format, record_size, legacy_count = struct.unpack_from("<BHI", start, 104)
    point_count = legacy_count
    if minor >= 4 and len(start) == _HEADER_1_4:
        point_count = struct.unpack_from("<Q", start, 247)[0]
    head = _Head(size, header_size, points_at, record_count, point_format, record_size, point_count)
    if not _SHORTEST_HEADER <= header_size <= points_at <= size or record_size < 20:
        what = (
            f"the header is damaged: it is {header_size:,} bytes long, its points begin at byte "
            f"{points_at:,} of {size:,} and take {record_size} bytes each."
        )
        raise InputError(Fault(path.name, what, _REMEDY))
    if record_count * 54 > points_at:
        what = f"the header is damaged: it promises {record_count:,} records before byte {points_at:,}."
        raise InputError(Fault(path.name, what, _REMEDY))
    return head


def _check_laz(path: Path, handle: BinaryIO, head: _Head) -> None:
    record = _find_laz_record(handle, head)
    if record is None or len(record) < 34:
        what = "the points are compressed, but the record that says how is missing or damaged."
        raise InputError(Fault(path.name, what, _REMEDY))
    block, item_count = struct.unpack_from("<I", record, 12)[0], struct.unpack_from("<H", record, 32)[0]
    items = record[34 : 34 + 6 * item_count]
    widths = [struct.unpack_from("<H", items, at + 2)[0] for at in range(0, len(items) - 5, 6)]
    if sum(widths) != head.record_size or not (0 < block <= _LARGEST_BLOCK or block == _VARIABLE):
        what = (
            f"the record of the compression is damaged: parts of {sum(widths)} bytes for points of "
            f"{head.record_size}, in blocks of {block:,} points."
        )
        raise InputError(Fault(path.name, what, _REMEDY))
    if head.point_count:
        _check_block_table(path, handle, head, block)


def _find_laz_record(handle: BinaryIO, head: _Head) -> bytes | None:
    handle.seek(head.header_size)
    for _ in range(head.record_count):
        record_head = handle.read(54)
        if len(record_head) < 54 or handle.tell() > head.points_at:
            return None
        length = struct.unpack_from("<H", record_head, 20)[0]
        body = handle.read(length)
        if record_head[2:18].rstrip(b"\0") == b"laszip encoded":
            return body
    return None


def _check_block_table(path: Path, handle: BinaryIO, head: _Head, block: int) -> None:
    """The table at the end of the file, which is what a broken download lacks."""
    table_at = _read_int64(handle, head.points_at)
    if table_at == -1:  # written as a stream: the place stands in the last eight bytes
        table_at = _read_int64(handle, head.size - 8)
    if table_at is None or not head.points_at + 8 <= table_at <= head.size - 8:
        what = (
            f"the file is cut off at byte {head.size:,}: it promises {head.point_count:,} points, and the "
            "list of where they stand, which is written last, is not there."
        )
        raise InputError(Fault(path.name, what, _REMEDY))
    handle.seek(table_at)
    blocks = struct.unpack("<II", handle.read(8))[1]
    expected = -(-head.point_count // block)
    if (block != _VARIABLE and blocks != expected) or blocks > head.point_count:
        what = f"{head.point_count:,} points in blocks of {block:,} are {expected:,} blocks, not {blocks:,}."
        raise InputError(Fault(path.name, what, _REMEDY))


def _read_int64(handle: BinaryIO, at: int) -> int | None:
    handle.seek(at)
    eight = handle.read(8)
    return struct.unpack("<q", eight)[0] if len(eight) == 8 else None
