"""From a site file's tables to yard and ground, in survey coordinates less a shift."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from optimizer.brief.build_zone import build_zone
from optimizer.brief.gather import FaultList
from optimizer.brief.locate import Locator
from optimizer.brief.places import WallFrame
from optimizer.brief.site_file import BreakLineTable, ObstacleTable, SiteFile, StartTable
from optimizer.brief.zone_table import ZoneTable
from optimizer.errors import Fault, InputError
from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.triangulate import build_ground
from optimizer.terrain.yard import Obstacle, Points, Start, Yard
from optimizer.toml_file import KeyPath, TomlFile
from optimizer.toml_model import subject_of
from optimizer.units import TOLERANCE_M


def build_wall_frame(table: StartTable, locator: Locator, keys: KeyPath) -> WallFrame:
    """A start's midpoint and outward unit vector; ``InputError`` with every fault of the two."""
    found = FaultList()
    midpoint_m = found.attempt(locator.locate, table.midpoint, (*keys, "midpoint"))
    outward = found.attempt(_outward, table, locator, keys)
    frame = WallFrame(found.sound(midpoint_m), found.sound(outward))
    frame.origin_m.setflags(write=False)
    frame.outward.setflags(write=False)
    return frame


def _outward(table: StartTable, locator: Locator, keys: KeyPath) -> Points:
    if table.wall is None:
        # The model has seen to it that one of the two is given.
        turn = math.radians(table.outward_deg or 0.0)
        return np.array([math.cos(turn), math.sin(turn)])
    left_m, right_m = (
        locator.locate(place, (*keys, "wall", index)) for index, place in enumerate(table.wall)
    )
    along_m = right_m - left_m
    length_m = float(np.hypot(along_m[0], along_m[1]))
    if length_m <= TOLERANCE_M:
        raise InputError(
            locator.file.fault(
                (*keys, "wall"),
                f"{subject_of(locator.file, keys)}the two places of wall are one.",
                "Give two places well apart, the left one first as seen from outside.",
            )
        )
    # Seen from outside the wall runs left to right, so outside is on the right of that walk.
    return np.array([along_m[1], -along_m[0]]) / length_m


def _repeated_names(model: SiteFile, file: TomlFile) -> Iterator[Fault]:
    """Findings and messages speak of things by name, so a name stands for one thing of a kind."""
    named: tuple[tuple[str, Sequence[StartTable | ObstacleTable | ZoneTable | BreakLineTable]], ...] = (
        ("start", model.start),
        ("obstacle", model.obstacle),
        ("zone", model.zone),
        ("break_line", model.break_line),
    )
    for key, tables in named:
        seen: Counter[str] = Counter()
        for index, table in enumerate(tables):
            seen[table.name] += 1
            if seen[table.name] == 2:
                yield file.fault(
                    (key, index, "name"),
                    f'the name "{table.name}" is given to two tables [[{key}]].',
                    "Name each differently.",
                )


def build_yard(model: SiteFile, locator: Locator) -> Yard:
    """The yard of a sound site file, less ``locator.shift_m``; ``InputError`` with every fault."""
    found = FaultList()
    found.add(_repeated_names(model, locator.file))
    starts = [
        found.attempt(_build_start, table, locator, ("start", index))
        for index, table in enumerate(model.start)
    ]
    house_m = found.attempt(locator.locate_outline, model.house.outline, ("house", "outline"))
    lot_m = found.attempt(locator.locate_outline, model.lot.outline, ("lot", "outline"))
    obstacles = [
        found.attempt(_build_obstacle, table, locator, ("obstacle", index))
        for index, table in enumerate(model.obstacle)
    ]
    zones = [
        found.attempt(build_zone, table, locator, ("zone", index)) for index, table in enumerate(model.zone)
    ]
    arrivals_m = [
        found.attempt(locator.locate_outline, table.outline, ("arrival", index, "outline"))
        for index, table in enumerate(model.arrival)
    ]
    destination_m = None
    if model.destination is not None:
        destination_m = found.attempt(locator.locate, model.destination.at, ("destination", "at"))
        found.sound(destination_m).setflags(write=False)
    return Yard(
        starts=tuple(found.sound(start) for start in starts),
        house_m=(found.sound(house_m),),
        lot_m=found.sound(lot_m),
        setback_m=model.lot.setback,
        setback_kind=model.lot.setback_kind,
        relief_cents=model.lot.relief_price or 0,
        obstacles=tuple(found.sound(obstacle) for obstacle in obstacles),
        zones=tuple(found.sound(zone) for zone in zones),
        arrivals_m=tuple(found.sound(outline_m) for outline_m in arrivals_m),
        destination_m=destination_m,
    )


def _build_start(table: StartTable, locator: Locator, keys: KeyPath) -> Start:
    frame = build_wall_frame(table, locator, keys)
    return Start(
        name=table.name,
        kind=table.kind,
        midpoint_m=frame.origin_m,
        outward=frame.outward,
        threshold_m=table.threshold - float(locator.shift_m[2]),
        drop_m=table.drop,
        clear_width_m=table.clear_width,
        gap_m=table.gap,
        # An edge has no door; the model has refused the words there, so these stand for nothing.
        swing=table.swing or "in",
        hinge_side=table.hinge_side or "left",
    )


def _build_obstacle(table: ObstacleTable, locator: Locator, keys: KeyPath) -> Obstacle:
    return Obstacle(
        name=table.name,
        outline_m=locator.locate_outline(table.outline, (*keys, "outline")),
        top_m=None if table.top is None else table.top - float(locator.shift_m[2]),
        may_stand=table.may_stand,
    )


def build_ground_of(model: SiteFile, locator: Locator, more: tuple[BreakLine, ...]) -> Ground:
    """The ground of a sound site file, less ``locator.shift_m``; ``InputError`` with every fault.

    ``more``: break lines beside the file's, shifted likewise.
    """
    found = FaultList()
    points_m = locator.points.points_m - locator.shift_m
    lines = [
        found.attempt(_build_break_line, table, points_m, locator, ("break_line", index))
        for index, table in enumerate(model.break_line)
    ]
    outline = None
    if model.ground.outline is not None:
        rows = found.attempt(_rows, model.ground.outline, locator, ("ground", "outline"))
        outline = points_m[found.sound(rows), :2]
    return build_ground(
        points_m,
        locator.points.names,
        (*(found.sound(line) for line in lines), *more),
        outline,
        model.ground.longest_edge,
        str(locator.file.path),
    )


def _build_break_line(table: BreakLineTable, points_m: Points, locator: Locator, keys: KeyPath) -> BreakLine:
    """One line in shifted coordinates; ``points_m`` (n, 3) all survey points, shifted."""
    if table.points is not None:
        crease = points_m[_rows(table.points, locator, (*keys, "points"))]
        return BreakLine(table.name, crease[:, :2], crease[:, 2], crease[:, 2], "left")
    top_names, foot_names = table.top or (), table.foot or ()  # the model has seen to it that both are given
    found = FaultList()
    top_rows = found.attempt(_rows, top_names, locator, (*keys, "top"))
    foot_rows = found.attempt(_rows, foot_names, locator, (*keys, "foot"))
    top, foot = points_m[found.sound(top_rows)], points_m[found.sound(foot_rows)]
    apart_m = np.hypot(*(top - foot)[:, :2].T)
    for index in np.flatnonzero(apart_m > TOLERANCE_M):
        what = (
            f'{subject_of(locator.file, keys)}the foot "{foot_names[index]}" lies {apart_m[index]:.3f} m '
            f'beside its top "{top_names[index]}" in plan.'
        )
        found.add([locator.file.fault((*keys, "foot", int(index)), what, "Give both the same x and y.")])
    found.raise_any()
    return BreakLine(table.name, top[:, :2], top[:, 2], foot[:, 2], table.high_side or "left")


def _rows(names: Sequence[str], locator: Locator, keys: KeyPath) -> list[int]:
    """Rows of named survey points; ``InputError`` with every name that is not there."""
    rows: list[int] = []
    faults: list[Fault] = []
    for index, name in enumerate(names):
        row = locator.points.position(name)
        if row is None:
            what = f'{subject_of(locator.file, keys)}the survey has no point "{name}".'
            faults.append(locator.file.fault((*keys, index), what, locator.points.remedy(name)))
        else:
            rows.append(row)
    if faults:
        raise InputError(*faults)
    return rows
