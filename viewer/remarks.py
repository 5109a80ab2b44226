"""What is said on a still, where it points, and which pixels are to be kept free for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from optimizer.brief.site import Site
from optimizer.fit_words import show_leg_height
from optimizer.plan import Candidate
from viewer.cameras import Camera, project_points
from viewer.facts import Words, find_start
from viewer.figure import FIGURE_HEIGHT_M
from viewer.house_meshes import DOOR_HEIGHT_M
from viewer.render import Drawing, Scene
from viewer.sheet import Remark
from viewer.solids import UP
from viewer.support_meshes import find_tallest


@dataclass(frozen=True, slots=True)
class _Spot:
    """Words, and the points (n, 3) they may be tied to, the best first.

    ``may_hide``: said even when every point is hidden.
    """

    lines: tuple[str, ...]
    points_m: NDArray[np.float64]
    may_hide: bool


def list_remarks(words: Words, candidate: Candidate, camera: Camera, drawing: Drawing) -> tuple[Remark, ...]:
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
    spots = [_Spot((start.name,), np.array([sill + up * UP for up in heights]), may_hide=True)]
    tip = np.array(candidate.toe.tip_m)
    side = np.array(candidate.toe.bottom_space_m)[1] - np.array(candidate.toe.bottom_space_m)[0]
    side *= 0.3 / np.linalg.norm(side)
    tips = np.array([tip, tip - side, tip + side])
    spots.append(_Spot(("tip of the ramp", words.level(float(tip[2]))), tips, may_hide=True))
    for piece in candidate.pieces:
        if piece.kind == "landing":
            corners = np.array(piece.corners_m)
            middle = corners.mean(axis=0)
            points = np.concatenate(
                [[middle], middle + 0.6 * (corners - middle), middle + 0.99 * (corners - middle)]
            )
            lines = (f"landing {piece.id}", words.level(float(middle[2])))
            spots.append(_Spot(lines, points, may_hide=False))
    tallest = find_tallest(candidate.legs)
    if tallest is not None:
        base = np.array([tallest.x_m, tallest.y_m, tallest.frame_elevation_m - tallest.height_m])
        points = np.array([base + share * tallest.height_m * UP for share in (0.5, 0.3, 0.7, 0.15, 0.9)])
        again = ("near its range's end: shoot again",) if tallest.is_near_end else ()
        lines = (f"tallest leg, {tallest.id}", show_leg_height(words.site, tallest), *again)
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
        rings.append(
            _build_upright(np.array([leg.x_m, leg.y_m, leg.frame_elevation_m - leg.height_m]), leg.height_m)
        )
    for start in site.yard.starts:
        along = np.array([start.outward[1], -start.outward[0], 0.0]) * (start.clear_width_m / 2.0 + 0.08)
        sill, head = (
            np.array([*start.midpoint_m, start.threshold_m + up]) for up in (0.0, DOOR_HEIGHT_M + 0.1)
        )
        rings.append(np.array([sill - along, sill + along, head + along, head - along]))
    for mesh in scene.meshes:
        if mesh.group == "obstacle":
            rings += list(mesh.vertices[mesh.faces])
    return _mark(rings, camera, size)


def choose_figure_place(scene: Scene, camera: Camera, busy: NDArray[np.bool_]) -> NDArray[np.float64] | None:
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


def mark_figure(figure_at: NDArray[np.float64], camera: Camera, size: tuple[int, int]) -> NDArray[np.bool_]:
    """Pixels (h, w) that the figure at a point (3,) covers."""
    return _mark([_build_upright(figure_at)], camera, size)


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
