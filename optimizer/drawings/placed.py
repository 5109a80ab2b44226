"""One drawing at its scale: everything in millimetres on paper, y up, from the figure's own origin."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.drawings.figure import Dimension, Figure
from optimizer.drawings.layers import LayerName
from optimizer.drawings.scales import Scale
from optimizer.drawings.words_on_paper import Box
from optimizer.terrain.yard import Points


@dataclass(frozen=True, slots=True)
class PaperLine:
    """A line through ``points_mm`` (n, 2)."""

    layer: LayerName
    points_mm: Points


@dataclass(frozen=True, slots=True)
class PaperText:
    """Words centred on ``at_mm`` (2,), capitals ``height_mm`` high, turned counter-clockwise."""

    layer: LayerName
    text: str
    at_mm: Points
    height_mm: float
    turn_deg: float


@dataclass(frozen=True, slots=True)
class PlacedDimension:
    """A dimension with the place of its words; ``lines_mm``: its line, ticks and extension lines."""

    dimension: Dimension
    lines_mm: tuple[Points, ...]
    words: PaperText


@dataclass(frozen=True, slots=True)
class Drawing:
    """A figure at a scale; ``window_mm``: the box of paper it may use, which holds all of it."""

    figure: Figure
    scale: Scale
    window_mm: Box
    lines: tuple[PaperLine, ...]
    leaders: tuple[PaperLine, ...]
    texts: tuple[PaperText, ...]
    dimensions: tuple[PlacedDimension, ...]
