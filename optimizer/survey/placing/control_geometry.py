"""Whether control points suffice and lie well enough to place a scan by them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault
from optimizer.survey.placing.control_points import ControlPoints

FEWEST_TAPED: Final = 2
#: Spread along the points over spread across them, beyond which they count as a line: 20 m by 0.7 m.
#: Our choice; across a line neither a mirrored nor a tilted scan shows.
MOST_ELONGATED: Final = 30.0


def measure_elongation(plan_m: NDArray[np.float64]) -> float:
    """Condition number of points in plan (n, 2): spread along over spread across; infinite on a line."""
    values = np.linalg.svd(plan_m - plan_m.mean(axis=0), compute_uv=False)
    least = float(values[1]) if len(values) > 1 else 0.0
    return float(values[0]) / least if least > 1e-12 * max(1.0, float(values[0])) else float("inf")


def find_taped(control: ControlPoints, used: Sequence[int]) -> list[int]:
    """Those of ``used`` with a position."""
    return [i for i in used if control.points[i].plan_m is not None]


def find_levelled(control: ControlPoints, used: Sequence[int]) -> list[int]:
    """Those of ``used`` with an elevation."""
    return [i for i in used if control.points[i].elevation_m is not None]


def picks_in_plan(control: ControlPoints, used: Sequence[int]) -> NDArray[np.float64]:
    """Picks (n, 2) of the points in the scan, seen from above."""
    return np.array([control.points[i].scan_m[:2] for i in used], dtype=np.float64).reshape(-1, 2)


def refuse_geometry(control: ControlPoints) -> tuple[Fault, ...]:
    """Why the control points cannot place a scan at all; empty when they can.

    Two points are accepted, as a placing that nothing checks.  Three or more in a line are not:
    their agreement would look like a check and is none across the line.
    """
    faults = []
    for i, point in enumerate(control.points):
        if point.plan_m is None and point.elevation_m is None:
            what = f'"{point.name}" has neither a taped position nor an elevation.'
            faults.append(Fault(control.where(i), what, "Give one or both, or leave it out."))
    used = control.find("control")
    taped, levelled = find_taped(control, used), find_levelled(control, used)
    if len(taped) < FEWEST_TAPED:
        what = f"{len(taped)} control {_points(len(taped))} a taped position; {FEWEST_TAPED} are needed."
        faults.append(Fault(control.source, what, "Tape x and y of more picked points, best four or more."))
    if not levelled:
        what = "no control point has an elevation."
        faults.append(Fault(control.source, what, "Level at least three of the picked points."))
    if len(taped) > FEWEST_TAPED:
        elongation = measure_elongation(picks_in_plan(control, taped))
        if elongation > MOST_ELONGATED:
            names = ", ".join(control.points[i].name for i in taped)
            size = "" if elongation == float("inf") else f": {elongation:.0f} times as long as wide"
            what = f"{names} lie in one line{size}; at most {MOST_ELONGATED:g} times is accepted."
            remedy = "Tape one more point well off the line, across the yard."
            faults.append(Fault(control.source, what, remedy))
    return tuple(faults)


def _points(count: int) -> str:
    return "point has" if count == 1 else "points have"
