"""The line a wheel takes from the door to the tip, as a thin dashed strip with an arrow."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.plan import Candidate, Piece
from viewer.facts import Words
from viewer.piece_frame import list_edge_ends
from viewer.solids import (
    UP,
    NamedMesh,
    Solid,
    Vertices,
    build_joined,
    build_named_mesh,
    build_ribbon,
)

_WIDTH_M: Final = 0.07
_LIFT_M: Final = 0.012
_DASH_M: Final = 0.30
_GAP_M: Final = 0.16
_ARROW_M: Final = 0.34
_CORNER_M: Final = 0.45


def draw_walking_line(words: Words, candidate: Candidate) -> NamedMesh:
    """Dashes along the middle of the runs, with rounded corners on the landings."""
    line = _smooth(build_walking_points(candidate))
    facts = (("walking length", words.length(candidate.walking_length_m)),)
    return build_named_mesh("walking line", "walking_line", _build_dashes(line), facts)


def build_walking_points(candidate: Candidate) -> Vertices:
    """Corner points (n, 3) of the way on the walking surface, from the sill to the tip."""
    points: list[Vertices] = []
    pieces = [piece for piece in candidate.pieces if piece.kind not in ("bottom_pad", "steps")]
    for number, piece in enumerate(pieces):
        start = np.mean(list_edge_ends(piece, "start"), axis=0)
        end = np.mean(list_edge_ends(piece, "end"), axis=0)
        if piece.kind == "landing":
            arrive = points[-1] if points else start
            leave = _find_start(pieces[number + 1 :])
            points += _cross_landing(arrive, leave, piece)
        else:
            points += [start, end]
    kept = [points[0]]
    for point in points[1:]:
        if np.linalg.norm(point - kept[-1]) > 1e-3:
            kept.append(point)
    return np.array(kept)


def _find_start(following: list[Piece]) -> Vertices:
    return np.array(np.mean(list_edge_ends(following[0], "start"), axis=0))


def _cross_landing(arrive: Vertices, leave: Vertices, piece: Piece) -> list[Vertices]:
    """Corners between where a landing is reached and left."""
    start_left, _, _, end_left = (np.array(corner) for corner in piece.corners_m)
    ahead = (end_left - start_left) / np.linalg.norm(end_left - start_left)
    length = float(np.linalg.norm(end_left - start_left))
    level = arrive[2]
    way = leave - arrive
    forward = float(way @ ahead)
    if forward < 0.05:  # a half turn: out to the middle, across, and back
        far = ahead * (length / 2.0)
        corners = [arrive + far, leave + far]
    elif forward > length - 0.05:  # straight on, perhaps with a shift
        corners = [arrive + ahead * (0.3 * length), leave - ahead * (0.3 * length)]
    else:
        corners = [arrive + ahead * forward]
    corners = [np.array([corner[0], corner[1], level]) for corner in corners]
    return [arrive, *corners, leave]


def _smooth(points: Vertices) -> Vertices:
    """Rounds the corners in plan: each becomes a short quadratic curve."""
    line: list[Vertices] = [points[0]]
    for before, here, after in zip(points[:-2], points[1:-1], points[2:], strict=True):
        first, second = before - here, after - here
        lengths = np.linalg.norm(first), np.linalg.norm(second)
        if abs(first[0] * second[1] - first[1] * second[0]) < 0.05 * lengths[0] * lengths[1]:
            # Straight on in plan: a curve would cut below the edge where the slope changes.
            line.append(here)
            continue
        reach = min(_CORNER_M, 0.5 * float(lengths[0]), 0.5 * float(lengths[1]))
        a = here + reach * first / np.linalg.norm(first)
        b = here + reach * second / np.linalg.norm(second)
        share = np.linspace(0.0, 1.0, 9)[:, None]
        line += list((1 - share) ** 2 * a + 2 * share * (1 - share) * here + share**2 * b)
    line.append(points[-1])
    return np.array(line)


def _build_dashes(line: Vertices) -> Solid:
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    line = line[np.concatenate([[True], steps > 1e-6])]
    walked = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    total = float(walked[-1])
    tip = max(0.0, total - _ARROW_M)
    starts: list[Vertices] = []
    ends: list[Vertices] = []
    at = 0.05
    while at < tip - 0.02:
        stop = min(at + _DASH_M, tip)
        inner = walked[(walked > at + 1e-9) & (walked < stop - 1e-9)]
        stations = np.concatenate([[at], inner, [stop]])
        points = _interpolate(line, walked, stations) + _LIFT_M * UP
        starts.append(points[:-1])
        ends.append(points[1:])
        at = stop + _GAP_M
    first, second = np.concatenate(starts), np.concatenate(ends)
    dashes = build_ribbon(first, second, np.tile(UP, (len(first), 1)), _WIDTH_M)
    return build_joined(
        [dashes, _build_arrow(_interpolate(line, walked, np.array([tip, total])) + _LIFT_M * UP)]
    )


def _interpolate(line: Vertices, walked: NDArray[np.float64], stations: NDArray[np.float64]) -> Vertices:
    return np.column_stack([np.interp(stations, walked, line[:, axis]) for axis in range(3)])


def _build_arrow(ends: Vertices) -> Solid:
    tail, head = ends
    along = (head - tail) / np.linalg.norm(head - tail)
    side = np.cross(along, UP)
    side *= 1.9 * _WIDTH_M / np.linalg.norm(side)
    return Solid(np.array([tail + side, head, tail - side]), np.array([[0, 1, 2]]))
