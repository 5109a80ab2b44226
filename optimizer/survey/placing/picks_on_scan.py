"""Whether the picks of control points lie on their scan, and what unit or axis would put them there."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from optimizer.survey.placing.control_points import ControlPoints
from optimizer.survey.scan.confirm_frame import name_turned, turn_to_z_up
from optimizer.survey.scan.file_frame import SCAN_UNITS, UP_AXES, ScanUnit, metres_in
from optimizer.survey.scan.scan import RawScan, Scan

#: Farther from every point of the scan than this, a pick is no pick.
FARTHEST_PICK_M: Final = 0.5
#: A guess of unit and axis is told when every pick then lies this near to a point: nearer than chance.
_FITS_M: Final = 0.10
#: So many points, spread over the file, are enough to try a guess on.
_TRIED: Final = 200_000


def measure_picks(control: ControlPoints, scan: Scan) -> NDArray[np.float64]:
    """Distance (n,) of every pick from the nearest point of the scan, metres."""
    away = []
    for point in control.points:
        pick = (np.array(point.scan_m) - scan.offset_m).astype(np.float32)
        away.append(float(np.sqrt(((scan.local_m - pick) ** 2).sum(axis=1).min())))
    return np.array(away)


def find_fitting(control: ControlPoints, raw: RawScan, scan: Scan) -> tuple[str, ...]:
    """Sentences on what would put every pick on the scan: another unit or axis, or picks turned so.

    Empty when nothing known does.
    """
    picks = np.array([point.scan_m for point in control.points])
    step = max(1, len(raw.local) // _TRIED)
    file_points = raw.local[::step].astype(np.float64) + raw.offset
    tree = KDTree(file_points)
    found: list[tuple[float, str]] = []
    for unit in SCAN_UNITS:
        for up in UP_AXES:
            if (unit, up) != (scan.unit, scan.up):
                # Back into the file's own axes and unit, so that one tree serves every guess.
                worst_m = _find_worst(tree, turn_to_z_up(picks, up, "back"), unit)
                found.append((worst_m, f'scan.unit = "{unit}" and scan.up = "{up}" would put every pick'))
        if scan.up != "z":
            words = (
                f'The picks look as read in the axes of the file, "{scan.up}" up: give its '
                f'{name_turned(scan.up)} as scan_x, scan_y, scan_z. With unit = "{unit}" every one is then'
            )
            found.append((_find_worst(tree, picks, unit), words))
    found = sorted(one for one in found if one[0] <= _FITS_M)
    return tuple(f"{words} within {1000.0 * worst_m:.0f} mm of a point." for worst_m, words in found[:2])


def _find_worst(tree: KDTree, in_axes_m: NDArray[np.float64], unit: ScanUnit) -> float:
    """Metres from the pick farthest from the file's points, read in ``unit``; ``in_axes_m`` (n, 3)."""
    return float(tree.query(in_axes_m / metres_in(unit))[0].max()) * metres_in(unit)
