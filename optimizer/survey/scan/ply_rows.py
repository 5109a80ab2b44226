"""Rows of a binary PLY element: as one array where all are alike, else walked through one by one."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.survey.scan.ply_header import PlyElement

_STRUCT_CODES: Final = (
    ("i1", "b"), ("u1", "B"), ("i2", "h"), ("u2", "H"), ("i4", "i"), ("u4", "I"), ("f4", "f"), ("f8", "d"),
)  # fmt: skip
#: A list longer than this in the first row is damage, not data to lay a row out by.
_LONGEST_LIST: Final = 100_000
_COUNT_PREFIX: Final = "count of "


def find_fixed_rows(
    data: NDArray[np.uint8], at: int, element: PlyElement, byte_order: str
) -> NDArray[np.void] | None:
    """All rows as one array without copying, or ``None`` when they differ in length or do not fit.

    Fields are named for the properties; a list's count for it with ``count of`` before.
    """
    first = next(_walk_rows(data, at, element, byte_order, 1), None) if element.has_lists else ()
    if first is None:
        return None
    fields: list[tuple[str, str] | tuple[str, str, tuple[int]]] = []
    for i, one in enumerate(element.properties):
        if one.count_type is None:
            fields.append((one.name, byte_order + one.type))
            continue
        length = len(first[i])
        if length > _LONGEST_LIST:
            return None
        fields.append((_COUNT_PREFIX + one.name, byte_order + one.count_type))
        fields.append((one.name, byte_order + one.type, (length,)))
    layout = np.dtype(fields)
    if at + layout.itemsize * element.count > len(data):
        return None
    rows: NDArray[np.void] = np.ndarray((element.count,), dtype=layout, buffer=data, offset=at)
    for i, one in enumerate(element.properties):
        if one.count_type is not None and (rows[_COUNT_PREFIX + one.name] != len(first[i])).any():
            return None
    return rows


def measure_end(data: NDArray[np.uint8], at: int, element: PlyElement, byte_order: str) -> tuple[int, int]:
    """Byte after the last row, and how many rows fit into the file."""
    if not element.has_lists:
        size = sum(np.dtype(one.type).itemsize for one in element.properties)
        rows = min(element.count, (len(data) - at) // size) if size else element.count
        return at + rows * size, rows
    fixed = find_fixed_rows(data, at, element, byte_order)
    if fixed is not None:
        return at + fixed.nbytes, element.count
    rows = 0
    end = at
    for row in _walk_rows(data, at, element, byte_order, element.count):
        rows += 1
        for one, values in zip(element.properties, row, strict=True):
            end += np.dtype(one.type).itemsize * len(values)
            end += 0 if one.count_type is None else np.dtype(one.count_type).itemsize
    return end, rows


def gather_vertices(
    data: NDArray[np.uint8], at: int, vertex: PlyElement, byte_order: str
) -> NDArray[np.float64]:
    """Coordinates (n, 3) of vertices whose rows differ in length."""
    names = [one.name for one in vertex.properties]
    x, y, z = (names.index(axis) for axis in "xyz")
    rows = _walk_rows(data, at, vertex, byte_order, vertex.count)
    return np.array([(row[x][0], row[y][0], row[z][0]) for row in rows], dtype=np.float64)


def gather_lists(
    data: NDArray[np.uint8], at: int, element: PlyElement, name: str, byte_order: str
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The values of one list property, row after row, and how many each row has."""
    fixed = find_fixed_rows(data, at, element, byte_order)
    if fixed is not None:
        values = fixed[name].astype(np.int64)
        return values.reshape(-1), np.full(len(values), values.shape[1], dtype=np.int64)
    i = [one.name for one in element.properties].index(name)
    lists = [row[i] for row in _walk_rows(data, at, element, byte_order, element.count)]
    flat = np.array([int(value) for one in lists for value in one], dtype=np.int64)
    return flat, np.array([len(one) for one in lists], dtype=np.int64)


def _walk_rows(
    data: NDArray[np.uint8], at: int, element: PlyElement, byte_order: str, count: int
) -> Iterator[tuple[tuple[float, ...], ...]]:
    """Values of each row, property by property; stops where the file ends within a row."""
    codes = dict(_STRUCT_CODES)
    view = data.data
    scalars = [struct.Struct(byte_order + codes[one.count_type or one.type]) for one in element.properties]
    sizes = [np.dtype(one.type).itemsize for one in element.properties]
    for _ in range(count):
        row: list[tuple[float, ...]] = []
        for one, scalar, size in zip(element.properties, scalars, sizes, strict=True):
            if at + scalar.size > len(data):
                return
            values = scalar.unpack_from(view, at)
            at += scalar.size
            if one.count_type is not None:
                length = int(values[0])
                if length < 0 or at + length * size > len(data):
                    return
                values = struct.unpack_from(f"{byte_order}{length}{codes[one.type]}", view, at)
                at += length * size
            row.append(values)
        yield tuple(row)
