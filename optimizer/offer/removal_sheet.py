"""The removal sheet: lowest end first, nothing left hanging, parts counted back, the ground made good."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.assembly.removal_order import RemovalStep, find_removal_order
from optimizer.documents.job import DocumentJob
from optimizer.offer.page import Lines, Page, Rows, Words
from optimizer.plan import SETBACK_RELIEF, Piece

#: Common practice, no source.
_FIRST: Final = (
    "Close the way: nobody walks on the ramp from here on. Say how people get in and out meanwhile.",
    "Gloves and eye protection. Lift as a team, as many people as the sheet says.",
    "Nobody under a section that is not carried at both ends; a prop stands before what carries it goes.",
    "The order is worked out from what carries what. Your own rules and the maker's instructions go first.",
)
_GROUND: Final = (
    "Holes of stakes and prints of feet filled and trodden down",
    "Grass, paving and edges as they were, or as agreed",
    "Wall, sill and door: holes closed, nothing loose, door opens and shuts",
    "Nothing left that anyone could trip over; the step at the door is guarded or told",
)
_NAMES: Final = {
    "threshold_plate": "threshold plate",
    "landing": "landing",
    "section": "section",
    "transition_plate": "transition plate",
    "bottom_pad": "bottom pad",
    "steps": "steps",
}


def build_removal_sheet(job: DocumentJob) -> Page:
    """Steps, parts counted back by type, and what becomes of the ground."""
    steps = find_removal_order(job.candidate, job.site.catalogue)
    pieces = {piece.id: piece for piece in job.candidate.pieces}
    pads = [piece for piece in job.candidate.pieces if piece.kind == "bottom_pad"]
    ground = (*(f"Pad {pad.id} taken up, ground filled and level" for pad in pads), *_GROUND)
    return Page(
        title=f"Removal: {job.plan.site.name}",
        below=f"{job.candidate.name}, lowest end first; {len(job.candidate.pieces)} pieces, "
        f"{len(job.candidate.legs)} legs and supports, {job.candidate.weight_kg:.0f} kg in all",
        parts=(
            Words("", _FIRST, "frame"),
            Lines("", ("Date", "By", "Weather"), 3),
            Rows(
                "Order",
                ("", "piece", "first", "take away", "with", "people"),
                tuple(_describe(step, pieces[step.piece]) for step in steps),
                (1, 4, 4, 5, 4, 3),
            ),
            Rows(
                "Parts counted back",
                ("part", "type", "went out", "back", "good", "to mend", "lost"),
                tuple(_count_parts(job)),
                (7, 4, 2, 2, 2, 2, 2),
                right=(2,),
            ),
            Words("The ground made good", ground, "box"),
            Lines("", ("Client", "Crew", "Date"), 3),
        ),
        foot="Common practice, no source; local rules and the maker's instructions go first.",
        paper=job.paper,
    )


def _describe(step: RemovalStep, piece: Piece) -> tuple[str, ...]:
    first = f"prop under {', '.join(step.props)}" if step.props else ""
    rails = f"rails {', '.join(step.rails)}" if step.rails else ""
    legs = f"legs {', '.join(step.legs)}" if step.legs else ""
    away = f"prop of {', '.join(step.props_away)}" if step.props_away else ""
    people = "" if step.lift is None else f"{step.lift.people} ({step.lift.weight_kg:.0f} kg)"
    with_it = "; ".join(part for part in (legs, away) if part)
    return (str(step.number), f"{piece.id} {_NAMES[piece.kind]}", first, rails, with_it, people)


def _count_parts(job: DocumentJob) -> Iterator[tuple[str, ...]]:
    for line in job.candidate.price_lines:
        if line.group == "direct" and line.part != SETBACK_RELIEF:
            yield (line.name, line.part, str(line.count), "", "", "", "")
