"""Rails: how high they stand above their line, and where in plan."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.audit.drawn_model import DrawnPart
from optimizer.audit.judge import Words, judge_excess, judge_length
from optimizer.audit.report import ROUNDING_M, AuditFinding
from optimizer.plan import Rail

#: These stand on their whole line; others are left out where an attached run is in their way.
_WHOLE = ("panel", "post")


def check_rail(words: Words, rail: Rail, part: DrawnPart) -> Iterator[AuditFinding]:
    """One rail part but a loop at an end: its highest point above its line, its middle in plan.

    The line is the plan's, drawn on beyond its ends.  A round rail that falls is as high as it is
    level to within 0.1 mm, and the two caps of a rail lean alike, so that neither moves its middle.
    """
    if rail.kind == "end":
        return
    first, second = np.array(rail.line_m[0]), np.array(rail.line_m[1])
    points = part.triangles.reshape(-1, 3)
    along = (second - first)[:2]
    length = float(np.linalg.norm(along))
    middle = (first + second) / 2.0
    # A post may stand on a point.
    ahead = along / length if length > ROUNDING_M else np.array([1.0, 0.0])
    fall = (second[2] - first[2]) / length if length > ROUNDING_M and rail.kind != "post" else 0.0
    off = points[:, :2] - middle[:2]
    on_way, aside = off @ ahead, off @ np.array([-ahead[1], ahead[0]])
    height = float((points[:, 2] - middle[2] - fall * on_way).max())
    yield judge_length(words, "drawn.rail", rail.id, "height above its line", height, rail.height_m)
    moved = [_find_middle(aside)] + ([_find_middle(on_way)] if rail.kind in _WHOLE else [])
    what = "its middle is off in plan"
    yield judge_excess(words, "drawn.rail", rail.id, what, float(np.linalg.norm(moved)), 0.0)


def _find_middle(values: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    return float(values.min() + values.max()) / 2.0
