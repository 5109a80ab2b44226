"""A picture of the ground alone: contours, surveyed points, thin places, house, things in the way.

Drawn in a process of its own, ``python -m viewer.relief_still SITE FILE``: without OpenGL the first drawing
kills Python.
"""

from __future__ import annotations

import io
import sys
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.read_site import read_surveyed_site
from optimizer.brief.site import Site
from optimizer.brief.thin_places import list_thin_places
from optimizer.errors import EvenfallError
from viewer.cameras import Camera, Frame, Subject, fit_distance, project_points
from viewer.control_marks import ControlMark, build_stakes, list_control_marks
from viewer.drawn_apart import REPORTED, draw_apart
from viewer.facts import Words
from viewer.house_meshes import draw_house
from viewer.meshes import choose_contours
from viewer.relief import LIFT_M, build_contours, build_relief
from viewer.render import Canvas, Scene
from viewer.sheet import Heading, Remark, build_sheet, measure_drawing
from viewer.solids import UP, NamedMesh, Solid, build_joined, build_named_mesh, build_tube
from viewer.stills import STILL_SIZE, STILLS_TIMEOUT_S
from viewer.whole_file import write_whole_bytes
from viewer.yard_meshes import draw_obstacles, draw_zones

#: The surveyor stands well above the yard and looks back at the door.
_DOWN: Final = 1.05
_FRAME: Final = Frame(0.06, 0.94, 0.06, 0.94)
#: Levelled points are pegs, points of a scan are smaller ones.
_PEG_M: Final = (0.11, 0.07)
_SCAN_PEG_M: Final = (0.05, 0.02)
_THIN_RING_M: Final = 0.34
_THIN_SHOWN: Final = 12
#: So many thin places and levelled points are named.
_SAID: Final = 2
_LEVELS_SAID: Final = 7


def write_relief(site_path: Path, path: Path) -> Path:
    """Draw the ground of a site into ``path`` (PNG); raises DrawingError, which says what would mend it."""
    draw_apart("viewer.relief_still", (str(site_path), str(path)), STILLS_TIMEOUT_S, "The picture was")
    return path


def list_relief_meshes(site: Site, marks: tuple[ControlMark, ...]) -> tuple[NamedMesh, ...]:
    """Everything in the picture, metres, site frame, z up; no OpenGL is needed for it."""
    words = Words(site, site.yard.starts[0].threshold_m)
    relief = build_relief(site.ground)
    plain, strong = build_contours(site.ground, choose_contours(words))
    meshes = [
        build_named_mesh("ground", "ground", relief.surface, ()),
        build_named_mesh("ground steps", "step", relief.steps, ()),
        build_named_mesh("ground sides", "earth", relief.sides, ()),
        build_named_mesh("contour lines", "contour", plain, ()),
        build_named_mesh("index contour lines", "contour_index", strong, ()),
        *draw_house(words, site.yard, relief.base_m),
        *draw_obstacles(words, site.yard, site.ground, relief.base_m),
        *draw_zones(words, site.yard, site.ground),
        build_named_mesh("levelled points", "foot", _build_pegs(site), ()),
        build_named_mesh("control points", "foot", build_stakes(marks), ()),
        build_named_mesh("thin places", "plate", _build_thin_rings(site), ()),
    ]
    return tuple(mesh for mesh in meshes if len(mesh.faces))


def is_of_scan(site: Site) -> NDArray[np.bool_]:
    """Which of the ground's points (n,) come from a scan."""
    return np.array([name.startswith("scan ") for name in site.ground.point_names], dtype=np.bool_)


def _build_pegs(site: Site) -> Solid:
    pegs = []
    for point, is_scan in zip(site.ground.points_m, is_of_scan(site), strict=True):
        wide, high = _SCAN_PEG_M if is_scan else _PEG_M
        pegs.append(build_tube(point - 0.02 * UP, point + high * UP, wide, 8))
    return build_joined(pegs)


def _build_thin_rings(site: Site) -> Solid:
    rings = []
    turns = np.linspace(0.0, 2.0 * np.pi, 25)
    for place in list_thin_places(site)[:_THIN_SHOWN]:
        around = place + np.column_stack(
            (_THIN_RING_M * np.cos(turns), _THIN_RING_M * np.sin(turns), np.full(len(turns), 4.0 * LIFT_M))
        )
        rings += [build_tube(start, end, 0.05, 6) for start, end in pairwise(around)]
    return build_joined(rings)


def draw_relief(site: Site, marks: tuple[ControlMark, ...]) -> bytes:
    """The picture as PNG; kills Python where OpenGL is missing."""
    meshes = list_relief_meshes(site, marks)
    start = site.yard.starts[0]
    door = np.array([*start.midpoint_m, start.threshold_m])
    points = np.concatenate([mesh.vertices for mesh in meshes if mesh.group in ("ground", "door")])
    canvas = Canvas(measure_drawing(STILL_SIZE))
    along = np.array([start.outward[1], -start.outward[0]])
    ahead = np.array([*(-start.outward + 0.35 * along), -_DOWN])
    camera = fit_distance(points, ahead, 28.0, canvas.size[0] / canvas.size[1], _FRAME)
    scene = Scene(meshes, Subject(points, start.outward, door, points[0]), np.zeros((0, 3)), np.zeros(0))
    try:
        drawing = canvas.draw(scene, camera, None)
    finally:
        canvas.close()
    busy = np.zeros((canvas.size[1], canvas.size[0]), dtype=np.bool_)
    remarks = list_relief_remarks(site, marks, camera, canvas.size)
    sheet = build_sheet(drawing.picture, build_heading(site), remarks, busy, build_foot(site, marks))
    content = io.BytesIO()
    sheet.save(content, format="PNG", compress_level=4)
    return content.getvalue()


def list_relief_remarks(
    site: Site, marks: tuple[ControlMark, ...], camera: Camera, size: tuple[int, int]
) -> tuple[Remark, ...]:
    """The doors, the thinnest ground, and some levelled points with their levels."""
    words = Words(site, site.yard.starts[0].threshold_m)
    spots: list[tuple[tuple[str, ...], NDArray[np.float64]]]
    spots = [((start.name,), np.array([*start.midpoint_m, start.threshold_m])) for start in site.yard.starts]
    spots += [(("thin ground", "level here first"), place) for place in list_thin_places(site)[:_SAID]]
    spots += [(one.lines, one.at_m) for one in marks]
    levelled = np.flatnonzero(~is_of_scan(site))
    for i in levelled[:: max(1, -(-len(levelled) // _LEVELS_SAID))]:
        place = site.ground.points_m[i]
        spots.append(((site.ground.point_names[i], words.level(float(place[2]))), place))
    remarks = []
    for lines, place in spots:
        x, y = project_points(place[None], camera, size)[0]
        if 0.0 <= x < size[0] and 0.0 <= y < size[1]:
            remarks.append(Remark(lines, (float(x), float(y))))
    return tuple(remarks)


def build_heading(site: Site) -> Heading:
    """Site, how many points of which kind, how good."""
    words = Words(site, site.yard.starts[0].threshold_m)
    scan = int(is_of_scan(site).sum())
    error_m = site.ground.leave_one_out_m
    figures = [("levelled points", str(len(site.ground.points_m) - scan))]
    if scan:
        figures.append(("points of the scan", str(scan)))
    figures.append(("rough error", "not known" if error_m is None else words.length(error_m)))
    return Heading(site.name, "The ground as surveyed", tuple(figures), site.heights.warning)


def build_foot(site: Site, marks: tuple[ControlMark, ...]) -> str:
    """How to read the picture."""
    words = Words(site, site.yard.starts[0].threshold_m)
    steps = choose_contours(words)
    every, strong = words.length(steps.step_m), words.length(steps.step_m * steps.index_every)
    stakes = "Stakes: control points.  " if marks else ""
    return (
        f"Contour lines every {every}, stronger every {strong}, counted from the sill.  Pegs: levelled "
        f"points, small ones: of a scan.  {stakes}Rings: thin ground, levels far apart."
    )


def main(arguments: list[str]) -> int:
    """Child process: draw one picture."""
    site_path, path = (Path(argument) for argument in arguments)
    try:
        read = read_surveyed_site(site_path)
        write_whole_bytes(path, draw_relief(read.site, list_control_marks(read)))
    except EvenfallError as error:
        sys.stderr.write(f"{error}\n")
        return REPORTED
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
