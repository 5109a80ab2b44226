"""A GLB file read with suspicion: the container first, then trimesh on bytes that are all here.

glTF 2.0, sections 4 (GLB container) and 3.6 (buffers, views, accessors).  Nothing outside the
file is ever opened: a buffer or picture with a URI of any kind is refused.
"""

from __future__ import annotations

import io
import json
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import trimesh

from optimizer.errors import Fault, InputError

AGAIN: Final = "Draw it again with `evenfall plan`, or undo the edit."
_MAGIC: Final = b"glTF"
_VERSION: Final = 2
_HEADER: Final = struct.Struct("<4sII")
_CHUNK: Final = struct.Struct("<I4s")
#: Bytes of a number by component type, numbers in an item by type (3.6.2.2).
_COMPONENT_BYTES: Final = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_ITEM_NUMBERS: Final = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT2": 4, "MAT3": 9, "MAT4": 16}


@dataclass(frozen=True, slots=True)
class GlbFile:
    """``name`` for messages; ``header`` the file's own JSON; ``scene`` as trimesh reads it."""

    name: str
    header: dict[str, object]
    scene: trimesh.Scene


def read_glb(path: Path) -> GlbFile:
    """Read a GLB; raises InputError for anything that is not whole and by itself."""
    name = str(path)
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError(
            Fault(name, f"cannot be read ({error.strerror or error}).", "Name the model with --as-drawn.")
        ) from error
    header, binary = _split_chunks(name, content)
    _refuse_outside(name, header)
    try:
        _check_ranges(header, len(binary))
    except (KeyError, TypeError, ValueError, IndexError, AttributeError) as error:
        raise _damaged(name, f"its description is damaged ({error})") from error
    try:
        scene = trimesh.load_scene(io.BytesIO(content), file_type="glb", skip_materials=True, process=False)
    # Another library's reader may raise anything on a damaged file.
    except Exception as error:
        raise _damaged(name, f"its description is damaged ({type(error).__name__}: {error})") from error
    return GlbFile(name, header, scene)


def _split_chunks(name: str, content: bytes) -> tuple[dict[str, object], bytes]:
    if content[:4] != _MAGIC:
        raise InputError(
            Fault(name, "is no GLB file: it does not begin with 'glTF'.", "Name the model.glb of the plan.")
        )
    if len(content) < _HEADER.size:
        raise _damaged(name, f"is cut short: {len(content)} bytes are less than its head")
    _, version, announced = _HEADER.unpack_from(content)
    if version != _VERSION:
        raise InputError(Fault(name, f"is glTF {version}, not glTF 2.", "Export it as glTF 2.0 binary."))
    if announced != len(content):
        word = "cut short" if len(content) < announced else "longer than it says"
        raise _damaged(name, f"is {word}: {announced} bytes announced, {len(content)} there")
    chunks: list[tuple[bytes, bytes]] = []
    at = _HEADER.size
    while at < len(content):
        if at + _CHUNK.size > len(content):
            raise _damaged(name, f"its chunk {len(chunks) + 1} has no head")
        size, kind = _CHUNK.unpack_from(content, at)
        at += _CHUNK.size
        if at + size > len(content):
            raise _damaged(name, f"its chunk {len(chunks) + 1} reaches beyond the end")
        chunks.append((kind, content[at : at + size]))
        at += size
    if [kind for kind, _ in chunks] != [b"JSON", b"BIN\0"]:
        raise _damaged(name, "does not hold one description and one block of numbers")
    return _parse_header(name, chunks[0][1]), chunks[1][1]


def _parse_header(name: str, text: bytes) -> dict[str, object]:
    try:
        header = json.loads(text.decode("utf-8"))
    except (UnicodeDecodeError, ValueError, RecursionError) as error:
        raise _damaged(name, f"its description is no JSON ({error})") from error
    if not isinstance(header, dict):
        raise _damaged(name, "its description is no JSON object")
    return header


def _refuse_outside(name: str, header: dict[str, object]) -> None:
    """External data is never followed, whatever it claims to be."""
    faults = []
    for key in ("buffers", "images"):
        rows = header.get(key, [])
        if not isinstance(rows, list):
            raise _damaged(name, f"its {key} are no list")
        for number, row in enumerate(rows):
            if isinstance(row, dict) and "uri" in row:
                uri = str(row["uri"])[:60]
                faults.append(
                    Fault(
                        name,
                        f"{key}[{number}] points outside the file ({uri!r}), which is never followed.",
                        "Export it with everything embedded, as one GLB.",
                    )
                )
    if header.get("extensionsRequired"):
        faults.append(
            Fault(
                name,
                f"needs extensions to be read: {header['extensionsRequired']}.",
                "Export it without compression.",
            )
        )
    if faults:
        raise InputError(*faults)


def _check_ranges(header: dict[str, object], binary_bytes: int) -> None:
    """Every accessor lies within its view, every view within the one buffer; raises ValueError."""
    (buffer,) = _list(header, "buffers")
    held = _count(buffer, "byteLength")
    if held > binary_bytes:
        raise ValueError(f"the buffer has {held} bytes, {binary_bytes} are there")
    views = _list(header, "bufferViews")
    for number, view in enumerate(views):
        if _count(view, "buffer") != 0 or _count(view, "byteOffset") + _count(view, "byteLength") > held:
            raise ValueError(f"view {number} reaches beyond the buffer")
    for number, accessor in enumerate(_list(header, "accessors")):
        if "sparse" in accessor or "bufferView" not in accessor:
            raise ValueError(f"accessor {number} has no numbers of its own")
        view = views[_count(accessor, "bufferView")]
        if "byteStride" in view:
            raise ValueError(f"view {accessor['bufferView']} is interleaved")
        item = _COMPONENT_BYTES[_count(accessor, "componentType")] * _ITEM_NUMBERS[str(accessor["type"])]
        if _count(accessor, "byteOffset") + item * _count(accessor, "count") > _count(view, "byteLength"):
            raise ValueError(f"accessor {number} reaches beyond its view")


def _list(header: dict[str, object], key: str) -> list[dict[str, object]]:
    rows = header[key]
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise TypeError(f"{key} is no list of objects")
    return rows


def _count(row: dict[str, object], key: str) -> int:
    value = row.get(key, 0)
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError(f"{key} is {value!r}")
    return value


def _damaged(name: str, what: str) -> InputError:
    return InputError(Fault(name, f"{what}.", AGAIN))
