"""Where a ramp can begin: door landings as placed (or an edge), and the run's pose on them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.brief.site import Site
from optimizer.catalogue.parts import Landing
from optimizer.catalogue.rates import part_cost_cents
from optimizer.layout.landing_edges import list_door_landing_rails
from optimizer.layout.spec import Exit
from optimizer.search.door_room import has_door_room
from optimizer.search.geometry_kernel import scratch
from optimizer.search.kernel_tables import NEVER
from optimizer.search.slides import list_slides
from optimizer.search.support_kernel import landing_total
from optimizer.search.tables import PreparedStart
from optimizer.search.usable_parts import ask_landings, role_at_door
from optimizer.terrain.yard import Start
from optimizer.units import TOLERANCE_M

EXITS: tuple[Exit, ...] = ("front", "left", "right")
HEADINGS: dict[Exit, tuple[float, float]] = {"front": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}


@dataclass(frozen=True, slots=True)
class Opening:
    """A start pose: the door landing as placed (or an edge) and the run's pose on it."""

    prepared: PreparedStart
    slide_m: float
    door_landing: str | None
    exit: Exit
    attach_m: float
    u: float
    v: float
    deck_m: float
    cost_cents: int
    walk_m: float
    rectangle: tuple[float, float, float, float] | None


def list_lines(first_m: float, last_m: float, anchor_m: float, pitch_m: float) -> tuple[float, ...]:
    """Lattice lines between two places (both ends included to within a micrometre), ascending."""
    first = math.ceil((first_m - TOLERANCE_M - anchor_m) / pitch_m)
    last = math.floor((last_m + TOLERANCE_M - anchor_m) / pitch_m)
    return tuple(anchor_m + k * pitch_m for k in range(first, last + 1))


def list_openings(site: Site, prepared: PreparedStart) -> tuple[Opening, ...]:
    """Every placing of the door landing (or the edge) with every exit and attach position."""
    if prepared.parts.threshold is None:
        return ()
    base = part_cost_cents(prepared.parts.threshold, site.rates) + (prepared.relief_cents or 0)
    if prepared.start.kind == "edge":
        return tuple(_list_edge_openings(site, prepared, base))
    return tuple(
        opening
        for number, landing in enumerate(prepared.parts.landings)
        if "door" in landing.uses
        for slide in list_slides(
            (landing.width_m - prepared.start.clear_width_m) / 2.0, site.search.lattice_m
        )
        for opening in _list_door_openings(site, prepared, number, slide, base)
    )


def _list_edge_openings(site: Site, prepared: PreparedStart, base_cents: int) -> Iterator[Opening]:
    """Runs hung on an edge.  The wish about exits speaks of a landing's sides; an edge has one only."""
    start = prepared.start
    spare = (start.clear_width_m - prepared.parts.width_m) / 2.0
    deck = start.threshold_m - start.drop_m
    for slide in list_slides(spare, site.search.lattice_m):
        yield Opening(prepared, slide, None, "front", 0.0, slide, start.gap_m, deck, base_cents, 0.0, None)


def _list_door_openings(
    site: Site, prepared: PreparedStart, number: int, slide_m: float, base_cents: int
) -> Iterator[Opening]:
    """One door landing at one slide: every exit and attach position, where it may stand at all."""
    start, width = prepared.start, prepared.parts.width_m
    landing = prepared.parts.landings[number]
    deck = start.threshold_m - start.drop_m
    rectangle = np.zeros(4)
    asked = ask_landings(site, start, width)
    for leaves in (one for one in EXITS if one in site.wishes.exits):
        if not asked.serves(landing, role_at_door(leaves)):
            continue
        if not has_door_room(asked.design, start, landing, slide_m, leaves):
            continue
        rails = list_door_landing_rails(landing, leaves, width)
        rail = sum(part_cost_cents(site.catalogue.part(r.part), site.rates) for r in rails)
        cost = landing_total(
            prepared.tables, number, False, rail, slide_m, start.gap_m, 0.0, 1.0, deck, rectangle, scratch()
        )
        if cost >= NEVER:
            continue
        for u, v, attach in _list_poses(site, start, landing, leaves, slide_m, width):
            yield Opening(
                prepared,
                slide_m,
                landing.id,
                leaves,
                attach,
                u,
                v,
                deck,
                base_cents + int(cost),
                abs(u) + abs(v),
                (float(rectangle[0]), float(rectangle[1]), float(rectangle[2]), float(rectangle[3])),
            )


def _list_poses(
    site: Site, start: Start, landing: Landing, leaves: Exit, slide_m: float, width_m: float
) -> Iterator[tuple[float, float, float]]:
    """Where runs may leave a door landing by one exit: the pose's point, and its offset on the edge."""
    half, gap, pitch = width_m / 2.0, start.gap_m, site.search.lattice_m
    if leaves == "front":
        side = landing.width_m / 2.0 - half
        for u in list_lines(slide_m - side, slide_m + side, 0.0, pitch):
            yield u, gap + landing.length_m, u - slide_m
        return
    sign = 1.0 if leaves == "right" else -1.0
    middle = gap + landing.length_m / 2.0
    for v in list_lines(gap + half, gap + landing.length_m - half, gap + half, pitch):
        yield slide_m + sign * landing.width_m / 2.0, v, sign * (middle - v)
