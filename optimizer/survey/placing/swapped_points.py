"""What spoils a fit as a whole: exchanged names, a mirrored frame, a wrong unit."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault
from optimizer.survey.placing.closed_forms import fit_rigid, fit_similarity
from optimizer.survey.placing.control_geometry import find_levelled, find_taped, picks_in_plan
from optimizer.survey.placing.control_points import ControlPoints
from optimizer.survey.placing.quantiles import chi_limit
from optimizer.survey.scan.file_frame import ScanUnit, metres_in

#: Misfits beyond what chance makes once in a thousand are looked into.
_CHANCE: Final = 0.001
#: An exchange explains a misfit when the residuals fall to a fifth of what they were (our choice).
_FALL: Final = 5.0
#: No phone's scale is that wrong; feet and metres are.
_WORST_SCALE: Final = 0.05

#: What a column may be in, beside metres.
_COLUMN_UNITS: Final[tuple[ScanUnit, ...]] = ("ft", "in", "cm", "mm")
#: A scale this near to a unit's own is that unit.
_SAME_UNIT: Final = 0.005

_Misfit = Callable[[tuple[int, ...]], float]


@dataclass(frozen=True, slots=True)
class _Part:
    """One side of a fit, plan or heights: its squared misfit for any order of the picks."""

    title: str
    points: tuple[int, ...]
    freedom: int
    weight: float
    misfit: _Misfit


def explain_misfit(control: ControlPoints) -> tuple[Fault, ...]:
    """Faults for exchanged points, a mirrored frame or a wrong unit; empty when nothing of that shows.

    Looked for only where yaw and shift alone fit far worse than the stated errors.  An exchange is
    told when it makes the residuals fall to a fifth; where several do, all are named.
    """
    used = control.find("control")
    parts = [_plan(control, find_taped(control, used)), _heights(control, find_levelled(control, used))]
    bad = [part for part in parts if _is_bad(part)]
    swaps = {part.title: _find_exchanges(part) for part in bad if len(part.points) > 2}
    plan = swaps.get("plan", [])
    faults = []
    for title, found in swaps.items():
        if found and not (title == "heights" and _pairs(found) <= _pairs(plan)):
            faults.append(_tell_exchange(control, title, found, _pairs(swaps.get("heights", []))))
    if not any(part.title == "plan" for part in bad):
        return tuple(faults)
    if not plan:
        faults.extend(_find_unit(control, parts[0]))
    return (*faults, *_find_mirror(control, parts[0]))


def _plan(control: ControlPoints, taped: Sequence[int]) -> _Part:
    picks = picks_in_plan(control, taped)
    sites = np.array([control.points[i].plan_m for i in taped], dtype=np.float64)
    weights = _plan_weights(control, taped)

    def misfit(order: tuple[int, ...]) -> float:
        return fit_rigid(picks[list(order)], sites, weights).mean_square * float(weights.sum())

    return _Part("plan", tuple(taped), 2 * len(taped) - 3, float(weights.mean()), misfit)


def _plan_weights(control: ControlPoints, taped: Sequence[int]) -> NDArray[np.float64]:
    errors = [math.hypot(control.points[i].tape_error_m, control.points[i].pick_error_m) for i in taped]
    return np.array(errors) ** -2.0


def _heights(control: ControlPoints, levelled: Sequence[int]) -> _Part:
    picks = np.array([control.points[i].scan_m[2] for i in levelled])
    sites = np.array([control.points[i].elevation_m for i in levelled], dtype=np.float64)
    variances = [control.points[i].pick_z_error_m ** 2 for i in levelled]
    weights = 1.0 / (np.diag(control.level_covariance_m2)[list(levelled)] + variances)

    def misfit(order: tuple[int, ...]) -> float:
        away = sites - picks[list(order)]
        return float(weights @ (away - (weights @ away) / weights.sum()) ** 2)

    return _Part("heights", tuple(levelled), len(levelled) - 1, float(weights.mean()), misfit)


def _is_bad(part: _Part) -> bool:
    order = tuple(range(len(part.points)))
    return part.freedom > 0 and part.misfit(order) > chi_limit(part.freedom, _CHANCE) ** 2


def _find_exchanges(part: _Part) -> list[tuple[float, int, int]]:
    """Exchanges that mend the part, best first: root mean square left in metres, and the two points."""
    count = len(part.points)
    before = part.misfit(tuple(range(count)))
    found = []
    for first, second in combinations(range(count), 2):
        order = list(range(count))
        order[first], order[second] = second, first
        after = part.misfit(tuple(order))
        if after * _FALL**2 <= before:
            rms_m = math.sqrt(after / part.weight / count)
            found.append((rms_m, part.points[first], part.points[second]))
    found.sort()
    # Exchanges that leave far more than the best one does explain less.
    limit_m = 3.0 * max(found[0][0], 1.0 / math.sqrt(part.weight)) if found else 0.0
    return [one for one in found if one[0] <= limit_m]


def _pairs(found: list[tuple[float, int, int]]) -> set[tuple[int, int]]:
    return {(first, second) for _, first, second in found}


def _tell_exchange(
    control: ControlPoints,
    title: str,
    found: list[tuple[float, int, int]],
    in_heights: set[tuple[int, int]],
) -> Fault:
    rms_m, first, second = found[0]
    names = f'"{control.points[first].name}" and "{control.points[second].name}"'
    both = title == "plan" and (first, second) in in_heights
    subject = "" if both else ("the elevations of " if title == "heights" else "in plan ")
    what = f"{subject}{names} look exchanged: exchanging them leaves {1000.0 * rms_m:.0f} mm."
    if len(found) > 1:
        others = [f"{control.points[i].name} with {control.points[j].name}" for _, i, j in found[1:]]
        what += f" So would exchanging {', or '.join(others)}."
    return Fault(control.where(first), what, "Look which is which, in the scan and on the list.")


def _find_unit(control: ControlPoints, part: _Part) -> tuple[Fault, ...]:
    picks = picks_in_plan(control, part.points)
    sites = np.array([control.points[i].plan_m for i in part.points], dtype=np.float64)
    weights = _plan_weights(control, part.points)
    similar = fit_similarity(picks, sites, weights)
    before = part.misfit(tuple(range(len(part.points))))
    after = similar.mean_square * float(weights.sum())
    if abs(similar.scale - 1.0) <= _WORST_SCALE or after * _FALL**2 > before:
        return ()
    what = f"the taped distances are {similar.scale:.4g} times those in the scan."
    left_m = math.sqrt(similar.mean_square)
    return (Fault(control.source, what, _name_unit(similar.scale, left_m)),)


def _name_unit(scale: float, left_m: float) -> str:
    """Which column's unit would explain the scale; ``left_m``: root mean square once it is right."""
    for unit in _COLUMN_UNITS:
        metres = metres_in(unit)
        if abs(scale * metres - 1.0) <= _SAME_UNIT:
            return f"Taped in {unit}, x_{unit} and y_{unit}, they would fit within {1000.0 * left_m:.0f} mm."
        if abs(scale / metres - 1.0) <= _SAME_UNIT:
            return (
                f"Picked in {unit}, scan_x_{unit}, scan_y_{unit} and scan_z_{unit}, they would fit within "
                f"{1000.0 * left_m:.0f} mm."
            )
    return "Confirm the scan's unit again, and the unit of x and y."


def explain_by_scale(control: ControlPoints) -> float | None:
    """The scale that would halve the plan's residuals, ``None`` when none would or it cannot be one."""
    taped = find_taped(control, control.find("control"))
    part = _plan(control, taped)
    weights = _plan_weights(control, taped)
    sites = np.array([control.points[i].plan_m for i in taped], dtype=np.float64)
    similar = fit_similarity(picks_in_plan(control, taped), sites, weights)
    after = similar.mean_square * float(weights.sum())
    is_better = after * 4.0 <= part.misfit(tuple(range(len(taped))))
    return similar.scale if is_better and abs(similar.scale - 1.0) <= _WORST_SCALE else None


def _find_mirror(control: ControlPoints, part: _Part) -> tuple[Fault, ...]:
    if len(part.points) < 3:
        return ()
    picks = picks_in_plan(control, part.points) * [-1.0, 1.0]
    sites = np.array([control.points[i].plan_m for i in part.points], dtype=np.float64)
    weights = _plan_weights(control, part.points)
    after = fit_rigid(picks, sites, weights).mean_square * float(weights.sum())
    if after * _FALL**2 > part.misfit(tuple(range(len(part.points)))):
        return ()
    what = "the taped points fit a mirror image of the scan, and a scan is never mirrored."
    return (Fault(control.source, what, "See whether x and y are exchanged, or y counted the wrong way."),)
