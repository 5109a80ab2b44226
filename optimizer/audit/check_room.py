"""Room around the pieces: ground and obstacles below, other pieces, house, lot."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from optimizer.audit.drawn_ground import DrawnGround
from optimizer.audit.drawn_model import DrawnPart
from optimizer.audit.drawn_solids import (
    DrawnSolid,
    build_piece_solid,
    build_upright_solid,
    measure_depth,
    measure_outline,
)
from optimizer.audit.judge import Words, judge_excess, judge_length, judge_unknown
from optimizer.audit.match_plan import Matched
from optimizer.audit.report import ROUNDING_M, AuditFinding
from optimizer.audit.walking_face import Plane, Points, WalkingFace
from optimizer.plan import Candidate

#: The lot line is drawn as a band; its points lie within this of the outline.
_LOT_BAND_M: Final = 0.05
_CLEARANCE: Final = "build.clearance"
_PLATE_ABOVE_GROUND: Final = "build.plate_above_ground"


def find_underside(part: DrawnPart, face: WalkingFace) -> Plane:
    """The plane (a, b, c) under a piece: its walking plane, lowered to its lowest point."""
    return np.asarray(face.plane - np.array([0.0, 0.0, measure_depth(part, face.plane)]))


def check_clearances(
    words: Words, matched: Matched, faces: dict[str, WalkingFace], ground: DrawnGround
) -> Iterator[AuditFinding]:
    """Against what the plan's own findings measured: sections and landings, then the plate."""
    for piece, part in matched.pieces:
        if piece.kind in ("section", "landing"):
            face = faces[piece.id]
            underside = find_underside(part, face)
            gap = min(
                ground.least_gap(face.ring_m, underside),
                *(_measure_over(one, face.ring_m, underside) for one in matched.obstacles),
                np.inf,
            )
            yield _compare(words, matched.candidate, "drawn.clearance", _CLEARANCE, piece.id, gap)
        elif piece.kind == "transition_plate":
            face = faces[piece.id]
            above = -ground.least_gap(face.ring_m, face.plane)
            clause = "drawn.plate_above_ground"
            yield _compare(words, matched.candidate, clause, _PLATE_ABOVE_GROUND, piece.id, above)


def _measure_over(obstacle: DrawnPart, ring_m: Points, underside: Plane) -> float:
    """Least height of an underside over the top of an obstacle that may be passed over."""
    if obstacle.kind == "solid":
        return np.inf
    region = shapely.Polygon(ring_m).buffer(-ROUNDING_M, join_style="mitre")
    common = shapely.get_coordinates(region.intersection(measure_outline(obstacle)))
    if len(common) == 0:
        return np.inf
    top = float(obstacle.triangles[:, :, 2].max())
    return float((common @ underside[:2] + underside[2]).min()) - top


def _compare(
    words: Words, candidate: Candidate, clause: str, planned: str, name: str, gap: float
) -> AuditFinding:
    what = "least gap under it" if clause == "drawn.clearance" else "ground above it"
    for finding in candidate.findings:
        if finding.clause == planned and finding.subject == name and finding.measured is not None:
            return judge_length(words, clause, name, what, gap, finding.measured)
    return judge_unknown(clause, name, what, f"{words.length(gap)} drawn, the plan has no finding {planned}")


def check_apart(words: Words, matched: Matched) -> Iterator[AuditFinding]:
    """Every piece against all other pieces, then against house and obstacles."""
    solids = [build_piece_solid(part) for _, part in matched.pieces]
    upright = [build_upright_solid(part, np.inf) for part in matched.houses]
    upright += [_build_obstacle(part) for part in matched.obstacles]
    for own, (piece, _) in zip(solids, matched.pieces, strict=True):
        others = [solid for solid in solids if solid is not own]
        yield _tell_worst(words, "drawn.apart", own, others)
        lowest = upright
        if piece.kind == "threshold_plate":
            # It lies on the sill, which the house's outline may reach over.
            lowest = upright[len(matched.houses) :]
        yield _tell_worst(words, "drawn.clear_of", own, lowest)


def _build_obstacle(part: DrawnPart) -> DrawnSolid:
    top = np.inf if part.kind == "solid" else float(part.triangles[:, :, 2].max())
    return build_upright_solid(part, top)


def _tell_worst(words: Words, clause: str, own: DrawnSolid, others: list[DrawnSolid]) -> AuditFinding:
    depth, name = max(((own.overlap(other), other.name) for other in others), default=(0.0, ""))
    what = f"it runs into {name}" if depth > 0.0 else "it runs into another part"
    return judge_excess(words, clause, own.name, what, depth, 0.0)


def check_lot(words: Words, matched: Matched) -> Iterator[AuditFinding]:
    """Pieces and feet inside the outline, and the line, where one is drawn, along it."""
    lot = shapely.Polygon(matched.lot_m)
    parts = [part for _, part in matched.pieces] + [drawn.foot for drawn in matched.legs]
    for part in parts:
        over = float(shapely.distance(lot, _list_places(part)).max())
        what = f"the {part.role} reaches over the lot line"
        yield judge_excess(words, "drawn.inside_lot", part.id, what, over, 0.0)
    for line in matched.lot_lines:
        off = float(shapely.distance(lot.exterior, _list_places(line)).max())
        what = "its band reaches from the outline"
        yield judge_excess(words, "drawn.lot_line", line.id, what, off, _LOT_BAND_M)


def _list_places(part: DrawnPart) -> NDArray[np.object_]:
    """The part's points in plan."""
    return np.asarray(shapely.points(part.triangles[:, :, :2].reshape(-1, 2)))
