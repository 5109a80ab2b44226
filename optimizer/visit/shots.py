"""The levels to take again before anything is ordered or unpacked: twelve at most, the most useful first."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from optimizer.brief.site import Site
from optimizer.brief.thin_places import list_thin_places
from optimizer.errors import Fault, InputError
from optimizer.plan import Candidate, SupportLeg
from optimizer.terrain.yard import Start
from optimizer.visit.sheet import DrawnPiece, Shot
from optimizer.visit.shot_limits import Leeway, measure_leg_leeway, measure_toe_leeway

MOST_SHOTS: Final = 12
#: Thin places among them: more would crowd out feet.
MOST_THIN: Final = 3
#: Both ends of a sill may differ by so much: 1/8 in (common practice, no source).
SILL_M: Final = 0.003175
#: Two shots nearer than this in plan are one.
_SAME_M: Final = 0.15
#: A thin place counts when a foot stands so near.
_NEAR_FOOT_M: Final = 1.5
_DECK: Final = ("landing", "section", "transition_plate", "threshold_plate")


def list_shots(site: Site, candidate: Candidate) -> tuple[Shot, ...]:
    """Sill, tip, the tightest corner of every landing, the tallest leg, thin places near feet, other legs.

    Raises ``InputError`` when the plan's start is not the site's.
    """
    start = find_start(site, candidate)
    shots: list[Shot] = []
    for shot in _list_wanted(site, candidate, start):
        places = [(one.along_m, one.out_m) for one in shots if not one.name.startswith("sill")]
        is_new = all(math.dist(place, (shot.along_m, shot.out_m)) > _SAME_M for place in places)
        if is_new and len(shots) < MOST_SHOTS:
            shots.append(shot)
    return tuple(shots)


def find_start(site: Site, candidate: Candidate) -> Start:
    """The door the candidate leaves from."""
    for start in site.yard.starts:
        if start.name == candidate.start:
            return start
    what = f'the plan starts at "{candidate.start}", which this site does not have.'
    raise InputError(Fault("--plan", what, "Name the site that the plan was made from."))


def to_door(start: Start, x_m: float, y_m: float) -> tuple[float, float]:
    """Along the wall (right looking out) and out from it."""
    away = np.array([x_m, y_m]) - start.midpoint_m
    right = np.array([start.outward[1], -start.outward[0]])
    return float(away @ right), float(away @ start.outward)


def draw_pieces(site: Site, candidate: Candidate) -> tuple[DrawnPiece, ...]:
    """What the sketch of the shot list shows, in the door's frame; the house first."""
    start = find_start(site, candidate)
    drawn = [
        DrawnPiece("house", "", tuple(to_door(start, x, y) for x, y in ring.tolist()))
        for ring in site.yard.house_m
    ]
    for piece in candidate.pieces:
        corners = tuple(to_door(start, x, y) for x, y, _ in piece.corners_m)
        if piece.kind == "bottom_pad":
            drawn.append(DrawnPiece("pad", piece.id, corners))
        elif piece.kind == "steps":
            drawn.append(DrawnPiece("steps", piece.id, corners))
        elif piece.kind in _DECK:
            drawn.append(DrawnPiece("deck", piece.id, corners))
    return tuple(drawn)


def _list_wanted(site: Site, candidate: Candidate, start: Start) -> Iterator[Shot]:
    half_m = 0.5 * start.clear_width_m
    for name, along_m in (("sill left", -half_m), ("sill right", half_m)):
        why = "the zero of this sheet" if name == "sill left" else "the lower end counts"
        yield Shot(name, "top of the sill", along_m, 0.0, 0.0, -SILL_M, SILL_M, why)
    yield _shoot_tip(site, candidate, start)
    landings = [piece for piece in candidate.pieces if piece.kind == "landing"]
    feet = sorted(candidate.legs, key=_measure_tightness)
    for landing in landings:
        for leg in [one for one in feet if one.piece == landing.id][:1]:
            yield _shoot_leg(leg, start, f"tightest foot of landing {landing.id}")
    if feet:
        tallest = max(candidate.legs, key=lambda leg: leg.height_m)
        yield _shoot_leg(tallest, start, "tallest leg")
        yield from _list_thin(site, candidate, start)
    for leg in feet:
        yield _shoot_leg(leg, start, "foot")


def _measure_tightness(leg: SupportLeg) -> float:
    leeway = measure_leg_leeway(leg)
    return min(leeway.higher_m, leeway.lower_m)


def _shoot_tip(site: Site, candidate: Candidate, start: Start) -> Shot:
    x, y, _ = candidate.toe.tip_m
    ground_m = candidate.toe.ground_elevation_m
    why = "what the pad takes" if candidate.toe.pad else "plate level, or last run too steep"
    return _build(
        "tip", "ground at the tip", start, (x, y, ground_m), measure_toe_leeway(site, candidate), why
    )


def _shoot_leg(leg: SupportLeg, start: Start, why: str) -> Shot:
    place = (leg.x_m, leg.y_m, leg.ground_elevation_m)
    return _build(leg.id, f"{leg.piece} {leg.station}", start, place, measure_leg_leeway(leg), why)


def _list_thin(site: Site, candidate: Candidate, start: Start) -> Iterator[Shot]:
    """Thin ground near a foot, by the leeway of the nearest one."""
    number = 0
    for x, y, z in list_thin_places(site).tolist():
        leg = min(candidate.legs, key=lambda one: math.dist((one.x_m, one.y_m), (x, y)))
        if number < MOST_THIN and math.dist((leg.x_m, leg.y_m), (x, y)) <= _NEAR_FOOT_M:
            number += 1
            why = f"thin ground near {leg.id}"
            yield _build(f"thin {number}", "ground", start, (x, y, z), measure_leg_leeway(leg), why)


def _build(
    name: str, place: str, start: Start, at_m: tuple[float, float, float], leeway: Leeway, why: str
) -> Shot:
    along_m, out_m = to_door(start, at_m[0], at_m[1])
    below_m = start.threshold_m - at_m[2]
    return Shot(
        name, place, along_m, out_m, below_m, below_m - leeway.higher_m, below_m + leeway.lower_m, why
    )
