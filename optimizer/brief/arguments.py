"""Arguments of a program as the tables of a site file, each value with the argument it came from.

So a site built in code passes the very checks of one read from files, and a fault names the
argument (``starts[0].threshold_m``) where that of a file would name the line.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeVar

import numpy as np

from optimizer.brief.asked_in_code import BreakLineAt, LevelPoints, ObstacleAt, PlanPoints, StartAt, ZoneAt
from optimizer.brief.join_spots import NamedPoints
from optimizer.brief.site import DisplayUnits, Rider, SearchSettings, Wishes
from optimizer.errors import Fault, InputError
from optimizer.rulebook.facts import JobFacts
from optimizer.terrain.yard import Points
from optimizer.toml_file import KeyPath, TomlFile

Asked = (
    StartAt | ObstacleAt | ZoneAt | BreakLineAt | Rider | Wishes | SearchSettings | DisplayUnits | JobFacts
)
T = TypeVar("T")

#: Stands where the path of the site file stands otherwise.
IN_CODE: Final = Path("build_site")
_LEVEL_REMEDY: Final = "Give rows of three numbers: x, y, elevation, in metres."


@dataclass(frozen=True, slots=True)
class ArgumentFile(TomlFile):
    """The tables of a site file that is none: faults are placed at ``arguments``, by key path."""

    arguments: Mapping[KeyPath, str]

    def where(self, keys: KeyPath) -> str:
        """The argument that ``keys`` came from, or that of its nearest owner."""
        for end in range(len(keys), 0, -1):
            if keys[:end] in self.arguments:
                rest = keys[end:]
                return self.arguments[keys[:end]] + "".join(
                    f"[{key}]" for key in rest if isinstance(key, int)
                )
        return str(self.path)


class ArgumentTables:
    """Tables as they grow; used once."""

    def __init__(self) -> None:
        """Nothing given."""
        self._values: dict[str, object] = {}
        self._arguments: dict[KeyPath, str] = {}

    def add(self, keys: tuple[str, ...], argument: str, value: object) -> None:
        """Note a value under ``keys``, one or two of them; ``None`` is left out."""
        self._arguments[keys] = argument
        if value is None:
            return
        table = self._values
        if len(keys) == 2:
            inner = self._values.setdefault(keys[0], {})
            if isinstance(inner, dict):
                table = inner
        table[keys[-1]] = as_plain(value)

    def add_table(self, key: str, asked: Asked | None, kind: type[Asked]) -> None:
        """Note a table; ``None`` is left out.  ``InputError`` when it is not of the ``kind``."""
        self._arguments[key,] = key
        if asked is not None:
            self._values[key] = self._table((key,), key, asked, kind)

    def add_tables(self, key: str, argument: str, asked: Sequence[Asked], kind: type[Asked]) -> None:
        """Note a list of tables; ``InputError`` when one is not of the ``kind``."""
        self._arguments[key,] = argument
        self._values[key] = [
            self._table((key, index), f"{argument}[{index}]", each, kind)
            for index, each in enumerate(_as_listed(asked, argument, kind.__name__))
        ]

    def add_break_lines(self, asked: Sequence[BreakLineAt], levels: LevelRows) -> None:
        """Note the break lines, their points by name as a file has them."""
        self.add_tables("break_line", "break_lines", asked, BreakLineAt)
        tables = self._values["break_line"]
        for index, table in enumerate(tables if isinstance(tables, list) else ()):
            for key in ("points", "top", "foot"):
                if key in table:
                    table[key] = levels.name_all(table[key], f"break_lines[{index}].{key}_m")

    def add_arrivals(self, outlines: Sequence[PlanPoints]) -> None:
        """Note the areas where the ramp may end."""
        self._arguments["arrival",] = "arrivals"
        listed = _as_listed(outlines, "arrivals", "outlines")
        for index in range(len(listed)):
            self._arguments["arrival", index] = f"arrivals[{index}]"
        self._values["arrival"] = [{"outline": as_plain(outline)} for outline in listed]

    def finish(self) -> ArgumentFile:
        """All of it, as a file."""
        return ArgumentFile(IN_CODE, self._values, {}, self._arguments)

    def _table(self, keys: KeyPath, argument: str, asked: Asked, kind: type[Asked]) -> dict[str, object]:
        if not isinstance(asked, kind):
            what = f"this is a {type(asked).__name__}."
            raise InputError(Fault(argument, what, f"Give a {kind.__name__}."))
        table: dict[str, object] = {}
        self._arguments[keys] = argument
        for field in dataclasses.fields(asked):
            # A file states its unit once, so its keys do not.
            key = field.name.removesuffix("_m")
            self._arguments[*keys, key] = f"{argument}.{field.name}"
            value = getattr(asked, field.name)
            if value is not None:
                table[key] = as_plain(value)
        return table


def _as_listed(asked: Sequence[T], argument: str, of_what: str) -> Sequence[T]:
    """The list or tuple itself; ``InputError`` when it is none (one thing alone, say)."""
    if isinstance(asked, list | tuple):
        return asked
    what = f"this is a {type(asked).__name__}."
    raise InputError(Fault(argument, what, f"Give a list of {of_what}."))


def as_plain(value: object) -> object:
    """Lists and plain numbers, as a file would give them."""
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    if isinstance(value, list | tuple):
        return [as_plain(each) for each in value]
    return value


class LevelRows:
    """The levels of the survey, each named by the argument that gives it."""

    def __init__(self, spots: LevelPoints) -> None:
        """``spots`` (n, 3); ``InputError`` when they are not."""
        self._names: list[str] = []
        self._rows: list[tuple[float, ...]] = []
        for row in _read_levels(spots, "spots").tolist():
            self._append(tuple(row), f"spots[{len(self._rows)}]")

    def name_all(self, points_m: LevelPoints, argument: str) -> list[str]:
        """Names of the points (n, 3) of a line; those not yet there are added."""
        names = []
        for index, row in enumerate(_read_levels(points_m, argument).tolist()):
            if tuple(row) not in self._rows:
                self._append(tuple(row), f"{argument}[{index}]")
            names.append(self._names[self._rows.index(tuple(row))])
        return names

    def finish(self) -> NamedPoints:
        """All of them."""
        points_m = np.array(self._rows, dtype=np.float64).reshape(-1, 3)
        points_m.setflags(write=False)
        return NamedPoints(tuple(self._names), points_m, tuple(self._names))

    def _append(self, row: tuple[float, ...], name: str) -> None:
        self._names.append(name)
        self._rows.append(row)


def _read_levels(rows: LevelPoints, argument: str) -> Points:
    """Rows (n, 3), float64."""
    try:
        levels = np.asarray(rows)
    except ValueError:  # rows of unequal length
        raise InputError(Fault(argument, "its rows are not of one length.", _LEVEL_REMEDY)) from None
    if levels.dtype.kind not in "fiu":
        raise InputError(Fault(argument, "it holds something that is not a number.", _LEVEL_REMEDY))
    if levels.ndim != 2 or levels.shape[1] != 3:
        raise InputError(Fault(argument, f"it has the shape {levels.shape}.", _LEVEL_REMEDY))
    return levels.astype(np.float64)
