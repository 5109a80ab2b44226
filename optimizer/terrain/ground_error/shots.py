"""Shots with their errors: what a sparse survey hands to the model of the ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.level_points import ReducedPoints
from optimizer.terrain.yard import Points

#: Fewer shots than this say nothing of a plane.
FEWEST: Final = 3
#: More shots than this are a scan's business: the model's work grows with their cube.
MOST: Final = 400
#: No staff stands better than this, whatever the level book says (common practice, no source).
LEAST_ERROR_M: Final = 0.001
#: Nearer in plan than this, two shots are one place.
_SAME_M: Final = 0.010
#: Narrower than this share of their length, shots are 'on one line'.
_LEAST_BREADTH: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Shots:
    """Levels of the ground.  ``xyz_m`` (n, 3), site frame; ``covariance_m2`` (n, n) of the elevations.

    Both read-only.  ``is_on_one_line``: the shots say nothing of the fall across their line; the
    model then tells its error there from what falls yards have, and it grows with the distance.
    """

    names: tuple[str, ...]
    xyz_m: Points
    covariance_m2: NDArray[np.float64]
    is_on_one_line: bool


def build_shots(
    xyz_m: Points, covariance_m2: NDArray[np.float64], names: tuple[str, ...], where: str
) -> Shots:
    """Check shots (n, 3) and the covariance (n, n) of their elevations, metres, site frame.

    Errors below 1 mm count as 1 mm.  Raises ``InputError`` with every fault found, under ``where``:
    fewer than three shots or more than 400, all in one place, numbers that are not finite, a
    covariance that is none.
    """
    xyz = np.array(xyz_m, dtype=np.float64)
    covariance = np.array(covariance_m2, dtype=np.float64)
    if xyz.ndim != 2 or xyz.shape[1] != 3 or len(names) != len(xyz):
        what = f"there are {len(names)} names for shots of the shape {xyz.shape}."
        raise InputError(Fault(where, what, "Give one name and x, y, elevation a shot."))
    faults = [*_check_levels(xyz, names, where), *_check_covariance(covariance, len(xyz), where)]
    if faults:
        raise InputError(*faults)
    covariance[np.diag_indices(len(xyz))] += np.maximum(0.0, LEAST_ERROR_M**2 - np.diag(covariance))
    xyz.setflags(write=False)
    covariance.setflags(write=False)
    spread = np.linalg.svd(xyz[:, :2] - xyz[:, :2].mean(axis=0), compute_uv=False)
    return Shots(names, xyz, covariance, bool(spread[1] <= _LEAST_BREADTH * spread[0]))


def build_alike_shots(xyz_m: Points, error_m: float, names: tuple[str, ...], where: str) -> Shots:
    """Shots (n, 3) with one standard error for each, not going together.  Raises as ``build_shots``."""
    if not (np.isfinite(error_m) and error_m >= 0.0):
        raise InputError(Fault(where, f"the standard error is {error_m} m.", "Give metres, zero or more."))
    return build_shots(xyz_m, np.eye(len(xyz_m)) * error_m**2, names, where)


def select_covariance(reduced: ReducedPoints, names: tuple[str, ...]) -> NDArray[np.float64]:
    """Covariance (n, n) of the named points of a level book, in the order of ``names``.

    Raises ``InputError`` with every name that the book does not have.
    """
    known = {point.name for point in reduced.points}
    remedy = "Name points of the level book."
    faults = [
        Fault(reduced.path.name, f'no levelled point is named "{name}".', remedy)
        for name in names
        if name not in known
    ]
    if faults:
        raise InputError(*faults)
    rows = [reduced.find(name) for name in names]
    chosen: NDArray[np.float64] = reduced.covariance_m2[np.ix_(rows, rows)]
    return chosen


def _check_levels(xyz: Points, names: tuple[str, ...], where: str) -> list[Fault]:
    if not FEWEST <= len(xyz) <= MOST:
        remedy = "Shoot at least three." if len(xyz) < FEWEST else "Thin them, or use the errors of a scan."
        return [Fault(where, f"there are {len(xyz)} shots.", remedy)]
    faults = [
        Fault(where, f'shot "{name}" is at {row.tolist()}.', "Give finite metres for x, y and elevation.")
        for name, row in zip(names, xyz, strict=True)
        if not np.isfinite(row).all()
    ]
    if not faults and np.hypot(*(xyz[:, :2] - xyz[0, :2]).T).max() <= _SAME_M:
        what = f"all {len(xyz)} shots are in one place."
        faults.append(Fault(where, what, "Shoot places apart from each other; check the columns of x and y."))
    return faults


def _check_covariance(covariance: NDArray[np.float64], count: int, where: str) -> list[Fault]:
    remedy = "Hand on the covariance of the level book as it is, or one standard error for all shots."
    if covariance.shape != (count, count):
        what = f"the covariance has the shape {covariance.shape} for {count} shots."
    elif not np.isfinite(covariance).all():
        what = "the covariance has a number that is not finite."
    elif not np.allclose(covariance, covariance.T, rtol=1e-9, atol=1e-15):
        what = "the covariance is not symmetric."
    elif np.linalg.eigvalsh(covariance).min(initial=0.0) < -1e-9 * max(1e-6, np.diag(covariance).max()):
        what = "the covariance gives some difference of levels a variance below zero."
    else:
        return []
    return [Fault(where, what, remedy)]
