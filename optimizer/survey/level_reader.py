"""Read a level book from CSV."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.survey.level_book import BookedValues, Booking, LevelBook, LevelRow, Place
from optimizer.survey.level_columns import (
    POSITIONS,
    Columns,
    ColumnSet,
    RowCells,
    find_half_pairs,
    find_style,
    find_unit_fault,
    format_in,
    parse_columns,
    sort_faults,
)
from optimizer.survey.level_setups import find_marks, find_row_fault, find_setups
from optimizer.survey.spots import Style, read_csv_rows

#: Longer than any staff: 8 m (from memory: telescopic staffs end at 5 m, rods at 25 ft = 7.62 m).
LONGEST_STAFF_M: Final = 8.0

_STAFF: Final = ("bs", "is", "fs", "upper", "lower")
_COLUMNS: Final = ColumnSet(
    lengths=(
        *_STAFF,
        *("known_elevation", "rise", "fall", "hi", "elevation", "distance"),
        *(
            f"{prefix}{axis}"
            for prefix in ("", "instrument_")
            for axes in POSITIONS.values()
            for axis in axes
        ),
    ),
    degrees=("bearing_deg", "angle_deg"),
    counts=(),
    texts=("name", "page", "note"),
    needed=("name", "bs", "fs", "known_elevation"),
    example="name,bs_m,is_m,fs_m,known_elevation_m",
)


def read_level_book(path: Path, unit: str | None = None) -> LevelBook:
    """Read one level book.

    Columns, in any order: ``name``, ``bs_m``, ``is_m``, ``fs_m`` (backsight, intermediate sight,
    foresight; negative with the staff upside down) and ``known_elevation_m`` (bench marks only).
    At will, what was worked out on site: ``hi_m`` (height of instrument) or ``rise_m`` and
    ``fall_m``; ``elevation_m``; ``page`` (holds until the next); ``note``.  For positions ``x_m``
    and ``y_m`` or ``along_wall_m`` and ``out_from_wall_m``; or for each sight ``distance_m`` by tape or
    ``upper_m`` and ``lower_m`` (stadia hairs) with ``bearing_deg`` or ``angle_deg``, the
    instrument's place under ``instrument_x_m``, ``instrument_y_m``.  Units m, mm, cm, ft, in, in
    the header or for names without one ``unit``.  Raises ``InputError`` with every fault.
    """
    lines = read_csv_rows(path)
    if not lines:
        raise InputError(Fault(path.name, "the file is empty.", f"Start it with {_COLUMNS.example}."))
    line, cells = lines[0]
    where = f"{path.name}:{line}"
    columns = parse_columns(cells, where, _COLUMNS, unit)
    style = _check_columns(columns, where)
    if len(lines) == 1:
        raise InputError(Fault(path.name, "there is no sight below the header.", "Give one row a sight."))
    faults: list[Fault] = []
    rows: list[LevelRow] = []
    page = ""
    reading_step = booked_step = math.inf
    for line, cells in lines[1:]:
        where = f"{path.name}:{line}"
        if len(cells) != columns.width:
            what = f"the row has {len(cells)} values, the header {columns.width} columns."
            faults.append(Fault(where, what, "Give one value a column; put a text with a comma in quotes."))
            continue
        row_cells = RowCells(cells, columns, where)
        page = row_cells.read_text("page") or page
        row, row_faults = _read_row(row_cells, line, style, page)
        rows.append(row)
        faults.extend(row_faults)
        reading_step = min(
            reading_step, *(row_cells.measure_step(one) for one in ("bs", "is", "fs", "known_elevation"))
        )
        booked_step = min(
            booked_step, *(row_cells.measure_step(one) for one in ("rise", "fall", "hi", "elevation"))
        )
    marks, mark_faults = find_marks(rows, path.name)
    setups, setup_faults = find_setups(rows, marks, path.name)
    # With a row left out for its width the order of the sights says nothing.
    faults.extend((*mark_faults, *setup_faults) if len(rows) == len(lines) - 1 else ())
    if faults:
        raise InputError(*sort_faults(faults, path.name, [line for line, _ in lines]))
    return LevelBook(
        path,
        _unit_of(columns),
        style,
        _booking_of(columns),
        tuple(rows),
        setups,
        marks,
        reading_step,
        booked_step,
    )


def _unit_of(columns: Columns) -> str:
    staff = columns.find("bs")
    return "m" if staff is None else staff.unit


def _booking_of(columns: Columns) -> Booking:
    if columns.has("hi"):
        return "height"
    return "rise" if columns.has("rise", "fall") else "readings"


def _check_columns(columns: Columns, where: str) -> Style | None:
    """The frame of the positions; raises when columns exclude or lack one another."""
    faults = list(find_unit_fault(columns, _STAFF, where))
    if columns.has("hi") and columns.has("rise", "fall"):
        what = "height of instrument and rise or fall are mixed."
        faults.append(Fault(where, what, "Use one booking in a file."))
    style, style_faults = find_style(columns, where)
    faults.extend(style_faults)
    instrument = tuple(
        (f"instrument_{first}", f"instrument_{second}") for first, second in POSITIONS.values()
    )
    pairs = (*instrument, ("rise", "fall"), ("upper", "lower"))
    faults.extend(find_half_pairs(columns, pairs, where))
    if columns.has("bearing_deg", "angle_deg") and style is None:
        what = "there are directions, but no column for the position of a mark."
        faults.append(Fault(where, what, "Add x_m and y_m and give the bench mark's, such as 0 and 0."))
    if faults:
        raise InputError(*faults)
    return style


def _read_row(cells: RowCells, line: int, style: Style | None, page: str) -> tuple[LevelRow, list[Fault]]:
    x, y = POSITIONS[style or "survey"]
    row = LevelRow(
        line=line,
        name=cells.name,
        backsight_m=cells.read_length("bs"),
        intermediate_m=cells.read_length("is"),
        foresight_m=cells.read_length("fs"),
        known_m=cells.read_length("known_elevation"),
        booked=BookedValues(
            cells.read_length("rise"),
            cells.read_length("fall"),
            cells.read_length("hi"),
            cells.read_length("elevation"),
        ),
        place=Place(
            cells.read_length(x),
            cells.read_length(y),
            cells.read_length(f"instrument_{x}"),
            cells.read_length(f"instrument_{y}"),
            cells.read_length("distance"),
            cells.read_length("upper"),
            cells.read_length("lower"),
            cells.read_degrees("bearing_deg"),
            cells.read_degrees("angle_deg"),
        ),
        page=page,
        note=cells.read_text("note"),
    )
    faults = list(cells.faults)
    if not row.name:
        faults.append(Fault(cells.where, "the point has no name.", "Name it."))
    for title, value in zip(_STAFF[:3], (row.backsight_m, row.intermediate_m, row.foresight_m), strict=True):
        if value is not None and abs(value) > LONGEST_STAFF_M:
            what = f'{title} of "{row.name}" is {format_in(value, "m")}, longer than any staff.'
            faults.append(Fault(cells.where, what, "Check the digits and the unit of the column."))
    row_fault = find_row_fault(row, cells.where)
    if row_fault is not None:
        faults.append(row_fault)
    return row, faults
