"""A plan's candidate as one GLB file (glTF 2.0, binary).

Metres in, metres out; glTF has y up, so the scene is turned by -90 degrees about x.  Colours
are linear, as glTF asks; every face has its own corners, which gives flat shading.  No clock,
host or path goes into the file: the same plan gives the same bytes.

Names in the file, for programs that read it again (``optimizer/audit`` is one):

==================  =======================================================================
scene extras        ``evenfall``: ``schema`` (``evenfall-model-1``), ``site`` and ``candidate``
                    (the plan's names), ``units`` (``m``), ``up`` (``y``), ``parts`` (how many
                    nodes have a mesh), ``lot_m`` (the lot's corners (x, y), site frame; its
                    line is a node only where ground was surveyed)
node                one a part, named as a person would: ``section S3``, ``leg L07 (leg-mid)``;
                    no node has a matrix of its own
mesh extras         the facts that are told when a part is picked (texts in the site's units), and
                    ``evenfall``, the part's mark:
``role``            ``piece``, ``support``, ``foot``, ``brace``, ``rail``, ``ground``, ``house``,
                    ``obstacle``, ``lot``; ``picture`` for what is there for the eye only
``id``              the plan's id; a support, its foot and its brace have the leg's
``kind``            of pieces, supports and rails as in the plan; of an obstacle ``solid``,
                    ``passable`` or ``standable``
``catalogue_id``    the part
``piece``           what a support carries, what a rail stands on
``walking``         how many triangles, from the first on, are the walking face
==================  =======================================================================

A mark leaves out what its role does not have.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import trimesh
from trimesh.visual.material import PBRMaterial

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.errors import DrawingError
from optimizer.plan import Candidate
from optimizer.plan_file import read_plan
from optimizer.terrain.yard import Points
from viewer.look import FINISHES, measure_linear
from viewer.marks import Mark, list_walking_faces
from viewer.meshes import draw_scene
from viewer.solids import Faces, MeshGroup, NamedMesh
from viewer.whole_file import write_whole_bytes

#: From z up to y up: -90 degrees about x, exactly.
Z_UP_TO_Y_UP: Final = np.array(
    [[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [0.0, -1.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0]]
)
GLB_NAME: Final = "model.glb"
MODEL_SCHEMA: Final = "evenfall-model-1"
#: Key of everything in the extras that is written for programs.
EXTRAS_KEY: Final = "evenfall"


@dataclass(frozen=True, slots=True)
class DrawnFrom:
    """The plan that a model shows: names of the site and of the candidate, corners (n, 2) of the lot."""

    site: str
    candidate: str
    lot_m: Points


def write_plan_glb(plan_path: Path, site_path: Path, folder: Path) -> Path:
    """Write the best candidate of a saved plan as ``model.glb`` into ``folder``; returns the file.

    Raises DrawingError when the plan has no candidate, InputError or OutputError for the files.
    """
    plan = read_plan(plan_path)
    if not plan.candidates:
        raise DrawingError(f"{plan_path}: the plan has no candidate to model.")
    path = folder / GLB_NAME
    write_glb(read_site(site_path), plan.candidates[0], path)
    return path


def write_glb(site: Site, candidate: Candidate, path: Path) -> None:
    """Write everything there is and everything proposed, one node a part."""
    drawn_from = DrawnFrom(site.name, candidate.name, site.yard.lot_m)
    write_whole_bytes(path, build_glb(draw_scene(site, candidate), drawn_from))


def build_glb(meshes: tuple[NamedMesh, ...], drawn_from: DrawnFrom | None = None) -> bytes:
    """The file as bytes.  Mesh names must be unique, as those of one plan are.

    ``drawn_from``: left out for meshes that are not one plan's; such a file cannot be audited.
    """
    scene = trimesh.Scene()
    scene.units = "meters"
    if drawn_from is not None:
        scene.metadata[EXTRAS_KEY] = {
            "schema": MODEL_SCHEMA,
            "site": drawn_from.site,
            "candidate": drawn_from.candidate,
            "units": "m",
            "up": "y",
            "parts": len(meshes),
            "lot_m": drawn_from.lot_m.tolist(),
        }
    materials = {group: _build_material(group) for group in dict.fromkeys(mesh.group for mesh in meshes)}
    for mesh in meshes:
        corners = mesh.vertices[_put_walking_first(mesh)].reshape(-1, 3)
        surface = trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3), process=False)
        surface.visual = trimesh.visual.TextureVisuals(  # type: ignore[no-untyped-call]
            material=materials[mesh.group]
        )
        surface.metadata = {"name": mesh.name, "group": mesh.group, **dict(mesh.facts)}
        surface.metadata[EXTRAS_KEY] = _tell_mark(mesh.mark or Mark("picture", mesh.name))
        # Turned here, not by a matrix on the node: some readers ignore the nodes.
        surface.apply_transform(Z_UP_TO_Y_UP)
        scene.add_geometry(surface, node_name=mesh.name, geom_name=mesh.name)
    content: bytes = scene.export(file_type="glb", include_normals=True)  # type: ignore[no-untyped-call]
    return bytes(content)


def _put_walking_first(mesh: NamedMesh) -> Faces:
    if mesh.mark is None or mesh.mark.boards == 0:
        return mesh.faces
    walked = np.zeros(len(mesh.faces), dtype=bool)
    walked[list_walking_faces(mesh.mark)] = True
    return np.concatenate([mesh.faces[walked], mesh.faces[~walked]])


def _tell_mark(mark: Mark) -> dict[str, object]:
    """A mark as JSON knows it, without what its role does not have."""
    told: dict[str, object] = {
        "role": mark.role,
        "id": mark.id,
        "kind": mark.kind,
        "catalogue_id": mark.part,
        "piece": mark.piece,
        "walking": 2 * mark.boards,
    }
    return {key: value for key, value in told.items() if value}


def _build_material(group: MeshGroup) -> PBRMaterial:
    finish = FINISHES[group]
    return PBRMaterial(  # type: ignore[no-untyped-call]
        name=group,
        baseColorFactor=[*measure_linear(finish.colour), 1.0],
        metallicFactor=0.0,
        roughnessFactor=1.0 - 0.5 * finish.shine,
        doubleSided=group
        in ("contour", "contour_index", "zone", "lot", "arrival", "walking_line", "house_cut"),
    )
