"""Read a walk with spirit level and straightboard from CSV."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.survey.level_columns import (
    POSITIONS,
    ColumnSet,
    RowCells,
    find_style,
    parse_columns,
    sort_faults,
)
from optimizer.survey.spots import Style, read_csv_rows

_COLUMNS: Final = ColumnSet(
    lengths=("rise", "fall", "known_elevation", *(axis for axes in POSITIONS.values() for axis in axes)),
    degrees=(),
    counts=("boards",),
    texts=("name", "note"),
    needed=("name", "rise", "fall", "boards", "known_elevation"),
    example="name,rise_mm,fall_mm,boards,known_elevation_m",
)


@dataclass(frozen=True, slots=True)
class BoardStep:
    """From the row before to this point: the rise, a fall negative, over so many board lengths.

    ``rise_m`` is ``None``, ``boards`` 0, where a walk begins.  ``place_m``: plan position.
    """

    line: int
    name: str
    rise_m: float | None
    boards: int
    known_m: float | None
    place_m: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class BoardWalk:
    """Steps of one file, in order; the first of every walk stands on a point of known level.

    ``unit``: of its rises and falls, which small errors are told in.
    """

    path: Path
    style: Style | None
    unit: str
    steps: tuple[BoardStep, ...]


def read_straightboard(path: Path, unit: str | None = None) -> BoardWalk:
    """Read one file of walks.

    Columns: ``name``, ``rise_mm`` or ``fall_mm`` since the row before, ``boards`` (whole board
    lengths since then), ``known_elevation_m`` (marks only), and at will ``x_m`` and ``y_m`` or
    ``along_wall_m`` and ``out_from_wall_m``, ``note``.  A row without rise and fall begins a walk on
    a mark or a point already levelled.  Units as in a level book.  Raises ``InputError`` with every
    fault.
    """
    lines = read_csv_rows(path)
    if not lines:
        raise InputError(Fault(path.name, "the file is empty.", f"Start it with {_COLUMNS.example}."))
    line, cells = lines[0]
    where = f"{path.name}:{line}"
    columns = parse_columns(cells, where, _COLUMNS, unit)
    style, style_faults = find_style(columns, where)
    if style_faults:
        raise InputError(*style_faults)
    if len(lines) == 1:
        raise InputError(Fault(path.name, "there is no point below the header.", "Give one row a point."))
    faults: list[Fault] = []
    steps: list[BoardStep] = []
    for line, cells in lines[1:]:
        where = f"{path.name}:{line}"
        if len(cells) != columns.width:
            what = f"the row has {len(cells)} values, the header {columns.width} columns."
            faults.append(Fault(where, what, "Give one value a column; put a text with a comma in quotes."))
            continue
        row_cells = RowCells(cells, columns, where)
        steps.append(_read_step(row_cells, line, style))
        faults.extend(row_cells.faults)
    if len(steps) == len(lines) - 1:
        faults.extend(_check_walks(path.name, steps))
    if faults:
        raise InputError(*sort_faults(faults, path.name, [line for line, _ in lines]))
    moved = columns.find("rise") or columns.find("fall")
    return BoardWalk(path, style, "mm" if moved is None else moved.unit, tuple(steps))


def _read_step(cells: RowCells, line: int, style: Style | None) -> BoardStep:
    name = cells.name
    if not name:
        cells.faults.append(Fault(cells.where, "the point has no name.", "Name it."))
    rise, fall = cells.read_length("rise"), cells.read_length("fall")
    boards = cells.read_count("boards")
    if rise is not None and fall is not None:
        cells.faults.append(Fault(cells.where, f'"{name}" has a rise and a fall.', "Give one of the two."))
    change = -fall if fall is not None else rise
    if change is not None and boards is None:
        what = f'"{name}" has a rise or fall, but no number of boards.'
        cells.faults.append(Fault(cells.where, what, "Count the board lengths since the row before."))
    if change is None and boards is not None:
        what = f'"{name}" has a number of boards, but neither rise nor fall.'
        cells.faults.append(
            Fault(cells.where, what, "Give the rise or fall since the row before, 0 if level.")
        )
    place = None
    if style is not None:
        first, second = (cells.read_length(axis) for axis in POSITIONS[style])
        if first is not None and second is not None:
            place = (first, second)
        elif first is not None or second is not None:
            what = f'the position of "{name}" is half given.'
            cells.faults.append(Fault(cells.where, what, "Give both values or none."))
    return BoardStep(line, name, change, boards or 0, cells.read_length("known_elevation"), place)


def _check_walks(file: str, steps: Sequence[BoardStep]) -> list[Fault]:
    faults = []
    known: dict[str, float] = {}
    for step in steps:
        if step.known_m is not None and known.setdefault(step.name, step.known_m) != step.known_m:
            what = f'"{step.name}" has two known elevations.'
            faults.append(Fault(f"{file}:{step.line}", what, "Give a mark one level."))
    if not known:
        what = "no bench mark: known_elevation is empty in every row."
        faults.append(Fault(file, what, "Give the level of the point the walk begins on."))
    levelled = set(known)
    for index, step in enumerate(steps):
        begins = step.rise_m is None and step.boards == 0
        if begins and known and step.name not in levelled:
            what = f'the walk begins on "{step.name}", whose level is not known.'
            faults.append(Fault(f"{file}:{step.line}", what, "Begin on a mark or a point already levelled."))
        if index == 0 and step.rise_m is not None:
            what = f'the first row "{step.name}" has a rise or fall from nothing.'
            faults.append(Fault(f"{file}:{step.line}", what, "Begin with the mark, without rise and fall."))
        levelled.add(step.name)
    return faults
