"""OBJ: corners and faces; materials and every other file that it names stay unopened."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.chunks import ScanChunk, ScanSource, chunks_of
from optimizer.survey.scan.file_frame import ToldFrame
from optimizer.survey.scan.mesh_points import MESH_POINTS, sample_mesh
from optimizer.survey.scan.number_rows import (
    Block,
    find_bad_rows,
    is_number,
    parse_block,
    read_blocks,
    shorten,
)
from optimizer.survey.scan.polygons import cut_polygons

_TOLD: Final = ToldFrame(
    None, None, ("OBJ states neither a unit nor which axis points up; phones mostly write y up.",)
)
_VERTEX: Final = (b"v ", b"v\t")
_REMEDY: Final = "Give every vertex as v and three numbers."
#: Lines of other kinds (Wavefront, Advanced Visualizer, appendix B1); whatever else begins a line is refused.
_KNOWN: Final = frozenset(
    b"v vn vt vp f l p g o s mg usemtl mtllib maplib usemap usemat shadow_obj trace_obj lod bevel c_interp "
    b"d_interp cstype deg bmat step curv curv2 surf parm trim hole scrv sp end con call".split()
)


def open_obj(path: Path) -> ScanSource:
    """Open an OBJ file of points or of a mesh.

    A mesh with few corners gets points on its faces (``sample_mesh``).  Raises ``InputError``
    with the row of each fault.
    """
    return ScanSource(path, _TOLD, _walk(path))


def _walk(path: Path) -> Iterator[ScanChunk]:
    """Points alone stream; of a mesh the corners are held, as its faces come after them."""
    done = 0
    held: list[NDArray[np.float64]] | None = []
    corners: list[int] = []
    counts: list[int] = []
    with path.open("rb") as handle:
        for block in read_blocks(handle, 1):
            lines = block.text.split(b"\n")
            _check_kinds(path, block, lines)
            xyz = _parse_vertices(path, block, lines)
            if held is not None:
                held.append(xyz)
                so_far = done
                for number, line in enumerate(lines, start=block.first_row):
                    if line.startswith(_VERTEX):
                        so_far += 1
                    elif line.startswith((b"f ", b"f\t")):
                        own = _parse_face(path, number, line, so_far)
                        corners.extend(own)
                        counts.append(len(own))
                if done + len(xyz) >= MESH_POINTS:  # dense enough: the faces are not needed
                    yield from chunks_of(np.concatenate(held), 1)
                    held = None
            else:
                yield from chunks_of(xyz, done + 1)
            done += len(xyz)
    if done == 0:
        raise InputError(Fault(path.name, "the file holds no vertex.", _REMEDY))
    if held is not None:
        vertices = np.concatenate(held)
        triangles = cut_polygons(
            path, np.array(corners, dtype=np.int64), np.array(counts, dtype=np.int64), len(vertices)
        )
        yield from sample_mesh(vertices, triangles)


def _check_kinds(path: Path, block: Block, lines: list[bytes]) -> None:
    kinds = {line.split(None, 1)[0] for line in lines if line.strip() and not line.startswith(b"#")}
    if not kinds <= _KNOWN and (faults := find_bad_rows(path, block, _judge_kind, "Export it again.")):
        raise InputError(*faults)


def _judge_kind(row: str) -> str | None:
    if not row or row.split(maxsplit=1)[0].encode() in _KNOWN:
        return None
    return f'"{shorten(row)}" is no line of an OBJ file.'


def _parse_vertices(path: Path, block: Block, lines: list[bytes]) -> NDArray[np.float64]:
    own = [line for line in lines if line.startswith(_VERTEX)]
    try:
        return parse_block(path, Block(b"\n".join(own), block.first_row), (1, 2, 3), None, _REMEDY)
    except InputError:
        # Row numbers were of the vertices alone: judge the whole block.
        raise InputError(*find_bad_rows(path, block, _judge_vertex, _REMEDY)) from None


def _judge_vertex(row: str) -> str | None:
    words = row.split()
    if not words or words[0] != "v":
        return None
    if len(words) < 4:
        return f'"{shorten(row)}" has {len(words) - 1} values, where 3 are needed.'
    wrong = next((word for word in words[1:4] if not is_number(word)), None)
    return None if wrong is None else f'"{shorten(wrong)}" is not a number.'


def _parse_face(path: Path, number: int, line: bytes, vertices_so_far: int) -> list[int]:
    """Corners from 0; negative numbers count back from the last vertex before the face."""
    try:
        corners = [int(word.split(b"/", 1)[0]) for word in line.partition(b"#")[0].split()[1:]]
    except ValueError as error:
        shown = shorten(line.decode("utf-8", errors="replace"))
        what = f'"{shown}" names no vertices.'
        raise InputError(Fault(f"{path.name}:{number}", what, "Export the mesh again.")) from error
    return [corner - 1 if corner >= 0 else vertices_so_far + corner for corner in corners]
