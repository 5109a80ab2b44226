"""Choose paper and scale of each sheet: the smallest paper on which it is readable, never off scale."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from optimizer.brief.site import Site
from optimizer.drawings.details import draw_details
from optimizer.drawings.figure import Figure
from optimizer.drawings.layout_plan import draw_layout_plan
from optimizer.drawings.long_section import TITLE as SECTION_TITLE
from optimizer.drawings.long_section import draw_long_section
from optimizer.drawings.place_words import NoRoomError, place_words
from optimizer.drawings.placed import Drawing
from optimizer.drawings.scales import Paper, Scale, list_scales
from optimizer.drawings.sheet import BORDER_MM, HEAD_MM, Sheet, SheetFrame, measure_space
from optimizer.drawings.site_plan import draw_site_plan
from optimizer.errors import DrawingError
from optimizer.plan import Candidate
from optimizer.terrain.frames import build_door_frame
from optimizer.terrain.yard import Points, Start

#: The smallest drawing that is read with ease; where no paper holds that, a smaller one is better than none.
_SITE_RATIO: Final = 100.0
_LAYOUT_RATIO: Final = 50.0
#: No plan is drawn larger than this: it would only be emptier.
_LARGEST_RATIO: Final = 20.0
_PLAN_PAD_MM: Final = 5.0
_ROW_PAD_MM: Final = 7.0
_DETAIL_PAD_MM: Final = 26.0
_NO_PLAN: Final = np.zeros(2)


def compose_sheets(
    site: Site, start: Start, candidate: Candidate, papers: tuple[Paper, ...]
) -> tuple[Sheet, ...]:
    """Site plan, layout plan, long section (more sheets when it is long), details.

    Raises ``DrawingError`` when one does not fit on the greatest paper at any scale.
    """
    frame = build_door_frame(start)
    scales = list_scales(site.display.system)
    survey_y = frame.to_door(frame.origin_m[None] + [[0.0, 1.0]])[0]
    return (
        _compose_plan(draw_site_plan(site, start, candidate, frame), papers, scales, _SITE_RATIO, survey_y),
        _compose_plan(
            draw_layout_plan(site, start, candidate, frame), papers, scales, _LAYOUT_RATIO, survey_y
        ),
        *_compose_section(site, start, candidate, papers, scales),
        _compose_details(draw_details(site, start, candidate), papers, scales),
    )


def _compose_plan(
    figure: Figure, papers: tuple[Paper, ...], scales: tuple[Scale, ...], smallest: float, survey_y: Points
) -> Sheet:
    for paper, scale in _list_tries(papers, scales, smallest):
        width, height = measure_space(paper)
        size = _measure(figure, scale)
        if size[0] + 2 * _PLAN_PAD_MM > width or size[1] + 2 * _PLAN_PAD_MM > height - HEAD_MM:
            continue
        try:
            frame = _frame(figure, scale, BORDER_MM, BORDER_MM + HEAD_MM, width, height - HEAD_MM)
        except NoRoomError:
            continue
        return Sheet(figure.title, paper, scale.words, (frame,), survey_y)
    raise _say_too_large(figure.title, papers)


def _list_tries(
    papers: tuple[Paper, ...], scales: tuple[Scale, ...], smallest: float
) -> Iterator[tuple[Paper, Scale]]:
    """Readable scales on every paper first, then those half as large, then the smaller ones."""
    usable = [one for one in scales if one.ratio >= _LARGEST_RATIO]
    for wanted in (
        [one for one in usable if one.ratio <= smallest],
        [one for one in usable if smallest < one.ratio <= 2.0 * smallest],
        [one for one in usable if one.ratio > 2.0 * smallest],
    ):
        for paper in papers:
            for scale in wanted:
                yield paper, scale


def _compose_section(
    site: Site, start: Start, candidate: Candidate, papers: tuple[Paper, ...], scales: tuple[Scale, ...]
) -> tuple[Sheet, ...]:
    """The largest scale that fills one sheet; else the smallest readable one over several."""
    readable = [one for one in scales if _LARGEST_RATIO <= one.ratio <= _LAYOUT_RATIO]
    for paper in papers:
        for scale in readable:
            width, _ = measure_space(paper)
            rows = draw_long_section(site, start, candidate, scale, width)
            most = len(rows) if scale is readable[-1] else 1
            if sheets := _stack(rows, paper, scale, most):
                return sheets
    raise _say_too_large(SECTION_TITLE, papers)


def _stack(rows: tuple[Figure, ...], paper: Paper, scale: Scale, most: int) -> tuple[Sheet, ...]:
    """Rows below each other, on as many sheets as they need; none where they need more than ``most``."""
    width, height = measure_space(paper)
    needed = [HEAD_MM + _measure(one, scale)[1] + 2 * _ROW_PAD_MM for one in rows]
    if max(needed) > height or max(_measure(one, scale)[0] for one in rows) > width:
        return ()
    groups: list[list[int]] = [[]]
    for number, row_mm in enumerate(needed):
        if groups[-1] and sum(needed[one] for one in groups[-1]) + row_mm > height:
            groups.append([])
        groups[-1].append(number)
    if len(groups) > most:
        return ()
    sheets = []
    try:
        for group in groups:
            spare = (height - sum(needed[one] for one in group)) / len(group)
            top, frames = BORDER_MM, []
            for number in group:
                tall = needed[number] + spare
                frames.append(_frame(rows[number], scale, BORDER_MM, top + HEAD_MM, width, tall - HEAD_MM))
                top += tall
            sheets.append(Sheet(SECTION_TITLE, paper, scale.words, tuple(frames), _NO_PLAN))
    except NoRoomError:
        return ()
    return tuple(sheets)


def _compose_details(
    figures: tuple[Figure, ...], papers: tuple[Paper, ...], scales: tuple[Scale, ...]
) -> Sheet:
    """All at one scale: the widest in a row of its own below the others."""
    widest = max(figures, key=lambda one: float(_measure(one, scales[0])[0]))
    upper = tuple(one for one in figures if one is not widest)
    rows = tuple(row for row in (upper, (widest,)) if row)
    for paper in papers:
        for scale in scales:
            try:
                frames = _lay_rows(rows, paper, scale)
            except NoRoomError:
                continue
            if frames:
                return Sheet("Details", paper, scale.words, frames, _NO_PLAN)
    raise _say_too_large("Details", papers)


def _lay_rows(rows: tuple[tuple[Figure, ...], ...], paper: Paper, scale: Scale) -> tuple[SheetFrame, ...]:
    """Every row as wide as the paper, the height shared by need; none where they do not fit."""
    width, height = measure_space(paper)
    sizes = [[_measure(one, scale) + 2 * _DETAIL_PAD_MM for one in row] for row in rows]
    tall = [HEAD_MM + max(float(one[1]) for one in row) for row in sizes]
    spare_y = (height - sum(tall)) / len(rows)
    spare_x = [(width - sum(float(one[0]) for one in row)) / len(row) for row in sizes]
    if min(spare_y, *spare_x) < 0.0:
        return ()
    frames = []
    top = BORDER_MM
    for row, row_sizes, row_mm, spare in zip(rows, sizes, tall, spare_x, strict=True):
        left = BORDER_MM
        for figure, size in zip(row, row_sizes, strict=True):
            wide = float(size[0]) + spare
            frames.append(_frame(figure, scale, left, top + HEAD_MM, wide, row_mm + spare_y - HEAD_MM))
            left += wide
        top += row_mm + spare_y
    return tuple(frames)


def _frame(
    figure: Figure, scale: Scale, left_mm: float, top_mm: float, width_mm: float, height_mm: float
) -> SheetFrame:
    low, high = figure.bounds_m()
    middle = (low + high) / 2.0 * scale.to_paper_mm(1.0)
    half = np.array([width_mm, height_mm]) / 2.0
    inner = np.concatenate((middle - half, middle + half))
    drawing: Drawing = place_words(figure, scale, inner)
    return SheetFrame(f"{figure.title}   {scale.words}", drawing, np.array([left_mm, top_mm]))


def _measure(figure: Figure, scale: Scale) -> Points:
    low, high = figure.bounds_m()
    return np.asarray((high - low) * scale.to_paper_mm(1.0))


def _say_too_large(title: str, papers: tuple[Paper, ...]) -> DrawingError:
    return DrawingError(
        f"{title}: does not fit on {papers[-1].name} at any scale there is. "
        "Read the DXF file, which holds it at full size, or draw less of the lot in the site file."
    )
