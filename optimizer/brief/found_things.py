"""What a scan shows to stand or hang in the yard: proposed as obstacles, until the site file says otherwise.

Nothing that was seen is built through: a thing nobody has confirmed counts as an obstacle.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely

from optimizer.brief.gather import FaultList
from optimizer.brief.locate import Locator
from optimizer.brief.places import WallFrame
from optimizer.brief.survey_tables import ThingTable
from optimizer.errors import Fault, InputError
from optimizer.ground_scan.sorted_scan import FoundObstacle
from optimizer.terrain.check_yard import FREE_BEFORE_DOOR_M, before_door
from optimizer.terrain.yard import Obstacle, Points, Yard, Zone
from optimizer.terrain.zone_kinds import find_zone_rule
from optimizer.units import TOLERANCE_M

#: Parts of one thing that stand no further apart than twice this are one: a bench shows as top and legs.
JOINED_M: Final = 0.15
#: A thing drawn in the site file speaks for what the scan shows of it, and so far around.
DRAWN_M: Final = 0.20
#: What reaches less than this off a wall is the wall: a cell of the sorting, and the scan's drift.
SLIVER_M: Final = 0.15
#: Smaller things are grass, leaves and noise.
LEAST_AREA_M2: Final = 0.03
#: What is taller than this counts however thin it is: a post.
TALL_M: Final = 0.30
#: What is seen so much higher than it is drawn is not the thing that was drawn, or not as it was drawn.
HIGHER_M: Final = 0.10
#: Outlines are made of cells; corners nearer than this to the line are left out.
_LOOSE_M: Final = 0.04
#: A place named in the site file is of the thing it lies in, or of one so near.
_NEAR_M: Final = 0.3

Said = Literal["unconfirmed", "obstacle", "gone", "ground"]


@dataclass(frozen=True, slots=True)
class FoundThing:
    """One thing of the scan, survey's frame.

    ``outline_m`` (k, 2) counter-clockwise; ``top_m``, ``bottom_m`` elevations of its highest and lowest
    points; ``above_m``: its top above the ground there.  ``said``: what the site file calls it.
    """

    number: int
    outline_m: Points
    top_m: float
    bottom_m: float
    above_m: float
    place: Literal["stands", "hangs"]
    said: Said

    @property
    def name(self) -> str:
        """Its name as an obstacle."""
        return f"scan thing {self.number}"

    @property
    def middle_m(self) -> Points:
        """A place (2,) inside."""
        return np.array(shapely.Polygon(self.outline_m).point_on_surface().coords[0])


@dataclass(frozen=True, slots=True)
class DrawnThing:
    """An obstacle of the site file, survey's frame; ``top_m`` is ``None`` where nothing may pass over it."""

    outline_m: Points
    top_m: float | None


@dataclass(frozen=True, slots=True)
class LookedAt:
    """Where things are looked for, survey's frame: ``area`` on the lot near the start, ``house`` with its
    walls' own points, ``drawn`` what the site file shows already.
    """

    area: shapely.Geometry
    house: shapely.Geometry
    drawn: tuple[DrawnThing, ...]


def list_things(
    found: Sequence[FoundObstacle], looked_at: LookedAt, door_m: Points
) -> tuple[FoundThing, ...]:
    """The things in the area, those nearest to the door first; house and drawn things taken away."""
    things = [
        thing
        for place in ("stands", "hangs")
        for thing in _join([one for one in found if one.place == place], looked_at)
    ]
    things.sort(key=lambda one: shapely.Polygon(one.outline_m).distance(shapely.Point(door_m)))
    return tuple(dataclasses.replace(one, number=number) for number, one in enumerate(things, start=1))


def _take_drawn(one: FoundObstacle, drawn: Sequence[DrawnThing]) -> shapely.Geometry:
    """Its outline without what drawn things speak for: none speaks for what hangs, nor for what is higher."""
    outline = shapely.Polygon(one.outline_m).buffer(0.0)
    if one.place == "hangs":
        return outline
    speaking = [
        shapely.Polygon(thing.outline_m).buffer(DRAWN_M)
        for thing in drawn
        if thing.top_m is None or one.top_m <= thing.top_m + HIGHER_M
    ]
    return outline.difference(shapely.union_all(speaking)) if speaking else outline


def _drop_wall_slivers(left: shapely.Geometry, house: shapely.Geometry) -> Iterator[shapely.Geometry]:
    """The parts, without what along the house is only the scatter of its own walls."""
    beside = house.buffer(SLIVER_M)
    scatter = left.intersection(beside).buffer(-SLIVER_M / 2.0).buffer(SLIVER_M / 2.0)
    yield from shapely.get_parts(shapely.union(left.difference(beside), scatter))


def _join(found: Sequence[FoundObstacle], looked_at: LookedAt) -> Iterator[FoundThing]:
    outlines = [_take_drawn(one, looked_at.drawn) for one in found]
    widened = [one.buffer(JOINED_M) for one in outlines if not one.is_empty]
    joined = shapely.union_all(widened).buffer(-JOINED_M)
    left = joined.intersection(looked_at.area).difference(looked_at.house)
    for part in _drop_wall_slivers(left, looked_at.house):
        if not isinstance(part, shapely.Polygon) or part.is_empty:
            continue
        own = [one for one, outline in zip(found, outlines, strict=True) if outline.intersects(part)]
        if not own:
            continue
        top_m = max(one.top_m for one in own)
        above_m = top_m - min(one.ground_m for one in own)
        if part.area < LEAST_AREA_M2 and above_m < TALL_M:
            continue
        simple = shapely.Polygon(part.exterior).simplify(_LOOSE_M)
        ring = (simple if simple.area > 0.0 else part).exterior.normalize()
        corners = np.array(ring.coords)[:-1]
        if not shapely.LinearRing(corners).is_ccw:
            corners = corners[::-1].copy()
        corners.setflags(write=False)
        yield FoundThing(
            number=0,
            outline_m=corners,
            top_m=top_m,
            bottom_m=min(one.bottom_m for one in own),
            above_m=above_m,
            place=own[0].place,
            said="unconfirmed",
        )


def hear(
    things: tuple[FoundThing, ...], said: Sequence[ThingTable], locator: Locator
) -> tuple[FoundThing, ...]:
    """The things with what the site file calls them.

    Raises ``InputError`` for a place where the scan shows nothing, with what is nearest to it, for one that
    lies in two things, for two tables on one thing, and for something that hangs and is called ground.
    """
    faults = FaultList()
    heard = list(things)
    for index, table in enumerate(said):
        at = faults.attempt(_find, things, table, locator, index)
        if at is None:
            continue
        keys = ("scan", "thing", index, "near")
        if heard[at].said != "unconfirmed":
            what = f"another table speaks of {things[at].name} already."
            faults.add([locator.file.fault(keys, what, "Take one of the two out.")])
        elif things[at].place == "hangs" and table.what == "ground":
            what = f"{things[at].name} hangs {things[at].bottom_m:.2f} m high and cannot be ground."
            faults.add([locator.file.fault(keys, what, "Call it obstacle or gone.")])
        else:
            heard[at] = dataclasses.replace(heard[at], said=table.what)
    faults.raise_any()
    return tuple(heard)


def _find(things: tuple[FoundThing, ...], table: ThingTable, locator: Locator, index: int) -> int:
    keys = ("scan", "thing", index, "near")
    place = shapely.Point(locator.locate(table.near, keys))
    away = [shapely.Polygon(one.outline_m).distance(place) for one in things]
    nearest = int(np.argmin(away)) if away else -1
    if not away or away[nearest] > _NEAR_M:
        what = "the scan shows nothing there"
        what += f"; {things[nearest].name} is {away[nearest]:.2f} m away." if away else ", nor anywhere."
        remedy = "Give a place inside a thing that evenfall ground lists, or take the table out."
        raise InputError(locator.file.fault(keys, what, remedy))
    inside = [one.name for one, distance in zip(things, away, strict=True) if distance == 0.0]
    if len(inside) > 1:
        what = f"{' and '.join(inside)} are both there, one above the other."
        raise InputError(locator.file.fault(keys, what, "Give a place that lies in one of them alone."))
    return nearest


def add_things(yard: Yard, things: Sequence[FoundThing], shift_m: Points) -> Yard:
    """The yard with every thing that may be there, less ``shift_m`` (3,): over one that hangs a zone."""
    there = [one for one in things if one.said in ("unconfirmed", "obstacle")]
    rule = find_zone_rule("headroom")
    obstacles = [
        Obstacle(one.name, _shift(one.outline_m, shift_m), one.top_m - float(shift_m[2]), may_stand=False)
        for one in there
        if one.place == "stands"
    ]
    zones = [
        Zone(
            name=one.name,
            kind="headroom",
            outline_m=_shift(one.outline_m, shift_m),
            reason=rule.reason,
            underside_m=one.bottom_m - float(shift_m[2]),
            headroom_m=None,
            source="seen in the scan",
            waived_by=rule.waived_by,
        )
        for one in there
        if one.place == "hangs"
    ]
    return dataclasses.replace(yard, obstacles=(*yard.obstacles, *obstacles), zones=(*yard.zones, *zones))


def refuse_before_doors(
    yard: Yard, things: Sequence[FoundThing], shift_m: Points, wall: WallFrame, where: str
) -> tuple[Fault, ...]:
    """Things that stand where a door opens, told with the words that say what becomes of them.

    Steps that a landing stands over are none.
    """
    faults = []
    for start in yard.starts:
        strip = shapely.Polygon(before_door(start, FREE_BEFORE_DOOR_M) + shift_m[:2])
        for thing in things:
            is_there = thing.said in ("unconfirmed", "obstacle") and thing.place == "stands"
            in_the_way = shapely.Polygon(thing.outline_m).intersection(strip).area > TOLERANCE_M
            if is_there and in_the_way and start.kind != "over_steps":
                what = f'the scan shows something {thing.above_m:.2f} m high before start "{start.name}".'
                near = describe_place(thing, wall)
                remedy = (
                    f'Say what becomes of it below [scan]: [[scan.thing]], near = {near}, what = "gone" (or '
                    '"ground"); for steps that stay below the landing give the start the kind "over_steps".'
                )
                faults.append(Fault(where, what, remedy))
    return tuple(faults)


def describe_place(thing: FoundThing, wall: WallFrame) -> str:
    """``{ along = -4.55, out = 3.10 }``, as a site file takes it."""
    away = thing.middle_m - wall.origin_m
    along = float(away @ np.array([wall.outward[1], -wall.outward[0]]))
    return f"{{ along = {along + 0.0:.2f}, out = {float(away @ wall.outward) + 0.0:.2f} }}"


def measure_size(thing: FoundThing) -> tuple[float, float]:
    """Length and width of the smallest rectangle around it, metres."""
    box = shapely.Polygon(thing.outline_m).minimum_rotated_rectangle
    corners = np.array(box.exterior.coords) if isinstance(box, shapely.Polygon) else np.zeros((3, 2))
    sides = sorted((math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])))
    return sides[1], sides[0]


def _shift(outline_m: Points, shift_m: Points) -> Points:
    moved = outline_m - shift_m[:2]
    moved.setflags(write=False)
    return moved
