"""The pick list: what is loaded, longest and heaviest first, with the step that needs it; set with typst."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from itertools import groupby
from pathlib import Path
from typing import Final, Literal

from optimizer.assembly.build_order import BuildStep, find_build_order
from optimizer.catalogue.parts import (
    BottomPad,
    Landing,
    Part,
    RailEnd,
    RailPanel,
    Section,
    StepFlight,
    ThresholdPlate,
    TransitionPlate,
)
from optimizer.documents.job import DocumentJob, Paper
from optimizer.documents.pick_list_bolts import BoltSheet, build_bolt_sheet
from optimizer.documents.step_words import show_weight
from optimizer.plan import Candidate
from optimizer.schedule_tables import DECK, GROUND, RAILS, STEPS, SUPPORTS, find_kind, shorten_items
from optimizer.sheets.lengths import show_distance
from optimizer.sheets.typeset import set_template

_TEMPLATE: Final = Path(__file__).with_name("pick_list.typ")
_GROUPS: Final = (DECK, SUPPORTS, RAILS, STEPS, GROUND)


@dataclass(frozen=True, slots=True)
class PickLine:
    """``count`` of one part, ``spare`` of them beyond the plan; ``step``: the first that needs one.

    ``length_m``: its longest side, 0 where the catalogue has none.  ``items``: what it becomes.
    """

    part: Part
    count: int
    spare: int
    length_m: float
    step: int
    items: tuple[str, ...]

    @property
    def weight_kg(self) -> float:
        """Of all of them."""
        return self.count * self.part.weight_kg


@dataclass(frozen=True, slots=True)
class _Use:
    """One part used once."""

    part_id: str
    item: str
    step: int


@dataclass(frozen=True, slots=True)
class PickGroup:
    """Lines as text: count, part, length, each, all, step, items; and what they weigh together."""

    title: str
    lines: tuple[tuple[str, ...], ...]
    weight: str


@dataclass(frozen=True, slots=True)
class PickSheet:
    """The whole list as text."""

    title: str
    below: str
    warning: str
    paper: Paper
    groups: tuple[PickGroup, ...]
    bolts: BoltSheet
    total: str
    longest: str
    heaviest: str
    spares: str


def list_picks(job: DocumentJob) -> tuple[PickLine, ...]:
    """Every part of the candidate and the spares asked for, by group, then longest and heaviest first."""
    catalogue = job.site.catalogue
    uses = sorted(_list_uses(job.candidate, find_build_order(job.candidate, catalogue)), key=_by_part)
    lines: list[PickLine] = []
    spares = {one.type_id: one.count for one in job.spares or ()}
    for part_id, group in groupby(uses, key=_by_part):
        used = sorted(group, key=lambda use: use.item)
        lines.append(
            PickLine(
                catalogue.part(part_id),
                len(used) + spares.get(part_id, 0),
                spares.get(part_id, 0),
                measure_length(catalogue.part(part_id)),
                min(use.step for use in used),
                tuple(use.item for use in used),
            )
        )
    new = [part_id for part_id in spares if part_id not in {line.part.id for line in lines}]
    lines += [
        PickLine(
            catalogue.part(one),
            spares[one],
            spares[one],
            measure_length(catalogue.part(one)),
            0,
            (),
        )
        for one in new
    ]
    return tuple(sorted(lines, key=_rank))


def measure_length(part: Part) -> float:
    """Longest side of a part in metres, as it is carried and loaded; 0 where the catalogue states none."""
    match part:
        case Section():
            return max(part.pitch_m, part.overall_width_m)
        case Landing() | TransitionPlate() | BottomPad():
            return max(part.length_m, part.width_m)
        case ThresholdPlate():
            return max(part.reach_m, part.width_m)
        case RailPanel():
            return max(part.length_m, part.height_m)
        case RailEnd():
            return part.extension_m
        case StepFlight():
            return max(part.plan_length_m, part.width_m)
        case _:
            return 0.0


def build_pick_sheet(job: DocumentJob) -> PickSheet:
    """The list of one candidate.  Raises ``InputError`` when a piece of the plan rests on nothing."""
    lines = list_picks(job)
    loaded = [line for line in lines if not isinstance(line.part, BottomPad)]
    longest = max(loaded, key=lambda line: line.length_m)
    heaviest = max(loaded, key=lambda line: line.part.weight_kg)
    return PickSheet(
        title=job.site.name,
        below=f"Pick list, {job.candidate.name}: {job.candidate.shape}",
        warning=job.site.heights.warning,
        paper=job.paper,
        groups=tuple(_tell_groups(job, lines)),
        bolts=build_bolt_sheet(job),
        total=show_weight(job, sum(line.weight_kg for line in lines)),
        longest=f"{longest.part.name}, {show_distance(job.lengths, longest.length_m)}",
        heaviest=f"{heaviest.part.name}, {show_weight(job, heaviest.part.weight_kg)}",
        spares=_describe_spares(job),
    )


def set_pick_list(job: DocumentJob, form: Literal["pdf", "png"]) -> tuple[bytes, ...]:
    """One PDF, or one PNG a page."""
    return set_template(_TEMPLATE, json.dumps(asdict(build_pick_sheet(job)), ensure_ascii=False), form)


def _describe_spares(job: DocumentJob) -> str:
    if job.spares is None:
        return "Spare legs: none asked for."
    if not job.spares:
        return "Spare legs: none needed for the share of days asked for."
    return "Spare legs: counted above."


def _list_uses(candidate: Candidate, steps: tuple[BuildStep, ...]) -> Iterator[_Use]:
    legs = {leg.id: leg for leg in candidate.legs}
    pieces = {piece.id: piece for piece in candidate.pieces}
    rails = {rail.id: rail for rail in candidate.rails}
    for step in steps:
        if step.piece and step.action != "fit rails":
            yield _Use(pieces[step.piece].catalogue_id, step.piece, step.number)
        for name in step.legs:
            leg = legs[name]
            for part in (leg.leg_type, leg.foot, *((leg.brace,) if leg.brace is not None else ())):
                yield _Use(part, name, step.number)
        for name in step.rails:
            yield _Use(rails[name].catalogue_id, name, step.number)


def _by_part(use: _Use) -> str:
    return use.part_id


def _rank(line: PickLine) -> tuple[int, float, float, str]:
    return (
        _GROUPS.index(find_kind(line.part)),
        -line.length_m,
        -line.part.weight_kg,
        line.part.id,
    )


def _tell_groups(job: DocumentJob, lines: tuple[PickLine, ...]) -> Iterator[PickGroup]:
    for title in _GROUPS:
        chosen = [line for line in lines if find_kind(line.part) == title]
        if chosen:
            weight = show_weight(job, sum(line.weight_kg for line in chosen))
            yield PickGroup(title, tuple(_tell_line(job, line) for line in chosen), weight)


def _tell_line(job: DocumentJob, line: PickLine) -> tuple[str, ...]:
    spare = f" (spare: {line.spare})" if line.spare else ""
    return (
        str(line.count),
        line.part.name + spare,
        show_distance(job.lengths, line.length_m) if line.length_m else "",
        show_weight(job, line.part.weight_kg, "tenths"),
        show_weight(job, line.weight_kg),
        str(line.step) if line.step else "",
        shorten_items(line.items),
    )
