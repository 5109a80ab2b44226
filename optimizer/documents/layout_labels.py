"""Where the words of one piece go: number in its middle, drops at its ends, legs beside their feet."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from optimizer.documents.job import DocumentJob
from optimizer.documents.labels import FRAME_MM, LINE_MM, XY, Label, build_label
from optimizer.documents.leg_settings import measure_setting, show_short_setting
from optimizer.documents.set_out import find_top_level
from optimizer.plan import Piece
from optimizer.sheets.lengths import show_height

#: With or without how each leg is set.
Look = Literal["settings", "numbers"]
#: Where the words of a landing's leg go: at the side of its dot, or above or below it.
Beside = Literal["side", "over"]
#: Air between a foot's dot and its label, and between a label and the edge of its piece.
_AIR_MM = 1.3
_EDGE_MM = 0.4


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """A piece with its corners on paper: start-left, start-right, end-right, end-left."""

    piece: Piece
    corners_mm: tuple[XY, ...]

    @property
    def start_mm(self) -> XY:
        """Middle of the upper edge."""
        return _middle(self.corners_mm[0], self.corners_mm[1])

    @property
    def end_mm(self) -> XY:
        """Middle of the lower edge."""
        return _middle(self.corners_mm[2], self.corners_mm[3])

    @property
    def heading(self) -> XY:
        """Unit vector down the way."""
        (x0, y0), (x1, y1) = self.start_mm, self.end_mm
        length = math.hypot(x1 - x0, y1 - y0)
        return ((x1 - x0) / length, (y1 - y0) / length)


def label_drop(job: DocumentJob, placed: PlacedPiece) -> list[Label]:
    """The drop at a joint, before the landing a section comes onto, beyond the tip.

    A landing is level: the drop where it is stepped on holds at its corners.
    """
    piece = placed.piece
    if piece.kind == "landing":
        return []
    ahead = placed.heading
    drop = build_label("drop", (_show_drop(job, piece),), placed.end_mm, ahead)
    half_mm = 0.5 * max(drop.width_mm, drop.height_mm)
    if piece.kind == "transition_plate":
        return [_move(drop, ahead, half_mm + 0.8)]
    is_joint = any(leg.piece == piece.id and "mid" not in leg.station for leg in job.candidate.legs)
    return [drop if is_joint else _move(drop, ahead, -half_mm - 0.8)]


def list_names(placed: PlacedPiece, number: int) -> list[Label]:
    """Step and id of a piece, where they may stand: best in the middle, else up or down, else at an edge."""
    piece = placed.piece
    middle = _middle(placed.start_mm, placed.end_mm)
    ahead = placed.heading
    along_mm = math.dist(placed.start_mm, placed.end_mm)
    across_mm = 0.5 * math.dist(placed.corners_mm[0], placed.corners_mm[1]) - 0.5 * FRAME_MM - _EDGE_MM
    name = build_label("piece", (piece.id,), middle, (1.0, 0.0) if piece.kind == "landing" else ahead, number)
    right = (-ahead[1], ahead[0])
    return [
        _move(_move(name, ahead, shift * along_mm), right, aside * across_mm)
        for aside in (0.0, 1.0, -1.0)
        for shift in (0.0, -0.08, 0.08, -0.16, 0.16)
    ]


def label_legs(
    job: DocumentJob, placed: PlacedPiece, feet: tuple[tuple[str, XY], ...], look: Look, beside: Beside
) -> list[Label]:
    """Beside each foot: on a landing towards its middle, under a run on the deck, up the way."""
    labels: list[Label] = []
    legs = {leg.id: leg for leg in job.candidate.legs}
    for name, at in feet:
        setting = show_short_setting(job.lengths, measure_setting(legs[name], job.site.catalogue))
        if placed.piece.kind == "landing":
            lines = (name, setting) if look == "settings" else (name,)
            labels.append(_beside_corner(placed, lines, at, beside))
        else:
            line = f"{name} {setting}" if look == "settings" else name
            labels.append(_on_the_run(placed, line, at))
    return labels


def _beside_corner(placed: PlacedPiece, lines: tuple[str, ...], at: XY, beside: Beside) -> Label:
    """Towards the middle of the landing, never over its edge."""
    middle = _middle(placed.start_mm, placed.end_mm)
    draft = build_label("leg", lines, at)
    away = (middle[0] - at[0], middle[1] - at[1])
    half = (0.5 * draft.width_mm, 0.5 * draft.height_mm)
    if beside == "side" and abs(away[0]) > half[0]:
        wanted = (at[0] + math.copysign(half[0] + _AIR_MM, away[0]), at[1])
    else:
        wanted = (at[0], at[1] + math.copysign(half[1] + _AIR_MM, away[1]))
    x, y = (_hold(wanted[i], [corner[i] for corner in placed.corners_mm], half[i]) for i in (0, 1))
    return build_label("leg", lines, (x, y))


def _hold(wanted: float, edges: list[float], half: float) -> float:
    """Within the edges of a piece."""
    return min(max(wanted, min(edges) + half + _EDGE_MM), max(edges) - half - _EDGE_MM)


def _on_the_run(placed: PlacedPiece, line: str, at: XY) -> Label:
    """On the deck along its edge, so that the foot's dot stays free whether it stands out or under."""
    ahead = placed.heading
    right = (-ahead[1], ahead[0])
    start = placed.start_mm
    away = (at[0] - start[0], at[1] - start[1])
    along = away[0] * ahead[0] + away[1] * ahead[1]
    aside = away[0] * right[0] + away[1] * right[1]
    half_mm = 0.5 * math.dist(placed.corners_mm[0], placed.corners_mm[1])
    draft = build_label("leg", (line,), at, ahead)
    along -= 0.5 * max(draft.width_mm, draft.height_mm) + _AIR_MM
    aside = math.copysign(half_mm - 0.5 * LINE_MM - _EDGE_MM, aside)
    place = (
        start[0] + along * ahead[0] + aside * right[0],
        start[1] + along * ahead[1] + aside * right[1],
    )
    return build_label("leg", (line,), place, ahead)


def _move(label: Label, ahead: XY, by_mm: float) -> Label:
    return replace(label, x_mm=label.x_mm + by_mm * ahead[0], y_mm=label.y_mm + by_mm * ahead[1])


def _show_drop(job: DocumentJob, piece: Piece) -> str:
    """At the lower end."""
    level_m = 0.5 * (piece.corners_m[2][2] + piece.corners_m[3][2])
    return show_height(job.lengths, find_top_level(job.candidate) - level_m).removesuffix("\u00a0mm")


def _middle(one: XY, other: XY) -> XY:
    return (0.5 * (one[0] + other[0]), 0.5 * (one[1] + other[1]))
