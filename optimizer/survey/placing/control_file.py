"""Read control points from CSV."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.survey.level_columns import (
    ColumnSet,
    RowCells,
    find_half_pairs,
    parse_columns,
    sort_faults,
)
from optimizer.survey.placing.control_points import (
    LEVEL_ERROR_M,
    PICK_ERROR_M,
    TAPE_ERROR_M,
    ControlPoint,
    ControlPoints,
    Role,
    build_control,
)
from optimizer.survey.spots import read_csv_rows

_SCAN: Final = ("scan_x", "scan_y", "scan_z")
_COLUMNS: Final = ColumnSet(
    lengths=(*_SCAN, "x", "y", "elevation", "pick_error", "pick_height_error", "tape_error", "level_error"),
    degrees=(),
    counts=(),
    texts=("name", "role", "note"),
    needed=("name", *_SCAN),
    example="name,scan_x_m,scan_y_m,scan_z_m,x_m,y_m,elevation_m,role",
)
_ROLES: Final[tuple[Role, ...]] = ("control", "check")


def read_control(path: Path, unit: str | None = None) -> ControlPoints:
    """Read one file of control points.

    Columns, in any order: ``name``; ``scan_x_m``, ``scan_y_m``, ``scan_z_m`` as picked in the scan,
    turned so that z is up.  At will ``x_m`` and ``y_m`` (taped, as surveyed), ``elevation_m``
    (levelled), ``role`` (``control`` when empty, or ``check``), standard errors ``pick_error_mm``,
    ``pick_height_error_mm``, ``tape_error_mm``, ``level_error_mm``, and ``note``.  Cells may stay
    empty where a point was not taped or not levelled.  Units as in a level book.  Raises
    ``InputError`` with every fault.
    """
    lines = read_csv_rows(path)
    if not lines:
        raise InputError(Fault(path.name, "the file is empty.", f"Start it with {_COLUMNS.example}."))
    line, cells = lines[0]
    where = f"{path.name}:{line}"
    columns = parse_columns(cells, where, _COLUMNS, unit)
    half = find_half_pairs(columns, (("x", "y"),), where)
    if half:
        raise InputError(*half)
    if len(lines) == 1:
        raise InputError(Fault(path.name, "there is no point below the header.", "Give one row a point."))
    faults: list[Fault] = []
    points: list[ControlPoint] = []
    for line, cells in lines[1:]:
        where = f"{path.name}:{line}"
        if len(cells) != columns.width:
            what = f"the row has {len(cells)} values, the header {columns.width} columns."
            faults.append(Fault(where, what, "Give one value a column; put a text with a comma in quotes."))
            continue
        row = RowCells(cells, columns, where)
        points.append(_read_point(row))
        faults.extend(row.faults)
    numbers = [line for line, _ in lines[1:]]
    if faults:
        raise InputError(*sort_faults(faults, path.name, numbers))
    return build_control(points, path.name, numbers)


def _read_point(row: RowCells) -> ControlPoint:
    scan = [row.read_length(axis) for axis in _SCAN]
    if None in scan:
        missing = ", ".join(
            axis.replace("_", " ") for axis, value in zip(_SCAN, scan, strict=True) if value is None
        )
        what = f'{missing} of "{row.name}" is missing.'
        row.faults.append(Fault(row.where, what, "Pick the point in the scan and give all three numbers."))
    x, y = row.read_length("x"), row.read_length("y")
    if (x is None) != (y is None):
        what = f'the taped position of "{row.name}" is half given.'
        row.faults.append(Fault(row.where, what, "Give x and y, or neither."))
    text = row.read_text("role")
    role = next((known for known in _ROLES if known == (text or "control")), None)
    if role is None:
        what = f'the role of "{row.name}" is "{text}".'
        row.faults.append(Fault(row.where, what, "Give control, or check for a point kept out of the fit."))
    return ControlPoint(
        name=row.name,
        scan_m=(scan[0] or 0.0, scan[1] or 0.0, scan[2] or 0.0),
        plan_m=None if x is None or y is None else (x, y),
        elevation_m=row.read_length("elevation"),
        role=role or "control",
        pick_error_m=_or_usual(row.read_length("pick_error"), PICK_ERROR_M),
        tape_error_m=_or_usual(row.read_length("tape_error"), TAPE_ERROR_M),
        level_error_m=_or_usual(row.read_length("level_error"), LEVEL_ERROR_M),
        pick_height_error_m=row.read_length("pick_height_error"),
    )


def _or_usual(stated_m: float | None, usual_m: float) -> float:
    return usual_m if stated_m is None else stated_m
