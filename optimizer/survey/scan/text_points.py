"""Points as text: delimiter, columns and unit found from the head of the file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.survey.scan.chunks import ScanChunk, ScanSource, chunks_of
from optimizer.survey.scan.file_frame import SCAN_UNITS, ScanUnit, ToldFrame, UpAxis
from optimizer.survey.scan.number_rows import Block, is_number, parse_block, read_blocks, shorten

_AXES: Final = (
    ("x", ("x", "easting", "east")),
    ("y", ("y", "northing", "north")),
    ("z", ("z", "elevation", "elev", "height", "level")),
)
_HEIGHTS: Final = frozenset(("elevation", "elev", "height", "level"))
_NAME_RE: Final = re.compile(
    r"(?P<name>[a-z]+)(?:\s*[_ ]?[\[(]?"
    rf"(?P<unit>{'|'.join(sorted(SCAN_UNITS, key=len, reverse=True))})[\])]?)?"
)
_EXAMPLE: Final = "Begin it with a row such as x_m,y_m,z_m and give one point a row."
_REMEDY: Final = "Give every row x, y and z as numbers with a decimal point."
_HEAD_BYTES: Final = 65_536


@dataclass(frozen=True, slots=True)
class _Layout:
    """Where the coordinates stand: ``rows_before`` rows come before the first point."""

    columns: tuple[int, int, int]
    delimiter: str | None
    rows_before: int
    promised: int | None
    told: ToldFrame


def open_text_points(path: Path) -> ScanSource:
    """Open XYZ, CSV, TXT, ASC or PTS.

    A row of names (also behind ``#`` or ``//``) says which columns are x, y and z, and may state a
    unit (``x_ft``, ``x [ft]``); without it the first three columns are taken.  A first row that
    is one whole number is the count of points, as PTS has it.  Raises ``InputError`` for
    text that is no points.
    """
    with path.open("rb") as handle:
        head = handle.read(_HEAD_BYTES)
    if b"\0" in head:
        what = f"byte {head.index(0) + 1} is 0: this is no text."
        raise InputError(Fault(path.name, what, "Give the file the ending of what it is."))
    try:
        # The head may end within a character.
        text = head.decode("utf-8-sig", errors="strict" if len(head) < _HEAD_BYTES else "ignore")
    except UnicodeDecodeError as error:
        raise InputError(
            Fault(path.name, f"byte {error.start + 1} is not UTF-8.", "Save it as UTF-8.")
        ) from error
    layout = _find_layout(path, text)
    return ScanSource(path, layout.told, _walk(path, layout))


def _walk(path: Path, layout: _Layout) -> Iterator[ScanChunk]:
    done = 0
    with path.open("rb") as handle:
        left = layout.rows_before
        for block in read_blocks(handle, 1):
            lines = block
            while left and lines.text:
                _, _, rest = lines.text.partition(b"\n")
                lines = Block(rest, lines.first_row + 1)
                left -= 1
            if lines.text.startswith(b"\xef\xbb\xbf"):
                lines = Block(lines.text[3:], lines.first_row)
            xyz = parse_block(path, lines, layout.columns, layout.delimiter, _REMEDY)
            yield from chunks_of(xyz, done + 1)
            done += len(xyz)
    if layout.promised is not None and layout.promised != done:
        what = f"the first row promises {layout.promised:,} points, the file holds {done:,}."
        raise InputError(Fault(path.name, what, "Export it again; a copy may have broken off."))


def _find_layout(path: Path, text: str) -> _Layout:
    names: list[str] | None = None
    promised: int | None = None
    for number, line in enumerate(re.split(r"\r\n|\r|\n", text), start=1):
        row = line.strip()
        if not row:
            continue
        where = f"{path.name}:{number}"
        if row.startswith(("#", "//", ";")):
            named = _split(row.lstrip("#/; "))[0]
            names = named if _has_axes(named) else names
            continue
        cells, delimiter = _split(row)
        if number == 1 and len(cells) == 1 and cells[0].isdigit():
            promised = int(cells[0])
        elif all(is_number(cell) for cell in cells[:3]) and len(cells) >= 3:
            columns, told = _place(where, names)
            return _Layout(columns, delimiter, number - 1, promised, told)
        elif names is None and _has_axes(cells):
            names = cells
        else:
            raise InputError(_explain(where, row))
    raise InputError(Fault(path.name, "the file holds no points.", _EXAMPLE))


def _explain(where: str, row: str) -> Fault:
    words = re.split(r"[;\s]+", row.strip("; "))
    if all(is_number(word.replace(",", ".", 1)) for word in words):
        what = f'"{shorten(row)}" has decimal commas.'
        return Fault(where, what, "Write decimal points.")
    what = f'"{shorten(row)}" is neither a point nor a row that names x, y and z.'
    return Fault(where, what, _EXAMPLE)


def _split(row: str) -> tuple[list[str], str | None]:
    """Cells of a row, and what parts them: semicolon, tab or comma where there is one, else blanks."""
    for delimiter in (";", "\t", ","):
        if delimiter in row:
            return [cell.strip().strip('"') for cell in row.split(delimiter)], delimiter
    return row.split(), None


def _axis_of(cell: str) -> tuple[int, str, ScanUnit | None] | None:
    match = _NAME_RE.fullmatch(cell.strip().strip('"').lower())
    if match is None:
        return None
    unit = next((unit for unit in SCAN_UNITS if unit == match["unit"]), None)
    for i, (_, names) in enumerate(_AXES):
        if match["name"] in names:
            return i, match["name"], unit
    return None


def _has_axes(cells: list[str]) -> bool:
    return {found[0] for cell in cells if (found := _axis_of(cell)) is not None} == {0, 1, 2}


def _place(where: str, names: list[str] | None) -> tuple[tuple[int, int, int], ToldFrame]:
    if names is None:
        because = "The file names no columns, so the first three are taken, and it states no unit."
        return (0, 1, 2), ToldFrame(None, None, (because,))
    at = [-1, -1, -1]
    units: list[ScanUnit | None] = [None, None, None]
    up: UpAxis | None = None
    for position, cell in enumerate(names):
        found = _axis_of(cell)
        if found is None:
            continue
        axis, name, unit = found
        if at[axis] >= 0:
            what = f'two columns are {_AXES[axis][0]}: "{names[at[axis]]}" and "{cell}".'
            raise InputError(Fault(where, what, "Name one of them otherwise."))
        at[axis], units[axis] = position, unit
        if name in _HEIGHTS:
            up = "z"
    if len(set(units)) > 1:
        stated = ", ".join(unit or "none" for unit in units)
        raise InputError(
            Fault(where, f"the columns x, y, z have different units: {stated}.", "Use one unit.")
        )
    unit = units[0]
    told = [f"The unit is {unit}, say its column names." if unit else "Its column names state no unit."]
    if up is not None:
        told.append("Its third coordinate is named as a height.")
    return (at[0], at[1], at[2]), ToldFrame(unit, up, tuple(told))
