"""Threshold plate, door landing and the landings between runs."""

from __future__ import annotations

from optimizer.catalogue.parts import Landing
from optimizer.catalogue.rates import part_cost_cents
from optimizer.errors import Fault, InputError
from optimizer.layout.building import Building, LandingUseWord, edge_line
from optimizer.layout.footing import SupportPoint
from optimizer.layout.landing_edges import (
    EdgeRail,
    check_offset,
    find_departure,
    list_door_landing_rails,
    list_landing_rails,
)
from optimizer.layout.spec import LayoutSpec, TurnSpec
from optimizer.layout.strip import Strip
from optimizer.plan import Piece
from optimizer.units import TOLERANCE_M


def lay_start(building: Building, spec: LayoutSpec, deck_m: float) -> Strip:
    """Threshold plate and door landing; returns the first run's pose.

    Raises InputError when the run leaves the edge it is fixed to.
    """
    gap = building.start.gap_m
    if spec.door_landing is None:
        _lay_threshold(building, deck_m, spec.slide_m)
        return Strip(spec.slide_m, gap, 0.0, 1.0, building.width_m, 0.0)
    _lay_threshold(building, deck_m, 0.0)
    landing = building.landing(spec.door_landing)
    edge = landing.width_m if spec.exit == "front" else landing.length_m
    check_offset("attach", spec.attach_m, edge, building.width_m)
    strip = Strip(spec.slide_m, gap, 0.0, 1.0, landing.width_m, landing.length_m)
    rails = list_door_landing_rails(landing, spec.exit, building.width_m)
    _lay_landing(building, landing, strip, deck_m, "door", rails)
    middle = gap + landing.length_m / 2.0
    side = landing.width_m / 2.0
    if spec.exit == "front":
        pose = Strip(spec.slide_m + spec.attach_m, gap + landing.length_m, 0.0, 1.0, building.width_m, 0.0)
    elif spec.exit == "left":
        pose = Strip(spec.slide_m - side, middle + spec.attach_m, -1.0, 0.0, building.width_m, 0.0)
    else:
        pose = Strip(spec.slide_m + side, middle - spec.attach_m, 1.0, 0.0, building.width_m, 0.0)
    building.walk_m += abs(pose.u) + abs(pose.v)
    return pose


def lay_turn(building: Building, turn: TurnSpec, at: Strip, deck_m: float) -> Strip:
    """Lay the landing after a run; returns the next run's pose.

    Raises InputError when a run leaves the edge it is fixed to, or the landing turns no half.
    """
    landing = building.landing(turn.landing)
    if turn.kind in ("half_left", "half_right") and landing.rail_inner_loop is None:
        raise InputError(
            Fault(
                "landing",
                f"{landing.id!r} has no inner rail loop and cannot turn the way by half.",
                "Name a landing that is made for a half turn.",
            )
        )
    _check_turn_offsets(landing, turn, building.width_m)
    departure = find_departure(landing, turn.kind, turn.arrive_m, turn.leave_m, building.width_m)
    strip = at.moved(0.0, departure.shift_m).laid(landing.width_m, landing.length_m)
    rails = list_landing_rails(landing, turn.kind, building.width_m)
    _lay_landing(building, landing, strip, deck_m, turn.kind, rails)
    building.walk_m += abs(departure.along_m) + abs(departure.right_m)
    along, right = departure.heading
    u, v = at.point(departure.along_m, departure.right_m)
    return Strip(u, v, along * at.hu + right * at.hv, along * at.hv - right * at.hu, building.width_m, 0.0)


def _check_turn_offsets(landing: Landing, turn: TurnSpec, width_m: float) -> None:
    """Both runs lie on their edges; a half turn fixes them itself."""
    if turn.kind in ("half_left", "half_right"):
        return
    check_offset(f"arrive on {landing.id}", turn.arrive_m, landing.width_m, width_m)
    leaving_edge_m = landing.width_m if turn.kind == "straight" else landing.length_m
    check_offset(f"leave {landing.id}", turn.leave_m, leaving_edge_m, width_m)


def _lay_landing(
    building: Building,
    landing: Landing,
    strip: Strip,
    deck_m: float,
    use: LandingUseWord,
    rails: tuple[EdgeRail, ...],
) -> None:
    """Lay a landing with its legs, and its rails where it stands high enough."""
    piece = building.place("landing", landing.id, strip, (deck_m, deck_m), use=use)
    building.area_m2 += landing.length_m * landing.width_m
    inset = landing.leg_inset_m
    side = landing.width_m / 2.0 - inset
    lateral = [("left", -side), ("right", side)]
    if use in ("half_left", "half_right"):
        lateral.append(("middle", 0.0))
    for end, along in (("start", inset), ("end", landing.length_m - inset)):
        for name, right in lateral:
            x_m, y_m, _ = building.site_point(strip.point(along, right), 0.0)
            building.points.append(
                SupportPoint(
                    piece=piece.id,
                    station=f"{end}-{name}",
                    frame_m=deck_m - landing.frame_depth_m,
                    types=landing.legs,
                    xy_m=((x_m, y_m),) * len(landing.legs),
                )
            )
    design = building.design
    trigger = min(building.site.wishes.rail_landings_above_m, design.guard_drop_m, design.rails_rise_m)
    if deck_m - building.lowest_near(strip) > trigger + TOLERANCE_M:
        _rail_landing(building, piece, rails)


def _rail_landing(building: Building, piece: Piece, rails: tuple[EdgeRail, ...]) -> None:
    for rail in rails:
        building.add_rail(piece, rail.part, rail.kind, rail.edge, edge_line(piece, rail.edge))


def _lay_threshold(building: Building, deck_m: float, middle_m: float) -> None:
    """Bridge the gap before the sill (or where the first run hangs on an edge)."""
    site, start = building.site, building.start
    plates = [
        plate
        for plate in site.catalogue.in_stock().threshold_plates
        if plate.reach_m >= start.gap_m - TOLERANCE_M and plate.rated_load_kg >= site.rider.total_mass_kg
    ]
    if not plates:
        raise InputError(
            Fault(
                f"start {start.name}",
                f"no threshold plate bridges a gap of {start.gap_m:.3f} m.",
                "Bring the landing closer or add a plate to the catalogue.",
            )
        )
    plate = min(plates, key=lambda p: part_cost_cents(p, site.rates))
    strip = Strip(middle_m, 0.0, 0.0, 1.0, plate.width_m, start.gap_m)
    building.place("threshold_plate", plate.id, strip, (start.threshold_m, deck_m))
