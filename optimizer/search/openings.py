"""Where a ramp can begin: door landings as placed (or an edge), and the run's pose on them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.brief.site import Site
from optimizer.catalogue.parts import AttachPosition, Landing
from optimizer.catalogue.rates import part_cost_cents
from optimizer.layout.landing_edges import (
    attach_offset,
    list_attach_positions,
    list_door_landing_rails,
)
from optimizer.layout.spec import Exit
from optimizer.search.geometry_kernel import scratch
from optimizer.search.kernel_tables import NEVER
from optimizer.search.support_kernel import landing_total
from optimizer.search.tables import PreparedStart
from optimizer.search.usable_parts import limit_value, serves
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
    attach: AttachPosition
    u: float
    v: float
    deck_m: float
    cost_cents: int
    walk_m: float
    rectangle: tuple[float, float, float, float] | None


def list_slides(room_m: float, step_m: float) -> tuple[float, ...]:
    """Multiples of the slide step within ``room_m`` of the middle, from the middle outward."""
    if room_m < -TOLERANCE_M:
        return ()
    most = int((room_m + TOLERANCE_M) / step_m)
    return tuple(k * step_m for k in sorted(range(-most, most + 1), key=lambda k: (abs(k), k)))


def list_openings(site: Site, prepared: PreparedStart) -> tuple[Opening, ...]:
    """Every placing of the door landing (or the edge) with every exit and attach position."""
    if prepared.parts.threshold is None:
        return ()
    base = part_cost_cents(prepared.parts.threshold, site.rates)
    if prepared.start.kind == "edge":
        return tuple(_list_edge_openings(site, prepared, base))
    clear = max(limit_value(site, "clear_width", 0.0), site.wishes.clear_width_m or 0.0)
    width = prepared.parts.width_m
    return tuple(
        opening
        for number, landing in enumerate(prepared.parts.landings)
        if serves(landing, "door", site, width, clear)
        for slide in list_slides(
            (landing.width_m - prepared.start.clear_width_m) / 2.0, site.search.slide_step_m
        )
        for opening in _list_door_openings(site, prepared, number, slide, base)
    )


def _list_edge_openings(site: Site, prepared: PreparedStart, base_cents: int) -> Iterator[Opening]:
    """Runs hung on an edge.  The wish about exits speaks of a landing's sides; an edge has one only."""
    start = prepared.start
    spare = (start.clear_width_m - prepared.parts.width_m) / 2.0
    deck = start.threshold_m - start.drop_m
    for slide in list_slides(spare, site.search.slide_step_m):
        yield Opening(
            prepared, slide, None, "front", "centre", slide, start.gap_m, deck, base_cents, 0.0, None
        )


def _list_door_openings(
    site: Site, prepared: PreparedStart, number: int, slide_m: float, base_cents: int
) -> Iterator[Opening]:
    """One door landing at one slide: every exit and attach position, where it may stand at all."""
    start, width = prepared.start, prepared.parts.width_m
    landing = prepared.parts.landings[number]
    deck = start.threshold_m - start.drop_m
    rectangle = np.zeros(4)
    for leaves in (one for one in EXITS if one in site.wishes.exits):
        rails = list_door_landing_rails(landing, leaves, width)
        rail = sum(part_cost_cents(site.catalogue.part(r.part), site.rates) for r in rails)
        cost = landing_total(
            prepared.tables, number, False, rail, slide_m, start.gap_m, 0.0, 1.0, deck, rectangle, scratch()
        )
        if cost >= NEVER:
            continue
        edge = landing.width_m if leaves == "front" else landing.length_m
        for attach in list_attach_positions(landing, edge, width):
            u, v = _leave_at(landing, leaves, attach_offset(attach, edge, width), slide_m, start.gap_m)
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


def _leave_at(
    landing: Landing, leaves: Exit, offset_m: float, slide_m: float, gap_m: float
) -> tuple[float, float]:
    """The pose's point on the edge by which the first run leaves a door landing."""
    middle = gap_m + landing.length_m / 2.0
    if leaves == "front":
        return slide_m + offset_m, gap_m + landing.length_m
    if leaves == "left":
        return slide_m - landing.width_m / 2.0, middle + offset_m
    return slide_m + landing.width_m / 2.0, middle - offset_m
