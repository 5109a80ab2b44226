"""Rows of an ascii PLY file: one line a row."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.chunks import ScanChunk, chunks_of
from optimizer.survey.scan.number_rows import Block, is_number, parse_block, read_blocks, shorten
from optimizer.survey.scan.ply_header import PlyElement, PlyHeader

_REMEDY: Final = "Copy or export it again; its header and its rows do not belong together."


def walk_ascii_vertices(path: Path, header: PlyHeader) -> Iterator[ScanChunk]:
    """The vertices; raises ``InputError`` when the file has fewer or more rows than promised."""
    names = [one.name for one in header.elements]
    vertex = header.elements[names.index("vertex")]
    before = sum(one.count for one in header.elements[: names.index("vertex")])
    total = sum(one.count for one in header.elements)
    columns = _plain_columns(vertex)
    seen = done = 0
    with path.open("rb") as handle:
        handle.seek(header.data_at)
        for block in read_blocks(handle, header.rows + 1):
            lines = [line for line in block.text.split(b"\n") if line.strip()]
            start, end = max(0, before - seen), max(0, before + vertex.count - seen)
            mine = Block(b"\n".join(lines[start:end]), block.first_row + start)
            if columns is None:
                xyz = _parse_after_lists(path, mine, vertex)
            else:
                xyz = parse_block(path, mine, columns, None, _REMEDY)
            yield from chunks_of(xyz, done + 1)
            done += len(xyz)
            seen += len(lines)
    if seen != total:
        what = f"the header promises {total:,} rows, the file holds {seen:,}."
        raise InputError(Fault(path.name, what, _REMEDY))


def _plain_columns(vertex: PlyElement) -> tuple[int, int, int] | None:
    """Columns of x, y, z, or ``None`` when a list stands before one of them."""
    names = [one.name for one in vertex.properties]
    columns = names.index("x"), names.index("y"), names.index("z")
    is_list = [one.count_type is not None for one in vertex.properties]
    return None if any(is_list[: max(columns)]) else columns


def _parse_after_lists(path: Path, block: Block, vertex: PlyElement) -> NDArray[np.float64]:
    points = []
    for number, line in enumerate(block.text.split(b"\n"), start=block.first_row):
        if line.strip():
            cells = _split_row(path, number, line, vertex)
            names = [one.name for one in vertex.properties]
            points.append([float(cells[names.index(axis)][0]) for axis in "xyz"])
    return np.array(points, dtype=np.float64).reshape(-1, 3)


def _split_row(path: Path, number: int, line: bytes, element: PlyElement) -> list[list[str]]:
    """Cells of a row, property by property, without the counts of lists."""
    words = line.decode("utf-8", errors="replace").split()
    cells: list[list[str]] = []
    at = 0
    for one in element.properties:
        length = 1
        if one.count_type is not None:
            length = int(words[at]) if at < len(words) and words[at].isdecimal() else -1
            at += 1
        own = words[at : at + length] if length >= 0 else []
        if length < 0 or len(own) < length or not all(is_number(word) for word in own):
            what = f'"{shorten(" ".join(words))}" is no row of "{element.name}".'
            raise InputError(Fault(f"{path.name}:{number}", what, _REMEDY))
        cells.append(own)
        at += length
    return cells


def read_ascii_faces(
    path: Path, header: PlyHeader, faces: PlyElement, name: str
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Corners of all faces one after the other, and how many each has."""
    before = sum(one.count for one in header.elements[: header.elements.index(faces)])
    position = [one.name for one in faces.properties].index(name)
    corners: list[int] = []
    counts: list[int] = []
    seen = 0
    with path.open("rb") as handle:
        handle.seek(header.data_at)
        for block in read_blocks(handle, header.rows + 1):
            for number, line in enumerate(block.text.split(b"\n"), start=block.first_row):
                if not line.strip():
                    continue
                if before <= seen < before + faces.count:
                    own = _split_row(path, number, line, faces)[position]
                    if not all(word.lstrip("-").isdecimal() for word in own):
                        what = f'"{shorten(" ".join(own))}" are no numbers of vertices.'
                        raise InputError(Fault(f"{path.name}:{number}", what, _REMEDY))
                    corners.extend(int(word) for word in own)
                    counts.append(len(own))
                seen += 1
    return np.array(corners, dtype=np.int64), np.array(counts, dtype=np.int64)
