"""The order in which a ramp is put up, computed from what carries what.

From the door down; feet stand under a piece before it takes the next one's weight; a section whose lower end
will lie on a landing that is not there yet gets a prop until it is; rails after the structure and again from
the top.  Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from optimizer.assembly.bearings import (
    Bearing,
    find_landing_of,
    list_bearings,
    list_legs_under,
    list_walked,
)
from optimizer.assembly.lifting import (
    FEWEST_TO_HOLD,
    FEWEST_TO_LAY,
    MOST_AT_A_LANDING,
    MOST_AT_A_SECTION,
    Lift,
    count_lifters,
)
from optimizer.catalogue.parts import Catalogue
from optimizer.plan import Candidate, Piece, SupportLeg

Action = Literal["set", "lay pad", "lay plate", "hang steps", "tighten", "fit rails"]


@dataclass(frozen=True, slots=True)
class BuildStep:
    """One step.  ``legs`` stand under ``piece`` when it is set; ``lift`` counts them with it.

    ``props``: pieces whose lower end gets a prop in this step, before anybody lets go.  ``props_away``:
    pieces whose prop goes at the end of this step.  ``piece`` is empty where all pieces are meant.
    """

    number: int
    action: Action
    piece: str
    legs: tuple[str, ...] = ()
    rails: tuple[str, ...] = ()
    props: tuple[str, ...] = ()
    props_away: tuple[str, ...] = ()
    lift: Lift | None = None


def find_build_order(candidate: Candidate, catalogue: Catalogue) -> tuple[BuildStep, ...]:
    """Every step from the door down, numbered from 1; each leg and rail of the plan is in one of them.

    Raises ``InputError`` when a place of a piece rests on nothing.
    """
    steps = [*_list_structure(candidate, catalogue), BuildStep(0, "tighten", "")]
    steps += _list_rails(candidate)
    return tuple(replace(step, number=i) for i, step in enumerate(steps, start=1))


def measure_lift(candidate: Candidate, catalogue: Catalogue, piece: Piece) -> Lift:
    """The piece with the legs, feet and braces that are bolted to it before it is lifted."""
    weight_kg = catalogue.part(piece.catalogue_id).weight_kg + sum(
        _weigh_leg(catalogue, leg) for leg in list_legs_under(candidate, piece.id, "")
    )
    fewest = FEWEST_TO_LAY if piece.kind in ("threshold_plate", "transition_plate") else FEWEST_TO_HOLD
    most = MOST_AT_A_LANDING if piece.kind == "landing" else MOST_AT_A_SECTION
    return Lift(weight_kg, count_lifters(weight_kg, fewest), most)


def find_heaviest(steps: tuple[BuildStep, ...]) -> BuildStep | None:
    """The step with the heaviest lift; ``None`` when nothing is lifted."""
    return max(
        (step for step in steps if step.lift is not None),
        key=lambda step: step.lift.weight_kg if step.lift is not None else 0.0,
        default=None,
    )


def _list_structure(candidate: Candidate, catalogue: Catalogue) -> Iterator[BuildStep]:
    bearings = list_bearings(candidate)
    thresholds = [piece for piece in candidate.pieces if piece.kind == "threshold_plate"]
    pads = [piece for piece in candidate.pieces if piece.kind == "bottom_pad"]
    standing: set[str] = set()
    propped: set[str] = set()
    for i, piece in enumerate(list_walked(candidate)):
        if piece.kind == "transition_plate":
            # Made on the spot of small stones, so no lift; the plate's tip comes to lie on it.
            yield from (BuildStep(0, "lay pad", pad.id) for pad in pads)
        waits = _waits_for_a_piece(bearings, piece, standing)
        ready = tuple(sorted(held for held in propped if _is_carried_by(bearings, held, piece)))
        standing.add(piece.id)
        propped -= {*ready}
        propped |= {piece.id} if waits else set()
        yield BuildStep(
            0,
            "lay plate" if piece.kind == "transition_plate" else "set",
            piece.id,
            legs=tuple(leg.id for leg in list_legs_under(candidate, piece.id, "")),
            props=(piece.id,) if waits else (),
            props_away=ready,
            lift=measure_lift(candidate, catalogue, piece),
        )
        hung = [
            one
            for one in candidate.pieces
            if one.kind == "steps" and find_landing_of(candidate, one).id == piece.id
        ]
        for one in (*(thresholds if i == 0 else ()), *hung):
            action: Action = "hang steps" if one.kind == "steps" else "lay plate"
            yield BuildStep(0, action, one.id, lift=measure_lift(candidate, catalogue, one))


def _waits_for_a_piece(bearings: tuple[Bearing, ...], piece: Piece, standing: set[str]) -> bool:
    """Whether an end of the piece will lie on a piece that does not stand yet."""
    return any(
        bearing.carrier == "piece" and not standing.issuperset(bearing.ids)
        for bearing in bearings
        if bearing.piece == piece.id
    )


def _is_carried_by(bearings: tuple[Bearing, ...], held: str, piece: Piece) -> bool:
    return any(
        bearing.piece == held and bearing.carrier == "piece" and piece.id in bearing.ids
        for bearing in bearings
    )


def _list_rails(candidate: Candidate) -> Iterator[BuildStep]:
    """Piece by piece from the top, steps with their landing."""
    walked = list(list_walked(candidate))
    for flight in (piece for piece in candidate.pieces if piece.kind == "steps"):
        walked.insert(walked.index(find_landing_of(candidate, flight)) + 1, flight)
    for piece in walked:
        rails = tuple(rail.id for rail in candidate.rails if rail.piece == piece.id)
        if rails:
            yield BuildStep(0, "fit rails", piece.id, rails=rails)


def _weigh_leg(catalogue: Catalogue, leg: SupportLeg) -> float:
    brace_kg = catalogue.part(leg.brace).weight_kg if leg.brace is not None else 0.0
    return catalogue.part(leg.leg_type).weight_kg + catalogue.part(leg.foot).weight_kg + brace_kg
