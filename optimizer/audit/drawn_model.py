"""The parts of a GLB as triangles in the site frame, each with its mark.

The names are those that ``viewer/glb.py`` documents; they are written here a second time, because
an audit that shared them with the exporter would follow it into a mistake.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
import trimesh
from numpy.typing import NDArray

from optimizer.audit.glb_file import AGAIN, GlbFile
from optimizer.errors import Fault, InputError

EXTRAS_KEY: Final = "evenfall"
MODEL_SCHEMA: Final = "evenfall-model-1"

Triangles = NDArray[np.float64]  # (t, 3, 3)
Ring = NDArray[np.float64]  # (k, 2)


@dataclass(frozen=True, slots=True)
class DrawnPart:
    """One node.  ``triangles`` (t, 3, 3): metres if the file keeps to its format, site frame, z up;
    the first ``walking`` of them are the walking face.
    """

    node: str
    role: str
    id: str
    kind: str
    catalogue_id: str
    piece: str
    walking: int
    triangles: Triangles

    @property
    def face(self) -> Triangles:
        """The triangles that are walked on."""
        return self.triangles[: self.walking]


@dataclass(frozen=True, slots=True)
class DrawnModel:
    """A model with what it says it shows: names of site and candidate, corners (n, 2) of the lot.

    ``drawn_parts``: how many parts it says it was drawn with, as the file has it.
    """

    file: str
    site: str
    candidate: str
    lot_m: Ring
    drawn_parts: object
    parts: tuple[DrawnPart, ...]

    def having(self, role: str) -> tuple[DrawnPart, ...]:
        """The parts of one role, in file order."""
        return tuple(part for part in self.parts if part.role == role)


def build_model(glb: GlbFile) -> DrawnModel:
    """All nodes of a GLB with their marks; raises InputError with every node that cannot be used."""
    told = glb.scene.metadata.get(EXTRAS_KEY)
    if not isinstance(told, dict) or told.get("schema") != MODEL_SCHEMA:
        found = told.get("schema") if isinstance(told, dict) else None
        raise InputError(
            Fault(
                glb.name,
                f"does not say which plan it shows: its scene's {EXTRAS_KEY} schema is {found!r}, "
                f"wanted {MODEL_SCHEMA!r}.",
                "Draw it again with `evenfall plan`; other programs may drop what they do not know.",
            )
        )
    faults = _find_twins(glb)
    parts: list[DrawnPart] = []
    for node in sorted(glb.scene.graph.nodes_geometry):
        part = _build_part(glb, str(node))
        if isinstance(part, Fault):
            faults.append(part)
        else:
            parts.append(part)
    lot = _read_ring(told.get("lot_m"))
    if lot is None:
        faults.append(Fault(f"{glb.name}: scene", "has no outline of the lot (lot_m).", AGAIN))
    if faults or lot is None:
        raise InputError(*faults)
    site, candidate = str(told.get("site")), str(told.get("candidate"))
    return DrawnModel(glb.name, site, candidate, lot, told.get("parts"), tuple(parts))


def _find_twins(glb: GlbFile) -> list[Fault]:
    """Nodes of one name: the reader would rename the second and nobody would know which is which."""
    rows = glb.header.get("nodes", [])
    names = [row.get("name") for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    twins = sorted({str(name) for name in names if names.count(name) > 1})
    return [Fault(glb.name, f"has several nodes named {name!r}.", AGAIN) for name in twins]


def _build_part(glb: GlbFile, node: str) -> DrawnPart | Fault:
    matrix, geometry = glb.scene.graph[node]
    mesh = glb.scene.geometry[geometry]
    where = f"{glb.name}: node {node!r}"
    if not isinstance(mesh, trimesh.Trimesh) or len(mesh.faces) == 0:
        return Fault(where, "holds no triangles.", AGAIN)
    if geometry != node:
        return Fault(where, f"holds the mesh {geometry!r}: one of the two was renamed.", AGAIN)
    mark = mesh.metadata.get(EXTRAS_KEY)
    if not isinstance(mark, dict):
        return Fault(where, "is no part of the plan: it has no mark.", "Take it out of the model.")
    if int(mesh.faces.min()) < 0 or int(mesh.faces.max()) >= len(mesh.vertices):
        return Fault(where, "has triangles with corners that are not there.", AGAIN)
    vertices = np.asarray(mesh.vertices, dtype=np.float64)
    if not np.all(np.isfinite(vertices)) or not np.all(np.isfinite(matrix)):
        return Fault(where, "has corners that are no finite numbers.", AGAIN)
    triangles = _to_site_frame(vertices @ matrix[:3, :3].T + matrix[:3, 3])[np.asarray(mesh.faces)]
    walking = _read_walking(mark)
    if walking is None or walking > len(triangles):
        return Fault(where, "has a damaged mark (walking).", AGAIN)
    words = [str(mark.get(key, "")) for key in ("role", "id", "kind", "catalogue_id", "piece")]
    role, name, kind, catalogue_id, piece = words
    return DrawnPart(node, role, name, kind, catalogue_id, piece, walking, triangles)


def _to_site_frame(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """From y up, as glTF asks, to z up (x, -z, y)."""
    return np.column_stack([points[:, 0], -points[:, 2], points[:, 1]])


def _read_walking(mark: dict[str, object]) -> int | None:
    value = mark.get("walking", 0)
    return value if isinstance(value, int) and not isinstance(value, bool) and value >= 0 else None


def _read_ring(rows: object) -> Ring | None:
    """Corners (n, 2) of a simple outline, else ``None``."""
    try:
        ring = np.asarray(rows, dtype=np.float64)
    except (TypeError, ValueError):
        return None
    if ring.ndim != 2 or ring.shape[1] != 2 or len(ring) < 3 or not np.all(np.isfinite(ring)):
        return None
    return ring if shapely.Polygon(ring).is_valid else None
