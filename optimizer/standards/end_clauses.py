"""Clauses about the two ends of the way: the threshold and the plate's tip."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.plan import Finding
from optimizer.rulebook.rules import Limit
from optimizer.standards.bottom import Bottom
from optimizer.standards.chain import Chain
from optimizer.standards.findings import judge_length, locate, tell_unmeasured
from optimizer.terrain.yard import Start


def check_threshold_drop(limit: Limit, rules: str, chain: Chain, start: Start | None) -> Iterator[Finding]:
    """How far the first surface lies below (or stands above) the threshold."""
    first = chain.walked()[0]
    if start is None:
        yield tell_unmeasured(limit, rules, "threshold", "the yard has no such start", locate(first.start_m))
        return
    z = first.corners_m[:2, 2]
    change = max(abs(start.threshold_m - float(z[0])), abs(start.threshold_m - float(z[1])))
    yield judge_length(limit, rules, "threshold", "change of level", change, locate(first.start_m))


def check_tip_change(limit: Limit, rules: str, chain: Chain, bottom: Bottom) -> Iterator[Finding]:
    """Vertical change at the tip: the plate's own thickness, and its edge against the surface."""
    plate = chain.plate
    where = locate(plate.end_m)
    thickness = plate.part.tip_thickness_m
    yield judge_length(limit, rules, plate.piece.id, "thickness at the tip", thickness, where)
    edge = np.array([plate.corners_m[3, 2], plate.end_m[2], plate.corners_m[2, 2]])
    gap = float(np.max(np.abs(edge - bottom.tip_levels_m)))
    if not np.isfinite(gap):
        yield tell_unmeasured(limit, rules, plate.piece.id, "the ground at the tip is not surveyed", where)
        return
    yield judge_length(limit, rules, plate.piece.id, "change of level along the tip", gap, where)
