"""Trials in the yard: obstacles, zones, the setback, arrival zones, a deeper lot, one door alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely

from optimizer.brief.site import Site
from optimizer.search.trial_records import AUTHORITY, CLIENT, Family, Trial
from optimizer.terrain.frames import build_door_frame
from optimizer.terrain.yard import Obstacle, Points, Zone
from optimizer.units import format_length

#: How far a side of the lot is moved out, metres, smallest first.
LOT_STEPS_M: Final = (0.3, 0.6, 0.9, 1.5, 3.0)
#: Less of the added strip than this share surveyed counts as none of it.
LEAST_SURVEYED: Final = 0.01

#: Areas that are rounding and not land, square metres.
SLIVER_M2: Final = 1e-9


def list_dropped_places(site: Site) -> tuple[Trial, ...]:
    """The site without one obstacle, one zone, the setback, the arrival zones."""
    yard = site.yard
    trials = []
    for obstacle in yard.obstacles:
        kept = tuple(other for other in yard.obstacles if other is not obstacle)
        trials.append(
            Trial(
                obstacle.name,
                f"{obstacle.name} stands in the way.",
                f"moving {obstacle.name} out of the way",
                "",
                # A slab that feet may stand on carries layouts that bare ground does not.
                "exchange" if obstacle.may_stand else "loosening",
                replace(site, yard=replace(yard, obstacles=kept)),
            )
        )
    for zone in yard.zones:
        others = tuple(other for other in yard.zones if other is not zone)
        trials.append(
            Trial(
                f"zone {zone.name}",
                f"The zone {zone.name} is in the way: {zone.reason}.",
                f"a waiver for {zone.name}",
                zone.waived_by,
                "loosening",
                replace(site, yard=replace(yard, zones=others)),
            )
        )
    if yard.setback_m > 0.0:
        trials.append(
            Trial(
                "the setback",
                "The setback leaves too little of the lot.",
                "relief from the setback",
                AUTHORITY,
                "loosening",
                replace(site, yard=replace(yard, setback_m=0.0)),
            )
        )
    if yard.arrivals_m:
        trials.append(
            Trial(
                "the arrival zones",
                "No tip can lie in an arrival zone.",
                "landing outside the arrival zones",
                CLIENT,
                "loosening",
                replace(site, yard=replace(yard, arrivals_m=())),
            )
        )
    return tuple(trials)


def drop_together(site: Site, trials: Sequence[Trial]) -> Site:
    """The site after several of the above at once."""
    yards = [trial.changed.yard for trial in trials]
    yard = site.yard
    return replace(
        site,
        yard=replace(
            yard,
            obstacles=tuple(one for one in yard.obstacles if all(_holds(y.obstacles, one) for y in yards)),
            zones=tuple(one for one in yard.zones if all(_holds(y.zones, one) for y in yards)),
            setback_m=min(y.setback_m for y in yards),
            arrivals_m=yard.arrivals_m if all(y.arrivals_m for y in yards) else (),
        ),
    )


def _holds(things: tuple[Obstacle, ...] | tuple[Zone, ...], one: Obstacle | Zone) -> bool:
    return any(other is one for other in things)


def list_yard_families(site: Site) -> tuple[Family, ...]:
    """Each of the above as a family of one step."""
    return tuple(Family((trial,), is_nested=True) for trial in list_dropped_places(site))


def list_single_doors(site: Site) -> tuple[Trial, ...]:
    """Each door alone, where the site names several: what that door costs."""
    if len(site.yard.starts) < 2:
        return ()
    return tuple(
        Trial(
            f"{start.name} alone",
            f"The ramp starts at {start.name}.",
            f"the ramp at {start.name}",
            CLIENT,
            "exchange",
            replace(
                site,
                yard=replace(site.yard, starts=(start,)),
                start_facts=(site.start_facts[n],),
                designs=(site.designs[n],),
            ),
        )
        for n, start in enumerate(site.yard.starts)
    )


def list_lot_families(site: Site) -> tuple[tuple[Family, ...], tuple[str, ...]]:
    """The lot with one side moved out, by direction as seen from the first door.

    Only where levels were taken beyond the lot line; the second answer says where they are missing.
    """
    start = site.yard.starts[0]
    frame = build_door_frame(start)
    door = f"the door {start.name!r}" if len(site.yard.starts) > 1 else "the door"
    families, cannot_try = [], []
    for words, direction in (
        (f"away from {door}", start.outward),
        (f"to the left of {door}, looking out", -frame.right),
        (f"to the right of {door}, looking out", frame.right),
    ):
        steps = tuple(
            Trial(
                "the lot line",
                f"The lot is too small {words}.",
                f"{format_length(by_m, site.display.system, site.display.step_m)} more of the lot {words}",
                "whoever owns the ground there",
                "exchange",
                replace(site, yard=replace(site.yard, lot_m=lot)),
            )
            for by_m in LOT_STEPS_M
            if (lot := move_out(site, direction, by_m)) is not None
        )
        if steps:
            families.append(Family(steps, is_nested=True))
        else:
            cannot_try.append(
                f"More of the lot {words} was not tried: no levels beyond the lot line there; "
                "survey that ground too."
            )
    return tuple(families), tuple(cannot_try)


def move_out(site: Site, direction: Points, by_m: float) -> Points | None:
    """The lot swept ``by_m`` along a unit vector (2,); ``None`` where none of the gain is surveyed."""
    ring = site.yard.lot_m
    shift = by_m * np.asarray(direction)
    lot = shapely.Polygon(ring)
    swept = [
        shapely.Polygon([a, b, b + shift, a + shift])
        for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True)
    ]
    whole = shapely.union_all([lot, *(one.buffer(0.0) for one in swept if one.area > SLIVER_M2)])
    if not isinstance(whole, shapely.Polygon):
        return None
    if any(shapely.Polygon(hole).area > SLIVER_M2 for hole in whole.interiors):
        return None
    whole = shapely.Polygon(whole.exterior).simplify(1e-9)
    rings = [shapely.Polygon(one) for one in site.ground.outline_m]
    surveyed = shapely.union_all(rings[:1]).difference(shapely.union_all(rings[1:]))
    gain = whole.difference(lot)
    if gain.intersection(surveyed).area < LEAST_SURVEYED * gain.area:
        return None
    corners = np.array(shapely.geometry.polygon.orient(whole, 1.0).exterior.coords[:-1], dtype=np.float64)
    corners.flags.writeable = False
    return corners
