"""Control points: places picked in a scan whose position was taped or whose elevation was levelled."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from optimizer.errors import Fault, InputError

#: ``control`` points carry the fit; a ``check`` point is never used in it, only compared with it.
Role = Literal["control", "check"]

#: Standard errors taken where none is stated (common practice, no source).  Of a pick in the scan, along
#: each axis: its height on flat ground, the middle of the cloud there, is often better.  Of a taped
#: position, along each axis.  Of a levelled elevation.
PICK_ERROR_M: Final = 0.010
TAPE_ERROR_M: Final = 0.010
LEVEL_ERROR_M: Final = 0.003
#: An elevation that is no better than this was not levelled: the whole promise of a leg is a centimetre.
WORST_LEVELLED_M: Final = 0.010

#: No yard needs more digits, and beyond it a millimetre is lost.
_GREATEST_M: Final = 1e8
#: Closer than this, two picks or two positions are one.
_SAME_M: Final = 0.001
_WORST_ERROR_M: Final = 1.0


@dataclass(frozen=True, slots=True)
class ControlPoint:
    """One point.

    ``scan_m``: picked in the scan, metres, z up (the axes of ``Scan``).  ``plan_m``: x and y as
    surveyed, ``None`` when not taped.  ``elevation_m``: in the survey's datum, ``None`` when not
    levelled.  The errors are standard errors along one axis; ``pick_height_error_m`` of the pick's z
    is ``pick_error_m`` when not stated.
    """

    name: str
    scan_m: tuple[float, float, float]
    plan_m: tuple[float, float] | None = None
    elevation_m: float | None = None
    role: Role = "control"
    pick_error_m: float = PICK_ERROR_M
    tape_error_m: float = TAPE_ERROR_M
    level_error_m: float = LEVEL_ERROR_M
    pick_height_error_m: float | None = None

    @property
    def pick_z_error_m(self) -> float:
        """Standard error of the pick's z."""
        return self.pick_error_m if self.pick_height_error_m is None else self.pick_height_error_m


@dataclass(frozen=True, slots=True)
class ControlPoints:
    """Points of one file or call, in its order, found good one by one.

    ``lines``: line numbers in the file, empty without a file.  ``level_covariance_m2`` (n, n),
    read-only: of the elevations; rows of points without one are their ``level_error_m`` alone.
    """

    source: str
    points: tuple[ControlPoint, ...]
    lines: tuple[int, ...]
    level_covariance_m2: NDArray[np.float64]

    def where(self, i: int) -> str:
        """``file:line``, or ``control[i]`` without a file."""
        return name_place(self.source, self.lines, i)

    def find(self, role: Role) -> tuple[int, ...]:
        """Indices of the points of a role."""
        return tuple(i for i, point in enumerate(self.points) if point.role == role)

    def is_levelled(self, i: int) -> bool:
        """Whether an elevation is given that deserves the name (see ``WORST_LEVELLED_M``)."""
        error_m = math.sqrt(float(self.level_covariance_m2[i, i]))
        return self.points[i].elevation_m is not None and error_m <= WORST_LEVELLED_M * (1.0 + 1e-9)


def name_place(source: str, lines: Sequence[int], i: int) -> str:
    """Where the i-th point stands, for messages."""
    return f"{source}:{lines[i]}" if lines else f"{source}[{i}]"


def build_control(
    points: Sequence[ControlPoint], source: str = "control", lines: Sequence[int] = ()
) -> ControlPoints:
    """Check points one by one and against each other; raises ``InputError`` with every fault.

    A point may still want position and elevation (see ``control_levels``).  Whether the points suffice to
    place a scan is for ``place_by_control`` to say.
    """
    faults: list[Fault] = []
    if not points:
        raise InputError(Fault(source, "there are no control points.", "Give at least two taped ones."))
    for i, point in enumerate(points):
        faults.extend(_find_faults(point, name_place(source, lines, i)))
    if not faults:
        faults.extend(_find_doubles(points, source, lines))
    if faults:
        raise InputError(*faults)
    covariance = np.diag([point.level_error_m**2 for point in points])
    covariance.setflags(write=False)
    return ControlPoints(source, tuple(points), tuple(lines), covariance)


def _find_faults(point: ControlPoint, where: str) -> list[Fault]:
    faults = []
    if not point.name.strip():
        faults.append(Fault(where, "the point has no name.", "Name it."))
    if point.role not in get_args(Role):
        what = f'the role of "{point.name}" is "{point.role}".'
        faults.append(Fault(where, what, "Give control, or check for a point kept out of the fit."))
    values = [(f"scan {axis}", value) for axis, value in zip("xyz", point.scan_m, strict=True)]
    values += [(axis, value) for axis, value in zip("xy", point.plan_m or (), strict=False)]
    if point.elevation_m is not None:
        values.append(("elevation", point.elevation_m))
    for title, value in values:
        if not (math.isfinite(value) and abs(value) <= _GREATEST_M):
            what = f'{title} of "{point.name}" is {value:g} m.'
            faults.append(Fault(where, what, "Give a finite number of metres, below 1e8."))
    for title, error_m in (
        ("pick", point.pick_error_m),
        ("pick height", point.pick_z_error_m),
        ("tape", point.tape_error_m),
        ("level", point.level_error_m),
    ):
        if not (math.isfinite(error_m) and 0.0 < error_m <= _WORST_ERROR_M):
            what = f'the {title} error of "{point.name}" is {error_m:g} m.'
            faults.append(Fault(where, what, "Give a standard error above 0 and at most 1 m, such as 0.01."))
    return faults


def _find_doubles(points: Sequence[ControlPoint], source: str, lines: Sequence[int]) -> list[Fault]:
    faults = []
    for second, point in enumerate(points):
        where = name_place(source, lines, second)
        for first, other in enumerate(points[:second]):
            there = name_place(source, lines, first)
            if point.name == other.name:
                what = f'the name "{point.name}" is taken by {there}.'
                faults.append(Fault(where, what, "Give every point its own name."))
            if math.dist(point.scan_m, other.scan_m) < _SAME_M:
                what = f'"{point.name}" and "{other.name}" ({there}) are picked at one place of the scan.'
                faults.append(Fault(where, what, "Give a point once; pick the other where it is."))
            elif (
                point.plan_m is not None
                and other.plan_m is not None
                and math.dist(point.plan_m, other.plan_m) < _SAME_M
            ):
                x, y = point.plan_m
                what = f'"{point.name}" and "{other.name}" ({there}) are both taped at ({x:g}, {y:g}) m.'
                faults.append(Fault(where, what, "Tape one of them again."))
    return faults
