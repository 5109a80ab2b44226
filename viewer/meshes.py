"""A plan as named meshes: pure functions, no window, no OpenGL."""

from __future__ import annotations

import numpy as np

from optimizer.brief.site import Site
from optimizer.plan import Candidate
from viewer.deck_meshes import draw_pieces
from viewer.facts import Words, build_words
from viewer.house_meshes import draw_house
from viewer.marks import Mark
from viewer.rail_meshes import draw_rails
from viewer.relief import ContourSteps, build_contours, build_relief
from viewer.solids import NamedMesh, Vertices, build_named_mesh
from viewer.support_meshes import draw_supports
from viewer.walking_line import draw_walking_line
from viewer.yard_meshes import draw_obstacles, draw_zones

__all__ = ["NamedMesh", "draw_ramp", "draw_scene", "draw_yard"]


def draw_scene(site: Site, candidate: Candidate) -> tuple[NamedMesh, ...]:
    """Everything there is and everything proposed, in metres, site frame, z up."""
    return (*draw_yard(site, candidate), *draw_ramp(site, candidate))


def draw_yard(site: Site, candidate: Candidate) -> tuple[NamedMesh, ...]:
    """Ground, contours, house, obstacles and zones, with the ground cut out under the candidate's pad.

    Contour heights are counted from the sill of the candidate's start.
    """
    words = build_words(site, candidate)
    pads = tuple(np.array(piece.corners_m) for piece in candidate.pieces if piece.kind == "bottom_pad")
    relief = build_relief(site.ground, pads)
    rough_m = site.ground.leave_one_out_m
    facts = (
        ("points", str(len(site.ground.points_m))),
        ("left-one-out error", "not known" if rough_m is None else f"{words.length(rough_m)}, rough"),
    )
    meshes = [
        build_named_mesh("ground", "ground", relief.surface, facts, Mark("ground", "ground")),
        build_named_mesh("ground steps", "step", relief.steps, ()),
        build_named_mesh("ground sides", "earth", relief.sides, ()),
        *_draw_contours(words, pads),
    ]
    meshes += draw_house(words, site.yard, relief.base_m)
    meshes += draw_obstacles(words, site.yard, site.ground, relief.base_m)
    meshes += draw_zones(words, site.yard, site.ground)
    return tuple(mesh for mesh in meshes if len(mesh.faces))


def draw_ramp(site: Site, candidate: Candidate) -> tuple[NamedMesh, ...]:
    """Pieces, supports, rails and the walking line of one candidate."""
    words = build_words(site, candidate)
    meshes = (
        *draw_pieces(words, candidate.pieces),
        *draw_supports(words, candidate),
        *draw_rails(words, candidate),
        draw_walking_line(words, candidate),
    )
    return tuple(mesh for mesh in meshes if len(mesh.faces))


def choose_contours(words: Words) -> ContourSteps:
    """0.1 m and 0.5 m for metric readers, 4 in and 1 ft for the others, from the sill down."""
    if words.site.display.system in ("ft-in", "in"):
        return ContourSteps(words.zero_m, 4 * 0.0254, 3)
    return ContourSteps(words.zero_m, 0.1, 5)


def _draw_contours(words: Words, pads: tuple[Vertices, ...]) -> list[NamedMesh]:
    steps = choose_contours(words)
    plain, index = build_contours(words.site.ground, steps, pads)
    every = words.length(steps.step_m)
    strong = words.length(steps.step_m * steps.index_every)
    return [
        build_named_mesh(
            "contour lines", "contour", plain, (("one every", f"{every}, counted from the sill"),)
        ),
        build_named_mesh("index contour lines", "contour_index", index, (("one every", strong),)),
    ]
