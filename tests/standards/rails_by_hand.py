"""The rails of the hand-built ramp: panels, posts, ends, infills and inner loops."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from optimizer.plan import XYZ, Candidate, Piece, Rail


@dataclass
class _Rails:
    pieces: tuple[Piece, ...]
    rails: list[Rail] = field(default_factory=list)

    def add_rail(self, part: str, kind: str, piece: str, edge: str, line: tuple[XYZ, XYZ]) -> None:
        rail = Rail(
            id=f"rail {len(self.rails) + 1}",
            catalogue_id=part,
            kind=kind,
            piece=piece,
            edge=edge,
            line_m=line,
            height_m=0.9144,
        )
        self.rails.append(rail)


EDGES = {"left": (0, 3), "right": (1, 2), "start": (0, 1), "end": (3, 2)}


def build_rails(pieces: tuple[Piece, ...], turns: tuple[str, ...], leave: str) -> list[Rail]:
    """Rails on every open edge of every piece."""
    ramp = _Rails(pieces)
    for piece in ramp.pieces:
        if piece.kind == "landing":
            _add_landing_rails(ramp, piece, leave)
        elif piece.kind in ("section", "transition_plate"):
            _add_run_rails(ramp, piece)
    for run in range(1, len(turns) + 2):
        own = [piece for piece in ramp.pieces if piece.run == run]
        upper_use = "" if run == 1 else turns[run - 2]
        lower_use = turns[run - 1] if run <= len(turns) else ""
        for piece, at_top, use in ((own[0], True, upper_use), (own[-1], False, lower_use)):
            for edge in ("left", "right"):
                if use not in (edge, f"half_{edge}"):
                    _add_rail_end(ramp, piece, edge, at_top=at_top)
    return ramp.rails


def _add_landing_rails(ramp: _Rails, piece: Piece, leave: str) -> None:
    half = piece.use in ("half_left", "half_right")
    out = {"door": "end" if leave == "front" else leave, "left": "left", "right": "right", "straight": "end"}
    attached = {"start", out.get(str(piece.use), "start")}
    for edge, (first, second) in EDGES.items():
        line = (piece.corners_m[first], piece.corners_m[second])
        if edge == "start" and piece.use == "door":
            continue
        if edge not in attached:
            part = "panel-wide-half" if half and edge == "end" else "panel-wide"
            ramp.add_rail(part, "panel", piece.id, edge, line)
        elif half:
            ramp.add_rail("panel-loop", "inner_loop", piece.id, edge, line)
        else:
            ramp.add_rail("panel-infill", "infill", piece.id, edge, line)


def _add_run_rails(ramp: _Rails, piece: Piece) -> None:
    part = "panel-section" if piece.kind == "section" else "panel-plate"
    for edge in ("left", "right"):
        first, second = (piece.corners_m[index] for index in EDGES[edge])
        ramp.add_rail(part, "panel", piece.id, edge, (first, second))
        if piece.kind == "section":
            ramp.add_rail("post", "post", piece.id, edge, (second, second))
        if piece.id.endswith(".1"):
            ramp.add_rail("post", "post", piece.id, edge, (first, first))


def _add_rail_end(ramp: _Rails, piece: Piece, edge: str, *, at_top: bool) -> None:
    first, second = (piece.corners_m[index] for index in EDGES[edge])
    plan = math.hypot(second[0] - first[0], second[1] - first[1])
    way = ((second[0] - first[0]) / plan, (second[1] - first[1]) / plan)
    base, length = (first, -0.31) if at_top else (second, 0.31)
    far = (base[0] + length * way[0], base[1] + length * way[1], base[2])
    ramp.add_rail("rail-end", "end", piece.id, edge, (base, far))


def add_end(candidate: Candidate, piece_id: str, edge: str, run_end: Literal["upper", "lower"]) -> Candidate:
    """The candidate with one more rail end at a corner of this piece."""
    ramp = _Rails(candidate.pieces)
    piece = next(piece for piece in candidate.pieces if piece.id == piece_id)
    _add_rail_end(ramp, piece, edge, at_top=run_end == "upper")
    more = ramp.rails[0].model_copy(update={"id": f"{run_end} {edge} end of {piece_id}"})
    return candidate.model_copy(update={"rails": (*candidate.rails, more)})
