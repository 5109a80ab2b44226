"""Break lines a scan shows, woven into the ground between those the site file draws."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from optimizer.errors import InputError
from optimizer.terrain.ground import BreakLine, Ground
from optimizer.terrain.yard import Points

#: A line drawn in the site file speaks for one found so near.
DRAWN_M: Final = 0.4
#: Lines found nearer to each other than this are not both woven.
_CLEAR_M: Final = 0.15
#: Beyond its last place a step runs out to nothing over so much: what lies further was not seen as one.
_RUN_OUT_M: Final = 0.3
#: A line whose ends are no further apart than this goes round.
_CLOSED_M: Final = 1.0
#: Shorter parts of a line are not woven.
_LEAST_M: Final = 0.8

#: Builds the ground with further break lines, site frame.
BuildGround = Callable[[tuple[BreakLine, ...]], Ground]


@dataclass(frozen=True, slots=True)
class ChosenLines:
    """Lines to weave, and how many metres of those found are not among them."""

    lines: tuple[BreakLine, ...]
    left_out_m: float


@dataclass(frozen=True, slots=True)
class WovenGround:
    """The ground, and the names of the found lines that could not be woven in."""

    ground: Ground
    left_out: tuple[str, ...]


def choose_lines(found: Sequence[BreakLine], area: shapely.Geometry, taken: shapely.Geometry) -> ChosenLines:
    """The parts of the lines inside ``area`` and clear of ``taken`` (drawn lines, levelled points, house),
    with room to run out at their ends; of two that meet the longer stays.  Survey's frame.
    """
    allowed = area.difference(taken)
    inner = allowed.buffer(-_RUN_OUT_M)
    total_m = sum(float(shapely.LineString(line.xy_m).length) for line in found)
    parts = [part for line in found for part in _cut(line, allowed, inner)]
    kept: list[BreakLine] = []
    kept_m = 0.0
    for line in sorted(parts, key=lambda one: -float(shapely.LineString(one.xy_m).length)):
        string = shapely.LineString(line.xy_m)
        others = [shapely.LineString(one.xy_m) for one in kept]
        if string.is_simple and all(string.distance(other) > _CLEAR_M for other in others):
            kept.append(line)
            kept_m += float(string.length)
    named = tuple(
        BreakLine(f"scan step {number}", one.xy_m, one.top_m, one.foot_m, one.high_side)
        for number, one in enumerate(kept, start=1)
    )
    return ChosenLines(named, max(0.0, total_m - kept_m))


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


def _cut(line: BreakLine, allowed: shapely.Geometry, inner: shapely.Geometry) -> Iterator[BreakLine]:
    """The line as it may be woven: closed where its ends nearly meet, else its parts, run out at both."""
    string = shapely.LineString(line.xy_m)
    if len(line.xy_m) > 3 and np.hypot(*(line.xy_m[0] - line.xy_m[-1])) <= _CLOSED_M:
        rows = np.r_[0 : len(line.xy_m), 0]
        closed = shapely.LineString(line.xy_m[rows])
        if closed.is_simple and allowed.contains(closed):
            yield BreakLine(line.name, line.xy_m[rows], line.top_m[rows], line.foot_m[rows], line.high_side)
            return
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(line.xy_m, axis=0).T))))
    for part in shapely.get_parts(shapely.intersection(string, inner)):
        if isinstance(part, shapely.LineString) and part.length >= _LEAST_M:
            xy = np.array(part.coords)
            at = np.array([string.project(shapely.Point(place)) for place in xy])
            # A part is walked as the whole line is: its high side stays on the same hand.
            order = np.argsort(at, kind="stable")
            top, foot = (np.interp(at[order], along, level) for level in (line.top_m, line.foot_m))
            yield _run_out(BreakLine(line.name, xy[order], top, foot, line.high_side))


def _run_out(line: BreakLine) -> BreakLine:
    """With a vertex more at both ends, where top and foot are one."""
    places, tops, feet = [line.xy_m], [line.top_m], [line.foot_m]
    for end, before in ((0, 1), (-1, -2)):
        ahead = line.xy_m[end] - line.xy_m[before]
        # A hair short of the room that was kept, so that the end lies inside it.
        place = line.xy_m[end] + 0.98 * _RUN_OUT_M * ahead / np.hypot(*ahead)
        level = np.array([0.5 * (line.top_m[end] + line.foot_m[end])])
        at = 0 if end == 0 else len(places)
        for values, more in ((places, place[None]), (tops, level), (feet, level)):
            values.insert(at, more)
    return BreakLine(
        line.name, np.concatenate(places), np.concatenate(tops), np.concatenate(feet), line.high_side
    )
