"""Say where a fault is written when the check that found it knows names only.

The checks of ground and yard see surveyed points, starts and obstacles by name, not the
lines of the files they came from.  The name in the message leads back to the line.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable
from typing import Final

from optimizer.brief.join_spots import NamedPoints
from optimizer.errors import Fault
from optimizer.toml_file import KeyPath, TomlFile

#: Named tables of a site file, by the words that messages use for them.
_TABLES: Final = (
    ("start", "start"),
    ("obstacle", "obstacle"),
    ("zone", "zone"),
    ("break line", "break_line"),
)
_NAMED_TABLE: Final = re.compile(r'\b(?P<words>start|obstacle|zone|break line)s? "(?P<name>[^"]+)"')
_NAMED_POINT: Final = re.compile(r'\b(?:points?|level) "(?P<name>[^"]+)"')
#: Things without a name: words of the message, key path of the site file.
_KEYS: Final[tuple[tuple[str, KeyPath], ...]] = (
    ("the setback", ("lot", "setback")),
    ("the lot", ("lot", "outline")),
    ("the house", ("house", "outline")),
    ("the outline of the surveyed ground", ("ground", "outline")),
    ("the longest edge", ("ground", "longest_edge")),
    ("surveyed", ("survey",)),
    ("survey point", ("survey",)),
)


def place_faults(faults: Iterable[Fault], file: TomlFile, points: NamedPoints) -> tuple[Fault, ...]:
    """The faults, those placed at the site file as a whole moved to the line they speak of."""
    whole_file = str(file.path)
    return tuple(
        dataclasses.replace(fault, where=_where(fault.what, file, points))
        if fault.where == whole_file
        else fault
        for fault in faults
    )


def _where(what: str, file: TomlFile, points: NamedPoints) -> str:
    """Place of the thing that the message names first."""
    found: list[tuple[int, str]] = []
    for match in _NAMED_POINT.finditer(what):
        row = points.position(match["name"])
        if row is not None:
            found.append((match.start(), points.wheres[row]))
    for match in _NAMED_TABLE.finditer(what):
        key = dict(_TABLES)[match["words"]]
        tables = file.values.get(key)
        for index, table in enumerate(tables if isinstance(tables, list) else ()):
            if isinstance(table, dict) and table.get("name") == match["name"]:
                found.append((match.start(), file.where((key, index))))
    if not found:
        found = [(what.find(words), file.where(keys)) for words, keys in _KEYS if words in what]
    return min(found)[1] if found else str(file.path)
