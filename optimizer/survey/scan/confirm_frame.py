"""A scan in metres with z up, once a person has said what its units and axes are."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.file_frame import SCAN_UNITS, UP_AXES, ScanUnit, UpAxis, metres_in
from optimizer.survey.scan.scan import FARTHEST_M, RawScan, Scan, split_offset
from optimizer.survey.scan.thinning import keep_one_a_cell

#: For each axis that may be up: where x, y and z of the scan come from, and with which sign.  Every one
#: is a rotation, so nothing is mirrored.
_TURNS: Final[tuple[tuple[UpAxis, tuple[int, int, int], tuple[int, int, int]], ...]] = (
    ("z", (0, 1, 2), (1, 1, 1)),
    ("-z", (0, 1, 2), (1, -1, -1)),
    ("y", (0, 2, 1), (1, -1, 1)),
    ("-y", (0, 2, 1), (1, 1, -1)),
    ("x", (1, 2, 0), (1, 1, 1)),
    ("-x", (1, 2, 0), (-1, 1, -1)),
)
#: More points than this share far away are a second place, not strays.
_MOST_STRAYS: Final = 0.01
#: Heights rounded more coarsely than this are of no use for legs that are set to a centimetre.
_COARSEST_STEP_M: Final = 0.01


def confirm_frame(scan: RawScan, unit: ScanUnit, up: UpAxis) -> Scan:
    """Turn and scale a scan to metres with z up, and thin it to the cell that was asked for.

    With y up, x stays and y becomes -z of the file.  Points farther than ``FARTHEST_M`` from the
    middle are left out and counted.  Raises ``InputError`` for a unit or axis that
    is none, when more than one in a hundred points is so far away, and when the file's
    coordinates were rounded to steps of more than a centimetre.
    """
    faults = []
    if unit not in SCAN_UNITS:
        faults.append(Fault("unit", f'"{unit}" is not known.', f"Use one of {', '.join(SCAN_UNITS)}."))
    if up not in UP_AXES:
        faults.append(Fault("up", f'"{up}" is no axis.', f"Use one of {', '.join(UP_AXES)}."))
    if faults:
        raise InputError(*faults)
    step_m = scan.step * metres_in(unit)
    if step_m > _COARSEST_STEP_M:
        what = f"its coordinates were rounded to single precision, in steps of up to {step_m:.2g} m."
        remedy = "Export it in double precision, or with an origin near the yard."
        raise InputError(Fault(scan.path.name, what, remedy))
    xyz = _turn_and_scale(scan, unit, up)
    middle = split_offset(xyz)[1]
    # The offset may still move by a part of a metre when strays are left out.
    is_near: NDArray[np.bool_] = np.all(np.abs(xyz - middle) <= FARTHEST_M - 1.0, axis=1)
    too_far = len(xyz) - int(is_near.sum())
    if too_far:
        _refuse_two_places(scan, unit, xyz, is_near)
        xyz = xyz[is_near]
    # Read as metres, a smaller unit was thinned to a smaller cell.
    if scan.cell is not None and unit != "m":
        xyz = keep_one_a_cell(xyz, scan.cell)
    local_m, offset_m = split_offset(xyz)
    return Scan(
        path=scan.path,
        unit=unit,
        up=up,
        local_m=local_m,
        offset_m=offset_m,
        cell_m=scan.cell,
        count_read=scan.count_read,
        count_unusable=scan.count_unusable,
        count_too_far=too_far,
        box_m=np.stack([xyz.min(axis=0), xyz.max(axis=0)]),
    )


def turn_to_z_up(xyz: NDArray[np.float64], up: UpAxis, way: Literal["there", "back"]) -> NDArray[np.float64]:
    """Points (n, 3) of a file whose ``up`` axis is up, turned to z up, or back; lengths stay."""
    columns, signs = next((columns, signs) for axis, columns, signs in _TURNS if axis == up)
    turned = np.empty(xyz.shape)
    for to, (column, sign) in enumerate(zip(columns, signs, strict=True)):
        if way == "there":
            turned[:, to] = sign * xyz[:, column]
        else:
            turned[:, column] = sign * xyz[:, to]
    return turned


def name_turned(up: UpAxis) -> str:
    """Which axes of the file become x, y and z, such as ``x, -z, y``."""
    columns, signs = next((columns, signs) for axis, columns, signs in _TURNS if axis == up)
    return ", ".join(
        ("-" if sign < 0 else "") + "xyz"[column] for column, sign in zip(columns, signs, strict=True)
    )


def _turn_and_scale(scan: RawScan, unit: ScanUnit, up: UpAxis) -> NDArray[np.float64]:
    columns, signs = next((columns, signs) for axis, columns, signs in _TURNS if axis == up)
    factor = metres_in(unit)
    xyz = np.empty(scan.local.shape)
    for to, (column, sign) in enumerate(zip(columns, signs, strict=True)):
        xyz[:, to] = scan.local[:, column]
        xyz[:, to] += scan.offset[column]
        xyz[:, to] *= sign * factor
    return xyz


def _refuse_two_places(
    scan: RawScan, unit: ScanUnit, xyz: NDArray[np.float64], is_near: NDArray[np.bool_]
) -> None:
    far = len(xyz) - int(is_near.sum())
    if far <= _MOST_STRAYS * len(xyz):
        return
    place = ", ".join(f"{value:.6g}" for value in xyz[int(np.argmin(is_near))])
    what = (
        f"read as {unit}, {far:,} of {len(xyz):,} points lie more than {FARTHEST_M:g} m from the middle, "
        f"one at ({place}) m."
    )
    raise InputError(Fault(scan.path.name, what, "Confirm another unit, or crop the scan to the yard."))
