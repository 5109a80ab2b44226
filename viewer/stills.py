"""Stills of a plan: an overview of every candidate, and the best one seen from the street.

Without OpenGL the first drawing kills Python, so ``write_stills`` draws all pictures of a
plan in one child process, ``python -m viewer.stills PLAN SITE FOLDER``.
"""

from __future__ import annotations

import io
import re
import sys
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from optimizer.brief.read_site import read_site
from optimizer.brief.site import Site
from optimizer.errors import DrawingError, EvenfallError
from optimizer.fit_words import show_rise
from optimizer.plan import Candidate, Plan
from optimizer.plan_file import read_plan
from optimizer.units import Slope, format_money
from viewer.drawn_apart import REPORTED, draw_apart
from viewer.facts import Words, build_words, describe_shape
from viewer.figure import FIGURE_HEIGHT_M
from viewer.meshes import choose_contours
from viewer.probe import find_drawing_fault
from viewer.remarks import choose_figure_place, list_remarks, mark_busy, mark_figure
from viewer.render import VIEWS, Canvas, Scene, View, build_scene, choose_camera
from viewer.sheet import Heading, build_sheet, measure_drawing
from viewer.whole_file import write_whole_bytes

STILL_SIZE: Final = (1600, 1000)
STILLS_TIMEOUT_S: Final = 300.0


def write_stills(plan_path: Path, site_path: Path, folder: Path) -> tuple[Path, ...]:
    """Draw the candidates of a saved plan into ``folder``; returns the files, best candidate first.

    Raises DrawingError, which says what would mend it, when this machine cannot draw.
    """
    arguments = (str(plan_path), str(site_path), str(folder))
    printed = draw_apart("viewer.stills", arguments, STILLS_TIMEOUT_S, "The pictures were")
    return tuple(Path(line) for line in printed.splitlines() if line)


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
    canvas = Canvas(measure_drawing(size))
    try:
        picture = draw_still(plan, candidate, site, build_scene(site, candidate), canvas, view)
    finally:
        canvas.close()
    _write_picture(picture, path)


def name_still(number: int, candidate: Candidate, view: View) -> str:
    """``candidate-1-overview.png``: name in plain letters, number from 1 unless it ends the name, view."""
    plain = re.sub(r"[^a-z0-9]+", "-", candidate.name.lower()).strip("-") or "candidate"
    return f"{plain}-{view}.png" if plain.endswith(f"-{number}") else f"{plain}-{number}-{view}.png"


def draw_still(
    plan: Plan, candidate: Candidate, site: Site, scene: Scene, canvas: Canvas, view: View
) -> Image.Image:
    """The finished picture of one view."""
    drawing_size = canvas.size
    camera = choose_camera(scene, view, drawing_size)
    busy = mark_busy(site, candidate, scene, camera, drawing_size)
    figure_at = choose_figure_place(scene, camera, busy)
    drawing = canvas.draw(scene, camera, figure_at)
    if figure_at is not None:
        busy = busy | mark_figure(figure_at, camera, drawing_size)
    words = build_words(site, candidate)
    remarks = list_remarks(words, candidate, camera, drawing)
    foot = build_foot(words, figure_at)
    return build_sheet(drawing.picture, build_heading(plan, candidate, words), remarks, busy, foot)


def build_heading(plan: Plan, candidate: Candidate, words: Words) -> Heading:
    """Site, layout and the five figures a client asks for."""
    failed = sum(finding.verdict == "fails" for finding in candidate.findings)
    figures = (
        ("price", format_money(candidate.price_cents, plan.currency)),
        ("rise at the tip", show_rise(plan, words.site, candidate)),
        ("steepest slope", str(Slope.from_ratio(candidate.steepest_slope))),
        ("walking length", words.length(candidate.walking_length_m)),
    )
    checks = "check fails" if failed == 1 else "checks fail"
    return Heading(
        words.site.name,
        f"{candidate.name}: {describe_shape(candidate)}",
        figures,
        "; ".join(filter(None, (words.site.heights.warning, f"{failed} {checks}" if failed else ""))),
    )


def build_foot(words: Words, figure_at: NDArray[np.float64] | None) -> str:
    """How to read the picture, and what it is not."""
    steps = choose_contours(words)
    every, strong = words.length(steps.step_m), words.length(steps.step_m * steps.index_every)
    figure = "" if figure_at is None else f"  The figure is {words.length(FIGURE_HEIGHT_M)} tall."
    return (
        f"Contour lines every {every}, stronger every {strong}, counted from the sill.{figure}"
        "  Not a working drawing; what is allowed, the authority having jurisdiction decides."
    )


def _write_picture(picture: Image.Image, path: Path) -> None:
    content = io.BytesIO()
    picture.save(content, format="PNG", compress_level=4)
    write_whole_bytes(path, content.getvalue())


def main(arguments: list[str]) -> int:
    """Child process: draw all pictures, print one path a line."""
    plan_path, site_path, folder = (Path(argument) for argument in arguments)
    try:
        plan, site = read_plan(plan_path), read_site(site_path)
        canvas = Canvas(measure_drawing(STILL_SIZE))
        for number, candidate in enumerate(plan.candidates, start=1):
            scene = build_scene(site, candidate)
            # The view from the street is the client's, and asked for once: of the best candidate.
            for view in VIEWS if number == 1 else VIEWS[:1]:
                path = folder / name_still(number, candidate, view)
                _write_picture(draw_still(plan, candidate, site, scene, canvas, view), path)
                sys.stdout.write(f"{path}\n")
    except EvenfallError as error:
        sys.stderr.write(f"{error}\n")
        return REPORTED
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
