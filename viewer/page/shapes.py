"""All meshes of a page packed into few bytes, each kept once however many candidates show it.

Layout of the bytes, little-endian numbers of 16 bits: first ``points`` of them, three a point, then
``corners``, three a triangle, counted from the mesh's own first point.  A point is
``low_m + step_m * number``, site frame less ``middle_m``: over a yard of 30 m half a millimetre.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import InternalError
from viewer.solids import NamedMesh

_MOST: Final = 65_535


@dataclass(frozen=True, slots=True)
class PackedMesh:
    """Where a mesh lies: first number and count of its points, first number and count of its triangles."""

    group: str
    points_at: int
    points: int
    corners_at: int
    triangles: int


@dataclass(frozen=True, slots=True)
class PackedShapes:
    """``content`` as above; ``numbers``: for each scene, the place of each of its meshes in ``meshes``."""

    content: bytes
    points: int
    corners: int
    step_m: float
    low_m: tuple[float, float, float]
    middle_m: tuple[float, float, float]
    meshes: tuple[PackedMesh, ...]
    numbers: tuple[tuple[int, ...], ...]


def pack_shapes(scenes: tuple[tuple[NamedMesh, ...], ...]) -> PackedShapes:
    """Pack the meshes of all scenes; meshes that are the same lie there once."""
    every = np.concatenate([mesh.vertices for scene in scenes for mesh in scene])
    low, high = every.min(axis=0), every.max(axis=0)
    middle = np.round((low + high) / 2.0, 3)
    step_m = max(float((high - low).max()) / _MOST, 1e-5)
    points, corners = _Rows(), _Rows()
    meshes: list[PackedMesh] = []
    known: dict[PackedMesh, int] = {}
    numbers: list[tuple[int, ...]] = []
    for scene in scenes:
        places: list[int] = []
        for mesh in scene:
            whole, faces = _weld(np.rint((mesh.vertices - low) / step_m).astype(np.int64), mesh.faces)
            packed = PackedMesh(mesh.group, points.add(whole), len(whole), corners.add(faces), len(faces))
            if packed not in known:
                known[packed] = len(meshes)
                meshes.append(packed)
            places.append(known[packed])
        numbers.append(tuple(places))
    return PackedShapes(
        points.join() + corners.join(),
        points.count,
        corners.count,
        step_m,
        _tell(low - middle),
        _tell(middle),
        tuple(meshes),
        tuple(numbers),
    )


def _weld(whole: NDArray[np.int64], faces: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Loose triangles with shared points: a third of the bytes.  Other meshes as they are."""
    if len(whole) == 3 * len(faces):
        # One whole number a point: sorting rows of three takes far longer.
        keys = (whole[:, 0] << 32) | (whole[:, 1] << 16) | whole[:, 2]
        _, first, owner = np.unique(keys, return_index=True, return_inverse=True)
        whole, faces = whole[first], owner[faces]
    if len(whole) > _MOST:
        raise InternalError(f"a mesh of {len(whole)} points is too large for the client's page")
    return whole, faces


class _Rows:
    """Arrays one after the other, the same ones once."""

    def __init__(self) -> None:
        self.count = 0
        self._parts: list[bytes] = []
        self._known: dict[bytes, int] = {}

    def add(self, rows: NDArray[np.int64]) -> int:
        """Where the numbers of ``rows`` (n, 3) begin."""
        content = rows.astype("<u2").tobytes()
        if content not in self._known:
            self._known[content] = self.count
            self._parts.append(content)
            self.count += rows.size
        return self._known[content]

    def join(self) -> bytes:
        """All of them as bytes."""
        return b"".join(self._parts)


def _tell(point: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = (round(float(part), 9) for part in point)
    return x, y, z
