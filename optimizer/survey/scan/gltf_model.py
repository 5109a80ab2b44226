"""The part of a glTF description that says where points are, checked as it is read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field, NonNegativeInt

from optimizer.errors import Fault, InputError

#: Extensions that a file may require and that do not change where points are, or are read here.
_HARMLESS: Final = ("KHR_materials_", "KHR_texture_", "EXT_texture_", "KHR_mesh_quantization", "KHR_lights_")
Number = float


class _Model(BaseModel):
    model_config = ConfigDict(extra="ignore", frozen=True)


class Buffer(_Model):
    """``uri`` names another file, which is never opened."""

    uri: str | None = None
    byteLength: NonNegativeInt  # noqa: N815  # the names of the format


class BufferView(_Model):
    """A stretch of the binary piece."""

    buffer: NonNegativeInt
    byteOffset: NonNegativeInt = 0  # noqa: N815
    byteLength: NonNegativeInt  # noqa: N815
    byteStride: int | None = Field(default=None, ge=1, le=252)  # noqa: N815


class Accessor(_Model):
    """Typed rows in a buffer view."""

    bufferView: NonNegativeInt | None = None  # noqa: N815
    byteOffset: NonNegativeInt = 0  # noqa: N815
    componentType: Literal[5120, 5121, 5122, 5123, 5125, 5126]  # noqa: N815
    normalized: bool = False
    count: NonNegativeInt
    type: str
    sparse: object | None = None


class Primitive(_Model):
    """Points, lines or triangles of one mesh."""

    attributes: dict[str, NonNegativeInt]
    indices: NonNegativeInt | None = None
    mode: int = Field(default=4, ge=0, le=6)


class Mesh(_Model):
    """Primitives that are placed together."""

    primitives: tuple[Primitive, ...]


class Node(_Model):
    """A place in the scene, relative to its parent."""

    mesh: NonNegativeInt | None = None
    children: tuple[NonNegativeInt, ...] = ()
    matrix: tuple[Number, ...] | None = Field(default=None, min_length=16, max_length=16)
    translation: tuple[Number, Number, Number] = (0.0, 0.0, 0.0)
    rotation: tuple[Number, Number, Number, Number] = (0.0, 0.0, 0.0, 1.0)
    scale: tuple[Number, Number, Number] = (1.0, 1.0, 1.0)


class Scene(_Model):
    """The nodes that stand at the top."""

    nodes: tuple[NonNegativeInt, ...] = ()


class Gltf(_Model):
    """What is read of a description."""

    buffers: tuple[Buffer, ...] = ()
    bufferViews: tuple[BufferView, ...] = ()  # noqa: N815
    accessors: tuple[Accessor, ...] = ()
    meshes: tuple[Mesh, ...] = ()
    nodes: tuple[Node, ...] = ()
    scenes: tuple[Scene, ...] = ()
    scene: NonNegativeInt = 0
    extensionsRequired: tuple[str, ...] = ()  # noqa: N815

    def check_readable(self, path: Path) -> None:
        """Raise ``InputError`` when its points stand in another file or are packed by an extension."""
        faults = [
            Fault(
                path.name,
                f'its geometry needs the extension "{name}".',
                "Export it uncompressed, as plain GLB.",
            )
            for name in self.extensionsRequired
            if not name.startswith(_HARMLESS)
        ]
        faults += [
            Fault(
                path.name,
                f'buffer {i} names "{buffer.uri[:40]}", which is not followed.',
                "Export one GLB that holds everything.",
            )
            for i, buffer in enumerate(self.buffers)
            if buffer.uri is not None
        ]
        if faults:
            raise InputError(*faults)


@dataclass(frozen=True, slots=True)
class PlacedMesh:
    """A mesh and the (4, 4) float64 matrix that takes its columns of coordinates into the scene."""

    mesh: int
    matrix: NDArray[np.float64]


def find_placed_meshes(path: Path, gltf: Gltf) -> tuple[PlacedMesh, ...]:
    """Every mesh of the scene with its place; a file without scenes places each node without parent."""
    if gltf.scenes and gltf.scene >= len(gltf.scenes):
        raise _no_such(path, "scene", gltf.scene)
    inner = {child for node in gltf.nodes for child in node.children}
    roots = gltf.scenes[gltf.scene].nodes if gltf.scenes else sorted({*range(len(gltf.nodes))} - inner)
    placed: list[PlacedMesh] = []
    seen: set[int] = set()
    waiting = [(root, np.eye(4)) for root in reversed(roots)]
    while waiting:
        index, above = waiting.pop()
        if index >= len(gltf.nodes):
            raise _no_such(path, "node", index)
        if index in seen:
            what = f"node {index} hangs in the scene twice."
            raise InputError(Fault(path.name, what, "Export it again."))
        seen.add(index)
        node = gltf.nodes[index]
        matrix = above @ _matrix_of(node)
        if node.mesh is not None:
            if node.mesh >= len(gltf.meshes):
                raise _no_such(path, "mesh", node.mesh)
            placed.append(PlacedMesh(node.mesh, matrix))
        waiting.extend((child, matrix) for child in reversed(node.children))
    return tuple(placed)


def _no_such(path: Path, kind: str, index: int) -> InputError:
    return InputError(Fault(path.name, f"there is no {kind} {index}.", "Export it again."))


def _matrix_of(node: Node) -> NDArray[np.float64]:
    if node.matrix is not None:
        return np.array(node.matrix, dtype=np.float64).reshape(4, 4).T  # the file has it column by column
    length = math.hypot(*node.rotation)
    x, y, z, w = (part / length for part in node.rotation) if length > 0.0 else (0.0, 0.0, 0.0, 1.0)
    turn = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )
    matrix = np.eye(4)
    matrix[:3, :3] = turn * np.array(node.scale)
    matrix[:3, 3] = node.translation
    return matrix
