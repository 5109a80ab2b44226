"""The band below a section: a column of figures at each joint, moved apart where joints are close."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.drawings.figure import Note, Stroke, fixed_note, line
from optimizer.drawings.scales import Scale
from optimizer.drawings.words_on_paper import measure_words
from optimizer.terrain.yard import Points

_FIGURES_MM: Final = 1.8
#: Columns stand at least this far apart; the strip in which their lines lean towards the joints.
_APART_MM: Final = 3.6
_FAN_MM: Final = 6.0
_PAD_MM: Final = 1.5
#: Where the middle of the heads lies in the room left of the row.
_HEAD_AT: Final = 0.56


@dataclass(frozen=True, slots=True)
class BandColumn:
    """One joint: where it lies along the row, metres, and its figure in each row of the band."""

    at_m: float
    figures: tuple[str, ...]


def draw_band(
    heads: tuple[str, ...], columns: tuple[BandColumn, ...], top_m: float, scale: Scale, left_mm: float
) -> tuple[tuple[Stroke, ...], tuple[Note, ...]]:
    """The band hung at ``top_m``, its heads in the ``left_mm`` to the left of the row's beginning.

    Figures are turned to be read from the right.
    """
    wide = [
        max(measure_words(one.figures[row], _FIGURES_MM)[0] for one in columns) + 2 * _PAD_MM
        for row in range(len(heads))
    ]
    places = _move_apart(np.array([scale.to_paper_mm(one.at_m) for one in columns]))
    right = max(float(places[-1]), scale.to_paper_mm(columns[-1].at_m)) + _APART_MM
    upper = scale.to_paper_mm(top_m) - _FAN_MM
    levels = upper - np.r_[0.0, np.cumsum(wide)]
    lines = [np.array([[-left_mm, y], [right, y]]) for y in levels]
    notes = []
    for head, above, below in zip(heads, levels[:-1], levels[1:], strict=True):
        at = np.array([-_HEAD_AT * left_mm, (above + below) / 2.0])
        notes.append(fixed_note("text-section", head, at / scale.to_paper_mm(1.0), _FIGURES_MM))
    for one, place in zip(columns, places, strict=True):
        joint = scale.to_paper_mm(one.at_m)
        lines.append(np.array([[joint, upper + _FAN_MM], [place, upper], [place, levels[-1]]]))
        for words, above, below in zip(one.figures, levels[:-1], levels[1:], strict=True):
            # The figures stand to the left of their line.
            at = np.array([place - 1.6, (above + below) / 2.0])
            notes.append(fixed_note("text-section", words, at / scale.to_paper_mm(1.0), _FIGURES_MM, 90.0))
    per_m = scale.to_paper_mm(1.0)
    return tuple(line("band", *(one / per_m)) for one in lines), tuple(notes)


def _move_apart(wanted_mm: Points) -> Points:
    """Places as near to those wanted as a least distance allows, in their order.

    Neighbours that are too close are pooled, and each pool stands around the middle of what it wants.
    """
    steps = np.arange(len(wanted_mm)) * _APART_MM
    pools: list[list[float]] = []
    for value in wanted_mm - steps:
        pools.append([float(value), 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            value_b, count_b = pools.pop()
            value_a, count_a = pools.pop()
            count = count_a + count_b
            pools.append([(value_a * count_a + value_b * count_b) / count, count])
    return np.asarray(np.concatenate([np.full(int(count), value) for value, count in pools]) + steps)
