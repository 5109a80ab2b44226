"""Spot levels of all survey files of a site, by name, in one frame."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.brief.places import WallFrame
from optimizer.errors import Fault, InputError
from optimizer.survey.spots import SpotLevels
from optimizer.terrain.yard import Points


@dataclass(frozen=True, slots=True)
class NamedPoints:
    """``points_m`` (n, 3) in survey coordinates, with names, and ``file:line`` of each."""

    names: tuple[str, ...]
    points_m: Points
    wheres: tuple[str, ...]

    def position(self, name: str) -> int | None:
        """Row of the point with this name."""
        return self.names.index(name) if name in self.names else None

    def remedy(self, name: str) -> str:
        """What to do about a name that no point has."""
        if not self.names:
            return "Give it as [x, y]: no point was levelled by name."
        near = difflib.get_close_matches(name, self.names, n=1)
        if near:
            return f'Did you mean "{near[0]}"?'
        return f"Use a name of its {len(self.names)} points, such as {', '.join(self.names[:3])}."


def join_spots(files: Sequence[SpotLevels], wall: WallFrame | None) -> NamedPoints:
    """All points of all files.

    Positions measured from the wall are turned into survey coordinates by ``wall``; without
    one they stay NaN.  Raises ``InputError`` when two files use one name.
    """
    points: list[Points] = [np.empty((0, 3))]
    wheres: dict[str, str] = {}
    faults: list[Fault] = []
    for spots in files:
        points.append(spots.xyz_m if spots.style == "survey" else _from_wall(spots.xyz_m, wall))
        for index, name in enumerate(spots.names):
            if name in wheres:
                faults.append(
                    Fault(
                        spots.where(index),
                        f'the name "{name}" is taken by the point at {wheres[name]}.',
                        "Give every point its own name, across all survey files.",
                    )
                )
            wheres.setdefault(name, spots.where(index))
    if faults:
        raise InputError(*faults)
    joined = np.vstack(points)
    joined.setflags(write=False)
    return NamedPoints(tuple(wheres), joined, tuple(wheres.values()))


def _from_wall(measured_m: Points, wall: WallFrame | None) -> Points:
    if wall is None:
        return np.full(measured_m.shape, np.nan)
    plan_m = [wall.at(along_m, out_m) for along_m, out_m in measured_m[:, :2]]
    return np.column_stack((np.array(plan_m), measured_m[:, 2]))
