"""Place the words of a drawing: none over another, none outside, few over lines, with leaders when far."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.drawings.figure import Dimension, Figure, Note, Stroke
from optimizer.drawings.layers import LayerName
from optimizer.drawings.placed import Drawing, PaperLine, PaperText, PlacedDimension
from optimizer.drawings.scales import Scale
from optimizer.drawings.set_dimensions import FIGURES_MM, draw_dimension, list_places
from optimizer.drawings.words_on_paper import Box, box_words, measure_words
from optimizer.errors import DrawingError
from optimizer.terrain.yard import Points

#: Side of a cell of the map of lines.
_CELL_MM: Final = 0.5
#: Words try these distances, in this many directions.
_RINGS_MM: Final = (0.0, 2.2, 3.5, 5.0, 7.0, 10.0, 14.0, 19.0, 25.0, 32.0, 40.0, 50.0, 65.0)
_DIRECTIONS: Final = 16
#: Beyond this gap between words and what they name there is a leader.
_LEADER_MM: Final = 1.6
_SIGN_MM: Final = 1.1
#: Words that run over such a line seem to name what is beyond it.
_EDGES: Final[frozenset[LayerName]] = frozenset({"deck", "plate"})
_FAINT: Final[frozenset[LayerName]] = frozenset({"contour", "contour-index", "walking-line", "bottom-space"})


class NoRoomError(DrawingError):
    """The words of a drawing do not fit on the sheet at this scale."""


@dataclass(slots=True)
class _Page:
    """What is taken so far: boxes of words and of signs that no words may cover, and a map of the ink."""

    window: Box
    boxes: list[Box] = field(default_factory=list)
    signs: list[Box] = field(default_factory=list)
    ink: NDArray[np.float64] = field(init=False)

    def __post_init__(self) -> None:
        size = np.ceil((self.window[2:] - self.window[:2]) / _CELL_MM).astype(int) + 1
        self.ink = np.zeros((int(size[0]), int(size[1])))

    def add_line(self, points_mm: Points, weight: float) -> None:
        cells = self._find_cells(_walk(points_mm))
        self.ink[cells[:, 0], cells[:, 1]] += weight

    def find_free(self, boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
        inside = np.all(boxes[:, :2] >= self.window[:2], axis=1) & np.all(
            boxes[:, 2:] <= self.window[2:], axis=1
        )
        if not self.boxes and not self.signs:
            return np.asarray(inside)
        taken = np.array([*self.boxes, *self.signs])
        apart = (boxes[:, None, :2] >= taken[None, :, 2:]) | (boxes[:, None, 2:] <= taken[None, :, :2])
        return np.asarray(inside & np.all(np.any(apart, axis=2), axis=1))

    def weigh_ink(self, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        low = self._find_corner(boxes[:, :2])
        high = self._find_corner(boxes[:, 2:]) + 1
        return np.array([self.ink[a:c, b:d].sum() for (a, b), (c, d) in zip(low, high, strict=True)])

    def is_crossed(self, line_mm: Points) -> bool:
        """Whether a leader would run over words."""
        if not self.boxes:
            return False
        taken = np.array(self.boxes)
        # Words that stand on the point itself are left by the leader on its way out.
        around = ((line_mm[0] > taken[:, :2]) & (line_mm[0] < taken[:, 2:])).all(axis=1)
        points, taken = _walk(line_mm)[:, None, :], taken[~around][None]
        return bool(((points > taken[..., :2]) & (points < taken[..., 2:])).all(axis=2).any())

    def _find_corner(self, points_mm: Points) -> NDArray[np.int64]:
        return np.floor((points_mm - self.window[:2]) / _CELL_MM).astype(np.int64).clip(0)

    def _find_cells(self, points_mm: Points) -> NDArray[np.int64]:
        cells = np.floor((points_mm - self.window[:2]) / _CELL_MM).astype(np.int64)
        kept = ((cells >= 0) & (cells < self.ink.shape)).all(axis=1)
        return np.unique(cells[kept], axis=0)


def place_words(figure: Figure, scale: Scale, window_mm: Box) -> Drawing:
    """The figure with its words placed in ``window_mm``; raises ``NoRoomError``."""
    page = _Page(window_mm)
    per_m = scale.to_paper_mm(1.0)
    lines = tuple(PaperLine(one.layer, _close(one) * per_m) for one in figure.strokes)
    for line in lines:
        page.add_line(line.points_mm, 0.25 if line.layer in _FAINT else 2.5 if line.layer in _EDGES else 1.0)
    dimension_lines = [draw_dimension(one, scale) for one in figure.dimensions]
    for group in dimension_lines:
        for points in group:
            page.add_line(points, 2.0)
    signs = [np.asarray(one.at_m) * per_m for one in figure.symbols]
    page.signs += [np.concatenate((one - _SIGN_MM, one + _SIGN_MM)) for one in signs]

    fixed = [_stand(page, one, per_m) for one in figure.notes if one.hold == "fixed"]
    leaders: list[PaperLine] = []
    dimensions = []
    for dimension, group in zip(figure.dimensions, dimension_lines, strict=True):
        places, turn_deg = list_places(dimension, scale)
        words = _choose(page, dimension, places, turn_deg)
        if words is None:
            middle = group[0].mean(axis=0)
            note = Note(dimension.layer, dimension.text, middle / per_m, FIGURES_MM, "free", 0.0, np.zeros(2))
            words, leader = _step_aside(page, note, per_m)
            leaders += leader
        dimensions.append(PlacedDimension(dimension, group, words))
    texts = list(fixed)
    for note in figure.notes:
        if note.hold == "free":
            words, leader = _step_aside(page, note, per_m)
            texts.append(words)
            leaders += leader
    return Drawing(figure, scale, window_mm, lines, tuple(leaders), tuple(texts), tuple(dimensions))


def _stand(page: _Page, note: Note, per_m: float) -> PaperText:
    at_mm = np.asarray(note.at_m) * per_m
    page.boxes.append(box_words(note.text, note.height_mm, at_mm[None], note.turn_deg)[0])
    return PaperText(note.layer, note.text, at_mm, note.height_mm, note.turn_deg)


def _choose(page: _Page, dimension: Dimension, places: Points, turn_deg: float) -> PaperText | None:
    """The first of the places that is free."""
    if not len(places):
        return None
    boxes = box_words(dimension.text, FIGURES_MM, places, turn_deg)
    free = np.nonzero(page.find_free(boxes))[0]
    if not len(free):
        return None
    page.boxes.append(boxes[free[0]])
    return PaperText(dimension.layer, dimension.text, places[free[0]], FIGURES_MM, turn_deg)


def _step_aside(page: _Page, note: Note, per_m: float) -> tuple[PaperText, list[PaperLine]]:
    """The best free place around a point, and a leader to it when the words are not at it."""
    at = np.asarray(note.at_m) * per_m
    width, height = measure_words(note.text, note.height_mm)
    angles = 2.0 * np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    ways = np.column_stack((np.cos(angles), np.sin(angles)))
    # So far from the point that the words' near edge is that far away.
    half = ways * np.array([width / 2.0, height / 2.0])
    tried = np.concatenate([at[None], *(at + ways * radius + half for radius in _RINGS_MM[1:])])
    gaps = np.concatenate([[0.0], np.repeat(_RINGS_MM[1:], _DIRECTIONS)])
    boxes = box_words(note.text, note.height_mm, tried, 0.0)
    cost = gaps + 0.35 * page.weigh_ink(boxes)
    if np.any(note.toward_m):
        toward = np.asarray(note.toward_m) / np.hypot(*note.toward_m)
        cost += 0.12 * gaps * (1.0 - np.concatenate([[0.0], np.tile(ways @ toward, len(_RINGS_MM) - 1)]))
    cost[~page.find_free(boxes)] = np.inf
    order = [int(one) for one in np.argsort(cost, kind="stable") if np.isfinite(cost[one])]
    if not order:
        raise NoRoomError(f'no room on the sheet for "{note.text}". Take a greater sheet.')
    leaders = {one: _lead(at, boxes[one], float(gaps[one])) for one in order}
    # Where every leader would run below other words, the shortest one does.
    clear = (one for one in order if (leader := leaders[one]) is None or not page.is_crossed(leader))
    choice = next(clear, order[0])
    page.boxes.append(boxes[choice])
    words = PaperText(note.layer, note.text, tried[choice], note.height_mm, 0.0)
    if (leader := leaders[choice]) is None:
        return words, []
    page.add_line(leader, 40.0)
    return words, [PaperLine(note.layer, leader)]


def _lead(at: Points, box: Box, gap_mm: float) -> Points | None:
    if gap_mm <= _LEADER_MM + _SIGN_MM:
        return None
    near = np.clip(at, box[:2] + 0.4, box[2:] - 0.4)
    way = (near - at) / np.hypot(*(near - at))
    return np.array([at + 0.3 * way, near - 0.4 * way])


def _close(stroke: Stroke) -> Points:
    if stroke.shape == "ring":
        return np.concatenate([stroke.points_m, stroke.points_m[:1]])
    return stroke.points_m


def _walk(points_mm: Points) -> Points:
    """Points along a line, no two further apart than half a cell."""
    walked = [points_mm[:1]]
    for here, there in pairwise(points_mm):
        steps = int(np.ceil(np.hypot(*(there - here)) / (_CELL_MM / 2.0)))
        if steps:
            share = np.arange(1, steps + 1)[:, None] / steps
            walked.append(here + share * (there - here))
    return np.concatenate(walked)
