"""PLY: ascii and both binary orders, memory-mapped, any further properties and lists."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.chunks import CHUNK_POINTS, ScanChunk, ScanSource
from optimizer.survey.scan.file_frame import ToldFrame
from optimizer.survey.scan.mesh_points import MESH_POINTS, sample_mesh
from optimizer.survey.scan.ply_ascii import read_ascii_faces, walk_ascii_vertices
from optimizer.survey.scan.ply_header import PlyElement, PlyHeader, read_ply_header
from optimizer.survey.scan.ply_rows import find_fixed_rows, gather_lists, gather_vertices, measure_end
from optimizer.survey.scan.polygons import cut_polygons

_REMEDY: Final = "Copy or export it again; its header and its rows do not belong together."
_TOLD: Final = ToldFrame(None, None, ("PLY states neither a unit nor which axis points up.",))
#: Some programs end a binary file with line feeds.
_MOST_BLANKS: Final = 64
#: Names that programs give the corners of a face.
_CORNERS: Final = ("vertex_indices", "vertex_index")


def open_ply(path: Path) -> ScanSource:
    """Open a PLY file of points or of a mesh.

    A mesh with few corners gets points on its faces (``sample_mesh``).  Raises ``InputError``
    when the header is faulty, or the file holds fewer or more than it promises.
    """
    header = read_ply_header(path)
    names = [one.name for one in header.elements]
    vertex = header.elements[names.index("vertex")]
    faces = _faces(header)
    is_mesh = faces is not None and vertex.count < MESH_POINTS
    if header.format == "ascii":
        chunks = walk_ascii_vertices(path, header)
        if faces is not None and is_mesh:
            chunks = _sample_ascii(path, header, faces, chunks)
        return ScanSource(path, _TOLD, chunks)
    data = np.memmap(path, dtype=np.uint8, mode="r")
    ends = _measure_elements(path, header, data)
    vertex_at = ends[names.index("vertex")]
    if faces is not None and is_mesh:
        faces_at = ends[names.index("face")]
        return ScanSource(path, _TOLD, _sample_binary(path, header, data, vertex_at, faces, faces_at))
    return ScanSource(path, _TOLD, _walk_binary(header, data, vertex, vertex_at))


def _faces(header: PlyHeader) -> PlyElement | None:
    """The faces, when they have corners."""
    for element in header.elements:
        lists = {one.name for one in element.properties if one.count_type is not None}
        if element.name == "face" and element.count and lists & set(_CORNERS):
            return element
    return None


def _measure_elements(path: Path, header: PlyHeader, data: NDArray[np.uint8]) -> list[int]:
    """Where each element begins, and the end of the last; raises when that is not the file's end."""
    at = [header.data_at]
    for element in header.elements:
        end, rows = measure_end(data, at[-1], element, header.byte_order)
        if rows < element.count:
            what = (
                f'the header promises {element.count:,} rows of "{element.name}", '
                f"the file ends at byte {len(data):,} after {rows:,}."
            )
            raise InputError(Fault(path.name, what, _REMEDY))
        at.append(end)
    left = len(data) - at[-1]
    if left > _MOST_BLANKS or data[at[-1] :].tobytes().strip():
        what = f"{left:,} bytes follow the last row that the header promises, from byte {at[-1]:,}."
        raise InputError(Fault(path.name, what, _REMEDY))
    return at


def _walk_binary(
    header: PlyHeader, data: NDArray[np.uint8], vertex: PlyElement, vertex_at: int
) -> Iterator[ScanChunk]:
    rows = find_fixed_rows(data, vertex_at, vertex, header.byte_order)
    if rows is None:  # lists of different lengths stand among the vertices
        yield ScanChunk(gather_vertices(data, vertex_at, vertex, header.byte_order), 1)
        return
    for start in range(0, vertex.count, CHUNK_POINTS):
        piece = rows[start : start + CHUNK_POINTS]
        xyz = np.empty((len(piece), 3))
        for axis, name in enumerate("xyz"):
            xyz[:, axis] = piece[name]
        yield ScanChunk(xyz, start + 1)


def _sample_binary(
    path: Path, header: PlyHeader, data: NDArray[np.uint8], vertex_at: int, faces: PlyElement, faces_at: int
) -> Iterator[ScanChunk]:
    vertex = next(one for one in header.elements if one.name == "vertex")
    vertices = np.concatenate([chunk.xyz for chunk in _walk_binary(header, data, vertex, vertex_at)])
    corners, counts = gather_lists(data, faces_at, faces, _corner_list(faces), header.byte_order)
    yield from sample_mesh(vertices, cut_polygons(path, corners, counts, len(vertices)))


def _sample_ascii(
    path: Path, header: PlyHeader, faces: PlyElement, chunks: Iterator[ScanChunk]
) -> Iterator[ScanChunk]:
    vertices = np.concatenate([chunk.xyz for chunk in chunks])
    corners, counts = read_ascii_faces(path, header, faces, _corner_list(faces))
    yield from sample_mesh(vertices, cut_polygons(path, corners, counts, len(vertices)))


def _corner_list(faces: PlyElement) -> str:
    return next(one.name for one in faces.properties if one.name in _CORNERS)
