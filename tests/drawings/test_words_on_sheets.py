"""What stands on the sheets: read back from the PDF by pypdf and compared with the plan; nothing overlaps."""

from __future__ import annotations

import re

import numpy as np
import pytest

from optimizer.catalogue.parts import Landing
from optimizer.drawings.layers import KEYED_LAYERS, find_layer
from optimizer.drawings.placed import Drawing
from optimizer.drawings.words_on_paper import box_words
from optimizer.units import format_length
from tests.drawings.drawn_ramps import RAMPS, UNITS, Drawn, draw_pdf, draw_ramp
from tests.drawings.pdf_lines import list_page_texts, read_all_text, read_text

MINUS = "\u2212"
both = pytest.mark.parametrize("units", UNITS)
every = pytest.mark.parametrize("name", RAMPS)


def show(drawn: Drawn, length_m: float) -> str:
    return format_length(length_m, drawn.site.display.system, drawn.site.display.step_m)


def squeeze(text: str) -> str:
    return re.sub(r"\s+", "", text)


def list_pages(drawn: Drawn, title: str) -> list[int]:
    return [at for at, sheet in enumerate(drawn.drawings.sheets) if sheet.title.startswith(title)]


@every
@both
def test_every_piece_and_leg_has_its_number_on_the_layout_plan(name: str, units: str) -> None:
    drawn = draw_ramp(name, units)
    (page,) = list_pages(drawn, "Layout plan")
    words = read_text(draw_pdf(name, units), page)
    for one in (*drawn.candidate.pieces, *drawn.candidate.legs):
        # Neighbours may be read without a space between them.
        assert len(re.findall(rf"{one.id}(?!\d)", words)) == 1, one.id


@every
@both
def test_every_leg_has_its_height_in_the_section_and_in_the_table(name: str, units: str) -> None:
    drawn = draw_ramp(name, units)
    pdf = draw_pdf(name, units)
    section = squeeze("".join(read_text(pdf, page) for page in list_pages(drawn, "Long section")))
    tables = squeeze(read_all_text(pdf))
    walked = {one.id for one in drawn.candidate.pieces if one.kind != "steps"}
    for leg in drawn.candidate.legs:
        height = squeeze(show(drawn, leg.height_m))
        if leg.piece in walked:
            assert f"{leg.id}l{height}" in section or f"{leg.id}r{height}" in section
        # Number, piece, place and type stand before the height in its row of the table.
        place = squeeze(leg.station.replace("-", " "))
        kind = squeeze(drawn.site.catalogue.part(leg.leg_type).name)
        assert f"{leg.id}{leg.piece}{place}{kind}{height}" in tables


@every
@both
def test_levels_at_joints_are_those_of_the_plan(name: str, units: str) -> None:
    drawn = draw_ramp(name, units)
    pdf = draw_pdf(name, units)
    section = squeeze("".join(read_text(pdf, page) for page in list_pages(drawn, "Long section")))
    (start,) = (one for one in drawn.site.yard.starts if one.name == drawn.candidate.start)
    for piece in drawn.candidate.pieces:
        if piece.kind in ("section", "transition_plate"):
            for z in (piece.corners_m[0][2], piece.corners_m[3][2]):
                below_m = start.threshold_m - z
                sign = (
                    "±" if show(drawn, abs(below_m)) == show(drawn, 0.0) else MINUS if below_m > 0.0 else "+"
                )
                assert sign + squeeze(show(drawn, abs(below_m))) in section, piece.id


@every
@both
def test_landings_tell_what_is_clear(name: str, units: str) -> None:
    drawn = draw_ramp(name, units)
    (page,) = list_pages(drawn, "Layout plan")
    text = squeeze(read_text(draw_pdf(name, units), page))
    parts = [drawn.site.catalogue.part(one.catalogue_id) for one in drawn.candidate.pieces]
    landings = [one for one in parts if isinstance(one, Landing)]
    for part in landings:
        clear = [squeeze(show(drawn, one)) for one in (part.clear_length_m, part.clear_width_m)]
        assert f"clear{clear[0]}x{clear[1]}" in text
    turning = [
        one for one in drawn.candidate.pieces if one.kind == "landing" and one.use not in ("door", "straight")
    ]
    assert len(re.findall(r"circle\d", text)) == len(turning)


@both
def test_what_fails_or_cannot_be_told_stands_in_the_tables(units: str) -> None:
    drawn = draw_ramp("five runs", units)
    text = squeeze(read_all_text(draw_pdf("five runs", units)))
    told = [one for one in drawn.candidate.findings if one.verdict in ("fails", "cannot tell")]
    assert told
    for finding in told:
        assert squeeze(finding.text) in text


@both
def test_what_no_rule_set_looked_at_stands_in_the_tables(units: str) -> None:
    drawn = draw_ramp("retaining wall", units)
    text = squeeze(read_all_text(draw_pdf("retaining wall", units)))
    not_checked = [what for rules in drawn.plan.rules for what in rules.not_checked]
    assert not_checked
    for what in not_checked:
        assert squeeze(what) in text


@every
@both
def test_every_sheet_says_that_it_is_no_approval(name: str, units: str) -> None:
    drawn = draw_ramp(name, units)
    for page, sheet in enumerate(drawn.drawings.sheets):
        text = squeeze(read_text(draw_pdf(name, units), page))
        assert squeeze("Not an approval. Local codes") in text
        assert squeeze("nobody under a section that is not supported") in text
        assert squeeze(f"Scale {sheet.scale_words} on {sheet.paper.name}") in text
        assert squeeze(f"sheet {page + 1} of {len(drawn.drawings.sheets)}") in text


def list_boxes(drawing: Drawing) -> np.ndarray:
    texts = [*drawing.texts, *(one.words for one in drawing.dimensions)]
    return np.concatenate(
        [box_words(one.text, one.height_mm, one.at_mm[None], one.turn_deg) for one in texts]
    )


@every
@both
def test_no_words_overlap_and_none_leave_their_window(name: str, units: str) -> None:
    for sheet in draw_ramp(name, units).drawings.sheets:
        for frame in sheet.frames:
            boxes, window = list_boxes(frame.drawing), frame.drawing.window_mm
            assert (boxes[:, :2] >= window[:2] - 1e-9).all()
            assert (boxes[:, 2:] <= window[2:] + 1e-9).all()
            for number, box in enumerate(boxes):
                rest = np.delete(boxes, number, axis=0)
                over = ((rest[:, :2] < box[2:] - 1e-9) & (rest[:, 2:] > box[:2] + 1e-9)).all(axis=1)
                assert not over.any(), frame.head


@every
@both
def test_all_of_every_drawing_lies_in_its_window(name: str, units: str) -> None:
    for sheet in draw_ramp(name, units).drawings.sheets:
        for frame in sheet.frames:
            window = frame.drawing.window_mm
            points = np.concatenate([one.points_mm for one in frame.drawing.lines])
            assert (points >= window[:2] - 1e-9).all()
            assert (points <= window[2:] + 1e-9).all()


@both
def test_a_table_over_several_pages_has_its_heads_on_each(units: str) -> None:
    drawn = draw_ramp("sixty pieces", units)
    pages = [squeeze(page) for page in list_page_texts(draw_pdf("sixty pieces", units))]
    # A leg's number and piece, as a row of the table begins.
    starts = [squeeze(f"{one.id}{one.piece}{one.station.replace('-', ' ')}") for one in drawn.candidate.legs]
    holding = [page for page in pages if any(start in page for start in starts)]
    assert len(holding) > 1
    assert all("nounderwheretypeheight" in page for page in holding)


@every
@both
def test_lines_of_a_plan_are_named_in_its_key(name: str, units: str) -> None:
    drawn = draw_ramp(name, units)
    for page, sheet in enumerate(drawn.drawings.sheets[:2]):
        text = squeeze(read_text(draw_pdf(name, units), page))
        used = {line.layer for frame in sheet.frames for line in frame.drawing.lines}
        assert "walking-line" in used
        for layer in KEYED_LAYERS:
            assert (squeeze(find_layer(layer).holds) in text) is (layer in used)
