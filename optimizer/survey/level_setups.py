"""Which rows of a level book make one set-up, and whether every set-up is whole."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.errors import Fault
from optimizer.survey.level_book import LevelRow, Mark, SetUp

_NO_LEVEL = "Start on a bench mark with its level under known_elevation, or on a point already levelled."


def find_marks(rows: Sequence[LevelRow], file: str) -> tuple[tuple[Mark, ...], list[Fault]]:
    """Points of known level, each once, in file order."""
    marks: list[Mark] = []
    faults: list[Fault] = []
    for row in rows:
        if row.known_m is None:
            continue
        before = next((mark for mark in marks if mark.name == row.name), None)
        if before is None:
            marks.append(Mark(row.name, row.known_m, row.line))
        elif before.elevation_m != row.known_m:
            what = f'"{row.name}" has another known elevation than in line {before.line}.'
            faults.append(Fault(f"{file}:{row.line}", what, "Give a mark one level."))
    if rows and not marks:
        what = "no bench mark: known_elevation is empty in every row."
        remedy = "Give the level of the point that the first backsight stands on; 0 or 100 m will do."
        faults.append(Fault(file, what, remedy))
    return tuple(marks), faults


def find_row_fault(row: LevelRow, where: str) -> Fault | None:
    """A row that has no reading, or readings that cannot stand together."""
    name = row.name
    if row.backsight_m is None and row.levelled_m is None:
        return Fault(
            where, f'"{name}" has no staff reading.', "Book it under bs, is or fs, or take the row out."
        )
    if row.intermediate_m is not None and not (row.backsight_m is None and row.foresight_m is None):
        what = f'"{name}" has an intermediate sight and another sight in one row.'
        return Fault(where, what, "An intermediate sight has a row of its own.")
    if row.booked.rise_m is not None and row.booked.fall_m is not None:
        return Fault(where, f'"{name}" has a rise and a fall.', "Book one of the two.")
    if row.booked.change_m is not None and row.levelled_m is None:
        what = f'"{name}" has a rise or fall, but only a backsight: nothing was read before it.'
        return Fault(where, what, "Book the rise or fall in the row of the next reading.")
    if row.backsight_m is not None and row.foresight_m is not None and row.place.has_sight:
        what = f'"{name}" has a distance or direction that may belong to its backsight or its foresight.'
        return Fault(where, what, "Give the change point two rows: the foresight's, then the backsight's.")
    return None


class _Walk:
    """The set-ups so far while the rows are walked in file order."""

    def __init__(self, rows: Sequence[LevelRow], marks: tuple[Mark, ...], file: str) -> None:
        self.rows = rows
        self.known = {mark.name for mark in marks}
        self.file = file
        self.levelled: dict[str, int] = {}
        self.setups: list[SetUp] = []
        self.faults: list[Fault] = []
        self.back: int | None = None
        self.start: int | None = None
        self.between: list[int] = []

    def refuse(self, row: int, what: str, remedy: str) -> None:
        self.faults.append(Fault(f"{self.file}:{self.rows[row].line}", what, remedy))

    def close(self, row: int) -> None:
        name = self.rows[row].name
        if self.back is None:
            what = f'the foresight on "{name}" belongs to no set-up: there is no backsight before it.'
            self.refuse(row, what, "Book the backsight of the set-up before it.")
        else:
            self.setups.append(SetUp(self.back, tuple(self.between), row, self.start))
        self.back, self.between = None, []
        self.levelled[name] = row

    def open(self, row: int) -> None:
        name = self.rows[row].name
        if self.back is not None:
            begun = self.rows[self.back]
            what = (
                f'"{name}" is a second backsight in the set-up begun on "{begun.name}" '
                f"in line {begun.line}, whose foresight is missing."
            )
            remedy = "Was a row left out? Book the foresight on the change point, or move this reading to is."
            self.refuse(row, what, remedy)
        last = self.setups[-1].fore if self.setups else None
        if last is not None and self.rows[last].name == name:
            self.start = last
        elif name in self.known:
            self.start = None
        elif name in self.levelled:
            self.start = self.levelled[name]
        elif self.known:
            self.refuse(row, f'the backsight stands on "{name}", whose level is not known.', _NO_LEVEL)
        self.back, self.between = row, []

    def pass_by(self, row: int) -> None:
        name = self.rows[row].name
        if self.back is None:
            what = (
                f'the intermediate sight on "{name}" belongs to no set-up: there is no backsight before it.'
            )
            self.refuse(row, what, "Book the backsight of the set-up before it.")
        self.between.append(row)
        self.levelled[name] = row


def find_setups(
    rows: Sequence[LevelRow], marks: tuple[Mark, ...], file: str
) -> tuple[tuple[SetUp, ...], list[Fault]]:
    """Set-ups in file order.

    A set-up is one backsight, any number of intermediate sights, one foresight.  A change point is
    one row with foresight and backsight, or two rows of one name in that order.
    """
    walk = _Walk(rows, marks, file)
    for index, row in enumerate(rows):
        if row.foresight_m is not None:
            walk.close(index)
        elif row.intermediate_m is not None:
            walk.pass_by(index)
        if row.backsight_m is not None:
            walk.open(index)
    if walk.back is not None:
        begun = rows[walk.back]
        what = f'the set-up begun on "{begun.name}" has no foresight.'
        remedy = "Was a row left out? Book its last sight under fs, best one back on the bench mark."
        walk.refuse(walk.back, what, remedy)
    return tuple(walk.setups), walk.faults
