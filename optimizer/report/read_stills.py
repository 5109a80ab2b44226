"""Pictures of a plan as the viewer left them in a folder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from optimizer.errors import Fault, InputError
from optimizer.report.parts import Still


@dataclass(frozen=True, slots=True)
class StillFile:
    """The name of a picture's file and the words below the picture."""

    name: str
    caption: str


def are_current(named: Sequence[StillFile], plan_path: Path) -> bool:
    """Whether all lie beside the plan and none was drawn before the plan was written."""
    paths = [plan_path.with_name(one.name) for one in named]
    if not all(path.is_file() for path in paths):
        return False
    made_ns = plan_path.stat().st_mtime_ns
    return all(path.stat().st_mtime_ns >= made_ns for path in paths)


def read_stills(named: Sequence[StillFile], folder: Path) -> tuple[Still, ...]:
    """The pictures, in order; raises ``InputError`` with every file that cannot be read."""
    stills: list[Still] = []
    faults: list[Fault] = []
    for one in named:
        path = folder / one.name
        try:
            stills.append(Still(one.caption, path.read_bytes()))
        except OSError as error:
            told = f"cannot be read ({error.strerror or error})."
            faults.append(Fault(str(path), told, "Plan again, or ask for no pictures."))
    if faults:
        raise InputError(*faults)
    return tuple(stills)
