"""The control and check points of a scan, as the picture of the ground shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.brief.read_site import SurveyedSite
from viewer.facts import Words
from viewer.solids import UP, Solid, build_joined, build_tube

#: A control point is a stake, taller than a peg.
_STAKE_M: Final = (0.06, 0.45)


@dataclass(frozen=True, slots=True)
class ControlMark:
    """One point at ``at_m`` (3,), site frame, and what is said of it."""

    at_m: NDArray[np.float64]
    lines: tuple[str, ...]


def list_control_marks(read: SurveyedSite) -> tuple[ControlMark, ...]:
    """Every control and check point where the placed scan has it; none without a scan."""
    scan = read.surveyed.scan
    if scan is None:
        return ()
    words = Words(read.site, read.site.yard.starts[0].threshold_m)
    report = scan.report
    suspects = {one.point for one in report.suspects}
    missed = {one.error.point: one.error for one in report.checked}
    placed_m = scan.placed.placing.to_site(np.array([one.scan_m for one in report.control.points]))
    marks = []
    for i, point in enumerate(report.control.points):
        lines = [f"{point.role} {point.name}"]
        if i in missed and (height_m := missed[i].height_m) is not None:
            lines.append(f"missed by {words.length(abs(height_m))}")
        if i in suspects:
            lines.append("does not fit: shoot again")
        marks.append(ControlMark(placed_m[i] - read.site.origin_shift_m, tuple(lines)))
    return tuple(marks)


def build_stakes(marks: tuple[ControlMark, ...]) -> Solid:
    """One stake a mark."""
    wide, high = _STAKE_M
    return build_joined([build_tube(one.at_m - 0.02 * UP, one.at_m + high * UP, wide, 8) for one in marks])
