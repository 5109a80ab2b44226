"""The ground under a scan: how well each part of a dense surface is known.

Independent sources, their variances added:

* local scatter of the points of a cell, over the root of at most five of them: errors inside a cell
  share the same pass of the scanner;
* the placing on control points, with its covariance between places;
* drift, which grows with the distance from the nearest control point;
* the rim of something rejected (shrub, box): what is called ground there may be its foot;
* holes: filled across, with an error that grows with their width, or left open beyond a limit.

The figures for rim and holes were measured on invented scans of a yard with known ground; no openly
licensed yard scan with labelled ground was at hand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.terrain.ground import Ground
from optimizer.terrain.ground_error.correlation import measure_distances
from optimizer.terrain.ground_error.error_model import check_count, check_places, check_share
from optimizer.terrain.ground_error.mixtures import draw_normals, find_quantile
from optimizer.terrain.ground_error.nearest import Nearest
from optimizer.terrain.yard import Points

#: Covariances (n, m), square metres, of a placed scan's heights at two sets of places (n, 2), (m, 2).
PlacingCovariance = Callable[[Points, Points], NDArray[np.float64]]

#: Points of a cell that count as independent (own choice: one pass of the scanner sees them all).
MOST_INDEPENDENT: Final = 5.0
#: Standard error within ``RIM_M`` of something rejected.
RIM_ERROR_M: Final = 0.02
RIM_M: Final = 0.15
#: A hole of width w filled from a clean rim: 3 mm + 2.5 mm a metre of w at its middle.
HOLE_ERROR_M: Final = 0.003
HOLE_GROWTH: Final = 0.0025
#: How far errors of the surface itself (scatter, rim, hole) go together.
SURFACE_REACH_M: Final = 0.30
#: How far drift goes together.
DRIFT_REACH_M: Final = 20.0
#: Places whose common errors are worked out together: all at once would be a square of all.
_AT_ONCE: Final = 64


@dataclass(frozen=True, slots=True)
class ScanCells:
    """Measured cells of a scan's ground, site frame.

    ``xy_m`` (n, 2) middles; ``scatter_m`` (n,) 1.4826 times the median absolute deviation of the cell's
    ground points; ``points`` (n,) how many there are.  ``cell_m``: side of a cell.  ``rejected_xy_m``
    (k, 2): middles of cells whose points were called no ground.
    """

    xy_m: Points
    scatter_m: NDArray[np.float64]
    points: NDArray[np.float64]
    cell_m: float
    rejected_xy_m: Points


@dataclass(frozen=True, slots=True)
class Drift:
    """Error of the scan that grows by ``per_m`` (metres a metre) from the control points (c, 2)."""

    control_xy_m: Points
    per_m: float


@dataclass(frozen=True, slots=True)
class ScanErrors:
    """An ``ErrorModel`` of a scan; see ``build_scan_errors``.

    With ``threshold_xy_m`` (2,) placing and drift are those of the *difference* from that place: right
    when the threshold's own height was read off the scan.
    """

    ground: Ground
    cells: ScanCells
    placing: PlacingCovariance
    drift: Drift
    open_beyond_m: float
    threshold_xy_m: Points | None
    _measured: Nearest
    _rejected: Nearest

    def expected(self, xy_m: Points) -> NDArray[np.float64]:
        """See ``ErrorModel``: the surface itself."""
        places = check_places(xy_m)
        levels = self.ground.elevation(places).copy()
        levels[self._is_open(places)] = np.nan
        return levels

    def standard_error(self, xy_m: Points) -> NDArray[np.float64]:
        """See ``ErrorModel``."""
        places = check_places(xy_m)
        common = np.concatenate(
            [np.zeros(0), *(np.diag(self._common(some, some)) for some in _split(places, _AT_ONCE))]
        )
        errors: NDArray[np.float64] = np.sqrt(self._surface_errors(places) ** 2 + np.maximum(0.0, common))
        return errors

    def covariance(self, first_xy_m: Points, second_xy_m: Points) -> NDArray[np.float64]:
        """See ``ErrorModel``."""
        first, second = check_places(first_xy_m), check_places(second_xy_m)
        alike = np.exp(-measure_distances(first, second) / SURFACE_REACH_M)
        surface = np.outer(self._surface_errors(first), self._surface_errors(second)) * alike
        return surface + self._common(first, second)

    def sample(self, xy_m: Points, count: int, seed: int) -> NDArray[np.float64]:
        """See ``ErrorModel``."""
        check_count(count)
        places = check_places(xy_m)
        expected = self.expected(places)
        grounds = np.full((count, len(places)), np.nan)
        closed = np.isfinite(expected)
        if closed.any():
            covariance = self.covariance(places[closed], places[closed])
            random = np.random.default_rng(seed)
            grounds[:, closed] = draw_normals(expected[closed], covariance, count, random)
        return grounds

    def interval(self, xy_m: Points, share: float) -> NDArray[np.float64]:
        """See ``ErrorModel``."""
        check_share(share)
        one = np.ones(1)
        means, variances = self.expected(xy_m)[None], self.standard_error(xy_m)[None] ** 2
        tails = (0.5 * (1.0 - share), 0.5 * (1.0 + share))
        return np.column_stack([find_quantile(one, means, variances, tail) for tail in tails])

    def _surface_errors(self, places: Points) -> NDArray[np.float64]:
        """Standard errors (n,) of the surface itself; NaN where it was left open."""
        away, cell = self._measured.find(places)
        alone = self.cells.scatter_m / np.sqrt(np.minimum(self.cells.points, MOST_INDEPENDENT))
        near_object, _ = self._rejected.find(places)
        # Full at the object, gone at twice the rim.
        rim = RIM_ERROR_M * np.clip(2.0 - near_object / RIM_M, 0.0, 1.0)
        width = 2.0 * away
        hole = np.where(width > 2.0 * self.cells.cell_m, HOLE_ERROR_M + HOLE_GROWTH * width, 0.0)
        errors: NDArray[np.float64] = np.sqrt(alone[cell] ** 2 + rim**2 + hole**2)
        errors[self._is_open(places) | np.isnan(self.ground.elevation(places))] = np.nan
        return errors

    def _common(self, first: Points, second: Points) -> NDArray[np.float64]:
        """Covariances (n, m) of placing and drift, against the threshold when there is one."""
        both = self._placed(first, second)
        if self.threshold_xy_m is None:
            return both
        at = self.threshold_xy_m[None]
        return both - self._placed(first, at) - self._placed(at, second) + self._placed(at, at)

    def _placed(self, first: Points, second: Points) -> NDArray[np.float64]:
        # A growth times a growth times a correlation is a covariance, whatever the places.
        drifts = [
            self.drift.per_m * measure_distances(xy, self.drift.control_xy_m).min(axis=1)
            for xy in (first, second)
        ]
        alike = np.exp(-measure_distances(first, second) / DRIFT_REACH_M)
        both: NDArray[np.float64] = self.placing(first, second) + np.outer(*drifts) * alike
        return both

    def _is_open(self, places: Points) -> NDArray[np.bool_]:
        is_open: NDArray[np.bool_] = 2.0 * self._measured.find(places)[0] > self.open_beyond_m
        return is_open


def build_scan_errors(
    ground: Ground,
    cells: ScanCells,
    placing: PlacingCovariance,
    drift: Drift,
    open_beyond_m: float,
    threshold_xy_m: Points | None,
    where: str,
) -> ScanErrors:
    """Check what is known of a scan and make its error model.

    ``open_beyond_m``: holes wider than this are left open.  Raises ``InputError`` under ``where`` with
    every fault: no cell, arrays that do not match, numbers that are not finite, no control point.
    """
    faults = [*_check_cells(cells, where)]
    remedy = "Give at least one control point as finite x and y in metres."
    if len(drift.control_xy_m) == 0 or not np.isfinite(drift.control_xy_m).all():
        faults.append(Fault(where, f"there are {len(drift.control_xy_m)} usable control points.", remedy))
    if not (np.isfinite(drift.per_m) and drift.per_m >= 0.0):
        faults.append(Fault(where, f"the drift is {drift.per_m} m a metre.", "Give zero or more."))
    if not open_beyond_m > 0.0:
        what = f"holes are left open beyond {open_beyond_m} m."
        faults.append(Fault(where, what, "Give a width above zero."))
    if faults:
        raise InputError(*faults)
    measured, rejected = Nearest(cells.xy_m), Nearest(cells.rejected_xy_m)
    return ScanErrors(ground, cells, placing, drift, open_beyond_m, threshold_xy_m, measured, rejected)


def _split(places: Points, size: int) -> list[Points]:
    return [places[start : start + size] for start in range(0, len(places), size)]


def _check_cells(cells: ScanCells, where: str) -> list[Fault]:
    count = len(cells.xy_m)
    if count == 0 or cells.scatter_m.shape != (count,) or cells.points.shape != (count,):
        what = f"there are {count} cells, {len(cells.scatter_m)} scatters and {len(cells.points)} counts."
        return [Fault(where, what, "Give one scatter and one count a cell, and at least one cell.")]
    remedy = "Leave cells without ground points out."
    bad = ~(np.isfinite(cells.xy_m).all(axis=1) & (cells.scatter_m >= 0.0) & (cells.points >= 1.0))
    bad |= ~np.isfinite(cells.scatter_m)
    faults = [
        Fault(
            f"{where}, cell {i}",
            f"at {cells.xy_m[i].tolist()}: scatter {cells.scatter_m[i]} m, {cells.points[i]} points.",
            remedy,
        )
        for i in np.flatnonzero(bad)
    ]
    if not cells.cell_m > 0.0:
        faults.append(Fault(where, f"cells are {cells.cell_m} m wide.", "Give a width above zero."))
    if not np.isfinite(cells.rejected_xy_m).all():
        faults.append(Fault(where, "a rejected cell is not at a finite place.", "Leave it out."))
    return faults
