"""A sheet of the set: a paper with drawings on it, each at its own scale; and the pages of tables behind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.drawings.placed import Drawing
from optimizer.drawings.scales import Paper
from optimizer.terrain.yard import Points

#: Edge of the sheet to the border line, height of the strip with title and bars, room for a drawing's head.
BORDER_MM: Final = 10.0
STRIP_MM: Final = 40.0
HEAD_MM: Final = 9.0


@dataclass(frozen=True, slots=True)
class SheetFrame:
    """One drawing and where its window's upper left corner lies on the sheet, mm from the sheet's own."""

    head: str
    drawing: Drawing
    corner_mm: Points

    def to_sheet_mm(self, points_mm: Points) -> Points:
        """Points (n, 2) of the drawing, y up, as mm from the sheet's upper left corner, y down."""
        x_low, _, _, y_high = self.drawing.window_mm
        return np.asarray(self.corner_mm + (np.asarray(points_mm) - [x_low, y_high]) * [1.0, -1.0])


@dataclass(frozen=True, slots=True)
class Sheet:
    """``scale_words``: of all its drawings.  ``survey_y`` (2,): the survey's y on paper; zero: no plan."""

    title: str
    paper: Paper
    scale_words: str
    frames: tuple[SheetFrame, ...]
    survey_y: Points


def measure_space(paper: Paper) -> tuple[float, float]:
    """Width and height, mm, that drawings with their heads have on a paper."""
    return paper.width_mm - 2.0 * BORDER_MM, paper.height_mm - 2.0 * BORDER_MM - STRIP_MM
