"""Puts named meshes, light and a camera into a pyvista scene (off-screen or in a window)."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import pyvista as pv

from viewer.cameras import Camera, Light
from viewer.look import BACKGROUND_BOTTOM, BACKGROUND_TOP, FINISHES, INK, mix_colours
from viewer.solids import MeshGroup, NamedMesh, Solid, build_joined

#: Edges where two faces meet at more than this are inked.
_INK_ANGLE_DEG = 35.0


def build_surface(solid: Solid) -> pv.PolyData:
    """Triangles as a pyvista surface."""
    count = np.full((len(solid.faces), 1), 3, dtype=np.int64)
    return pv.PolyData(np.array(solid.vertices), np.hstack([count, solid.faces]).ravel())


def list_groups(meshes: tuple[NamedMesh, ...]) -> tuple[tuple[MeshGroup, tuple[NamedMesh, ...]], ...]:
    """Meshes by group, in the order in which the groups first appear."""
    groups: defaultdict[MeshGroup, list[NamedMesh]] = defaultdict(list)
    for mesh in meshes:
        groups[mesh.group].append(mesh)
    return tuple((group, tuple(members)) for group, members in groups.items())


def join_group(members: tuple[NamedMesh, ...]) -> Solid:
    """All meshes of one group in one."""
    return build_joined([Solid(mesh.vertices, mesh.faces) for mesh in members])


#: Groups drawn in their plain colour, whatever the light.
_FLAT: frozenset[MeshGroup] = frozenset(
    ("contour", "contour_index", "walking_line", "zone", "lot", "arrival", "shadow", "figure")
)
#: Rails have many thin bars: a strong line on each would turn them into a dark mesh.
_RAIL_INK = 0.36
#: Groups made of loose panels: only where two panels meet at an angle is there an edge to ink.
_PANELLED: frozenset[MeshGroup] = frozenset(("house", "step"))


def add_group(
    plotter: pv.Plotter, group: MeshGroup, members: tuple[NamedMesh, ...], ink_px: float
) -> list[pv.Actor]:
    """One actor for a group, and one for its inked edges.

    The surface carries the number of each triangle's mesh as the cell array ``part``.
    """
    finish = FINISHES[group]
    surface = build_surface(join_group(members))
    surface.cell_data["part"] = np.repeat(np.arange(len(members)), [len(mesh.faces) for mesh in members])
    is_flat = group in _FLAT
    if group in _PANELLED:
        surface = surface.clean()
    actors = [
        plotter.add_mesh(
            surface,
            color=finish.colour,
            ambient=1.0 if is_flat else 0.45,
            diffuse=0.0 if is_flat else 0.62,
            specular=0.5 * finish.shine,
            specular_power=22.0,
            show_scalar_bar=False,
            reset_camera=False,
            render=False,
            name=f"{group}-surface",
            pickable=not is_flat,
        )
    ]
    if finish.has_ink:
        edges = surface.extract_feature_edges(
            _INK_ANGLE_DEG,
            boundary_edges=group not in _PANELLED,
            non_manifold_edges=False,
            manifold_edges=False,
        )
        if edges.n_points:
            actors.append(
                plotter.add_mesh(
                    edges,
                    color=mix_colours(finish.colour, INK, _RAIL_INK if group == "rail" else 0.6),
                    line_width=ink_px,
                    lighting=False,
                    reset_camera=False,
                    render=False,
                    name=f"{group}-ink",
                    pickable=False,
                )
            )
    return actors


def set_light(plotter: pv.Plotter, light: Light) -> None:
    """A warm key light, a cool fill from the other side, a soft one from the eye."""
    plotter.remove_all_lights()
    for way, colour, strength in ((light.key, "#fff8ee", 0.84), (light.fill, "#e9f0fa", 0.34)):
        lamp = pv.Light(
            position=tuple(-30.0 * way), focal_point=(0.0, 0.0, 0.0), color=colour, intensity=strength
        )
        lamp.positional = False
        plotter.add_light(lamp)
    plotter.add_light(pv.Light(light_type="headlight", intensity=0.22))


def set_background(plotter: pv.Plotter) -> None:
    """A pale sky over warm paper."""
    plotter.set_background(BACKGROUND_BOTTOM, top=BACKGROUND_TOP)  # type: ignore[arg-type]


def set_camera(plotter: pv.Plotter, camera: Camera) -> None:
    """Look through ``camera``, z up."""
    plotter.camera.position = tuple(camera.eye_m)
    plotter.camera.focal_point = tuple(camera.target_m)
    plotter.camera.up = (0.0, 0.0, 1.0)
    plotter.camera.view_angle = camera.opening_deg
    plotter.reset_camera_clipping_range()
