"""Break lines a scan shows, woven into the ground between those the site file draws."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from optimizer.errors import InputError
from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.yard import Points

#: A line drawn in the site file speaks for one found so near.
DRAWN_M: Final = 0.4
#: Lines found nearer to each other, to a levelled point or to the rim than this are not woven.
_CLEAR_M: Final = 0.15
#: Beyond its last place a step runs out to nothing over so much: what lies further was not seen as one.
_RUN_OUT_M: Final = 0.3

#: A line whose ends are no further apart than this goes round.
_CLOSED_M: Final = 1.0

#: Builds the ground with further break lines, site frame.
BuildGround = Callable[[tuple[BreakLine, ...]], Ground]


@dataclass(frozen=True, slots=True)
class WovenGround:
    """The ground, and the names of the found lines that could not be woven in."""

    ground: Ground
    left_out: tuple[str, ...]


def choose_lines(
    found: Sequence[BreakLine], area: shapely.Geometry, taken: shapely.Geometry
) -> tuple[BreakLine, ...]:
    """The lines inside ``area`` and clear of ``taken`` (drawn lines, levelled points, house), run out at
    their ends; of two that meet the longer stays.  Survey's frame.
    """
    kept: list[BreakLine] = []
    for line in sorted(found, key=lambda one: -float(shapely.LineString(one.xy_m).length)):
        out = _end(line)
        string = shapely.LineString(out.xy_m)
        others = [shapely.LineString(one.xy_m) for one in kept]
        is_clear = all(string.distance(other) > _CLEAR_M for other in others)
        if is_clear and string.is_simple and area.contains(string) and not taken.intersects(string):
            kept.append(out)
    return tuple(kept)


def weave(build: BuildGround, lines: tuple[BreakLine, ...]) -> WovenGround:
    """The ground with as many of the found lines as go in; ``InputError`` when it fails without any."""
    try:
        return WovenGround(build(lines), ())
    except InputError:
        if not lines:
            raise
    kept: tuple[BreakLine, ...] = ()
    ground = build(())
    left_out = []
    for line in lines:
        try:
            ground = build((*kept, line))
        except InputError:
            left_out.append(line.name)
        else:
            kept = (*kept, line)
    return WovenGround(ground, tuple(left_out))


def shift_line(line: BreakLine, shift_m: Points) -> BreakLine:
    """The line in the site frame, which is the survey's less ``shift_m`` (3,)."""
    z = float(shift_m[2])
    return BreakLine(line.name, line.xy_m - shift_m[:2], line.top_m - z, line.foot_m - z, line.high_side)


def _end(line: BreakLine) -> BreakLine:
    """The line closed, where its ends nearly meet, else run out at both."""
    named = BreakLine(f"scan {line.name}", line.xy_m, line.top_m, line.foot_m, line.high_side)
    if len(line.xy_m) > 3 and np.hypot(*(line.xy_m[0] - line.xy_m[-1])) <= _CLOSED_M:
        rows = np.r_[0 : len(line.xy_m), 0]
        closed = BreakLine(named.name, line.xy_m[rows], line.top_m[rows], line.foot_m[rows], line.high_side)
        if shapely.LineString(closed.xy_m).is_simple:
            return closed
    return _run_out(named)


def _run_out(line: BreakLine) -> BreakLine:
    """With a vertex more at both ends, where top and foot are one."""
    places, tops, feet = [line.xy_m], [line.top_m], [line.foot_m]
    for end, before in ((0, 1), (-1, -2)):
        ahead = line.xy_m[end] - line.xy_m[before]
        place = line.xy_m[end] + _RUN_OUT_M * ahead / np.hypot(*ahead)
        level = np.array([0.5 * (line.top_m[end] + line.foot_m[end])])
        at = 0 if end == 0 else len(places)
        for values, more in ((places, place[None]), (tops, level), (feet, level)):
            values.insert(at, more)
    return BreakLine(
        line.name,
        np.concatenate(places),
        np.concatenate(tops),
        np.concatenate(feet),
        line.high_side,
    )
