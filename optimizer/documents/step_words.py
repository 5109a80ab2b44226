"""The computed order of building, one sentence a step."""

from __future__ import annotations

from typing import Literal

from optimizer.assembly.build_order import BuildStep
from optimizer.assembly.lifting import LIFT_PER_PERSON_KG, Lift
from optimizer.documents.job import DocumentJob
from optimizer.plan import Piece
from optimizer.schedule_tables import shorten_items
from optimizer.units import round_half_up

_KG_PER_LB = 0.45359237


def describe_step(job: DocumentJob, step: BuildStep) -> str:
    """What is done in a step, its prop included."""
    return " ".join((_describe_action(job, step), *_describe_props(step)))


def show_weight(job: DocumentJob, weight_kg: float, to: Literal["whole", "tenths"] = "whole") -> str:
    """Kilograms, or pounds where the site shows feet or inches."""
    is_pounds = job.lengths.place == "ft-in"
    value, unit = (weight_kg / _KG_PER_LB, "lb") if is_pounds else (weight_kg, "kg")
    steps = 10 if to == "tenths" else 1
    shown = round_half_up(value * steps) / steps
    return f"{shown:.1f}\u00a0{unit}" if to == "tenths" else f"{shown:.0f}\u00a0{unit}"


def show_people(lift: Lift | None) -> str:
    """``2``, or that hands are not enough."""
    if lift is None:
        return ""
    return "lifting gear" if lift.needs_gear else str(lift.people)


def describe_limit(job: DocumentJob) -> str:
    """What people are counted by, with its source."""
    limit = show_weight(job, LIFT_PER_PERSON_KG)
    return (
        f"People: {limit} each at most, the load constant of the NIOSH lifting equation "
        "(DHHS (NIOSH) 94-110), for the best conditions; far reach, wet or soft ground ask for more people. "
        "Two at least where a piece is held while it is bolted; more than four at a section or six at a "
        "landing: lifting gear, or legs put on once the piece lies on blocks (common practice, no source)."
    )


def _describe_action(job: DocumentJob, step: BuildStep) -> str:
    legs = shorten_items(step.legs)
    match step.action:
        case "set":
            piece = _find(job, step.piece)
            if piece.kind == "landing":
                return f"Set landing {piece.id} on its legs {legs}; level it both ways, check its drop."
            feet = f", its feet {legs} down before anybody lets go" if legs else ""
            return f"Hang section {piece.id} on what stands{feet}."
        case "lay pad":
            return f"Make the level pad {step.piece} at its marks."
        case "lay plate":
            if _find(job, step.piece).kind == "threshold_plate":
                return f"Lay the threshold plate {step.piece} at the door; try the door."
            return f"Hang the plate {step.piece}; its tip lies on the ground over its whole width."
        case "hang steps":
            return f"Hang the steps {step.piece}: from now on a way out for who can walk them."
        case "tighten":
            return "Check every drop again from the top, then tighten every bolt from the top down."
        case "fit rails":
            return f"Rails of {step.piece}: {shorten_items(step.rails)}."


def _describe_props(step: BuildStep) -> list[str]:
    return [
        *(
            f"PROP under its lower end ({name}) until the landing below is bolted to it."
            for name in step.props
        ),
        *(f"Bolt {name} to it; only then take the prop of {name} away." for name in step.props_away),
    ]


def _find(job: DocumentJob, name: str) -> Piece:
    return next(piece for piece in job.candidate.pieces if piece.id == name)
