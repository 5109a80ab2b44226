"""Two limits of a file that speak of the same thing: the second would hide the first."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping

from optimizer.errors import Fault
from optimizer.toml_file import TomlFile
from optimizer.toml_model import value_at

_Key = tuple[str, ...]


def find_repeated(file: TomlFile) -> Iterator[Fault]:
    """Ids that stand twice; quantities that stand twice for one place and the same facts.

    Read from the plain values, so that a file with other faults is told all at once.  Rows of a door
    table are alternatives, and a law that widens stands beside one that does not.
    """
    entries = value_at(file.values, ("limit",))
    tables = (
        [entry if isinstance(entry, Mapping) else {} for entry in entries]
        if isinstance(entries, list)
        else []
    )
    yield from _repeated(file, "id", [_id_of(table) for table in tables])
    yield from _repeated(file, "quantity", [_subject_of(table) for table in tables])


def _id_of(table: Mapping[str, object]) -> _Key | None:
    own = table.get("id")
    return (own,) if isinstance(own, str) else None


def _subject_of(table: Mapping[str, object]) -> _Key | None:
    quantity = table.get("quantity")
    if not isinstance(quantity, str) or quantity == "door_clearance":
        return None
    when = json.dumps(table.get("when", {}), sort_keys=True, default=str)
    return (quantity, str(table.get("place", "any")), when, str(table.get("widens", "no")))


def _repeated(file: TomlFile, key: str, keys: list[_Key | None]) -> Iterator[Fault]:
    for index, own in enumerate(keys):
        first = keys.index(own)
        if own is not None and first != index:
            same = "" if key == "id" else " with the same place and conditions"
            line = file.line(("limit", first, key))
            yield file.fault(
                ("limit", index, key),
                f'limit {index + 1}: the {key} "{own[0]}" was in line {line}{same}.',
                "Keep one of the two.",
            )
