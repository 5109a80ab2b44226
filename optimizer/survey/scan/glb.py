"""GLB: points and triangles of its scene in metres, y up, as the standard of glTF has it.

Format: Khronos Group, glTF 2.0 specification (ISO/IEC 12113:2022), sections 3.4 to 3.7 and 4.4.
Textures, materials and every URI stay unread.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.chunks import ScanChunk, ScanSource
from optimizer.survey.scan.file_frame import ToldFrame
from optimizer.survey.scan.gltf_data import BinaryData, Triangles
from optimizer.survey.scan.gltf_model import Gltf, Primitive, find_placed_meshes
from optimizer.survey.scan.mesh_points import sample_mesh

_JSON: Final = 0x4E4F534A
_BIN: Final = 0x004E4942
_REMEDY: Final = "Copy or export it again; a download may have broken off."
_TOLD: Final = ToldFrame(
    "m",
    "y",
    ("The unit is m and y points up, by the standard of glTF; not every program keeps to that.",),
)
_POINTS: Final = 0


def open_glb(path: Path) -> ScanSource:
    """Open a GLB file: every mesh as its scene places it.

    A scene with few corners gets points on its triangles (``sample_mesh``).  Raises
    ``InputError`` for a damaged file, for one that keeps its points elsewhere, and for
    compressed geometry.
    """
    text, binary_at, binary_end = _find_pieces(path)
    try:
        gltf = Gltf.model_validate(json.loads(text))
    except (json.JSONDecodeError, UnicodeDecodeError, RecursionError) as error:
        what = f"its description is no JSON ({error})."
        raise InputError(Fault(path.name, what, _REMEDY)) from error
    except ValidationError as error:
        faults = [
            Fault(
                path.name, f"{'.'.join(str(part) for part in one['loc'])}: {one['msg']}.", "Export it again."
            )
            for one in error.errors(include_url=False)
        ]
        raise InputError(*faults) from error
    gltf.check_readable(path)
    data = BinaryData(path, gltf, np.memmap(path, dtype=np.uint8, mode="r")[binary_at:binary_end])
    vertices, triangles = _gather(path, gltf, data)
    return ScanSource(path, _TOLD, _walk(vertices, triangles))


def _walk(vertices: NDArray[np.float64], triangles: NDArray[np.int64]) -> Iterator[ScanChunk]:
    yield from sample_mesh(vertices, triangles)


def _find_pieces(path: Path) -> tuple[bytes, int, int]:
    """The JSON text, and where the binary piece begins and ends."""
    size = path.stat().st_size
    with path.open("rb") as handle:
        head = handle.read(20)
        if len(head) < 20:
            raise InputError(Fault(path.name, f"the file ends at byte {size}, within its header.", _REMEDY))
        version, length, json_length, json_kind = struct.unpack("<IIII", head[4:])
        if version != 2:
            what = f"it is glTF of version {version}."
            raise InputError(Fault(path.name, what, "Export glTF 2.0."))
        if length > size:
            what = f"the header promises {length:,} bytes, the file ends at byte {size:,}."
            raise InputError(Fault(path.name, what, _REMEDY))
        if json_kind != _JSON or 20 + json_length > length:
            raise InputError(Fault(path.name, "byte 13: its first piece is no JSON.", _REMEDY))
        text = handle.read(json_length)
        at = 20 + json_length
        while at + 8 <= length:
            handle.seek(at)
            piece_length, kind = struct.unpack("<II", handle.read(8))
            if at + 8 + piece_length > length:
                what = f"byte {at + 1:,}: a piece of {piece_length:,} bytes goes beyond the end."
                raise InputError(Fault(path.name, what, _REMEDY))
            if kind == _BIN:
                return text, at + 8, at + 8 + piece_length
            at += 8 + piece_length
    return text, at, at


def _gather(path: Path, gltf: Gltf, data: BinaryData) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    vertices: list[NDArray[np.float64]] = []
    triangles: list[NDArray[np.int64]] = []
    done = 0
    for placed in find_placed_meshes(path, gltf):
        for primitive in gltf.meshes[placed.mesh].primitives:
            if "POSITION" not in primitive.attributes or primitive.mode not in (_POINTS, *Triangles.MODES):
                continue  # lines are drawn, not measured
            xyz = data.read_positions(primitive.attributes["POSITION"])
            vertices.append(xyz @ placed.matrix[:3, :3].T + placed.matrix[:3, 3])
            if primitive.mode != _POINTS:
                triangles.append(_read_triangles(primitive, data, len(xyz)) + done)
            done += len(xyz)
    if not vertices:
        raise InputError(
            Fault(path.name, "its scene holds neither points nor triangles.", "Export the mesh.")
        )
    return (
        np.concatenate(vertices),
        np.concatenate(triangles) if triangles else np.empty((0, 3), dtype=np.int64),
    )


def _read_triangles(primitive: Primitive, data: BinaryData, vertex_count: int) -> NDArray[np.int64]:
    return Triangles(primitive.mode).cut(data, primitive.indices, vertex_count)
