"""Pictures for the client's page: without any word or name, in one child process.

Without OpenGL the first drawing kills Python, so ``draw_pictures`` runs
``python -m viewer.page.pictures PLAN SITE FOLDER`` and reads what it left there.
"""

from __future__ import annotations

import io
import sys
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Literal

from PIL import Image

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.errors import EvenfallError
from optimizer.plan import Candidate
from optimizer.plan_file import read_plan
from viewer.drawn_apart import REPORTED, draw_apart
from viewer.page.eyes import find_door_camera
from viewer.page.thin_ground import thin_ground
from viewer.remarks import choose_figure_place, mark_busy
from viewer.render import Canvas, Scene, View, build_scene, choose_camera
from viewer.whole_file import write_whole_bytes

PageView = Literal["all", "street", "door"]
PAGE_VIEWS: Final[tuple[PageView, ...]] = ("all", "street", "door")
#: Marks of the planner's that tell a client nothing.
PLANNING: Final = ("zone", "arrival")
SIZE: Final = (1200, 800)
TIMEOUT_S: Final = 300.0
_QUALITY: Final = 78
_STILLS: Final[dict[PageView, View]] = {"all": "overview", "street": "street"}


@dataclass(frozen=True, slots=True)
class Picture:
    """One view of one candidate (counted from 0) as a WebP file."""

    candidate: int
    view: PageView
    content: bytes


def draw_pictures(plan_path: Path, site_path: Path) -> tuple[Picture, ...]:
    """Three pictures of each candidate of a saved plan.

    Raises DrawingError, which says what would mend it, when this machine cannot draw.
    """
    with tempfile.TemporaryDirectory() as folder:
        arguments = (str(plan_path), str(site_path), folder)
        draw_apart("viewer.page.pictures", arguments, TIMEOUT_S, "The pictures were")
        return _collect(Path(folder), len(read_plan(plan_path).candidates))


def _collect(folder: Path, candidates: int) -> tuple[Picture, ...]:
    return tuple(
        Picture(number, view, (folder / _name_file(number, view)).read_bytes())
        for number in range(candidates)
        for view in PAGE_VIEWS
    )


def _name_file(number: int, view: PageView) -> str:
    return f"{number}-{view}.webp"


def draw_view(site: Site, candidate: Candidate, scene: Scene, canvas: Canvas, view: PageView) -> Image.Image:
    """The drawing of one view, with a person for scale where there is room for one."""
    if view == "door":
        return canvas.draw(scene, find_door_camera(site, candidate), None).picture
    camera = choose_camera(scene, _STILLS[view], canvas.size)
    busy = mark_busy(site, candidate, scene, camera, canvas.size)
    return canvas.draw(scene, camera, choose_figure_place(scene, camera, busy)).picture


def main(arguments: list[str]) -> int:
    """Child process: draw every view of every candidate into a folder."""
    plan_path, site_path, folder = (Path(argument) for argument in arguments)
    try:
        plan, site = read_plan(plan_path), read_site(site_path)
        site = replace(site, ground=thin_ground(site.ground, plan.candidates))
        canvas = Canvas(SIZE)
        for number, candidate in enumerate(plan.candidates):
            scene = build_scene(site, candidate)
            kept = tuple(mesh for mesh in scene.meshes if mesh.group not in PLANNING)
            scene = replace(scene, meshes=kept)
            for view in PAGE_VIEWS:
                content = io.BytesIO()
                draw_view(site, candidate, scene, canvas, view).save(content, "WEBP", quality=_QUALITY)
                write_whole_bytes(folder / _name_file(number, view), content.getvalue())
    except EvenfallError as error:
        sys.stderr.write(f"{error}\n")
        return REPORTED
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
