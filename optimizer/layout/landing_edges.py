"""The edges of a landing: where runs attach, and which rail parts its free edges take.

Edges are named in the frame of the run that arrives (for a door landing: of somebody
walking out of the door): ``start`` is the entry (or wall) edge, ``end`` the opposite one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from optimizer.catalogue.parts import Landing
from optimizer.errors import Fault, InputError, InternalError
from optimizer.layout.spec import Exit, TurnKind
from optimizer.units import TOLERANCE_M, is_at_most

Edge = Literal["left", "right", "start", "end"]
RailKind = Literal["panel", "infill", "inner_loop"]
#: A run that leaves at least this much of an edge free leaves room for an infill panel, metres.
INFILL_FROM_M = 0.1


@dataclass(frozen=True, slots=True)
class EdgeRail:
    """One rail part on one edge of a landing."""

    edge: Edge
    kind: RailKind
    part: str


@dataclass(frozen=True, slots=True)
class Departure:
    """Where the next run leaves, relative to the middle of the arriving run's end.

    ``shift_m``: lateral of the landing's middle; ``along_m``, ``right_m``: the leaving pose;
    ``heading``: its heading as (along, right) of the arriving one.
    """

    shift_m: float
    along_m: float
    right_m: float
    heading: tuple[int, int]


def check_offset(where: str, offset_m: float, edge_m: float, width_m: float) -> None:
    """Refuse a run of ``width_m`` that does not lie on its edge with its whole width.

    ``offset_m``: its middle line from the middle of the edge of length ``edge_m``; flush with
    an end to within a micrometre is on it.  Raises InputError naming ``where``.
    """
    room_m = (edge_m - width_m) / 2.0
    if is_at_most(abs(offset_m), room_m):
        return
    run = f"a run {width_m:.4f} m wide"
    if room_m < -TOLERANCE_M:
        raise InputError(
            Fault(where, f"the edge is {edge_m:.4f} m long, too short for {run}.", "Name a larger landing.")
        )
    raise InputError(
        Fault(
            where,
            f"{run} whose middle is {offset_m:+.4f} m to the right of the edge's middle leaves the edge.",
            f"Give at most {max(room_m, 0.0):.4f} m either way.",
        )
    )


def find_departure(
    landing: Landing, kind: TurnKind, arrive_m: float, leave_m: float, width_m: float
) -> Departure:
    """Place a landing against an arriving run and say where the next run leaves.

    Offsets as in ``TurnSpec``, metres; ``width_m`` is that of the runs.
    """
    long, wide = landing.length_m, landing.width_m
    shift = -arrive_m
    match kind:
        case "straight":
            return Departure(shift, long, shift + leave_m, (1, 0))
        case "left":
            return Departure(shift, long / 2 + leave_m, shift - wide / 2, (0, -1))
        case "right":
            return Departure(shift, long / 2 - leave_m, shift + wide / 2, (0, 1))
        case "half_right":
            return Departure((wide - width_m) / 2, 0.0, wide - width_m, (-1, 0))
        case "half_left":
            return Departure(-(wide - width_m) / 2, 0.0, -(wide - width_m), (-1, 0))
    raise InternalError(f"turn {kind!r} is not known")


def list_landing_rails(landing: Landing, use: Exit | TurnKind, width_m: float) -> tuple[EdgeRail, ...]:
    """Rail parts of a landing that has rails; ``use`` is a turn, or the exit of a door landing."""
    whole = {
        "start": landing.rail_width_edge,
        "end": landing.rail_width_edge,
        "left": landing.rail_length_edge,
        "right": landing.rail_length_edge,
    }
    edge_length = {
        "start": landing.width_m,
        "end": landing.width_m,
        "left": landing.length_m,
        "right": landing.length_m,
    }
    is_half = use in ("half_left", "half_right")
    is_door = use == "front"
    attached: tuple[Edge, ...]
    match use:
        case "straight":
            attached = ("start", "end")
        case "front":
            attached = ("end",)
        case "half_left" | "half_right":
            attached = ("start",)
        case "left":
            attached = ("start", "left")
        case "right":
            attached = ("start", "right")
    rails: list[EdgeRail] = []
    edges: tuple[Edge, ...] = ("start", "end", "left", "right")
    for edge in edges:
        if is_door and edge == "start":
            continue
        if edge not in attached:
            rails.append(EdgeRail(edge, "panel", whole[edge]))
        elif is_half:
            if landing.rail_inner_loop is None:
                raise InternalError(f"landing {landing.id} turns half without an inner loop")
            rails.append(EdgeRail(edge, "inner_loop", landing.rail_inner_loop))
        elif edge_length[edge] > width_m + INFILL_FROM_M:
            rails.append(EdgeRail(edge, "infill", landing.rail_infill))
    return tuple(rails)


def list_door_landing_rails(landing: Landing, leaves: Exit, width_m: float) -> tuple[EdgeRail, ...]:
    """Rail parts of a door landing: none on the wall edge, an infill beside the leaving run."""
    turn: Exit = leaves
    return tuple(rail for rail in list_landing_rails(landing, turn, width_m) if rail.edge != "start")
