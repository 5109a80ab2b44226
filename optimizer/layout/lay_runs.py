"""Runs: sections, their supports, the transition plate and the rails along them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from optimizer.catalogue.parts import Leg, LowSupport, Section
from optimizer.errors import Fault, InputError
from optimizer.layout.building import Building, edge_line
from optimizer.layout.footing import SupportPoint
from optimizer.layout.landing_edges import Edge
from optimizer.layout.run_arithmetic import measure_plan_length
from optimizer.layout.spec import RunSpec, TurnKind
from optimizer.layout.strip import Strip
from optimizer.plan import XYZ, Piece
from optimizer.units import TOLERANCE_M


@dataclass(frozen=True, slots=True)
class RunPlace:
    """Where a run lies: its number from 1, the turns before and after it (``None`` at the door and
    at the toe), its pose and the elevation of its upper end.
    """

    number: int
    before: TurnKind | None
    after: TurnKind | None
    pose: Strip
    deck_m: float


def lay_run(building: Building, run: RunSpec, place: RunPlace) -> tuple[Strip, float]:
    """Lay a run that ends on a landing; returns the pose and elevation of its lower end."""
    placed, at, level = _lay_sections(building, run, place, None)
    if _needs_rails(building, run, place, level, (0.0, 0.0)):
        _rail_run(building, placed, placed, place)
    return at, level


def lay_last_run(building: Building, run: RunSpec, place: RunPlace, plate: str) -> tuple[Strip, float]:
    """Lay the run that carries the transition plate; returns the pose and elevation of the tip."""
    placed, at, hinge = _lay_sections(building, run, place, "hinge")
    tip_at, tip = _lay_plate(building, at, hinge, plate, place.number)
    reach = math.hypot(tip_at.u - at.u, tip_at.v - at.v)
    if _needs_rails(building, run, place, tip, (hinge - tip, reach)):
        _rail_run(building, placed, [*placed, building.pieces[-1]], place)
    return tip_at, tip


def _lay_sections(
    building: Building, run: RunSpec, place: RunPlace, last_station: str | None
) -> tuple[list[Piece], Strip, float]:
    """Sections with the supports under them; ``last_station`` names those at the lower end, if any."""
    at, level = place.pose, place.deck_m
    placed: list[Piece] = []
    for n, name in enumerate(run.sections):
        section = building.section(name)
        plan = measure_plan_length(section.pitch_m, run.slope)
        strip = at.laid(section.overall_width_m, plan)
        lower = level - plan * run.slope
        piece = building.place("section", section.id, strip, (level, lower), run=place.number)
        placed.append(piece)
        building.area_m2 += plan * section.overall_width_m
        building.walk_m += section.pitch_m
        depth = section.frame_depth_m
        lows = _low_types(building, section)
        types = (*_leg_types(building, section), *lows)
        for k, mid in enumerate(section.mid_supports_m):
            t = measure_plan_length(mid, run.slope)
            _add_pair(
                building, piece, f"mid{k + 1}", strip.moved(t, 0.0), level - t * run.slope - depth, types
            )
        below = strip.moved(plan, 0.0)
        if n + 1 < len(run.sections):
            _add_pair(building, piece, "joint", below, lower - depth, types)
        elif last_station is not None:
            _add_pair(building, piece, last_station, below, lower - depth, lows)
        at, level = below.laid(building.width_m, 0.0), lower
    return placed, at, level


def _leg_types(building: Building, section: Section) -> tuple[Leg | LowSupport, ...]:
    return tuple(leg for leg in building.site.catalogue.legs if leg.id in section.legs)


def _low_types(building: Building, section: Section) -> tuple[Leg | LowSupport, ...]:
    return tuple(low for low in building.site.catalogue.low_supports if low.id in section.low_supports)


def _add_pair(
    building: Building,
    piece: Piece,
    station: str,
    at: Strip,
    frame_m: float,
    types: tuple[Leg | LowSupport, ...],
) -> None:
    """A pair of support points under a run, left and right of a point on its middle line."""
    for side, sign in (("left", -1.0), ("right", 1.0)):
        places = [
            building.site_point(at.point(0.0, sign * (building.width_m / 2.0 + one.lateral_offset_m)), 0.0)
            for one in types
        ]
        building.points.append(
            SupportPoint(
                piece=piece.id,
                station=f"{station}-{side}",
                frame_m=frame_m,
                types=tuple(one.id for one in types),
                xy_m=tuple((x, y) for x, y, _ in places),
            )
        )


def _lay_plate(
    building: Building, at: Strip, hinge_m: float, plate_id: str, number: int
) -> tuple[Strip, float]:
    """Lay the transition plate so that its tip meets the ground; returns the tip's pose and elevation."""
    plate = building.transition_plate(plate_id)
    reach = plate.length_m
    moved = math.inf
    for _ in range(12):
        ground = building.ground_at(at.point(reach, 0.0))
        if math.isnan(ground):
            raise InputError(
                Fault(
                    "transition plate",
                    f"the ground {reach:.2f} m beyond its hinge is not surveyed.",
                    "Survey further or land elsewhere.",
                )
            )
        below = plate.length_m**2 - (hinge_m - ground) ** 2
        if not below > 0.0:
            break
        nearer = math.sqrt(below)
        moved, reach = abs(nearer - reach), nearer
    if not moved < 1e-7:
        raise InputError(
            Fault(
                "transition plate",
                f"hinged at elevation {hinge_m:.3f} m it does not reach the ground.",
                "Lengthen the last run or take a longer plate.",
            )
        )
    tip = building.ground_at(at.point(reach, 0.0))
    building.place("transition_plate", plate.id, at.laid(building.width_m, reach), (hinge_m, tip), run=number)
    building.area_m2 += reach * building.width_m
    building.walk_m += plate.length_m
    return at.moved(reach, 0.0), tip


def _needs_rails(
    building: Building, run: RunSpec, place: RunPlace, bottom_m: float, plate: tuple[float, float]
) -> bool:
    """Whether a run needs rails for its drop, its slope or low ground near it.

    ``bottom_m``: where it ends, ``plate``: fall and plan length of its plate (0 where there is none).
    """
    design = building.design
    if place.deck_m - bottom_m > design.rails_rise_m + TOLERANCE_M:
        return True
    plan = sum(measure_plan_length(building.section(name).pitch_m, run.slope) for name in run.sections)
    for drop, length in ((plan * run.slope, plan), plate):
        if drop > design.rails_slope * length + TOLERANCE_M:
            return True
    low = building.lowest_near(place.pose.laid(building.width_m, plan + plate[1]))
    trigger = min(building.site.wishes.guard_above_m, design.rails_drop_m, design.guard_drop_m)
    return place.deck_m - low > trigger + TOLERANCE_M


def _rail_run(building: Building, sections: list[Piece], along: list[Piece], place: RunPlace) -> None:
    """Panels along every piece, posts at the sections' ends, extensions at the run's ends."""
    post = building.site.catalogue.rail_posts[0].id
    edges: tuple[Edge, Edge] = ("left", "right")
    for edge in edges:
        for piece in along:
            panel = (
                building.section(piece.catalogue_id).rail_panel
                if piece.kind == "section"
                else building.transition_plate(piece.catalogue_id).rail_panel
            )
            building.add_rail(piece, panel, "panel", edge, edge_line(piece, edge))
        upper = edge_line(sections[0], edge)[0]
        building.add_rail(sections[0], post, "post", edge, (upper, upper))
        for piece in sections:
            lower = edge_line(piece, edge)[1]
            building.add_rail(piece, post, "post", edge, (lower, lower))
        if not _is_inner(edge, place.before):
            _add_extension(building, along[0], edge, place.pose, edge_line(along[0], edge)[0], -1.0)
        if not _is_inner(edge, place.after):
            _add_extension(building, along[-1], edge, place.pose, edge_line(along[-1], edge)[1], 1.0)


def _is_inner(edge: Edge, turn: TurnKind | None) -> bool:
    """Whether a side of a run is the inner one of a turn, where the rail goes on round the corner."""
    return turn in (edge, f"half_{edge}")


def _add_extension(building: Building, piece: Piece, edge: Edge, pose: Strip, end: XYZ, sign: float) -> None:
    """A level handrail extension beyond one end of a run, down (1) or up (-1) its heading."""
    need = building.design.rail_extension_m
    ends = building.site.catalogue.rail_ends
    part = next((one for one in ends if one.extension_m >= need - TOLERANCE_M), ends[0])
    x0, y0, _ = building.site_point(pose.point(0.0, 0.0), 0.0)
    x1, y1, _ = building.site_point(pose.point(1.0, 0.0), 0.0)
    step = sign * part.extension_m
    far = (end[0] + step * (x1 - x0), end[1] + step * (y1 - y0), end[2])
    building.add_rail(piece, part.id, "end", edge, (end, far))
