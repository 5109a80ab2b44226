"""The leg schedule: every leg with its place, height, setting and what it stands on; set with typst."""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np

from optimizer.catalogue.parts import Foot
from optimizer.documents.job import DocumentJob, Paper
from optimizer.documents.leg_settings import measure_setting, show_setting
from optimizer.fit_words import find_doubt_m
from optimizer.plan import SupportLeg
from optimizer.schedule_tables import mark_leg
from optimizer.sheets.lengths import show_height
from optimizer.sheets.typeset import keep_together, set_template
from optimizer.terrain.ground import Ground
from optimizer.units import TOLERANCE_M, format_length
from optimizer.visit.shots import to_door

_TEMPLATE: Final = Path(__file__).with_name("leg_schedule.typ")
#: The slope at a foot is measured over so much to each side: a hand beyond the plate.
_REACH_M: Final = 0.15
#: Marks beside those of the range.
CUT_A_SEAT: Final = "cut a seat"
ON_A_THING: Final = "on a thing"
#: Plus-minus in standard errors: about 95 %.
_TWO: Final = 2.0


@dataclass(frozen=True, slots=True)
class LegSchedule:
    """Rows as text, in the order of the columns: leg, under, along, out, type, height, plus-minus, setting,
    foot, slope, marks.  ``feet``: what each id of a foot is.
    """

    title: str
    below: str
    warning: str
    paper: Paper
    rows: tuple[tuple[str, ...], ...]
    count: int
    feet: tuple[tuple[str, str], ...]


def build_leg_schedule(job: DocumentJob) -> LegSchedule:
    """The schedule of one candidate."""
    doubt_m = find_doubt_m(job.plan)
    return LegSchedule(
        title=job.site.name,
        below=f"Leg schedule, {job.candidate.name}: {job.candidate.shape}",
        warning=job.site.heights.warning,
        paper=job.paper,
        rows=tuple(_tell_leg(job, leg, doubt_m) for leg in job.candidate.legs),
        count=len(job.candidate.legs),
        feet=tuple(
            (foot, job.site.catalogue.part(foot).name)
            for foot in sorted({leg.foot for leg in job.candidate.legs})
        ),
    )


def set_leg_schedule(job: DocumentJob, form: Literal["pdf", "png"]) -> tuple[bytes, ...]:
    """One PDF, or one PNG a page."""
    text = json.dumps(asdict(build_leg_schedule(job)), ensure_ascii=False)
    return set_template(_TEMPLATE, text, form)


def measure_slope_at(ground: Ground, x_m: float, y_m: float) -> float | None:
    """Steepest slope of the ground at a foot, rise over plan run, from four points round it.

    ``None`` where one of them is not surveyed.
    """
    east, west, north, south = ground.elevation(
        np.array([x_m, y_m]) + _REACH_M * np.array([[1, 0], [-1, 0], [0, 1], [0, -1]])
    ).tolist()
    slope = float(np.hypot(east - west, north - south)) / (2.0 * _REACH_M)
    return None if np.isnan(slope) else slope


def _tell_leg(job: DocumentJob, leg: SupportLeg, doubt_m: float | None) -> tuple[str, ...]:
    along_m, out_m = to_door(job.start, leg.x_m, leg.y_m)
    side = "right" if along_m >= 0.0 else "left"
    plus_minus_m = _TWO * leg.height_error_m if leg.height_error_m is not None else doubt_m
    slope = measure_slope_at(job.site.ground, leg.x_m, leg.y_m)
    return (
        leg.id,
        f"{leg.piece} {leg.station}",
        f"{_show_place(job, abs(along_m))} {side}",
        _show_place(job, out_m),
        leg.leg_type + (", braced" if leg.brace is not None else ""),
        show_height(job.lengths, leg.height_m),
        "not known" if plus_minus_m is None else _show_plus_minus(job, plus_minus_m),
        show_setting(job.lengths, measure_setting(leg, job.site.catalogue)),
        leg.foot,
        "open" if slope is None else f"{100.0 * slope:.0f}\u00a0%",
        ", ".join(_list_marks(job, leg, slope, doubt_m)),
    )


def _list_marks(job: DocumentJob, leg: SupportLeg, slope: float | None, doubt_m: float | None) -> list[str]:
    """What to watch: the range, ground steeper than the foot follows, a foot that stands on a thing."""
    marks = [mark_leg(leg, doubt_m)] if mark_leg(leg, doubt_m) else []
    foot = job.site.catalogue.part(leg.foot)
    is_raised = leg.ground_elevation_m > job.site.ground.elevation_at(leg.x_m, leg.y_m) + TOLERANCE_M
    if is_raised:
        marks.append(ON_A_THING)
    elif slope is not None and isinstance(foot, Foot) and slope > foot.swivel_limit + TOLERANCE_M:
        marks.append(CUT_A_SEAT)
    return marks


def _show_place(job: DocumentJob, value_m: float) -> str:
    """To the step of heights: 1 mm, or 1/8 in."""
    return keep_together(format_length(value_m, job.lengths.place, job.lengths.height_step_m))


def _show_plus_minus(job: DocumentJob, value_m: float) -> str:
    """Rounded up to a step, never to nothing."""
    step_m = job.lengths.height_step_m
    steps = max(1, math.ceil((value_m - TOLERANCE_M) / step_m))
    return show_height(job.lengths, steps * step_m)
