"""Where on a landing's free edge a flight of steps fits, and what is in its way where it does not.

Site frame.  The words are those a person reads, so each names what it met.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from optimizer.brief.site import Site
from optimizer.catalogue.parts import StepFlight
from optimizer.layout.landing_edges import Edge
from optimizer.layout.placed import PlacedLayout
from optimizer.layout.step_ground import GroundOverlay, build_overlay
from optimizer.plan import XYZ, Piece
from optimizer.terrain.setback import build_free_area, needs_relief
from optimizer.terrain.yard import DIG_BLOCKING, FOOT_BLOCKING, OVERHEAD, PIECE_BLOCKING, Points, Yard
from optimizer.units import TOLERANCE_M

#: Free space beyond the foot and on the landing before the top, 36 in along the way: the length of
#: a landing at a stair (IRC R311.7.6, from memory).
CLEAR_M: Final = 0.9144
#: The ground in the space beyond the foot leaves the foot's level by at most 3 in (1:12 over 36 in);
#: more would be a step that nobody expects.  Our own choice, no source.
SPACE_FALL_M: Final = 0.0762
#: A foot that is out of level by more than 1/4 in gets its bed dug in.
DUG_FROM_M: Final = 0.00635
#: A run's end this near to an edge is fastened to it.
ATTACHED_M: Final = 1e-4
#: Half of what an edge is thick: a rail along it lies no further out.
EDGE_M: Final = 1e-3

Named = tuple[tuple[str, shapely.Geometry], ...]
#: Corner numbers of a landing's edges, left end first as seen by somebody leaving over them.
_LEAVING: Final[tuple[tuple[Edge, int, int], ...]] = (
    ("left", 0, 3),
    ("right", 2, 1),
    ("end", 3, 2),
    ("start", 1, 0),
)


@dataclass(frozen=True, slots=True)
class FreeEdge:
    """An edge of a landing that no run uses.

    ``left_m``, ``right_m`` (2,): its ends as seen by somebody leaving over it; ``out`` (2,) the
    unit vector outward.
    """

    landing: Piece
    edge: Edge
    left_m: Points
    right_m: Points
    out: Points

    @property
    def length_m(self) -> float:
        """From end to end."""
        return float(np.hypot(*(self.right_m - self.left_m)))

    @property
    def deck_m(self) -> float:
        """Elevation of the landing's surface."""
        return self.landing.corners_m[0][2]


def list_free_edges(layout: PlacedLayout) -> Iterator[FreeEdge]:
    """Free edges in order down the way; the wall edge of the landing at the door is none."""
    ends = [
        np.mean(np.array(piece.corners_m)[list(pair), :2], axis=0)
        for piece in layout.pieces
        if piece.kind == "section"
        for pair in ((0, 1), (3, 2))
    ]
    for piece in layout.pieces:
        if piece.kind != "landing":
            continue
        corners = np.array(piece.corners_m)[:, :2]
        for edge, first, second in _LEAVING:
            left, right = corners[first], corners[second]
            line = shapely.LineString([left, right])
            is_used = any(line.distance(shapely.Point(point)) <= ATTACHED_M for point in ends)
            if not is_used and not (piece.use == "door" and edge == "start"):
                way = (right - left) / np.hypot(*(right - left))
                yield FreeEdge(piece, edge, left, right, np.array([-way[1], way[0]]))


@dataclass(frozen=True, slots=True)
class Trial:
    """A flight at one place of an edge: start-left, start-right, end-right, end-left (4, 2).

    ``foot_m`` is the ground at the middle of its lower edge, NaN where it is not surveyed.
    """

    part: StepFlight
    edge: FreeEdge
    corners_m: Points
    foot_m: float

    @property
    def riser_m(self) -> float:
        """Height of each riser."""
        return (self.edge.deck_m - self.foot_m) / self.part.risers

    def levelled_corners(self) -> tuple[XYZ, XYZ, XYZ, XYZ]:
        """The corners of the piece: the landing's edge, and the nosing of the lowest tread."""
        low = self.foot_m + self.riser_m
        levels = (self.edge.deck_m, self.edge.deck_m, low, low)
        first, second, third, fourth = (
            (float(x), float(y), z) for (x, y), z in zip(self.corners_m, levels, strict=True)
        )
        return (first, second, third, fourth)

    def strip(self, from_m: float, to_m: float, grown_m: float) -> shapely.Polygon:
        """The flight's width between two distances from the edge along its way, grown on all sides."""
        out = self.edge.out
        side = self.corners_m[1] - self.corners_m[0]
        side = side / np.hypot(*side)
        left, right = self.corners_m[0] - grown_m * side, self.corners_m[1] + grown_m * side
        near, far = (from_m - grown_m) * out, (to_m + grown_m) * out
        return shapely.Polygon([left + near, right + near, right + far, left + far])


def list_trials(site: Site, edge: FreeEdge, part: StepFlight) -> Iterator[Trial]:
    """The flight flush with either end of the edge (once when both are the same place).

    Between the ends it would leave two gaps, and an infill closes one.
    """
    way = (edge.right_m - edge.left_m) / edge.length_m
    spare = edge.length_m - part.width_m
    for shift in (0.0,) if spare <= TOLERANCE_M else (0.0, spare):
        left = edge.left_m + shift * way
        right = left + part.width_m * way
        on = part.plan_length_m * edge.out
        corners = np.array([left, right, right + on, left + on])
        x, y = (float(value) for value in (corners[2] + corners[3]) / 2.0)
        yield Trial(part, edge, corners, site.ground.elevation_at(x, y))


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a flight must keep off, by name; ``free`` is where it may stand, ``rails`` level rail ends."""

    site: Site
    free: shapely.Geometry
    lot: shapely.Polygon
    surveyed: shapely.Polygon
    ground: GroundOverlay
    solids: Named
    feet: Named
    dug: Named
    pieces: Named
    bottom_space: shapely.Polygon
    rails: Named


def build_surroundings(site: Site, layout: PlacedLayout) -> Surroundings:
    """Everything that stands or will stand in the yard, the ramp included."""
    yard = site.yard
    walked = [
        piece.corners_m for piece in layout.pieces if piece.kind in ("landing", "section", "transition_plate")
    ]
    lot = shapely.Polygon(yard.lot_m)
    outline = site.ground.outline_m
    return Surroundings(
        site=site,
        # Relief that the ramp asks for anyway serves the steps as well; for steps alone none is asked.
        free=lot if needs_relief(yard, walked) else build_free_area(yard),
        lot=lot,
        surveyed=shapely.Polygon(outline[0], list(outline[1:])),
        ground=build_overlay(site.ground),
        solids=(
            *(("the house", shapely.Polygon(ring)) for ring in yard.house_m),
            *((f'the obstacle "{one.name}"', shapely.Polygon(one.outline_m)) for one in yard.obstacles),
            *_name_zones(yard, PIECE_BLOCKING),
        ),
        feet=_name_zones(yard, FOOT_BLOCKING),
        dug=_name_zones(yard, DIG_BLOCKING),
        pieces=tuple(
            (piece.id, shapely.Polygon([corner[:2] for corner in piece.corners_m])) for piece in layout.pieces
        ),
        bottom_space=shapely.Polygon([corner[:2] for corner in layout.toe.bottom_space_m]),
        rails=tuple(
            (f"the rail end {rail.id}", shapely.LineString([end[:2] for end in rail.line_m]))
            for rail in layout.rails
            if rail.kind == "end"
        ),
    )


def _name_zones(yard: Yard, kinds: frozenset[str]) -> Named:
    return tuple(
        (f'the zone "{zone.name}"', shapely.Polygon(zone.outline_m))
        for zone in yard.zones
        if zone.kind in kinds
    )


@dataclass(frozen=True, slots=True)
class Misfit:
    """Why a flight does not fit at one place; ``stage`` counts what was in order before."""

    stage: int
    reason: str


def find_misfit(trial: Trial, around: Surroundings) -> Misfit | None:
    """The first thing in the way of a flight at one place, or ``None``."""
    for stage, reason in enumerate(_list_checks(trial, around)):
        if reason is not None:
            return Misfit(stage, reason)
    return None


def _list_checks(trial: Trial, around: Surroundings) -> Iterator[str | None]:
    """The checks one after the other, each with its complaint or ``None``."""
    part, edge = trial.part, trial.edge
    is_wide = part.width_m > edge.length_m + TOLERANCE_M
    yield (
        f"the edge is {edge.length_m:.3f} m long, {part.id} is {part.width_m:.3f} m wide" if is_wide else None
    )
    yield "its foot would be beyond the surveyed ground" if math.isnan(trial.foot_m) else None
    yield _complain_of_rise(trial, around.site.wishes.survey_error_m)
    length = part.plan_length_m
    flight = trial.strip(0.0, length, -TOLERANCE_M)
    space = trial.strip(length, length + CLEAR_M, -TOLERANCE_M)
    yield _complain_of_place(flight, around.free, around.surveyed, "it")
    yield _complain_of_place(space, around.lot, around.surveyed, "the space beyond its foot")
    yield _name_clash("it", flight, (*around.solids, *around.feet))
    yield _name_clash("the space beyond its foot", space, around.solids)
    yield _complain_of_pieces(trial, flight, space, around)
    # A rail end may lie in the edge itself.
    before = trial.strip(-CLEAR_M, EDGE_M, -TOLERANCE_M)
    yield _name_clash("the space before its upper end", before, around.rails)
    yield _complain_of_ground(trial, around.ground, around.site.catalogue.low_clearance_m)
    yield _complain_of_space(trial, space, around)
    yield _complain_of_headroom(trial, flight, around.site.yard)


def _complain_of_rise(trial: Trial, doubt_m: float) -> str | None:
    rise, part = trial.edge.deck_m - trial.foot_m, trial.part
    low, high = part.rise_min_m + doubt_m, part.rise_max_m - doubt_m
    if low - TOLERANCE_M <= rise <= high + TOLERANCE_M:
        return None
    return f"the deck lies {rise:.3f} m above its foot, {part.id} serves {low:.3f} to {high:.3f} m"


def _complain_of_place(
    area: shapely.Polygon, inside: shapely.Geometry, surveyed: shapely.Polygon, what: str
) -> str | None:
    if not inside.covers(area):
        return f"{what} would leave the lot or stand in its setback"
    return None if surveyed.covers(area) else f"{what} would lie beyond the surveyed ground"


def _name_clash(what: str, area: shapely.Polygon, things: Named) -> str | None:
    for name, shape in things:
        if area.intersects(shape):
            return f"{what} would overlap {name}"
    return None


def _complain_of_pieces(
    trial: Trial, flight: shapely.Polygon, space: shapely.Polygon, around: Surroundings
) -> str | None:
    gap_m = around.site.catalogue.piece_gap_m
    for name, shape in around.pieces:
        wide = shape.buffer(gap_m, join_style="mitre")
        if name != trial.edge.landing.id and wide.intersects(flight):
            return f"it would come nearer to {name} than {gap_m:.3f} m"
    if flight.intersects(around.bottom_space):
        return "it would stand in the space at the foot of the ramp"
    return _name_clash("the space beyond its foot", space, around.pieces)


def _complain_of_ground(trial: Trial, ground: GroundOverlay, clearance_m: float) -> str | None:
    """The underside of each tread keeps off the ground."""
    part = trial.part
    for number in range(1, part.risers):
        tread = trial.strip((number - 1) * part.going_m, number * part.going_m, -TOLERANCE_M)
        found = ground.measure(tread)
        underside = trial.edge.deck_m - number * trial.riser_m - part.frame_depth_m
        if found is not None and underside - found.high_m < clearance_m - TOLERANCE_M:
            return f"the ground would touch its tread {number}"
    return None


def _complain_of_space(trial: Trial, space: shapely.Polygon, around: Surroundings) -> str | None:
    """The ground across the foot and in the space beyond it is level enough."""
    levels = [around.site.ground.elevation_at(float(x), float(y)) for x, y in trial.corners_m[2:]]
    across = max(abs(level - trial.foot_m) for level in levels)
    if not across <= trial.part.foot_level_difference_m + TOLERANCE_M:
        return f"the ground across its foot is out of level by {across:.3f} m"
    found = around.ground.measure(space)
    if found is None:
        return "the space beyond its foot is not surveyed"
    off = max(found.high_m - trial.foot_m, trial.foot_m - found.low_m)
    if off > SPACE_FALL_M + TOLERANCE_M:
        return f"the ground beyond its foot leaves the foot's level by {off:.3f} m"
    if across > DUG_FROM_M + TOLERANCE_M:
        return _name_clash("its bed", space, around.dug)
    return None


def _complain_of_headroom(trial: Trial, flight: shapely.Polygon, yard: Yard) -> str | None:
    """Free height over the line through the nosings, at the upper end of what lies under the zone."""
    origin, out = trial.corners_m[0], trial.edge.out
    for zone in yard.zones:
        if zone.kind not in OVERHEAD or zone.underside_m is None or zone.headroom_m is None:
            continue
        points = shapely.get_coordinates(flight.intersection(shapely.Polygon(zone.outline_m)))
        for point in points:
            along = float((point - origin) @ out)
            deck = trial.edge.deck_m - trial.riser_m * along / trial.part.going_m
            if deck + zone.headroom_m > zone.underside_m + TOLERANCE_M:
                return f'there is too little headroom under the zone "{zone.name}"'
    return None
