"""Rails: panels with thin bars, posts, end loops."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimizer.catalogue.parts import RailPanel
from optimizer.plan import Candidate, Piece, Rail
from viewer.facts import Words, list_rail_facts
from viewer.marks import Mark
from viewer.piece_frame import find_free_stretches
from viewer.solids import (
    UP,
    NamedMesh,
    Solid,
    Vertices,
    build_beam,
    build_joined,
    build_named_mesh,
    build_tube,
)

_GRIP_M: Final = 0.04
_BAR_M: Final = 0.012
_POST_M: Final = 0.045
_LOW_RAIL_M: Final = 0.11
#: Panels whose openings are wider than this have a middle rail instead of bars.
_BARS_BELOW_M: Final = 0.15


def draw_rails(words: Words, candidate: Candidate) -> tuple[NamedMesh, ...]:
    """One mesh a rail part."""
    by_id = {piece.id: piece for piece in candidate.pieces}
    return tuple(
        build_named_mesh(
            f"rail {rail.id} ({rail.kind})",
            "rail",
            _build_rail(words, rail, by_id[rail.piece], candidate.pieces),
            list_rail_facts(words, rail),
            Mark("rail", rail.id, rail.kind, rail.catalogue_id, rail.piece),
        )
        for rail in candidate.rails
    )


def _build_rail(words: Words, rail: Rail, piece: Piece, pieces: tuple[Piece, ...]) -> Solid:
    first, second = np.array(rail.line_m[0]), np.array(rail.line_m[1])
    match rail.kind:
        case "post":
            return _build_post((first + second) / 2.0, rail.height_m)
        case "end":
            return _build_end(first, second, rail.height_m)
        case "panel":
            return _build_panel(words, rail, first, second)
        case "infill" | "inner_loop":
            # These fill what the attached runs leave free of the edge.
            along = (second - first) / np.linalg.norm(second - first)
            return build_joined(
                [
                    _build_panel(words, rail, first + start * along, first + end * along)
                    for start, end in find_free_stretches(piece, rail.edge, pieces)
                    if end - start > 0.06
                ]
            )


def _build_post(base: Vertices, height_m: float) -> Solid:
    return build_beam(base, base + height_m * UP, _POST_M, _POST_M)


def _build_end(first: Vertices, second: Vertices, height_m: float) -> Solid:
    """A level loop: out at grip height, down, and back."""
    high, low = height_m * UP, 0.55 * height_m * UP
    return build_joined(
        [
            build_tube(first + high, second + high, _GRIP_M),
            build_tube(second + high, second + low, _GRIP_M),
            build_tube(second + low, first + low, _GRIP_M),
        ]
    )


def _build_panel(words: Words, rail: Rail, first: Vertices, second: Vertices) -> Solid:
    part = words.site.catalogue.part(rail.catalogue_id)
    grip_m = part.grip_diameter_m if isinstance(part, RailPanel) else _GRIP_M
    opening_m = part.largest_opening_m if isinstance(part, RailPanel) else _BARS_BELOW_M
    high, low = (rail.height_m - grip_m / 2.0) * UP, _LOW_RAIL_M * UP
    length = float(np.linalg.norm(second - first))
    ahead = (second - first) / length
    inset = min(_POST_M / 2.0, length / 4.0) * ahead
    solids = [build_tube(first + high, second + high, grip_m, 12)]
    solids.append(build_beam(first + inset, first + inset + high, _POST_M * 0.8, _POST_M * 0.8))
    solids.append(build_beam(second - inset, second - inset + high, _POST_M * 0.8, _POST_M * 0.8))
    if length < 2.5 * _POST_M:
        return build_joined(solids)
    solids.append(build_beam(first + low, second + low, 0.024, 0.03))
    if opening_m > _BARS_BELOW_M:
        middle = 0.55 * rail.height_m * UP
        solids.append(build_beam(first + middle, second + middle, 0.024, 0.03))
        return build_joined(solids)
    under = (rail.height_m - 0.14) * UP
    solids.append(build_beam(first + under, second + under, 0.024, 0.03))
    count = max(1, int(np.ceil(length / (opening_m + _BAR_M))))
    for k in range(1, count):
        foot = first + (length * k / count) * ahead
        solids.append(build_tube(foot + low, foot + under, _BAR_M, 6))
    return build_joined(solids)
