"""Sections, landings, plates and the bottom pad as solids with their real depth.

The upper face of every deck lies exactly on the plan's corners.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from optimizer.catalogue.parts import Landing, Section, StepFlight, ThresholdPlate, TransitionPlate
from optimizer.errors import InternalError
from optimizer.plan import Piece
from viewer.facts import Words, list_piece_facts
from viewer.marks import Mark
from viewer.piece_frame import Edge, PieceFrame, build_piece_frame, find_free_stretches, list_edge_ends
from viewer.solids import UP, MeshGroup, NamedMesh, Solid, build_joined, build_named_mesh, build_prism
from viewer.step_meshes import build_flight

_PLANK_M: Final = 0.145
_PLANK_GAP_M: Final = 0.009
_PLANK_DEPTH_M: Final = 0.028
_BEAM_M: Final = 0.05
_BEAM_EVERY_M: Final = 0.9
_CURB_M: Final = 0.022
_PAD_DEPTH_M: Final = 0.09
_PAVER_M: Final = 0.4


def draw_pieces(words: Words, pieces: tuple[Piece, ...]) -> tuple[NamedMesh, ...]:
    """One mesh a piece, in the order from the door down."""
    return tuple(_draw_piece(words, piece, pieces) for piece in pieces)


def _draw_piece(words: Words, piece: Piece, pieces: tuple[Piece, ...]) -> NamedMesh:
    frame = build_piece_frame(piece)
    facts = list_piece_facts(words, piece)
    part = words.site.catalogue.part(piece.catalogue_id)

    def name_mesh(word: str, group: MeshGroup, solid: Solid, boards: int) -> NamedMesh:
        mark = Mark("piece", piece.id, piece.kind, piece.catalogue_id, boards=boards)
        return build_named_mesh(f"{word} {piece.id}", group, solid, facts, mark)

    match piece.kind:
        case "section":
            if not isinstance(part, Section):
                raise InternalError(f"piece {piece.id} is a section of part {part.id}, which is none")
            return name_mesh("section", "deck", _build_section(frame, part), _count_planks(frame))
        case "landing":
            if not isinstance(part, Landing):
                raise InternalError(f"piece {piece.id} is a landing of part {part.id}, which is none")
            solid = build_joined(
                [_build_platform(frame, part.frame_depth_m), *_build_curbs(piece, part, pieces)]
            )
            return name_mesh("landing", "landing", solid, _count_planks(frame))
        case "transition_plate":
            thick = part.tip_thickness_m if isinstance(part, TransitionPlate) else 0.006
            return name_mesh("transition plate", "plate", build_prism(frame.corners, thick), 1)
        case "threshold_plate":
            if not isinstance(part, ThresholdPlate):
                raise InternalError(f"piece {piece.id} is a threshold plate of part {part.id}, which is none")
            return name_mesh("threshold plate", "plate", build_prism(frame.corners, 0.006), 1)
        case "bottom_pad":
            along, across = _count_pavers(frame)
            return name_mesh("bottom pad", "pad", _build_pavers(frame), along * across)
        case "steps":
            if not isinstance(part, StepFlight):
                raise InternalError(f"piece {piece.id} is a flight of steps of part {part.id}, which is none")
            return name_mesh("steps", "deck", build_flight(piece, part), part.risers - 1)


def _count_planks(frame: PieceFrame) -> int:
    return max(1, round(frame.length_m / _PLANK_M))


def _build_planks(frame: PieceFrame, depth_m: float) -> list[Solid]:
    """Boards across the piece, the first and last flush with its ends."""
    count = _count_planks(frame)
    pitch = (frame.length_m + _PLANK_GAP_M) / count
    return [
        build_prism(
            frame.ring((k * pitch, (k + 1) * pitch - _PLANK_GAP_M), (0.0, frame.width_m), 0.0), depth_m
        )
        for k in range(count)
    ]


def _build_platform(frame: PieceFrame, frame_depth_m: float) -> Solid:
    """Boards on two side beams and cross beams, ``frame_depth_m`` deep in all; the boards come first."""
    solids = _build_planks(frame, min(_PLANK_DEPTH_M, frame_depth_m / 2.0))
    top = min(_PLANK_DEPTH_M, frame_depth_m / 2.0)
    deep = frame_depth_m - top
    length, width = frame.length_m, frame.width_m
    for right in ((0.0, _BEAM_M), (width - _BEAM_M, width)):
        solids.append(build_prism(frame.ring((0.0, length), right, top), deep))
    count = max(2, 1 + round(length / _BEAM_EVERY_M))
    for start in np.linspace(0.0, length - _BEAM_M, count):
        # The end beams close the frame and are as deep as it; those between are lighter.
        is_end = start in (0.0, length - _BEAM_M)
        beam = frame.ring((float(start), float(start) + _BEAM_M), (_BEAM_M, width - _BEAM_M), top)
        solids.append(build_prism(beam, deep if is_end else 0.6 * deep))
    return build_joined(solids)


def _build_section(frame: PieceFrame, part: Section) -> Solid:
    solids = [_build_platform(frame, part.frame_depth_m)]
    if part.curb_height_m > 0.0:
        for right in ((0.0, _CURB_M), (frame.width_m - _CURB_M, frame.width_m)):
            ring = frame.ring((0.0, frame.length_m), right, -part.curb_height_m)
            solids.append(build_prism(ring, part.curb_height_m))
    return build_joined(solids)


def _build_curbs(piece: Piece, part: Landing, pieces: tuple[Piece, ...]) -> list[Solid]:
    """Curbs on the edges of a landing, left open where a run or plate is attached and at the wall."""
    if part.curb_height_m <= 0.0:
        return []
    middle = np.mean(np.array(piece.corners_m), axis=0)
    solids: list[Solid] = []
    edges: tuple[Edge, ...] = ("left", "right", "start", "end")
    for edge in edges:
        if piece.use == "door" and edge == "start":
            continue
        first, second = list_edge_ends(piece, edge)
        along = (second - first) / np.linalg.norm(second - first)
        inward = np.cross(UP, along)
        inward *= np.sign(float((middle - first) @ inward))
        for start, end in find_free_stretches(piece, edge, pieces):
            line = np.array([first + start * along, first + end * along])
            ring = np.concatenate([line, line[::-1] + _CURB_M * inward]) + part.curb_height_m * UP
            solids.append(build_prism(ring, part.curb_height_m))
    return solids


def _count_pavers(frame: PieceFrame) -> tuple[int, int]:
    return max(1, round(frame.length_m / _PAVER_M)), max(1, round(frame.width_m / _PAVER_M))


def _build_pavers(frame: PieceFrame) -> Solid:
    """Paved pad: a slab of square stones, which come first, on its bed."""
    along, across = _count_pavers(frame)
    step, side = (frame.length_m + 0.006) / along, (frame.width_m + 0.006) / across
    stones = [
        build_prism(
            frame.ring((i * step, (i + 1) * step - 0.006), (j * side, (j + 1) * side - 0.006), 0.0),
            _PAD_DEPTH_M,
        )
        for i in range(along)
        for j in range(across)
    ]
    bed = build_prism(
        frame.ring((0.004, frame.length_m - 0.004), (0.004, frame.width_m - 0.004), 0.012), 0.07
    )
    return build_joined([*stones, bed])
