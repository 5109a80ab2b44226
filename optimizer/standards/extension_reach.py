"""What a handrail extension stands over, and what it reaches into: the way, the door's room, the lot line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from optimizer.catalogue.parts import Landing
from optimizer.plan import Verdict
from optimizer.rulebook.rules import RuleSet
from optimizer.standards.chain import Chain, Run, measure_clear_width
from optimizer.standards.door_clauses import find_door_room, list_rows
from optimizer.standards.findings import PLACE_M
from optimizer.standards.measure_rails import RunEnd
from optimizer.standards.measured import Measured
from optimizer.standards.placed import Placed, Vector, build_rectangle


@dataclass(frozen=True, slots=True)
class Matter:
    """One look at an extension: what came of it and the words for it."""

    verdict: Verdict
    says: str


def list_matters(
    line: tuple[Vector, Vector], rules: RuleSet, measured: Measured, run: Run, run_end: RunEnd
) -> tuple[Matter, ...]:
    """Every look at one extension (corner and far end, (3,) each), the first always there."""
    chain = measured.chain
    landing = chain.upper_landing(run) if run_end == "upper" else chain.lower_landing(run)
    reach = shapely.LineString([line[0][:2], line[1][:2]])
    matters = [_look_under(reach, landing, measured, run_end)]
    if landing is not None:
        matters += _look_at_way(reach, landing, chain)
        if landing is chain.door:
            matters += _look_at_door(reach, rules, measured)
    beyond = reach.difference(shapely.Polygon(measured.case.yard.lot_m)).length
    if beyond > PLACE_M:
        says = f"{beyond:.3f} m of it reach over the lot line: whoever holds the ground there decides"
        matters.append(Matter("cannot tell", says))
    return tuple(matters)


def _look_under(
    reach: shapely.LineString, landing: Placed[Landing] | None, measured: Measured, run_end: RunEnd
) -> Matter:
    """A landing, or at the bottom the level space beyond the tip, lies under all of it."""
    if landing is not None:
        bare = reach.difference(landing.rectangle(PLACE_M)).length
        if bare > PLACE_M:
            return Matter("fails", f"{bare:.3f} m of it lie over no landing")
        return Matter("meets", f"it lies over {landing.piece.id} and keeps out of the way")
    if run_end == "upper":
        return Matter("cannot tell", "it lies over an existing landing that was not measured")
    place = shapely.Polygon(measured.bottom.corners_m[:, :2]).buffer(PLACE_M, join_style="mitre")
    if measured.chain.pad is not None:
        place = place.union(measured.chain.pad.rectangle(PLACE_M))
    levels = [measured.facets.elevation_at(np.array(xy)) for xy in reach.coords]
    if not np.all(np.isfinite(levels)):
        return Matter("cannot tell", "the ground under it is not surveyed")
    aside = reach.difference(place).length
    if aside > PLACE_M:
        says = f"{aside:.3f} m of it lie beside the space at the bottom, over ground that is not judged level"
        return Matter("cannot tell", says)
    return Matter("meets", "it lies over the space at the bottom")


def _look_at_way(reach: shapely.LineString, landing: Placed[Landing], chain: Chain) -> Iterator[Matter]:
    """The way of each run on this landing: its clear width, carried on to the landing's middle."""
    arriving, leaving = chain.arriving(landing), chain.leaving(landing)
    ways = [(leaving, leaving.start_m, -leaving.sections[0].heading)]
    if arriving is not None:
        ways.append((arriving, arriving.hinge_m, arriving.sections[-1].heading))
    for run, middle, heading in ways:
        is_along = abs(float(heading @ landing.heading)) > abs(float(heading @ landing.right))
        depth = landing.plan_length_m if is_along else landing.width_m
        width = measure_clear_width(run) - 2.0 * PLACE_M
        inside = reach.intersection(build_rectangle(middle, heading, depth / 2.0, width, 0.0)).length
        if inside > PLACE_M:
            says = f"{inside:.3f} m of it stand in the clear width of {run.name} on {landing.piece.id}"
            yield Matter("fails", says)


def _look_at_door(reach: shapely.LineString, rules: RuleSet, measured: Measured) -> Iterator[Matter]:
    """The room that the set's own row asks in front of the door, without what a closer adds.

    No text read says that an extension may stand in that room or that it may not.
    """
    room = find_door_room(measured)
    if room is None:
        return
    rows = list_rows(rules, room)
    inside = [
        reach.intersection(room.to_site(room.ask(row, "no", "no")).buffer(-PLACE_M)).length for _, row in rows
    ]
    if inside and min(inside) > PLACE_M:
        says = (
            f"{min(inside):.3f} m of it reach into the room in front of the door ({rows[0][0].clause}); "
            "whether they may is for the authority to say"
        )
        yield Matter("cannot tell", says)
