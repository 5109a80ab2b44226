"""The files that a plan was made from, each with its size and its SHA-256."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from optimizer.catalogue.demo_files import find_catalogue, find_rates
from optimizer.errors import Fault, InputError
from optimizer.toml_file import read_toml


@dataclass(frozen=True, slots=True)
class SourceFile:
    """``name``: from the site's folder, or the file's own name where it comes with the program."""

    name: str
    what: str
    size: int
    sha256: str


def list_source_files(plan_path: Path, site_file: Path) -> tuple[SourceFile, ...]:
    """The plan, the site file and every file that it names, in the order in which it names them.

    Raises ``InputError`` when one cannot be read.
    """
    folder = site_file.parent
    found = [
        describe_file(plan_path, plan_path.name, "the plan"),
        describe_file(site_file, site_file.name, "site"),
    ]
    values = read_toml(site_file).values
    own = {"catalogue": find_catalogue, "rates": find_rates}
    for key, value in values.items():
        if key in own and isinstance(value, str):
            path = own[key](value, folder)
            name = value if path == folder / value else path.name
            found.append(describe_file(path, name, key))
            continue
        names = [name for name in dict.fromkeys(_list_names(value)) if (folder / name).is_file()]
        found += [describe_file(folder / name, name, key.replace("_", " ")) for name in names]
    return tuple(found)


def describe_file(path: Path, name: str, what: str) -> SourceFile:
    """Size and hash of one file; raises ``InputError`` when it cannot be read."""
    try:
        content = path.read_bytes()
    except OSError as error:
        told = f"cannot be read ({error.strerror or error})."
        raise InputError(Fault(str(path), told, "Put it back or mend its permissions.")) from error
    return SourceFile(name, what, len(content), hashlib.sha256(content).hexdigest())


def _list_names(value: object) -> Iterator[str]:
    """Every text in a value of a site file; those that name a file are told by the folder."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _list_names(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _list_names(inner)
