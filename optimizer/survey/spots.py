"""Read spot levels from a CSV file whose header states every unit."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError
from optimizer.units import UNITS, parse_length

Style = Literal["survey", "door"]

_AXES: Final[dict[Style, tuple[str, str, str]]] = {
    "survey": ("x", "y", "elevation"),
    "door": ("along_wall", "out_from_wall", "elevation"),
}
_COLUMN_RE = re.compile(rf"(?P<axis>[a-z_]+?)_(?P<unit>{'|'.join(UNITS)})")
_OWN_UNIT_RE = re.compile(r"[A-Za-z'\"\u2032\u2033\u2019\u201d]+")
_INCH_MARKS = frozenset({"ft", "in", "'", '"', "\u2032", "\u2033", "\u2019", "\u201d"})
_EXAMPLE = "name,x_m,y_m,elevation_m or name,along_wall_ft,out_from_wall_ft,elevation_in"


@dataclass(frozen=True, slots=True)
class SpotLevels:
    """Spot levels of one file, in file order.

    ``xyz_m`` (n, 3), read-only.  Style ``survey``: x, y and elevation as surveyed.  Style
    ``door``: along the wall from the middle of the door (to the right looking out of it is
    positive), out from the wall, and elevation in the survey's datum.  ``rows`` are line
    numbers in the file.
    """

    path: Path
    style: Style
    names: tuple[str, ...]
    xyz_m: NDArray[np.float64]
    rows: tuple[int, ...]
    notes: tuple[str, ...]

    def where(self, i: int) -> str:
        """``file:line`` of the i-th point, for messages."""
        return f"{self.path.name}:{self.rows[i]}"


@dataclass(frozen=True, slots=True)
class _Column:
    """Where one quantity stands in a row, and its unit."""

    axis: str
    position: int
    unit: str


@dataclass(frozen=True, slots=True)
class _Header:
    style: Style
    name_position: int
    note_position: int | None
    columns: tuple[_Column, ...]
    width: int


def read_spots(path: Path) -> SpotLevels:
    """Read one file of spot levels.

    The header names the columns with their units, in any order: ``name``, then ``x_m``,
    ``y_m``, ``elevation_m`` or ``along_wall_ft``, ``out_from_wall_ft``, ``elevation_in`` (units
    m, mm, cm, ft, in), and at will ``note``.  Feet-inch texts may stand in columns of feet or
    inches.  Raises ``InputError`` with every fault of the file.
    """
    rows = read_csv_rows(path)
    if not rows:
        raise InputError(Fault(path.name, "the file is empty.", f"Start it with {_EXAMPLE}."))
    line, cells = rows[0]
    header = _parse_header(cells, f"{path.name}:{line}")
    if len(rows) == 1:
        raise InputError(Fault(path.name, "there is no point below the header.", "Give one row a point."))
    faults: list[Fault] = []
    names: list[str] = []
    points: list[tuple[float, ...]] = []
    notes: list[str] = []
    first_line: dict[str, int] = {}
    for line, cells in rows[1:]:
        where = f"{path.name}:{line}"
        if len(cells) != header.width:
            what = f"the row has {len(cells)} values, the header {header.width} columns."
            faults.append(Fault(where, what, "Give one value a column; put a text with a comma in quotes."))
            continue
        name = cells[header.name_position]
        if not name:
            faults.append(Fault(where, "the point has no name.", "Name it."))
        elif name in first_line:
            what = f'the name "{name}" is taken by the point in line {first_line[name]}.'
            faults.append(Fault(where, what, "Give every point its own name."))
        first_line.setdefault(name, line)
        values, value_faults = _parse_values(cells, name, header, where)
        faults.extend(value_faults)
        names.append(name)
        points.append(values)
        notes.append("" if header.note_position is None else cells[header.note_position])
    if faults:
        raise InputError(*faults)
    xyz_m = np.array(points, dtype=np.float64)
    xyz_m.setflags(write=False)
    return SpotLevels(
        path, header.style, tuple(names), xyz_m, tuple(line for line, _ in rows[1:]), tuple(notes)
    )


def read_csv_rows(path: Path) -> list[tuple[int, list[str]]]:
    """Rows that are not blank, with their line numbers, cells stripped.

    Raises ``InputError`` for a file that cannot be read, is not UTF-8 or is not CSV.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        remedy = "Check the path."
        raise InputError(Fault(str(path), f"the file cannot be read: {error.strerror}.", remedy)) from error
    except UnicodeDecodeError as error:
        remedy = "Save it as UTF-8."
        raise InputError(Fault(path.name, f"byte {error.start} is not UTF-8 text.", remedy)) from error
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows = []
    line = 1
    try:
        for cells in reader:
            stripped = [cell.strip() for cell in cells]
            if any(stripped):
                rows.append((line, stripped))
            line = reader.line_num + 1
    except csv.Error as error:
        remedy = 'Close every quote; inside quotes write "" for an inch mark.'
        raise InputError(Fault(f"{path.name}:{line}", f"the row is not CSV: {error}.", remedy)) from error
    return rows


def _parse_header(cells: list[str], where: str) -> _Header:
    faults: list[Fault] = []
    columns: dict[str, _Column] = {}
    plain: dict[str, int] = {}
    known = {axis for axes in _AXES.values() for axis in axes}
    for position, cell in enumerate(cells):
        match = _COLUMN_RE.fullmatch(cell)
        axis = cell if match is None else match["axis"]
        if axis in columns or axis in plain:
            faults.append(Fault(where, f'the column "{axis}" is given twice.', "Leave one out."))
        elif cell in ("name", "note"):
            plain[cell] = position
        elif match is not None and axis in known:
            columns[axis] = _Column(axis, position, match["unit"])
        elif axis in known:
            columns[axis] = _Column(axis, position, "m")
            remedy = f"Name it {', '.join(f'{axis}_{unit}' for unit in UNITS)}."
            faults.append(Fault(where, f'the column "{axis}" states no unit.', remedy))
        else:
            faults.append(Fault(where, f'the column "{cell}" is not known.', f"Use {_EXAMPLE}, and note."))
    style: Style = "door" if {"along_wall", "out_from_wall"} & columns.keys() else "survey"
    if style == "door" and {"x", "y"} & columns.keys():
        what = "coordinates and positions along the wall are mixed."
        faults.append(Fault(where, what, "Use one of the two in a file."))
    elif not faults:
        missing = [axis for axis in _AXES[style] if axis not in columns] + ["name"] * ("name" not in plain)
        faults.extend(
            Fault(where, f'the column "{axis}" is missing.', f"Begin the file with {_EXAMPLE}.")
            for axis in missing
        )
    if faults:
        raise InputError(*faults)
    ordered = tuple(columns[axis] for axis in _AXES[style])
    return _Header(style, plain["name"], plain.get("note"), ordered, len(cells))


def _parse_values(
    cells: list[str], name: str, header: _Header, where: str
) -> tuple[tuple[float, ...], list[Fault]]:
    values: list[float] = []
    faults: list[Fault] = []
    for column in header.columns:
        text = cells[column.position]
        quantity = column.axis.replace("_", " ")
        if not text:
            what = f'{quantity} is missing for point "{name}".'
            axes = ", ".join(axis.replace("_", " ") for axis in _AXES[header.style])
            faults.append(Fault(where, what, f"Give three numbers: {axes}."))
            continue
        own = set(_OWN_UNIT_RE.findall(text))
        allowed = _INCH_MARKS if column.unit in ("ft", "in") else frozenset({column.unit})
        if own & {*UNITS, *_INCH_MARKS} - allowed:
            what = f'{quantity} of point "{name}" is "{text}" in a column of {column.unit}.'
            faults.append(Fault(where, what, f"Give it in {column.unit}, or change the column's unit."))
            continue
        try:
            values.append(parse_length(text, column.unit, where))
        except InputError as error:
            what = f'{quantity} of point "{name}": {error.faults[0].what}'
            faults.append(Fault(where, what, f"Give a number of {column.unit}, with a decimal point."))
    return tuple(values), faults
