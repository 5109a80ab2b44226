"""The field sheet: one page in the rain, then the table; set with typst."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final, Literal

from optimizer.assembly.build_order import BuildStep, find_build_order, find_heaviest
from optimizer.documents.first_shots import FirstShot, list_first_shots
from optimizer.documents.job import DocumentJob, Paper
from optimizer.documents.layout_drawing import LayoutDrawing, Room, draw_layout
from optimizer.documents.leg_settings import measure_setting, show_setting
from optimizer.documents.set_out import (
    GroundMark,
    SetOutRow,
    find_top_level,
    list_ground_marks,
    list_set_out_rows,
    name_top,
)
from optimizer.documents.step_words import describe_limit, describe_step, show_people, show_weight
from optimizer.sheets.lengths import show_along_and_out, show_distance, show_height
from optimizer.sheets.typeset import set_template

_TEMPLATE: Final = Path(__file__).with_name("field_sheet.typ")
#: What is left between the margins, millimetres, and what the first page needs beside drawing and rows.
_ROOM: Final[dict[Paper, Room]] = {"a4": Room(182.0, 269.0), "us-letter": Room(187.9, 251.4)}
_HEAD_MM: Final = 84.0
_ROW_MM: Final = 10.8
_CAPTION_MM: Final = 23.0
#: A drawing is never squeezed below this: it then goes over several pages.
_LEAST_MM: Final = 60.0


@dataclass(frozen=True, slots=True)
class FieldSheet:
    """Every number of the sheet as text, in the order of its columns."""

    title: str
    below: str
    warning: str
    paper: Paper
    top: str
    top_below_sill: str
    heaviest: str
    shots: tuple[tuple[str, ...], ...]
    drawings: tuple[LayoutDrawing, ...]
    rows: tuple[tuple[str, ...], ...]
    marks: tuple[tuple[str, ...], ...]
    steps: tuple[tuple[str, ...], ...]
    limit: str
    trapped_from: int
    ways_out: tuple[str, ...]
    is_metric: bool


def build_field_sheet(job: DocumentJob) -> FieldSheet:
    """The sheet of one candidate.  Raises ``InputError`` when a piece of the plan rests on nothing."""
    steps = find_build_order(job.candidate, job.site.catalogue)
    shots = list_first_shots(job)
    page = _ROOM[job.paper]
    first_mm = max(_LEAST_MM, page.height_mm - _HEAD_MM - _ROW_MM * len(shots))
    drawings = draw_layout(
        job, steps, shots, Room(page.width_mm, first_mm), Room(page.width_mm, page.height_mm - _CAPTION_MM)
    )
    below_m = job.start.threshold_m - find_top_level(job.candidate)
    return FieldSheet(
        title=job.site.name,
        below=f"Field sheet, {job.candidate.name}: {job.candidate.shape}",
        warning=job.site.heights.warning,
        paper=job.paper,
        top=name_top(job.candidate),
        top_below_sill=show_height(job.lengths, below_m),
        heaviest=_describe_heaviest(job, steps),
        shots=tuple(_tell_shot(job, i, shot) for i, shot in enumerate(shots, start=1)),
        drawings=drawings,
        rows=tuple(_tell_row(job, steps, row) for row in list_set_out_rows(job.candidate)),
        marks=tuple(_tell_mark(job, mark) for mark in list_ground_marks(job.candidate, job.start)),
        steps=tuple(_tell_step(job, step) for step in steps),
        limit=describe_limit(job),
        trapped_from=1,
        ways_out=tuple(step.piece for step in steps if step.action == "hang steps"),
        is_metric=job.lengths.height == "mm",
    )


def set_field_sheet(job: DocumentJob, form: Literal["pdf", "png"]) -> tuple[bytes, ...]:
    """One PDF, or one PNG a page."""
    text = json.dumps(asdict(build_field_sheet(job)), ensure_ascii=False)
    return set_template(_TEMPLATE, text, form)


def _describe_heaviest(job: DocumentJob, steps: tuple[BuildStep, ...]) -> str:
    heaviest = find_heaviest(steps)
    if heaviest is None or heaviest.lift is None:
        return ""
    people = show_people(heaviest.lift)
    hands = people if heaviest.lift.needs_gear else f"{people} people"
    legs = " with its legs" if heaviest.legs else ""
    return f"{heaviest.piece}{legs}, {show_weight(job, heaviest.lift.weight_kg)}: {hands}"


def _tell_shot(job: DocumentJob, number: int, shot: FirstShot) -> tuple[str, ...]:
    """Number, what, place, expected, go from, go to."""
    name = f"{shot.mark}: {shot.name}" if shot.mark else shot.name
    limits = ["any" if m is None else show_height(job.lengths, m) for m in (shot.least_m, shot.greatest_m)]
    expected = show_height(job.lengths, shot.expected_m)
    place = show_along_and_out(job.lengths, shot.along_m, shot.out_m)
    return (str(number), name, place, expected, *limits)


def _tell_row(job: DocumentJob, steps: tuple[BuildStep, ...], row: SetOutRow) -> tuple[str, ...]:
    """Step, where, drop, then three cells of legs: left, middle, right."""
    number = next(step.number for step in steps if step.piece == row.piece)
    cells = {"left": "", "middle": "", "right": ""}
    for leg in row.legs:
        told = show_setting(job.lengths, measure_setting(leg, job.site.catalogue))
        cells[leg.station.rpartition("-")[2]] = f"{leg.id} {leg.leg_type}\n{told}"
    return (str(number), row.where, show_height(job.lengths, row.drop_m), *cells.values())


def _tell_mark(job: DocumentJob, mark: GroundMark) -> tuple[str, ...]:
    place = show_along_and_out(job.lengths, mark.along_m, mark.out_m)
    along, _, out = place.partition(", ")
    return (mark.name, along, out, show_distance(job.lengths, mark.check_m))


def _tell_step(job: DocumentJob, step: BuildStep) -> tuple[str, ...]:
    weight = "" if step.lift is None else show_weight(job, step.lift.weight_kg)
    return (str(step.number), describe_step(job, step), weight, show_people(step.lift))
