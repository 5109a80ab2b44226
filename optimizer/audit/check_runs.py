"""Runs as a whole: what they fall and how long they are between the landings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.audit.judge import Words, judge_length, judge_slope
from optimizer.audit.report import AuditFinding
from optimizer.audit.walking_face import WalkingFace, state_face
from optimizer.plan import Piece


@dataclass(frozen=True, slots=True)
class RunMeasure:
    """``rise_m`` between the faces above and below it, ``length_m`` in plan between its ends."""

    name: str
    rise_m: float
    length_m: float

    @property
    def slope(self) -> float:
        """Rise over plan length."""
        return self.rise_m / self.length_m


def measure_runs(pieces: tuple[Piece, ...], faces: dict[str, WalkingFace]) -> tuple[RunMeasure, ...]:
    """Every run of the pieces (in order from the door), by their faces.

    A run begins at the level of the landing or plate above it and ends at that of the landing below;
    the last, whose transition plate belongs to it, at the plate's lower edge.
    """
    way = [piece for piece in pieces if piece.kind not in ("steps", "bottom_pad")]
    numbers = sorted({piece.run for piece in way if piece.run is not None})
    runs = []
    for number in numbers:
        places = [place for place, piece in enumerate(way) if piece.run == number]
        first, last = faces[way[places[0]].id], faces[way[places[-1]].id]
        above = faces[way[places[0] - 1].id] if places[0] else first
        is_end = places[-1] + 1 == len(way)
        below = last if is_end else faces[way[places[-1] + 1].id]
        rise = above.level(first.start_m) - below.level(last.end_m)
        runs.append(RunMeasure(f"run {number}", rise, float(np.linalg.norm(last.end_m - first.start_m))))
    return tuple(runs)


def state_runs(pieces: tuple[Piece, ...]) -> tuple[RunMeasure, ...]:
    """The same from the plan's corners."""
    return measure_runs(pieces, {piece.id: state_face(piece) for piece in pieces})


def check_runs(
    words: Words, drawn: tuple[RunMeasure, ...], stated: tuple[RunMeasure, ...]
) -> Iterator[AuditFinding]:
    """Rise, length and slope of every run."""
    for run, plan in zip(drawn, stated, strict=True):
        yield judge_length(
            words, "drawn.run_rise", run.name, "rise between its landings", run.rise_m, plan.rise_m
        )
        yield judge_length(words, "drawn.run_length", run.name, "plan length", run.length_m, plan.length_m)
        yield judge_slope(
            "drawn.run_slope", run.name, "slope as a whole", run.slope, plan.slope, plan.length_m
        )
