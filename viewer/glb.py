"""A plan's candidate as one GLB file (glTF 2.0, binary).

Metres in, metres out; glTF has y up, so the scene is turned by -90 degrees about x.  Node
names are part names, the facts of a part are the ``extras`` of its mesh.  Colours are
linear, as glTF asks; every face has its own corners, which gives flat shading.  No clock,
host or path goes into the file: the same plan gives the same bytes.
"""

from __future__ import annotations

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
from viewer.look import FINISHES, measure_linear
from viewer.meshes import draw_scene
from viewer.solids import MeshGroup, NamedMesh
from viewer.whole_file import write_whole_bytes

#: From z up to y up: -90 degrees about x, exactly.
Z_UP_TO_Y_UP: Final = np.array(
    [[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [0.0, -1.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0]]
)
GLB_NAME: Final = "model.glb"


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
    write_whole_bytes(path, build_glb(draw_scene(site, candidate)))


def build_glb(meshes: tuple[NamedMesh, ...]) -> bytes:
    """The file as bytes.  Mesh names must be unique, as those of one plan are."""
    scene = trimesh.Scene()
    scene.units = "meters"
    materials = {group: _build_material(group) for group in dict.fromkeys(mesh.group for mesh in meshes)}
    for mesh in meshes:
        corners = mesh.vertices[mesh.faces].reshape(-1, 3)
        surface = trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3), process=False)
        surface.visual = trimesh.visual.TextureVisuals(  # type: ignore[no-untyped-call]
            material=materials[mesh.group]
        )
        surface.metadata = {"name": mesh.name, "group": mesh.group, **dict(mesh.facts)}
        # Turned here, not by a matrix on the node: some readers ignore the nodes.
        surface.apply_transform(Z_UP_TO_Y_UP)
        scene.add_geometry(surface, node_name=mesh.name, geom_name=mesh.name)
    content: bytes = scene.export(file_type="glb", include_normals=True)  # type: ignore[no-untyped-call]
    return bytes(content)


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
