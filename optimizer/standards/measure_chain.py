"""A candidate taken apart: its pieces, in order down the ramp, as a measured chain.

Nothing here believes a number the candidate states beside its corners.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from optimizer.catalogue.parts import (
    BottomPad,
    Catalogue,
    Landing,
    Section,
    StepFlight,
    ThresholdPlate,
    TransitionPlate,
)
from optimizer.plan import XYZ, Candidate, Finding
from optimizer.standards.chain import Chain, Run
from optimizer.standards.findings import judge_fact
from optimizer.standards.placed import Placed, measure_piece

_CLASSES: Final = (
    ("threshold_plate", ThresholdPlate),
    ("landing", Landing),
    ("section", Section),
    ("transition_plate", TransitionPlate),
    ("bottom_pad", BottomPad),
    ("steps", StepFlight),
)


def measure_chain(candidate: Candidate, catalogue: Catalogue) -> tuple[Chain | None, tuple[Finding, ...]]:
    """Put the candidate's pieces in a chain; no chain and the reasons when they make none."""
    faults = [*_find_identity_faults(candidate, catalogue), *_find_order_faults(candidate)]
    if faults:
        return None, tuple(
            judge_fact("build.chain", subject, "", fault, where) for subject, fault, where in faults
        )
    return _build_chain(candidate, catalogue), (
        judge_fact(
            "build.chain", candidate.name, "the pieces follow each other from door to ground", None, None
        ),
    )


Fault = tuple[str, str, XYZ | None]


def _find_identity_faults(candidate: Candidate, catalogue: Catalogue) -> Iterator[Fault]:
    ids = [*(piece.id for piece in candidate.pieces), *(leg.id for leg in candidate.legs)]
    ids += [rail.id for rail in candidate.rails]
    for repeated in sorted({name for name in ids if ids.count(name) > 1}):
        yield repeated, "this id is used more than once", None
    classes = dict(_CLASSES)
    parts = {part.id: part for part in catalogue.parts()}
    for piece in candidate.pieces:
        where = piece.corners_m[0]
        part = parts.get(piece.catalogue_id)
        if part is None:
            yield piece.id, f'the catalogue has no part "{piece.catalogue_id}"', where
        elif not isinstance(part, classes[piece.kind]):
            yield piece.id, f'part "{piece.catalogue_id}" is no {piece.kind.replace("_", " ")}', where
        elif (piece.kind == "landing") != (piece.use is not None):
            yield piece.id, "a landing has a use and nothing else has one", where
        elif measure_piece(piece, part).plan_length_m < SHORTEST_PIECE_M and piece.kind != "threshold_plate":
            yield piece.id, "it has no length in plan", where


#: A piece shorter than this in plan has no direction that could be measured.
SHORTEST_PIECE_M: Final = 0.01


def _find_order_faults(candidate: Candidate) -> Iterator[Fault]:
    kinds = [piece.kind for piece in candidate.pieces]
    name = candidate.name
    if kinds.count("threshold_plate") != 1:
        yield name, "there is not exactly one threshold plate", None
    if kinds.count("bottom_pad") > 1:
        yield name, "there is more than one bottom pad", None
    way = [piece for piece in candidate.pieces if piece.kind in ("landing", "section", "transition_plate")]
    if [piece.kind for piece in way].count("transition_plate") != 1 or way[-1].kind != "transition_plate":
        yield name, "the way does not end on exactly one transition plate", None
        return
    if way[0].kind == "transition_plate" or way[-2].kind != "section":
        yield name, "the transition plate does not hang on a section", None
    for index, piece in enumerate(way):
        if (piece.use == "door") != (piece.kind == "landing" and index == 0):
            yield piece.id, "the landing at the door, and no other, has the use door", piece.corners_m[0]
    for upper, lower in pairwise(way):
        if upper.kind == lower.kind == "landing":
            yield lower.id, "two landings follow each other without a run", lower.corners_m[0]


def _build_chain(candidate: Candidate, catalogue: Catalogue) -> Chain:
    parts = {part.id: part for part in catalogue.parts()}
    threshold: Placed[ThresholdPlate] | None = None
    pad: Placed[BottomPad] | None = None
    door: Placed[Landing] | None = None
    landings: list[Placed[Landing]] = []
    plate: Placed[TransitionPlate] | None = None
    steps: list[Placed[StepFlight]] = []
    sections: list[list[Placed[Section]]] = []
    after_landing = True
    for piece in candidate.pieces:
        part = parts[piece.catalogue_id]
        if isinstance(part, ThresholdPlate):
            threshold = measure_piece(piece, part)
        elif isinstance(part, BottomPad):
            pad = measure_piece(piece, part)
        elif isinstance(part, Landing) and piece.use == "door":
            door = measure_piece(piece, part)
        elif isinstance(part, Landing):
            landings.append(measure_piece(piece, part))
            after_landing = True
        elif isinstance(part, Section):
            if after_landing:
                sections.append([])
            sections[-1].append(measure_piece(piece, part))
            after_landing = False
        elif isinstance(part, TransitionPlate):
            plate = measure_piece(piece, part)
        elif isinstance(part, StepFlight):
            steps.append(measure_piece(piece, part))
    if threshold is None:
        raise ValueError("a chain begins with a threshold plate")
    last = len(sections)
    runs = tuple(
        Run(number, tuple(group), plate if number == last else None)
        for number, group in enumerate(sections, start=1)
    )
    return Chain(threshold, door, runs, tuple(landings), pad, candidate.exit, tuple(steps))
