"""Positions and corners out of the binary piece of a GLB file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar, Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.gltf_model import Accessor, Gltf

_CODES: Final = ((5120, "<i1"), (5121, "<u1"), (5122, "<i2"), (5123, "<u2"), (5125, "<u4"), (5126, "<f4"))
_WIDTHS: Final = (("SCALAR", 1), ("VEC2", 2), ("VEC3", 3), ("VEC4", 4))
_REMEDY: Final = "Copy or export it again."


@dataclass(frozen=True, slots=True)
class BinaryData:
    """The bytes (n,) uint8 that accessors look into."""

    path: Path
    gltf: Gltf
    data: NDArray[np.uint8]

    def read_positions(self, index: int) -> NDArray[np.float64]:
        """An accessor of positions, (n, 3)."""
        accessor = self._accessor(index)
        if accessor.type != "VEC3":
            raise self._fault(f'accessor {index} of positions is of type "{accessor.type}".')
        rows = self._rows(index, accessor, 3)
        xyz = rows.astype(np.float64)
        if not accessor.normalized:
            return xyz
        # glTF 2.0, section 3.11: integers stand for -1 to 1 or 0 to 1; floats are never normalized.
        scale = {5120: 127.0, 5121: 255.0, 5122: 32767.0, 5123: 65535.0}.get(accessor.componentType, 1.0)
        return np.maximum(xyz / scale, -1.0) if scale > 1.0 else xyz

    def read_corners(self, index: int, vertex_count: int) -> NDArray[np.int64]:
        """An accessor of vertex numbers, (n,), all below ``vertex_count``."""
        accessor = self._accessor(index)
        if accessor.type != "SCALAR" or accessor.componentType not in (5121, 5123, 5125):
            raise self._fault(f"accessor {index} of corners holds no whole numbers.")
        corners: NDArray[np.int64] = self._rows(index, accessor, 1)[:, 0].astype(np.int64)
        if len(corners) and int(corners.max()) >= vertex_count:
            at = int(np.argmax(corners >= vertex_count))
            what = f"corner {at:,} of accessor {index} names vertex {int(corners[at]):,} of {vertex_count:,}."
            raise self._fault(what)
        return corners

    def _accessor(self, index: int) -> Accessor:
        if index >= len(self.gltf.accessors):
            raise self._fault(f"there is no accessor {index}.")
        accessor = self.gltf.accessors[index]
        if accessor.sparse is not None or accessor.bufferView is None:
            raise self._fault(f"accessor {index} is sparse or has no data.")
        return accessor

    def _rows(self, index: int, accessor: Accessor, width: int) -> NDArray[np.generic]:
        """Rows (n, width) in the file's own number type, without copying."""
        view_index = accessor.bufferView
        if view_index is None or view_index >= len(self.gltf.bufferViews):
            raise self._fault(f"there is no buffer view {view_index}.")
        view = self.gltf.bufferViews[view_index]
        kind = np.dtype(dict(_CODES)[accessor.componentType])
        row = kind.itemsize * width
        stride = view.byteStride or row
        needed = accessor.byteOffset + (accessor.count - 1) * stride + row if accessor.count else 0
        if view.buffer != 0 or view.byteOffset + view.byteLength > len(self.data):
            raise self._fault(
                f"buffer view {view_index} goes beyond the file's {len(self.data):,} bytes of data."
            )
        if needed > view.byteLength or stride < row:
            what = (
                f"accessor {index} promises {accessor.count:,} rows, {needed:,} bytes, "
                f"in a stretch of {view.byteLength:,}."
            )
            raise self._fault(what)
        return np.ndarray(
            (accessor.count, width),
            dtype=kind,
            buffer=self.data,
            offset=view.byteOffset + accessor.byteOffset,
            strides=(stride, kind.itemsize),
        )

    def _fault(self, what: str) -> InputError:
        return InputError(Fault(self.path.name, what, _REMEDY))


@dataclass(frozen=True, slots=True)
class Triangles:
    """How a primitive strings corners to triangles: 4 one by one, 5 as a strip, 6 as a fan."""

    mode: int
    MODES: ClassVar[tuple[int, ...]] = (4, 5, 6)

    def cut(self, data: BinaryData, indices: int | None, vertex_count: int) -> NDArray[np.int64]:
        """Rows of three vertex numbers; which side they face does not matter here."""
        corners = np.arange(vertex_count) if indices is None else data.read_corners(indices, vertex_count)
        if self.mode == 4:
            return corners[: len(corners) // 3 * 3].reshape(-1, 3)
        if len(corners) < 3:
            return np.empty((0, 3), dtype=np.int64)
        first = corners[:-2] if self.mode == 5 else np.full(len(corners) - 2, corners[0])
        return np.stack([first, corners[1:-1], corners[2:]], axis=1)
