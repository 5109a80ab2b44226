"""A GLB taken apart by the rules of glTF 2.0 and put together again, damaged as a test wants it.

Written without trimesh, so that what the audit reads is not what it reads with.
"""

from __future__ import annotations

import copy
import json
import struct
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Json = dict[str, Any]


class GlbEdit:
    """``header`` is the file's JSON, ``binary`` its numbers; both may be changed."""

    def __init__(self, content: bytes) -> None:
        (size,) = struct.unpack_from("<I", content, 12)
        self.header: Json = json.loads(content[20 : 20 + size])
        self.binary = bytearray(content[20 + size + 8 :])

    def node(self, name: str) -> Json:
        (found,) = [node for node in self.header["nodes"] if node.get("name") == name]
        return found

    def mesh(self, name: str) -> Json:
        return self.header["meshes"][self.node(name)["mesh"]]

    def mark(self, name: str) -> Json:
        return self.mesh(name)["extras"]["evenfall"]

    def named(self, start: str) -> str:
        """The one node whose name begins so."""
        (found,) = [n["name"] for n in self.header["nodes"] if str(n.get("name")).startswith(start)]
        return str(found)

    def positions(self, name: str) -> NDArray[np.float32]:
        """Points (n, 3) of a node in the file's axes; writing to them changes the file."""
        accessor = self.header["accessors"][self.mesh(name)["primitives"][0]["attributes"]["POSITION"]]
        view = self.header["bufferViews"][accessor["bufferView"]]
        at = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
        return np.frombuffer(self.binary, np.float32, 3 * accessor["count"], at).reshape(-1, 3)

    def every_position(self) -> list[NDArray[np.float32]]:
        return [self.positions(node["name"]) for node in self.header["nodes"] if "mesh" in node]

    def points(self, name: str) -> NDArray[np.float64]:
        """Points (n, 3) of a node in the site frame, z up."""
        x, y, z = self.positions(name).astype(np.float64).T
        return np.column_stack([x, -z, y])

    def lift(self, name: str, rows: NDArray[np.bool_], by_m: float | NDArray[np.float64]) -> None:
        self.positions(name)[rows, 1] += np.asarray(by_m, dtype=np.float32)

    def add_triangles(self, name: str, triangles: NDArray[np.float64]) -> None:
        """Append triangles (t, 3, 3), site frame, to a node, whose triangles have corners of their own."""
        x, y, z = triangles.reshape(-1, 3).T
        points = np.concatenate([self.positions(name), np.column_stack([x, z, -y])]).astype(np.float32)
        primitive = self.mesh(name)["primitives"][0]
        primitive["attributes"] = {"POSITION": self._append(points, 5126, "VEC3")}
        primitive["indices"] = self._append(np.arange(len(points), dtype=np.uint32), 5125, "SCALAR")

    def _append(self, values: NDArray[Any], component: int, kind: str) -> int:
        self.binary += bytes(-len(self.binary) % 4)
        view = {"buffer": 0, "byteOffset": len(self.binary), "byteLength": values.nbytes}
        self.header["bufferViews"].append(view)
        self.binary += values.tobytes()
        number = len(self.header["bufferViews"]) - 1
        self.header["accessors"].append(
            {"bufferView": number, "componentType": component, "count": len(values), "type": kind}
        )
        return len(self.header["accessors"]) - 1

    def delete(self, name: str) -> None:
        """Take a node out; all nodes are roots of the one scene."""
        number = self.header["nodes"].index(self.node(name))
        del self.header["nodes"][number]
        (scene,) = self.header["scenes"]
        scene["nodes"] = [root - (root > number) for root in scene["nodes"] if root != number]

    def copy_node(self, name: str, new: str) -> None:
        mesh = copy.deepcopy(self.mesh(name))
        mesh["name"] = new
        self.header["meshes"].append(mesh)
        self.header["nodes"].append({"name": new, "mesh": len(self.header["meshes"]) - 1})
        self.header["scenes"][0]["nodes"].append(len(self.header["nodes"]) - 1)

    def told(self) -> Json:
        return self.header["scenes"][0]["extras"]["evenfall"]

    def content(self) -> bytes:
        binary = bytes(self.binary) + bytes(-len(self.binary) % 4)
        if "uri" not in self.header["buffers"][0]:
            self.header["buffers"][0]["byteLength"] = len(binary)
        text = json.dumps(self.header).encode()
        text += b" " * (-len(text) % 4)
        size = 12 + 8 + len(text) + 8 + len(binary)
        return (
            struct.pack("<4sII", b"glTF", 2, size)
            + struct.pack("<I4s", len(text), b"JSON")
            + text
            + struct.pack("<I4s", len(binary), b"BIN\0")
            + binary
        )

    def save(self, path: Path) -> Path:
        path.write_bytes(self.content())
        return path
