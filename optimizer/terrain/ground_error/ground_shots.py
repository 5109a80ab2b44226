"""From the ground as triangulated to the model of its error: one call, and its two steps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.terrain.break_lines import SAME_PLACE_M
from optimizer.terrain.ground import Ground
from optimizer.terrain.ground_error.correlation import measure_distances
from optimizer.terrain.ground_error.shots import Shots, build_shots
from optimizer.terrain.ground_error.sides import list_line_levels
from optimizer.terrain.ground_error.sparse_errors import SparseErrors, build_sparse_errors


def build_ground_errors(
    ground: Ground,
    covariance_m2: NDArray[np.float64],
    line_error_m: float,
    open_beyond_m: float,
    where: str,
) -> SparseErrors:
    """The error model of a ground of spot levels; arguments as of ``gather_shots`` and
    ``build_sparse_errors``, faults told under ``where``.
    """
    shots = gather_shots(ground, covariance_m2, line_error_m, where)
    return build_sparse_errors(shots, ground.break_lines, open_beyond_m)


def gather_shots(
    ground: Ground, covariance_m2: NDArray[np.float64], line_error_m: float, where: str
) -> Shots:
    """The spot levels of a ground (n) with their covariance (n, n), and the levels of its break lines.

    Tops and feet count as shots of standard error ``line_error_m``, each on its own side; a spot level
    that lies on a vertex of a line is told by the line.  Raises ``InputError`` as ``build_shots`` does.
    """
    beside = list_line_levels(ground.break_lines)
    points = ground.points_m
    kept = np.arange(len(points))
    if len(beside):
        near = measure_distances(points[:, :2], np.vstack([line.xy_m for line in ground.break_lines]))
        kept = np.flatnonzero(near.min(axis=1) > SAME_PLACE_M)
    if covariance_m2.shape != (len(points), len(points)):
        what = f"the covariance has the shape {covariance_m2.shape} for {len(points)} levels."
        raise InputError(Fault(where, what, "Give one row and one column a level, in the ground's order."))
    whole = np.zeros((len(kept) + len(beside),) * 2)
    whole[: len(kept), : len(kept)] = covariance_m2[np.ix_(kept, kept)]
    ends = np.arange(len(kept), len(whole))
    whole[ends, ends] = line_error_m**2
    names = [ground.point_names[i] for i in kept]
    names += [f"{line.name} {side} {i + 1}" for line in ground.break_lines for side in ("top", "foot")
              for i in range(len(line.xy_m))]  # fmt: skip
    return build_shots(np.vstack([points[kept], beside]), whole, tuple(names), where)
