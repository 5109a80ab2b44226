"""Legs, low supports, feet and braces.

The lowest point of a foot and the highest of its leg lie where the plan says: the leg
stands ``height_m`` below ``frame_elevation_m``.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.catalogue.parts import Foot
from optimizer.plan import Candidate, Piece, SupportLeg
from viewer.facts import Words, list_leg_facts
from viewer.marks import Mark
from viewer.piece_frame import PieceFrame, build_piece_frame
from viewer.solids import (
    NamedMesh,
    Solid,
    build_beam,
    build_joined,
    build_named_mesh,
    build_square_post,
    build_tube,
)

_OUTER_M: Final = 0.056
_INNER_M: Final = 0.040
_FOOT_DEPTH_M: Final = 0.030
_BRACE_M: Final = 0.022
_BRACE_REACH_M: Final = 0.55


def draw_supports(words: Words, candidate: Candidate) -> tuple[NamedMesh, ...]:
    """A leg and a foot for every support, and its braces where it has some."""
    meshes: list[NamedMesh] = []
    by_id = {piece.id: piece for piece in candidate.pieces}
    for leg in candidate.legs:
        meshes += _draw_support(words, leg, build_piece_frame(by_id[leg.piece]))
    return tuple(meshes)


def name_support(leg: SupportLeg) -> str:
    """``leg L07 (leg-mid)`` or ``low support L12 (shoe)``."""
    return f"{'leg' if leg.kind == 'leg' else 'low support'} {leg.id} ({leg.leg_type})"


def _draw_support(words: Words, leg: SupportLeg, frame: PieceFrame) -> list[NamedMesh]:
    base = np.array([leg.x_m, leg.y_m, leg.frame_elevation_m - leg.height_m])
    foot_part = words.site.catalogue.part(leg.foot)
    side_m = foot_part.plate_m if isinstance(foot_part, Foot) else 0.12
    facts = list_leg_facts(words, leg)
    if leg.kind == "leg":
        shaft = [*_build_tubes(base, leg.height_m, frame.heading), *_build_arm(leg, frame)]
    else:
        shaft = [*_build_shoe(base, leg.height_m, side_m, frame.heading), *_build_arm(leg, frame)]
    foot = build_square_post(base, min(_FOOT_DEPTH_M, 0.4 * leg.height_m), side_m, frame.heading, 0.9)
    meshes = [
        build_named_mesh(
            name_support(leg),
            "leg",
            build_joined(shaft),
            facts,
            Mark("support", leg.id, leg.kind, leg.leg_type, leg.piece),
        ),
        build_named_mesh(
            f"foot {leg.id} ({leg.foot})",
            "foot",
            foot,
            (("part", foot_part.name),),
            Mark("foot", leg.id, "foot", leg.foot, leg.piece),
        ),
    ]
    if leg.brace is not None:
        braces = _build_braces(base, leg, frame)
        name = words.site.catalogue.part(leg.brace).name
        mark = Mark("brace", leg.id, "brace", leg.brace, leg.piece)
        meshes.append(
            build_named_mesh(f"brace {leg.id} ({leg.brace})", "leg", braces, (("part", name),), mark)
        )
    return meshes


def _build_tubes(base: NDArray[np.float64], height_m: float, along: NDArray[np.float64]) -> list[Solid]:
    """An inner tube over the whole height, an outer one from the frame down, a collar and its pin."""
    outer_m = 0.55 * height_m
    lift = np.array([0.0, 0.0, height_m - outer_m])
    solids = [
        build_square_post(base, height_m, _INNER_M, along),
        build_square_post(base + lift, outer_m, _OUTER_M, along),
    ]
    if height_m > 0.2:
        solids.append(build_square_post(base + lift, 0.035, _OUTER_M + 0.016, along))
        middle = base + lift + np.array([0.0, 0.0, 0.09])
        across = np.array([-along[1], along[0], 0.0]) * (_OUTER_M / 2.0 + 0.014)
        solids.append(build_tube(middle - across, middle + across, 0.014, 8))
    return solids


def _build_shoe(
    base: NDArray[np.float64], height_m: float, side_m: float, along: NDArray[np.float64]
) -> list[Solid]:
    """A block that widens to its foot."""
    return [build_square_post(base, height_m, 0.8 * side_m, along, 0.7)]


def _build_arm(leg: SupportLeg, frame: PieceFrame) -> list[Solid]:
    """Bracket from a leg that stands outside the deck to the frame it carries."""
    place = np.array([leg.x_m, leg.y_m]) - frame.corners[0, :2]
    side = float(place @ frame.right[:2])
    over = max(-side, side - frame.width_m)
    if over <= 0.0:
        return []
    inward = frame.right if side < 0.0 else -frame.right
    depth_m = min(0.05, 0.5 * leg.height_m)
    start = np.array([leg.x_m, leg.y_m, leg.frame_elevation_m - depth_m / 2.0])
    return [build_beam(start, start + (over + 0.05) * inward, 0.045, depth_m)]


def _build_braces(base: NDArray[np.float64], leg: SupportLeg, frame: PieceFrame) -> Solid:
    """Two thin diagonals from low on the leg up to the frame: inward across and along the piece."""
    low = base + np.array([0.0, 0.0, 0.22 * leg.height_m])
    rise = np.array([0.0, 0.0, 0.98 * leg.height_m - 0.22 * leg.height_m])
    place = np.array([leg.x_m, leg.y_m]) - frame.corners[0, :2]
    ahead = np.append(frame.heading, 0.0)
    along_at = float(place @ frame.heading)
    plan_length = float(np.linalg.norm(frame.corners[3, :2] - frame.corners[0, :2]))
    sides = (
        frame.right * (1.0 if float(place @ frame.right[:2]) < frame.width_m / 2.0 else -1.0),
        ahead * (1.0 if along_at < plan_length / 2.0 else -1.0),
    )
    reach = min(_BRACE_REACH_M, 0.8 * leg.height_m)
    return build_joined([build_tube(low, low + rise + reach * side, _BRACE_M, 8) for side in sides])


def find_tallest(legs: tuple[SupportLeg, ...]) -> SupportLeg | None:
    """The tallest leg (the first of equals); ``None`` when there is none."""
    return max(legs, key=lambda leg: leg.height_m, default=None)


def find_piece(pieces: tuple[Piece, ...], piece_id: str) -> Piece:
    """The piece with this id; the plan's legs and rails name only pieces it has."""
    return next(piece for piece in pieces if piece.id == piece_id)
