"""Words on a page: aside where they would lie on others, with a leader when far, refused without room."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.drawings.figure import Dimension, Figure, Note, fixed_note, free_note, line
from optimizer.drawings.place_words import NoRoomError, place_words
from optimizer.drawings.placed import Drawing
from optimizer.drawings.scales import Scale
from optimizer.drawings.words_on_paper import box_words, measure_words

#: A metre of the figure is ten millimetres of paper.
SCALE = Scale(100.0, "1:100")
WINDOW = np.array([-60.0, -40.0, 60.0, 40.0])


def place(*notes: Note) -> Drawing:
    edge = line("deck", np.array([-3.0, -3.0]), np.array([3.0, -3.0]))
    return place_words(Figure("f", (edge,), (), notes, ()), SCALE, WINDOW)


def test_lone_words_stand_on_their_point() -> None:
    drawn = place(free_note("text-layout", "P1", np.array([1.0, 2.0]), 2.0))
    assert drawn.texts[0].at_mm.tolist() == [10.0, 20.0]
    assert drawn.leaders == ()


def test_words_of_one_point_part_and_have_a_leader() -> None:
    notes = [free_note("text-layout", f"word {number}", np.zeros(2), 2.0) for number in range(30)]
    drawn = place(*notes)
    boxes = np.concatenate([box_words(one.text, one.height_mm, one.at_mm[None], 0.0) for one in drawn.texts])
    for number, box in enumerate(boxes):
        rest = np.delete(boxes, number, axis=0)
        assert not ((rest[:, :2] < box[2:]) & (rest[:, 2:] > box[:2])).all(axis=1).any()
    far = [one for one in drawn.texts if np.abs(one.at_mm).max() > 15.0]
    assert len(drawn.leaders) >= len(far) > 0
    for leader in drawn.leaders:
        assert np.hypot(*leader.points_mm[0]) < 1.0


def test_fixed_words_stay_and_others_give_way() -> None:
    drawn = place(
        free_note("text-layout", "free", np.zeros(2), 2.0), fixed_note("band", "stays", np.zeros(2), 2.0)
    )
    placed = {one.text: one.at_mm for one in drawn.texts}
    assert placed["stays"].tolist() == [0.0, 0.0]
    assert np.hypot(*placed["free"]) > 0.0


def test_more_words_than_the_page_holds_are_refused() -> None:
    notes = [free_note("text-layout", "a long line of words", np.zeros(2), 6.0) for _ in range(60)]
    with pytest.raises(NoRoomError, match='no room on the sheet for "a long line of words"'):
        place(*notes)


@pytest.mark.parametrize(("length_m", "leaders"), [(4.0, 0), (0.3, 1)])
def test_figures_too_long_for_their_line_go_aside(length_m: float, leaders: int) -> None:
    figures = Dimension("dimension", np.zeros(2), np.array([length_m, 0.0]), 0.0, "1234567 mm")
    edge = line("deck", np.array([-3.0, -3.0]), np.array([3.0, -3.0]))
    drawn = place_words(Figure("f", (edge,), (), (), (figures,)), SCALE, WINDOW)
    (placed,) = drawn.dimensions
    width, _ = measure_words(figures.text, placed.words.height_mm)
    assert (width <= length_m * 10.0) is (leaders == 0)
    assert len(drawn.leaders) <= leaders


@pytest.mark.parametrize(
    ("end", "turn_deg"),
    [((5.0, 0.0), 0.0), ((-5.0, 0.0), 0.0), ((0.0, 3.0), 90.0), ((0.0, -3.0), 90.0), ((-3.0, 3.0), -45.0)],
)
def test_figures_are_read_from_below_or_from_the_right(end: tuple[float, float], turn_deg: float) -> None:
    figures = Dimension("dimension", np.zeros(2), np.array(end), 3.0, "12 mm")
    drawn = place_words(Figure("f", (), (), (), (figures,)), SCALE, WINDOW)
    assert drawn.dimensions[0].words.turn_deg == pytest.approx(turn_deg)


@pytest.mark.parametrize("text", ["P1", "1:12.04", "clear 1530 mm", "1' 10 3/8\"", "WWMM", "Łódź"])
def test_words_take_no_more_room_than_is_kept_for_them(text: str) -> None:
    """Widths of the sheets' own typeface, from its file as a second library reads it."""
    from matplotlib import font_manager
    from PIL import ImageFont

    size = 1000
    font = ImageFont.truetype(font_manager.findfont("DejaVu Sans"), size)
    height_mm = 2.0
    assert font.getlength(text) / size * height_mm / 0.729 <= measure_words(text, height_mm)[0]
