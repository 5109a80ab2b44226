"""Engine costs of small yards with some of the search's sources changed in memory.

``python -m tests.validation.mutated_costs CHANGES YARDS``: ``CHANGES`` is a JSON list of
[file of optimizer/search, text, other text], each text found in its file exactly once; yards are named
as in ``bound_yards.build_named_yard``.  Prints JSON: one [yard, [[exit, turns, cents], ...]] a yard.
"""

from __future__ import annotations

import importlib.abc
import importlib.util
import json
import sys
from collections.abc import Mapping, Sequence
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import CodeType, ModuleType

ROOM = Path(__file__).parents[2] / "optimizer" / "search"


class ChangedSource(importlib.abc.InspectLoader):
    """Loads one module from changed text, under its own file's name."""

    def __init__(self, path: Path, text: str) -> None:
        self.path, self.text = path, text

    def get_source(self, _fullname: str) -> str:
        """The changed text."""
        return self.text

    def get_code(self, _fullname: str) -> CodeType:
        """The changed text, compiled."""
        return compile(self.text, str(self.path), "exec")

    def exec_module(self, module: ModuleType) -> None:
        """Run it."""
        module.__file__ = str(self.path)
        super().exec_module(module)


class ChangedSources(importlib.abc.MetaPathFinder):
    """Finds the changed modules before Python finds them on disk."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        self.texts = texts

    def find_spec(self, fullname: str, _path: object, _target: object = None) -> ModuleSpec | None:
        """The changed module of that name, if it is one."""
        room, _, name = fullname.rpartition(".")
        if room != "optimizer.search" or f"{name}.py" not in self.texts:
            return None
        path = ROOM / f"{name}.py"
        loader = ChangedSource(path, self.texts[f"{name}.py"])
        return importlib.util.spec_from_file_location(fullname, path, loader=loader)


def change(changes: Sequence[tuple[str, str, str]]) -> dict[str, str]:
    """File name to changed text; a text that is not there exactly once is an error."""
    texts: dict[str, str] = {}
    for name, old, new in changes:
        text = texts.get(name) or (ROOM / name).read_text()
        if text.count(old) != 1:
            raise SystemExit(f"{name}: {text.count(old)} places with {old!r}, 1 wanted")
        texts[name] = text.replace(old, new)
    return texts


def main() -> None:
    """Print the costs."""
    sys.meta_path.insert(0, ChangedSources(change(json.loads(sys.argv[1]))))
    from optimizer.search.every_shape import find_best_of_every_shape
    from tests.validation.bound_yards import build_named_yard

    told = []
    for yard in json.loads(sys.argv[2]):
        costs = find_best_of_every_shape(build_named_yard(yard))
        told.append([yard, [[leaves, turns, cents] for (leaves, turns), cents in sorted(costs.items())]])
    sys.stdout.write(json.dumps(told) + "\n")


if __name__ == "__main__":
    main()
