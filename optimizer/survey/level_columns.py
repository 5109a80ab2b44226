"""Columns of a levelling file: which quantity stands where, in which unit; one row's cells."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimizer.errors import Fault, InputError
from optimizer.survey.spots import Style
from optimizer.units import METRES_PER_UNIT, UNITS, parse_length

_COLUMN_RE = re.compile(rf"(?P<quantity>[a-z_]+?)_(?P<unit>{'|'.join(UNITS)})")
_OWN_UNIT_RE = re.compile(r"[A-Za-z'\"\u2032\u2033\u2019\u201d]+")
_INCH_MARKS = frozenset({"ft", "in", "'", '"', "\u2032", "\u2033", "\u2019", "\u201d"})
_DEGREES_RE = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)")
_COUNT_RE = re.compile(r"\d+")
_STEP_RE = re.compile(r"/(?P<parts>\d+)|\.(?P<decimals>\d*)|\d")
_METRES = dict(METRES_PER_UNIT)

#: Columns of a plan position, by frame.
POSITIONS: Final[dict[Style, tuple[str, str]]] = {
    "survey": ("x", "y"),
    "door": ("along_wall", "out_from_wall"),
}
_SHOWN_DECIMALS: Final = (("m", 4), ("mm", 1), ("cm", 2), ("ft", 4), ("in", 3))


@dataclass(frozen=True, slots=True)
class ColumnSet:
    """What a kind of file may have: lengths carry a unit, the rest do not."""

    lengths: tuple[str, ...]
    degrees: tuple[str, ...]
    counts: tuple[str, ...]
    texts: tuple[str, ...]
    needed: tuple[str, ...]
    example: str


@dataclass(frozen=True, slots=True)
class Column:
    """Where one quantity stands in a row, and its unit (empty for texts, counts and degrees)."""

    quantity: str
    position: int
    unit: str


@dataclass(frozen=True, slots=True)
class Columns:
    """Columns of one file, in file order."""

    columns: tuple[Column, ...]
    width: int

    def find(self, quantity: str) -> Column | None:
        """The column of a quantity, if the file has it."""
        return next((column for column in self.columns if column.quantity == quantity), None)

    def has(self, *quantities: str) -> bool:
        """Is any of these quantities in the file."""
        return any(self.find(quantity) is not None for quantity in quantities)


def parse_columns(cells: list[str], where: str, known: ColumnSet, unit: str | None) -> Columns:
    """Columns of a header row.

    A length's unit is stated in its name (``bs_m``) or, for names without one, by ``unit``.
    Raises ``InputError`` with every fault of the header.
    """
    if unit is not None and unit not in UNITS:
        raise InputError(Fault(where, f'the unit "{unit}" is not known.', f"Use one of {', '.join(UNITS)}."))
    faults: list[Fault] = []
    found: list[Column] = []
    for position, cell in enumerate(cells):
        match = _COLUMN_RE.fullmatch(cell)
        quantity = cell if match is None else match["quantity"]
        if any(column.quantity == quantity for column in found):
            faults.append(Fault(where, f'the column "{quantity}" is given twice.', "Leave one out."))
        elif match is not None and quantity in known.lengths:
            found.append(Column(quantity, position, match["unit"]))
        elif cell in known.lengths:
            if unit is None:
                remedy = f"Name it {', '.join(f'{cell}_{one}' for one in UNITS)}, or state the file's unit."
                faults.append(Fault(where, f'the column "{cell}" states no unit.', remedy))
            found.append(Column(cell, position, unit or "m"))
        elif cell in (*known.degrees, *known.counts, *known.texts):
            found.append(Column(cell, position, ""))
        else:
            faults.append(Fault(where, f'the column "{cell}" is not known.', f"Use {known.example}."))
    faults.extend(
        Fault(where, f'the column "{quantity}" is missing.', f"Begin the file with {known.example}.")
        for quantity in known.needed
        if not any(column.quantity == quantity for column in found)
    )
    if faults:
        raise InputError(*faults)
    return Columns(tuple(found), len(cells))


def find_style(columns: Columns, where: str) -> tuple[Style | None, list[Fault]]:
    """The frame of the position columns, ``None`` without any, and what is wrong with them."""
    faults = []
    styles = [style for style, axes in POSITIONS.items() if columns.has(*axes)]
    if len(styles) > 1:
        what = "coordinates and positions along the wall are mixed."
        faults.append(Fault(where, what, "Use one of the two in a file."))
    faults.extend(find_half_pairs(columns, tuple(POSITIONS.values()), where))
    return (styles[0] if styles else None), faults


def find_half_pairs(columns: Columns, pairs: tuple[tuple[str, str], ...], where: str) -> list[Fault]:
    """A fault for every column that stands without the one it belongs with."""
    faults = []
    for first, second in pairs:
        if columns.has(first) != columns.has(second):
            there, missing = (first, second) if columns.has(first) else (second, first)
            what = f'the column "{missing}" is missing beside "{there}".'
            faults.append(Fault(where, what, f'Add it, or leave "{there}" out.'))
    return faults


def find_unit_fault(columns: Columns, quantities: tuple[str, ...], where: str) -> tuple[Fault, ...]:
    """A fault when readings of one staff stand in several units."""
    units = []
    for column in columns.columns:
        if column.quantity in quantities and column.unit not in units:
            units.append(column.unit)
    if len(units) < 2:
        return ()
    remedy = "Give all readings in the staff's unit."
    return (Fault(where, f"the staff readings are in {' and '.join(units)}.", remedy),)


def measure_step(text: str, unit: str) -> float:
    """Size in metres of the last digit written: 0.001 of ``1.250`` in m, an eighth of ``6 1/8`` in in."""
    matches = list(_STEP_RE.finditer(text))
    last = next((match for match in reversed(matches) if match["parts"] or match["decimals"]), None)
    own = "in" if text.endswith(('"', "\u2033", "\u201d", "in")) else unit
    size = float(_METRES[own])
    if last is None:
        return size
    return size / int(last["parts"]) if last["parts"] else size * 10.0 ** -len(last["decimals"])


def format_in(length_m: float, unit: str) -> str:
    """``101.3050 m`` or ``94.9100 ft``: a length in the unit of its column."""
    return f"{length_m / float(_METRES[unit]):.{dict(_SHOWN_DECIMALS)[unit]}f} {unit}"


def format_error_in(length_m: float, unit: str) -> str:
    """A small length in a book's unit: ``12.3 mm`` or ``0.040 ft (0.48 in)``."""
    if unit in ("ft", "in"):
        inches = length_m / float(_METRES["in"])
        return f"{length_m / float(_METRES['ft']):.3f} ft ({inches:.2f} in)"
    return f"{length_m * 1000.0:.1f} mm"


def format_signed_in(length_m: float, unit: str) -> str:
    """The same with its sign: ``-12.3 mm``."""
    return f"{'-' if length_m < 0.0 else '+'}{format_error_in(abs(length_m), unit)}"


def sort_faults(faults: Sequence[Fault], file: str, lines: Sequence[int]) -> list[Fault]:
    """Faults in file order, those of the whole file first.  ``lines``: the file's line numbers."""
    order = {f"{file}:{line}": line for line in lines}
    return sorted(faults, key=lambda fault: order.get(fault.where, 0))


class RowCells:
    """Cells of one row, read by quantity; what cannot be read goes to ``faults``.

    An unreadable cell gives 0, which keeps the order of the sights for the checks that follow; its
    fault stops the file.
    """

    __slots__ = ("_cells", "_columns", "faults", "name", "where")

    def __init__(self, cells: list[str], columns: Columns, where: str) -> None:
        self._cells = cells
        self._columns = columns
        self.where = where
        self.faults: list[Fault] = []
        self.name = self.read_text("name")

    def read_text(self, quantity: str) -> str:
        """The cell's text; empty when the file has no such column."""
        column = self._columns.find(quantity)
        return "" if column is None else self._cells[column.position]

    def measure_step(self, quantity: str) -> float:
        """Size in metres of the last digit of a filled cell, else infinity."""
        column, text = self._columns.find(quantity), self.read_text(quantity)
        return math.inf if column is None or not text else measure_step(text, column.unit)

    def read_length(self, quantity: str) -> float | None:
        """Metres; ``None`` for an empty cell or a column the file does not have."""
        column, text = self._columns.find(quantity), self.read_text(quantity)
        if column is None or not text:
            return None
        title = quantity.replace("_", " ")
        own = set(_OWN_UNIT_RE.findall(text))
        allowed = _INCH_MARKS if column.unit in ("ft", "in") else frozenset({column.unit})
        if own & {*UNITS, *_INCH_MARKS} - allowed:
            what = f'{title} of "{self.name}" is "{text}" in a column of {column.unit}.'
            remedy = f"Give it in {column.unit}, or change the column's unit."
            self.faults.append(Fault(self.where, what, remedy))
            return 0.0
        try:
            return parse_length(text, column.unit, self.where)
        except InputError as error:
            what = f'{title} of "{self.name}": {error.faults[0].what}'
            remedy = f"Give a number of {column.unit}, with a decimal point."
            self.faults.append(Fault(self.where, what, remedy))
            return 0.0

    def read_degrees(self, quantity: str) -> float | None:
        """Decimal degrees from -360 to 360; ``None`` for an empty cell."""
        text = self.read_text(quantity)
        if not text:
            return None
        if _DEGREES_RE.fullmatch(text) is None or abs(float(text)) > 360.0:
            what = f'{quantity.removesuffix("_deg")} of "{self.name}": "{text}" is not an angle.'
            self.faults.append(Fault(self.where, what, "Give decimal degrees, clockwise, 0 to 360."))
            return 0.0
        return float(text)

    def read_count(self, quantity: str) -> int | None:
        """A whole number from 1; ``None`` for an empty cell."""
        text = self.read_text(quantity)
        if not text:
            return None
        if _COUNT_RE.fullmatch(text) is None or int(text) < 1:
            what = f'{quantity} of "{self.name}": "{text}" is not a whole number from 1.'
            self.faults.append(Fault(self.where, what, "Count them: 1, 2, 3."))
            return 1
        return int(text)
