"""A dimension on paper: its line, ticks and extension lines, and where its words may stand."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimizer.drawings.figure import Dimension
from optimizer.drawings.scales import Scale
from optimizer.drawings.words_on_paper import measure_words
from optimizer.terrain.yard import Points

#: Height of the figures, gap between line and figures, size of a tick, what an extension line overshoots.
FIGURES_MM: Final = 1.8
_GAP_MM: Final = 0.5
_TICK_MM: Final = 1.0
_OVER_MM: Final = 1.2
_FROM_EDGE_MM: Final = 0.8


def draw_dimension(dimension: Dimension, scale: Scale) -> tuple[Points, ...]:
    """Its lines, each (2, 2), in mm."""
    start, end, left = _find_ends(dimension, scale)
    offset = dimension.offset_mm
    ahead = (end - start) / np.hypot(*(end - start))
    lines = [np.array([start + offset * left, end + offset * left])]
    tick = _TICK_MM * (ahead + left) / np.sqrt(2.0)
    lines += [np.array([one - tick, one + tick]) for one in lines[0]]
    if abs(offset) > _FROM_EDGE_MM:
        way = np.sign(offset)
        lines += [
            np.array([one + way * _FROM_EDGE_MM * left, one + (offset + way * _OVER_MM) * left])
            for one in (start, end)
        ]
    return tuple(lines)


def list_places(dimension: Dimension, scale: Scale) -> tuple[Points, float]:
    """Centres (n, 2) where the words may stand, best first, and their turn; along the line and beside it.

    Words longer than a line that stands off stand beyond its ends; on a line in the drawing itself there
    is no place for them, and they go aside.
    """
    start, end, left = _find_ends(dimension, scale)
    length = float(np.hypot(*(end - start)))
    ahead = (end - start) / length
    turn = float(np.degrees(np.arctan2(ahead[1], ahead[0])))
    # Read from below or from the right.
    turn_deg = turn if -90.0 < turn - 1e-6 <= 90.0 else (turn + 180.0 if turn <= 0.0 else turn - 180.0)
    turn_deg = 90.0 if np.isclose(turn_deg, -90.0) else turn_deg
    width, height = measure_words(dimension.text, FIGURES_MM)
    up = np.array([-np.sin(np.radians(turn_deg)), np.cos(np.radians(turn_deg))])
    aside = up * (height / 2.0 + _GAP_MM)
    base = (start + end) / 2.0 + dimension.offset_mm * left
    if width <= length - 1.0:
        spare = (length - width) / 2.0
        shifts = [share * spare * ahead for share in (0.0, 0.5, -0.5, 0.95, -0.95)]
    elif dimension.offset_mm == 0.0:
        return np.zeros((0, 2)), turn_deg
    else:
        beyond = (length + width) / 2.0 + 1.5
        shifts = [beyond * ahead, -beyond * ahead]
    return np.array([base + shift + side * aside for side in (1.0, -1.0) for shift in shifts]), turn_deg


def _find_ends(dimension: Dimension, scale: Scale) -> tuple[Points, Points, Points]:
    """Start, end and the unit vector to the left of the way between them."""
    start, end = (np.asarray(one) * scale.to_paper_mm(1.0) for one in (dimension.start_m, dimension.end_m))
    ahead = (end - start) / np.hypot(*(end - start))
    return start, end, np.array([-ahead[1], ahead[0]])
