"""The flat yard with one door landing, and a flight tried on its left edge at the wall.

A landing of 64 in, its deck 0.75 m over level ground, one run to the front, all in the door frame.  The
flight of four risers stands from u = -0.8128 m outward, from v = 0.04 m along.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from optimizer.brief.site import Site
from optimizer.catalogue.parts import StepFlight
from optimizer.layout.build_layout import build_layout
from optimizer.layout.fit_steps import (
    FreeEdge,
    Trial,
    build_surroundings,
    find_misfit,
    list_free_edges,
    list_trials,
)
from optimizer.layout.placed import PlacedLayout
from optimizer.terrain.frames import build_door_frame
from tests.layout.plane_layouts import LAYOUTS, plane_site
from tests.search.flat_yard import (
    with_parts,
    with_wishes,
)

INCH = 0.0254
HAIR = 1e-5
DECK_M = 0.75
#: The landing's left edge, and the flight's outer end and far side there.
EDGE_U, NEAR_V = -32 * INCH, 0.04
FOOT_U, FAR_V = EDGE_U - 33 * INCH, NEAR_V + 40 * INCH
SPACE_U = FOOT_U - 36 * INCH
MIDDLE_V = (NEAR_V + FAR_V) / 2

Change = Callable[[Site], Site]


def level_site() -> Site:
    """Steps wanted, level ground, rails on landings from 6 in."""
    return with_wishes(plane_site(DECK_M, 0.0, 0.0), steps="wanted", rail_landings_above_m=0.1524)


def only(site: Site, flight_id: str, **changes: object) -> Site:
    """The site with this flight alone, changed."""
    (flight,) = (one for one in site.catalogue.step_flights if one.id == flight_id)
    return with_parts(site, step_flights=(replace(flight, **changes),))  # type: ignore[arg-type]


SITE = level_site()
LAYOUT = build_layout(SITE, LAYOUTS["straight"][1])


def left_edge(layout: PlacedLayout = LAYOUT) -> FreeEdge:
    return next(one for one in list_free_edges(layout) if one.edge == "left")


def flight_of(site: Site, flight_id: str = "flight-4") -> StepFlight:
    return next(one for one in site.catalogue.step_flights if one.id == flight_id)


def trial_at_the_wall(site: Site, layout: PlacedLayout = LAYOUT, flight_id: str = "flight-4") -> Trial:
    first, _ = list_trials(site, left_edge(layout), flight_of(site, flight_id))
    return first


def misfit(site: Site, layout: PlacedLayout = LAYOUT, flight_id: str = "flight-4") -> str | None:
    found = find_misfit(trial_at_the_wall(site, layout, flight_id), build_surroundings(site, layout))
    return None if found is None else found.reason


def in_door_frame(site: Site, corners: tuple[tuple[float, float, float], ...]) -> np.ndarray:
    frame = build_door_frame(site.yard.starts[0])
    return frame.to_door(np.array([corner[:2] for corner in corners]))
