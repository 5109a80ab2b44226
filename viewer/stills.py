"""Stills of a plan: an overview and a view from the street for every candidate.

Without OpenGL the first drawing kills Python, so ``write_stills`` draws all pictures of a
plan in one child process, ``python -m viewer.stills PLAN SITE FOLDER``.
"""

from __future__ import annotations

import io
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.errors import DrawingError, EvenfallError
from optimizer.plan import Candidate, Plan
from optimizer.plan_file import read_plan
from optimizer.units import Slope, format_money
from viewer.facts import Words, build_words, describe_shape, find_start
from viewer.figure import FIGURE_HEIGHT_M, build_figure, list_figure_places
from viewer.house_meshes import CUT_ABOVE_SILL_M, DOOR_HEIGHT_M
from viewer.look import (
    Camera,
    Frame,
    Subject,
    choose_clearest,
    choose_light,
    list_overviews,
    list_ramp_points,
    list_street_spots,
    list_street_views,
    project_points,
)
from viewer.meshes import choose_contours, draw_scene
from viewer.probe import build_drawing_environment, describe_end, find_drawing_fault
from viewer.shadows import draw_shadows
from viewer.sheet import Heading, Remark, build_sheet, measure_drawing
from viewer.solids import NamedMesh
from viewer.support_meshes import find_tallest
from viewer.whole_file import write_whole_bytes

View = Literal["overview", "street"]
VIEWS: Final[tuple[View, ...]] = ("overview", "street")
STILL_SIZE: Final = (1600, 1000)
STILLS_TIMEOUT_S: Final = 300.0
#: Drawn this many times as large and scaled down: smooth edges on every driver.
_OVERSAMPLE: Final = 2
_INK_PX: Final = 1.1 * _OVERSAMPLE
#: A point this little behind what is drawn there still counts as seen: a tube's own thickness.
SIGHT_SLACK_M: Final = 0.09
#: Part of the drawing that ramp and doors fill; the rest is for labels and surroundings.
_FRAMES: Final[dict[View, Frame]] = {
    "overview": Frame(0.13, 0.87, 0.11, 0.90),
    "street": Frame(0.11, 0.89, 0.15, 0.84),
}


@dataclass(frozen=True, slots=True)
class Scene:
    """Meshes of one candidate, where to look at them from, and where the figure may stand (n, 3)."""

    meshes: tuple[NamedMesh, ...]
    subject: Subject
    figure_places_m: NDArray[np.float64]
    street_ground_m: NDArray[np.float64]


def write_stills(plan_path: Path, site_path: Path, folder: Path) -> tuple[Path, ...]:
    """Draw every candidate of a saved plan into ``folder``; returns the files, best candidate first.

    Raises DrawingError, which says what would mend it, when this machine cannot draw.
    """
    command = (sys.executable, "-m", "viewer.stills", str(plan_path), str(site_path), str(folder))
    try:
        ended = subprocess.run(  # noqa: S603 - our own interpreter and module
            command,
            capture_output=True,
            text=True,
            check=False,
            timeout=STILLS_TIMEOUT_S,
            env=build_drawing_environment(),
        )
    except subprocess.TimeoutExpired as error:
        raise DrawingError(f"The pictures were not finished within {STILLS_TIMEOUT_S:g} s.") from error
    if ended.returncode == _REPORTED:
        raise DrawingError(ended.stderr.strip())
    if ended.returncode != 0:
        raise DrawingError(describe_end(ended.returncode, ended.stderr))
    return tuple(Path(line) for line in ended.stdout.splitlines() if line)


def write_still(
    plan: Plan,
    candidate: Candidate,
    site: Site,
    path: Path,
    size: tuple[int, int] = STILL_SIZE,
    view: View = "overview",
) -> None:
    """Draw one candidate in this process, after a trial picture in another one.

    Raises DrawingError when the trial failed, OutputError when ``path`` cannot be written.
    """
    fault = find_drawing_fault()
    if fault is not None:
        raise DrawingError(fault)
    _write_picture(draw_still(plan, candidate, site, build_scene(site, candidate), size, view), path)


def name_still(number: int, candidate: Candidate, view: View) -> str:
    """``1-candidate-1-overview.png``: number from 1, name in plain letters, view."""
    plain = re.sub(r"[^a-z0-9]+", "-", candidate.name.lower()).strip("-") or "candidate"
    return f"{number}-{plain}-{view}.png"


def build_scene(site: Site, candidate: Candidate) -> Scene:
    """Meshes with the ramp's shadow, and the subject of the cameras."""
    start = find_start(site, candidate)
    meshes = draw_scene(site, candidate)
    door = np.array([*start.midpoint_m, start.threshold_m])
    along = np.array([start.outward[1], -start.outward[0], 0.0])
    # The house is to be seen up to where it is cut, on both sides of the door.
    lintel = door + np.array([0.0, 0.0, CUT_ABOVE_SILL_M])
    points = np.concatenate([list_ramp_points(meshes), [lintel - 1.2 * along, lintel + 1.2 * along]])
    subject = Subject(points, start.outward, door, np.array(candidate.toe.tip_m))
    shadow = draw_shadows(site, candidate, choose_light(subject).key)
    ground_m = site.ground.elevation(list_street_spots(subject))
    # Off the survey the person stands at the height of the ramp's foot.
    street_m = np.where(np.isfinite(ground_m), ground_m, candidate.toe.ground_elevation_m)
    shown = (*meshes, shadow) if len(shadow.faces) else meshes
    return Scene(shown, subject, list_figure_places(site, candidate), street_m)


def draw_still(
    plan: Plan, candidate: Candidate, site: Site, scene: Scene, size: tuple[int, int], view: View
) -> Image.Image:
    """The finished picture of one view.  Kills Python where OpenGL is missing: ask the probe first."""
    drawing_size = measure_drawing(size)
    camera = choose_camera(scene, view, drawing_size)
    busy = mark_busy(site, candidate, scene, camera, drawing_size)
    figure_at = choose_figure_place(scene, camera, busy)
    drawing = render_scene(scene, camera, drawing_size, figure_at)
    if figure_at is not None:
        busy = busy | _mark([_build_upright(figure_at)], camera, drawing_size)
    words = build_words(site, candidate)
    remarks = list_remarks(words, candidate, camera, drawing)
    foot = build_foot(words, figure_at)
    return build_sheet(drawing.picture, build_heading(plan, candidate, words), remarks, busy, foot)


def choose_camera(scene: Scene, view: View, size: tuple[int, int]) -> Camera:
    """The camera of one view for a drawing of ``size`` pixels: the first that is not much hidden."""
    aspect = size[0] / size[1]
    if view == "overview":
        cameras = list_overviews(scene.subject, aspect, _FRAMES[view])
    else:
        cameras = list_street_views(scene.subject, scene.street_ground_m, aspect, _FRAMES[view])
    walls = [m.vertices[m.faces] for m in scene.meshes if m.group in ("house", "obstacle", "ground", "step")]
    decks = [m.vertices[m.faces[:, 0]] for m in scene.meshes if m.group in ("deck", "landing", "plate")]
    seen = np.concatenate(decks)
    return choose_clearest(cameras, seen[:: max(1, len(seen) // 40)], np.concatenate(walls))


@dataclass(frozen=True, slots=True)
class Drawing:
    """A rendered view: the picture, and how far from the eye each pixel is (h, w), metres along the view."""

    picture: Image.Image
    depth_m: NDArray[np.float64]

    def shows(self, point_m: NDArray[np.float64], camera: Camera) -> bool:
        """Is a point (3,) inside the picture and not hidden behind something."""
        size = self.picture.size
        x, y = project_points(point_m[None], camera, size)[0]
        if not (0.0 <= x < size[0] and 0.0 <= y < size[1]):
            return False
        ahead = camera.target_m - camera.eye_m
        away = float((point_m - camera.eye_m) @ ahead / np.linalg.norm(ahead))
        around = self.depth_m[max(int(y) - 2, 0) : int(y) + 3, max(int(x) - 2, 0) : int(x) + 3]
        return bool(around.size and np.median(around) > away - SIGHT_SLACK_M)


def render_scene(
    scene: Scene, camera: Camera, size: tuple[int, int], figure_at: NDArray[np.float64] | None
) -> Drawing:
    """The drawing alone, without words; the figure at ``figure_at`` (3,) faces the eye."""
    # Imported here: everything else in this module works, and is tested, without OpenGL.
    import pyvista as pv

    from viewer.stage import add_group, list_groups, set_background, set_camera, set_light

    large = (size[0] * _OVERSAMPLE, size[1] * _OVERSAMPLE)
    plotter = pv.Plotter(off_screen=True, window_size=large, lighting="none")
    plotter.render_window.SetMultiSamples(0)
    try:
        meshes = scene.meshes
        if figure_at is not None:
            meshes = (*meshes, build_figure(figure_at, (camera.eye_m - figure_at)[:2]))
        for group, members in list_groups(meshes):
            add_group(plotter, group, members, _INK_PX)
        set_background(plotter)
        set_light(plotter, choose_light(scene.subject))
        set_camera(plotter, camera)
        plotter.render()
        picture = plotter.screenshot(None, return_img=True)
        depth = -np.asarray(plotter.get_image_depth(fill_value=-np.inf), dtype=np.float64)
    finally:
        plotter.close()
    return Drawing(Image.fromarray(picture).reduce(_OVERSAMPLE), depth[::_OVERSAMPLE, ::_OVERSAMPLE])


@dataclass(frozen=True, slots=True)
class _Spot:
    """Words, and the points (n, 3) they may be tied to, the best first; ``may_hide``: said even when hidden."""

    lines: tuple[str, ...]
    points_m: NDArray[np.float64]
    may_hide: bool


def list_remarks(
    words: Words, candidate: Candidate, camera: Camera, drawing: Drawing
) -> tuple[Remark, ...]:
    """Door, tip, each landing and the tallest leg, tied to a point of theirs that is seen.

    Landings and legs that are wholly hidden are left out.
    """
    remarks = []
    for spot in _list_spots(words, candidate):
        seen = [point for point in spot.points_m if drawing.shows(point, camera)]
        if not seen and not spot.may_hide:
            continue
        point = seen[0] if seen else spot.points_m[0]
        x, y = project_points(point[None], camera, drawing.picture.size)[0]
        if 0.0 <= x < drawing.picture.width and 0.0 <= y < drawing.picture.height:
            remarks.append(Remark(spot.lines, (float(x), float(y))))
    return tuple(remarks)


def _list_spots(words: Words, candidate: Candidate) -> list[_Spot]:
    start = find_start(words.site, candidate)
    sill = np.array([*start.midpoint_m, start.threshold_m])
    heights = (0.0,) if start.kind == "edge" else (DOOR_HEIGHT_M / 2.0, 1.5, 1.8, 0.4)
    spots = [_Spot((start.name,), np.array([sill + [0.0, 0.0, up] for up in heights]), may_hide=True)]
    tip = np.array(candidate.toe.tip_m)
    side = np.array(candidate.toe.bottom_space_m)[1] - np.array(candidate.toe.bottom_space_m)[0]
    side *= 0.3 / np.linalg.norm(side)
    tips = np.array([tip, tip - side, tip + side])
    spots.append(_Spot(("tip of the ramp", words.level(float(tip[2]))), tips, may_hide=True))
    for piece in candidate.pieces:
        if piece.kind == "landing":
            corners = np.array(piece.corners_m)
            middle = corners.mean(axis=0)
            points = np.concatenate([[middle], middle + 0.6 * (corners - middle), middle + 0.99 * (corners - middle)])
            lines = (f"landing {piece.id}", words.level(float(middle[2])))
            spots.append(_Spot(lines, points, may_hide=False))
    tallest = find_tallest(candidate.legs)
    if tallest is not None:
        base = np.array([tallest.x_m, tallest.y_m, tallest.frame_elevation_m - tallest.height_m])
        points = np.array([base + [0.0, 0.0, share * tallest.height_m] for share in (0.5, 0.3, 0.7, 0.15, 0.9)])
        lines = (f"tallest leg, {tallest.id}", words.length(tallest.height_m))
        spots.append(_Spot(lines, points, may_hide=False))
    return spots


def mark_busy(
    site: Site, candidate: Candidate, scene: Scene, camera: Camera, size: tuple[int, int]
) -> NDArray[np.bool_]:
    """Pixels (h, w) where decks, rails, legs, doors and obstacles lie."""
    rings: list[NDArray[np.float64]] = []
    for piece in candidate.pieces:
        rings += _list_box(np.array(piece.corners_m), 0.12)
    for rail in candidate.rails:
        first, second = (np.array(end) for end in rail.line_m)
        high = np.array([0.0, 0.0, rail.height_m])
        rings.append(np.array([first, second, second + high, first + high]))
    for leg in candidate.legs:
        rings.append(_build_upright(np.array([leg.x_m, leg.y_m, leg.frame_elevation_m - leg.height_m]), leg.height_m))
    for start in site.yard.starts:
        along = np.array([start.outward[1], -start.outward[0], 0.0]) * (start.clear_width_m / 2.0 + 0.08)
        sill, head = (np.array([*start.midpoint_m, start.threshold_m + up]) for up in (0.0, DOOR_HEIGHT_M + 0.1))
        rings.append(np.array([sill - along, sill + along, head + along, head - along]))
    for mesh in scene.meshes:
        if mesh.group == "obstacle":
            rings += list(mesh.vertices[mesh.faces])
    return _mark(rings, camera, size)


def choose_figure_place(
    scene: Scene, camera: Camera, busy: NDArray[np.bool_]
) -> NDArray[np.float64] | None:
    """The place (3,) nearest to the tip where the figure stands free in this view, or ``None``."""
    size = (busy.shape[1], busy.shape[0])
    best: tuple[float, NDArray[np.float64]] | None = None
    for order, place in enumerate(scene.figure_places_m):
        upright = _build_upright(place)
        x, y = project_points(upright, camera, size).T
        tall = float(y.max() - y.min())
        if x.min() < 15 or x.max() > size[0] - 15 or y.min() < 15 or y.max() > size[1] - 15:
            continue
        covered = int((busy & _mark([upright], camera, size)).sum())
        # Rather a little further off than in front of the ramp or as a giant in the foreground.
        cost = order + 0.05 * covered + max(0.0, tall - 0.22 * size[1])
        if best is None or cost < best[0]:
            best = (cost, place)
    return None if best is None else best[1]


def _mark(rings: list[NDArray[np.float64]], camera: Camera, size: tuple[int, int]) -> NDArray[np.bool_]:
    image = Image.new("1", size, 0)
    pen = ImageDraw.Draw(image)
    for ring in rings:
        pen.polygon([(float(x), float(y)) for x, y in project_points(ring, camera, size)], fill=1)
    return np.array(image, dtype=bool)


def _build_upright(base: NDArray[np.float64], height_m: float = FIGURE_HEIGHT_M) -> NDArray[np.float64]:
    """Corners (8, 3) around something slender, as two crossing upright faces."""
    half = 0.28 if height_m == FIGURE_HEIGHT_M else 0.08
    x, y, z = base
    foot, head = z, z + height_m
    return np.array(
        [
            [x - half, y, foot],
            [x + half, y, foot],
            [x + half, y, head],
            [x - half, y, head],
            [x, y - half, foot],
            [x, y + half, foot],
            [x, y + half, head],
            [x, y - half, head],
        ]
    )


def _list_box(top: NDArray[np.float64], depth_m: float) -> list[NDArray[np.float64]]:
    deep = np.array([0.0, 0.0, depth_m])
    after = np.roll(top, -1, axis=0)
    return [top, *(np.array([a, b, b - deep, a - deep]) for a, b in zip(top, after, strict=True))]


def build_heading(plan: Plan, candidate: Candidate, words: Words) -> Heading:
    """Site, layout and the five figures a client asks for."""
    failed = sum(finding.verdict == "fails" for finding in candidate.findings)
    figures = (
        ("price", format_money(candidate.price_cents, plan.currency)),
        ("rise at the tip", words.length(candidate.rise_m)),
        ("steepest slope", str(Slope.from_ratio(candidate.steepest_slope))),
        ("walking length", words.length(candidate.walking_length_m)),
    )
    checks = "check fails" if failed == 1 else "checks fail"
    return Heading(
        words.site.name,
        f"{candidate.name}: {describe_shape(candidate)}",
        figures,
        f"{failed} {checks}" if failed else "",
    )


def build_foot(words: Words, figure_at: NDArray[np.float64] | None) -> str:
    """How to read the picture, and what it is not."""
    steps = choose_contours(words)
    every, strong = words.length(steps.step_m), words.length(steps.step_m * steps.index_every)
    figure = "" if figure_at is None else f"  The figure is {FIGURE_HEIGHT_M:.2f} m tall."
    return (
        f"Contour lines every {every}, stronger every {strong}, counted from the sill.{figure}"
        "  Not a working drawing; what is allowed, the authority having jurisdiction decides."
    )


def _write_picture(picture: Image.Image, path: Path) -> None:
    content = io.BytesIO()
    picture.save(content, format="PNG", compress_level=6)
    write_whole_bytes(path, content.getvalue())


#: Exit code of the child when it has said in a sentence what is wrong.
_REPORTED: Final = 7


def main(arguments: list[str]) -> int:
    """Child process: draw all pictures, print one path a line."""
    plan_path, site_path, folder = (Path(argument) for argument in arguments)
    try:
        plan, site = read_plan(plan_path), read_site(site_path)
        for number, candidate in enumerate(plan.candidates, start=1):
            scene = build_scene(site, candidate)
            for view in VIEWS:
                path = folder / name_still(number, candidate, view)
                _write_picture(draw_still(plan, candidate, site, scene, STILL_SIZE, view), path)
                sys.stdout.write(f"{path}\n")
    except EvenfallError as error:
        sys.stderr.write(f"{error}\n")
        return _REPORTED
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
