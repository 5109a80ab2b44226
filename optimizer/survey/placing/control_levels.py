"""Elevations and positions of control points taken by name from a level book or from spot levels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from optimizer.errors import Fault, InputError
from optimizer.survey.level_points import ReducedPoints
from optimizer.survey.placing.control_points import ControlPoints, build_control
from optimizer.survey.spots import SpotLevels

#: Two statements of one quantity may differ by rounding only.
_ROUNDING_M: Final = 0.001
#: A mark counts as true in a level book; its staff reading still has this error.
_LEAST_ERROR_M: Final = 0.001


def take_levels(control: ControlPoints, levelled: ReducedPoints) -> ControlPoints:
    """Give points the elevations of the level book's points of the same name, with their covariance.

    Points overhead are taken as well: a picked bridge or soffit has an elevation too.  Raises
    ``InputError`` when no name is shared, or when a point states another elevation than the book.
    """
    names = [point.name for point in levelled.points]
    taken = {i: names.index(point.name) for i, point in enumerate(control.points) if point.name in names}
    _refuse_strangers(control, levelled.path.name, names, len(taken))
    faults: list[Fault] = []
    points = list(control.points)
    for i, j in taken.items():
        booked = levelled.points[j]
        faults.extend(
            _find_conflict(
                control, i, "elevation", points[i].elevation_m, booked.elevation_m, levelled.path.name
            )
        )
        error_m = max(_LEAST_ERROR_M, booked.standard_error_m)
        points[i] = replace(points[i], elevation_m=booked.elevation_m, level_error_m=error_m)
    if faults:
        raise InputError(*faults)
    built = build_control(points, control.source, control.lines)
    covariance = built.level_covariance_m2.copy()
    mine, book = list(taken), list(taken.values())
    covariance[np.ix_(mine, mine)] = levelled.covariance_m2[np.ix_(book, book)]
    for i in mine:
        covariance[i, i] = max(covariance[i, i], _LEAST_ERROR_M**2)
    covariance.setflags(write=False)
    return replace(built, level_covariance_m2=covariance)


def take_spots(control: ControlPoints, spots: SpotLevels) -> ControlPoints:
    """Give points the position and elevation of the spot levels of the same name.

    From spots along a wall only the elevation is taken: their positions are in the door's frame.
    A spot file states no errors; each point keeps its own.  Raises ``InputError`` when no name is
    shared, or when a point states other numbers than the spots.
    """
    taken = {
        i: spots.names.index(point.name)
        for i, point in enumerate(control.points)
        if point.name in spots.names
    }
    _refuse_strangers(control, spots.path.name, spots.names, len(taken))
    faults: list[Fault] = []
    points = list(control.points)
    for i, j in taken.items():
        x, y, z = (float(value) for value in spots.xyz_m[j])
        stated = points[i]
        faults.extend(_find_conflict(control, i, "elevation", stated.elevation_m, z, spots.path.name))
        points[i] = replace(stated, elevation_m=z)
        if spots.style == "survey":
            for title, own, other in zip("xy", stated.plan_m or (None, None), (x, y), strict=True):
                faults.extend(_find_conflict(control, i, title, own, other, spots.path.name))
            points[i] = replace(points[i], plan_m=(x, y))
    if faults:
        raise InputError(*faults)
    return build_control(points, control.source, control.lines)


def _refuse_strangers(control: ControlPoints, file: str, names: Sequence[str], shared: int) -> None:
    if shared:
        return
    mine = ", ".join(point.name for point in control.points[:5])
    what = f"no name is shared with {file}: here {mine}, there {', '.join(names[:5])}."
    raise InputError(Fault(control.source, what, "Use the same names in both files."))


def _find_conflict(
    control: ControlPoints, i: int, title: str, stated_m: float | None, found_m: float, file: str
) -> tuple[Fault, ...]:
    if stated_m is None or math.isclose(stated_m, found_m, rel_tol=0.0, abs_tol=_ROUNDING_M):
        return ()
    what = f'{title} of "{control.points[i].name}" is {stated_m:.4f} m, in {file} {found_m:.4f} m.'
    return (Fault(control.where(i), what, "Leave the wrong one out."),)
