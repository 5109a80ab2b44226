"""A millimetre of the sheet is a millimetre: lines measured back from the PDF by a second library (pypdf).

Source: 1 in = 25.4 mm = 72 pt by definition (international inch; PDF user space, ISO 32000-1, 8.3.2.3).
So 9.144 m at 1:50 is 182.88 mm, 518.40 pt; 30 ft at 1/4 in to the foot is 7 1/2 in, 540 pt.
Tolerance: a fiftieth of a point, what rounding to a thousandth of a millimetre at both ends and the
writer's own rounding leave.
"""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.drawings.figure import Figure, line
from optimizer.drawings.place_words import place_words
from optimizer.drawings.scales import IMPERIAL, ISO_PAPERS, METRIC, US_PAPERS, Paper, Scale
from optimizer.drawings.set_sheets import DrawingSet, set_drawings
from optimizer.drawings.sheet import Sheet, SheetFrame
from optimizer.units import LengthSystem
from tests.drawings.drawn_ramps import RAMPS, UNITS, draw_pdf, draw_ramp
from tests.drawings.pdf_lines import read_lengths, read_page_size

POINTS_PER_MM = 72.0 / 25.4
TOLERANCE_PT = 0.02


def named(words: str) -> Scale:
    (found,) = (one for one in (*METRIC, *IMPERIAL) if one.words == words)
    return found


def set_line(length_m: float, scale: Scale, paper: Paper, system: LengthSystem) -> bytes:
    figure = Figure("A line", (line("deck", np.zeros(2), np.array([length_m, 0.0])),), (), (), ())
    window = np.array([-10.0, -100.0, 390.0, 100.0])
    frame = SheetFrame("A line", place_words(figure, scale, window), np.array([12.0, 20.0]))
    sheet = Sheet("A line", paper, scale.words, (frame,), np.zeros(2))
    (pdf,) = set_drawings(DrawingSet("a", "b", "c", ("d",), system, (sheet,), ()), "pdf")
    return pdf


@pytest.mark.parametrize(
    ("length_m", "words", "points"),
    [
        (9.144, "1:50", 518.40),
        (9.144, "1:100", 259.20),
        (1.0, "1:20", 50.0 * POINTS_PER_MM),
        (30 * 0.3048, '1/4" = 1\'-0"', 540.0),
        (10 * 0.3048, '1/2" = 1\'-0"', 360.0),
        (64 * 0.3048, '3/16" = 1\'-0"', 864.0),
    ],
)
def test_a_length_has_its_length_on_paper(length_m: float, words: str, points: float) -> None:
    pdf = set_line(length_m, named(words), ISO_PAPERS[0], "mm")
    lengths = read_lengths(pdf, 0)
    assert np.abs(lengths - points).min() < TOLERANCE_PT
    # Drawn a hundredth smaller, it would not be found.
    assert np.abs(lengths - 0.99 * points).min() > TOLERANCE_PT


@pytest.mark.parametrize(
    ("words", "ratio"),
    [('1/4" = 1\'-0"', 48), ('3/16" = 1\'-0"', 64), ('1 1/2" = 1\'-0"', 8), ('1/8" = 1\'-0"', 96)],
)
def test_an_architects_scale_is_so_much_of_an_inch_to_the_foot(words: str, ratio: float) -> None:
    assert named(words).ratio == ratio


@pytest.mark.parametrize("name", RAMPS)
@pytest.mark.parametrize("units", UNITS)
def test_every_sheet_has_its_size_and_its_bar(name: str, units: str) -> None:
    pdf, drawings = draw_pdf(name, units), draw_ramp(name, units).drawings
    for number, sheet in enumerate(drawings.sheets):
        size = np.array([sheet.paper.width_mm, sheet.paper.height_mm]) * POINTS_PER_MM
        assert np.abs(np.array(read_page_size(pdf, number)) - size).max() < TOLERANCE_PT
        lengths = read_lengths(pdf, number)
        assert np.abs(lengths - 100.0 * POINTS_PER_MM).min() < TOLERANCE_PT
        four_inches = np.abs(lengths - 288.0).min() < TOLERANCE_PT
        assert four_inches or units == "mm"


@pytest.mark.parametrize("name", RAMPS)
@pytest.mark.parametrize("units", UNITS)
def test_the_walked_edges_of_the_layout_plan_are_those_of_the_plan(name: str, units: str) -> None:
    drawn = draw_ramp(name, units)
    layout = drawn.drawings.sheets[1]
    (frame,) = layout.frames
    found = read_lengths(draw_pdf(name, units), 1)
    for piece in drawn.candidate.pieces:
        corners = np.array(piece.corners_m)[:, :2]
        side_pt = (
            float(np.hypot(*(corners[3] - corners[0]))) * 1000.0 / frame.drawing.scale.ratio * POINTS_PER_MM
        )
        assert np.abs(found - side_pt).min() < TOLERANCE_PT, piece.id


@pytest.mark.parametrize("name", RAMPS)
@pytest.mark.parametrize("units", UNITS)
def test_every_sheet_has_a_standard_scale_and_paper(name: str, units: str) -> None:
    scales, papers = (METRIC, ISO_PAPERS) if units == "mm" else (IMPERIAL, US_PAPERS)
    for sheet in draw_ramp(name, units).drawings.sheets:
        assert sheet.paper in papers
        assert {frame.drawing.scale for frame in sheet.frames} <= set(scales)
        assert {frame.drawing.scale.words for frame in sheet.frames} == {sheet.scale_words}
